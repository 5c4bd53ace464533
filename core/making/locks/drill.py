"""Whether a drill reaches a cross pin, or a key a screw, while the machine is stacked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from core.errors import SketchError
from core.making.locks.holds import DIRECTIONS, Hold, directions
from core.making.rods import layer_heights
from core.motion import Turn
from core.motion.turn import Complexes
from core.space import outline_of
from core.space.neighbours import layers_of


@dataclass(frozen=True)
class Tool:
    """A slender end that stands out by `out_mm`, and behind it something of `radius_mm` that
    reaches back by `body_mm`."""

    name: str
    radius_mm: float
    out_mm: float
    body_mm: float


#: A hand drill with its chuck, and the long arm of a hexagon key (common practice, no source).
DRILL = Tool("a hand drill", 15.0, 25.0, 150.0)
KEY = Tool("a hexagon key", 4.0, 10.0, 50.0)
#: Crank positions at which it is tried.
_POSITIONS = 36


@dataclass(frozen=True)
class Access:
    """Whether a tool reaches the shaft from the side.

    `reaches`, at `crank_rad` from the direction `way_rad` (drawn pose of the part); else
    `by` is what is in the way most often. `captive`: the shaft has frame on both sides of
    the part, so that it has to be drilled where it stands.
    """

    reaches: bool
    captive: bool
    crank_rad: float
    way_rad: float
    by: str


def access(turn: Turn, hold: Hold, at_mm: float, pin_mm: float, out_mm: float,
           tool: Tool = DRILL, way_rad: float | None = None) -> Access:
    """Whether a drill reaches a cross pin, or a key a screw.

    Parameters
    ----------
    at_mm : where along the rod the pin is.
    pin_mm : its diameter.
    out_mm : radius about the axis at which the tool enters the hub.
    way_rad : the only direction (drawn pose of the part) it may come from, or its opposite;
        None: any.
    """
    sketch = turn.sketch
    captive = _captive(turn, hold)
    steps = np.flatnonzero(turn.reached)
    steps = steps[:: max(1, steps.size // (_POSITIONS * turn.crank_turns))]
    heights, layers = layer_heights(sketch), layers_of(sketch)
    row = turn.row(hold.part)
    ways = directions()
    free = np.ones((steps.size, DIRECTIONS), dtype=bool)
    if way_rad is not None:
        free[:] = np.abs((ways * np.exp(-1j * way_rad)).real) > 0.99
    blame: dict[str, int] = {}
    for k, part in enumerate(sketch.parts):
        bottom = heights[layers[part.id]][0]
        reach = max(bottom - at_mm, at_mm - bottom - part.thickness_mm)
        if part.id == hold.part or reach >= tool.radius_mm:
            continue
        try:
            wood = outline_of(part).simplify(0.1)
        except SketchError:
            continue
        shapely.prepare(wood)
        # The tool, fixed to the hub, as the other part's drawn pose sees it.
        turned = turn.rotation[row][steps] * turn.rotation[k][steps].conj()
        moved = ((turn.shift[row] - turn.shift[k]) * turn.rotation[k].conj())[steps]
        shape = _corners(tool, out_mm, pin_mm if reach < pin_mm / 2.0 else 0.0)
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


def _corners(tool: Tool, out: float, width: float) -> Complexes:
    """Corners of a tool along +x from the axis, entering at `out`; of what is behind its
    slender end alone for `width` 0."""
    back, far, half = out + tool.out_mm, out + tool.out_mm + tool.body_mm, width / 2.0
    thick = [back - 1j * tool.radius_mm, far - 1j * tool.radius_mm,
             far + 1j * tool.radius_mm, back + 1j * tool.radius_mm]
    if not width:
        return np.array(thick)
    return np.array([out - 1j * half, back - 1j * half, *thick, back + 1j * half,
                     out + 1j * half])


def _captive(turn: Turn, hold: Hold) -> bool:
    """Whether the rod has fixed parts on both sides of the hold."""
    if hold.station is None:
        return False
    fixed = [k for k, station in enumerate(hold.rod.stations)
             if turn.sketch.part(station.part).fixed]
    return bool(fixed) and min(fixed) < hold.station < max(fixed)
