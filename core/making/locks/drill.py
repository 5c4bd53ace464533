"""Whether a drill reaches a cross pin while the machine is stacked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from core.errors import SketchError
from core.making.locks.holds import DIRECTIONS, Hold, directions
from core.making.rods import Rod, layer_heights
from core.motion import Turn
from core.space import outline_of
from core.space.neighbours import layers_of

#: A hand drill: radius of its chuck, how far the drill stands out of it beyond the hole,
#: and how far hand and body reach behind; common practice, no source.
CHUCK_MM, OUT_MM, BODY_MM = 15.0, 25.0, 150.0
#: Crank positions at which it is tried.
_POSITIONS = 36


@dataclass(frozen=True)
class Access:
    """Whether a drill reaches the shaft from the side.

    `reaches`, at `crank_rad` from the direction `way_rad` (drawn pose of the part); else
    `by` is what is in the way most often. `captive`: the shaft has frame on both sides of
    the part, so that it has to be drilled where it stands.
    """

    reaches: bool
    captive: bool
    crank_rad: float
    way_rad: float
    by: str


def access(turn: Turn, rods: tuple[Rod, ...], hold: Hold, at_mm: float, pin_mm: float,
           out_mm: float) -> Access:
    """Whether a drill reaches a cross pin.

    Parameters
    ----------
    at_mm : where along the rod the pin is.
    pin_mm : its diameter.
    out_mm : radius about the axis at which the drill enters the hub.
    """
    sketch = turn.sketch
    captive = _captive(turn, hold)
    steps = np.flatnonzero(turn.reached)
    steps = steps[:: max(1, steps.size // (_POSITIONS * turn.crank_turns))]
    heights, layers = layer_heights(sketch), layers_of(sketch)
    row = turn.row(hold.part)
    ways = directions()
    free = np.ones((steps.size, DIRECTIONS), dtype=bool)
    blame: dict[str, int] = {}
    for k, part in enumerate(sketch.parts):
        bottom = heights[layers[part.id]][0]
        reach = max(bottom - at_mm, at_mm - bottom - part.thickness_mm)
        if part.id == hold.part or reach >= CHUCK_MM:
            continue
        try:
            wood = outline_of(part).simplify(0.1)
        except SketchError:
            continue
        shapely.prepare(wood)
        # The tool, fixed to the hub, as the other part's drawn pose sees it.
        turned = turn.rotation[row][steps] * turn.rotation[k][steps].conj()
        moved = ((turn.shift[row] - turn.shift[k]) * turn.rotation[k].conj())[steps]
        near = out_mm if reach < pin_mm / 2.0 else out_mm + OUT_MM
        shape = _tool(near, out_mm, pin_mm if reach < pin_mm / 2.0 else 2.0 * CHUCK_MM,
                      reach < pin_mm / 2.0)
        corners = (hold.rod.place + shape[None, :] * ways[:, None])[None]
        corners = corners * turned[:, None, None] + moved[:, None, None]
        tools = shapely.polygons(np.stack([corners.real, corners.imag], axis=-1))
        hit = shapely.intersects(wood, tools)
        blame[part.id] = int(hit.sum())
        free &= ~hit
    found = np.argwhere(free)
    worst = max(blame, key=lambda name: blame[name], default="")
    if not found.size:
        return Access(False, captive, math.nan, math.nan, worst)
    drawn = turn.sketch.drive.drawn_deg if turn.sketch.drive is not None else 0.0
    off = np.abs(np.angle(np.exp(1j * (turn.crank_rad[steps[found[:, 0]]]
                                       - math.radians(drawn)))))
    step, way = found[int(np.argmin(off))]
    return Access(True, captive, float(turn.crank_rad[steps[step]]),
                  2.0 * math.pi * float(way) / DIRECTIONS, "")


def _tool(near: float, out: float, width: float, thin: bool) -> np.ndarray[
        tuple[int], np.dtype[np.complex128]]:
    """Corners of the drill with its chuck (or the chuck alone), along +x from the axis."""
    half, back = width / 2.0, out + OUT_MM
    if not thin:
        return np.array([near - 1j * half, near + BODY_MM - 1j * half,
                         near + BODY_MM + 1j * half, near + 1j * half])
    return np.array([near - 1j * half, back - 1j * half, back - 1j * CHUCK_MM,
                     back + BODY_MM - 1j * CHUCK_MM, back + BODY_MM + 1j * CHUCK_MM,
                     back + 1j * CHUCK_MM, back + 1j * half, near + 1j * half])


def _captive(turn: Turn, hold: Hold) -> bool:
    """Whether the rod has fixed parts on both sides of the hold."""
    if hold.station is None:
        return False
    fixed = [k for k, station in enumerate(hold.rod.stations)
             if turn.sketch.part(station.part).fixed]
    return bool(fixed) and min(fixed) < hold.station < max(fixed)
