"""Gaps between parts, and between pins and parts, over the whole turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.motion.turn import Turn
from core.space.narrow import Narrow
from core.space.neighbours import Body, Neighbours, Purpose, neighbours
from core.space.refine import SAME_MM, refined

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: Pairs that never come nearer than this are not listed, mm.
FAR_MM = 25.0
#: Bodies that do not move against each other may touch; deeper than this they overlap, mm.
TOUCH_MM = 1e-6
#: Of so many steps one is looked at when far pairs are sorted out.
_SKIP = 8
#: A preview measures how deep free polygons overlap at one of so many steps.
_PREVIEWED = 8


@dataclass(frozen=True)
class Gap:
    """How near two bodies come.

    Attributes
    ----------
    a, b : part ids, or ``"pin ID"`` for the rod of a pin, in alphabetical order.
    layer : the lowest layer they share.
    smallest_mm : the smallest gap over the turn; negative: the depth of the overlap.
    crank_rad : the crank angle of it.
    lane_mm : (N,) the gap at every step, NaN where the crank cannot go.
    """

    a: str
    b: str
    layer: int
    smallest_mm: float
    crank_rad: float
    lane_mm: Floats


@dataclass(frozen=True)
class Gaps:
    """Gaps over the turn, the tightest pair first.

    `smallest_mm` (N,) is the smallest gap of all at every step, no more than `far_mm`:
    pairs that never come nearer are not in `pairs`. `purposes` are pairs left out
    because they touch on purpose.
    """

    pairs: tuple[Gap, ...]
    smallest_mm: Floats
    far_mm: float
    purposes: tuple[Purpose, ...]


def gaps(turn: Turn, refine: bool = True, about: frozenset[str] | None = None) -> Gaps:
    """Smallest gaps of all pairs that share a layer, pins through their layers included.

    Bars, plates and discs are measured exactly. A negative gap is minus the shortest shift
    that would part two such pieces (for a bent bar: of its worst two straight pieces);
    where a free polygon takes part see :mod:`core.space.free`.

    Parameters
    ----------
    turn : poses of all parts; the sketch in it may differ from the one solved in
        anything that does not move a part (layers, outlines, diameters).
    refine : seek the smallest gap between steps too, to about 1e-6 mm. Without it, as a
        preview needs, `smallest_mm` is that of the steps, and how deep free polygons
        overlap is measured at one step of eight, straight lines between.
    about : ids of parts; only pairs that involve them or a pin on them are measured.

    Notes
    -----
    Pairs whose circles around each other's path stay apart by FAR_MM are never measured.
    """
    close = neighbours(turn.sketch, about)
    reached = np.flatnonzero(turn.reached)
    smallest_mm = np.full(turn.crank_rad.size, np.nan)
    if reached.size == 0:
        return Gaps((), smallest_mm, FAR_MM, close.purposes)
    near, narrow, lanes = _measured(turn, close, reached,
                                    every=1 if refine else _PREVIEWED)
    least = lanes.min(axis=1, initial=np.inf)
    # Bodies that keep still to each other may touch: glued side by side they do.
    listed = np.flatnonzero(least < np.where(close.one_body[near], -TOUCH_MM, FAR_MM))
    if listed.size < near.size:
        near, lanes = near[listed], lanes[listed]
    smallest_mm[reached] = lanes.min(axis=0, initial=FAR_MM)
    whole = lanes
    if reached.size < smallest_mm.size:
        whole = np.full((near.size, smallest_mm.size), np.nan)
        whole[:, reached] = lanes
    if refine:
        smallest, crank = refined(turn, narrow.only(listed), whole)
    else:
        lowest = lanes.min(axis=1, initial=np.inf, keepdims=True)
        best = (lanes <= lowest + SAME_MM).argmax(axis=1)
        smallest, crank = lanes[np.arange(near.size), best], turn.crank_rad[reached[best]]
    pairs = []
    for i, k in enumerate(near):
        a, b = close.bodies[close.a[k]].name, close.bodies[close.b[k]].name
        pairs.append(Gap(min(a, b), max(a, b), int(close.layer[k]), float(smallest[i]),
                         float(crank[i]), whole[i]))
    pairs.sort(key=lambda gap: (gap.smallest_mm, gap.a, gap.b))
    return Gaps(tuple(pairs), smallest_mm, FAR_MM, close.purposes)


def least_gaps(turn: Turn, close: Neighbours) -> Floats:
    """Smallest gap at the steps of the turn of every pair in `close`, (M,) mm.

    Infinite for pairs that stay farther apart than FAR_MM; minus infinity where free
    polygons touch or overlap that move against each other: how deep is not measured.
    """
    least = np.full(close.a.size, np.inf)
    reached = np.flatnonzero(turn.reached)
    if reached.size:
        near, narrow, lanes = _measured(turn, close, reached, every=0)
        least[near] = lanes.min(axis=1, initial=np.inf)
        still, one = close.one_body[near], reached[:1]
        if still.any():  # at any step the same
            least[near[still]] = narrow.only(still).over(
                turn.rotation[:, one], turn.shift[:, one])[:, 0]
    return least


def _measured(turn: Turn, close: Neighbours, steps: NDArray[np.intp],
              every: int = 1) -> tuple[NDArray[np.intp], Narrow, Floats]:
    """Indices of the near pairs, their measuring layout and lanes (M, steps) mm."""
    rotation, shift = turn.rotation, turn.shift
    if steps.size < turn.crank_rad.size:
        rotation, shift = rotation[:, steps], shift[:, steps]
    rows = np.array([body.row for body in close.bodies], dtype=np.intp)
    near = _near(close, rows, rotation, shift)
    narrow = Narrow(close.bodies, close.a[near], close.b[near])
    return near, narrow, narrow.over(rotation, shift, every)


def _near(close: Neighbours, rows: NDArray[np.intp], rotation: Complexes,
          shift: Complexes) -> NDArray[np.intp]:
    """Indices of pairs whose circles come within FAR_MM at some step, and a few more.

    First by circles around the whole path of each body, then at every few steps, allowing
    for how far the bodies go in between.
    """
    if close.a.size == 0:
        return np.empty(0, np.intp)
    centre, reach = _circles(close.bodies)
    path = rotation[rows] * centre[:, None] + shift[rows]
    x, y = path.real, path.imag
    middle = (x.min(axis=1) + x.max(axis=1) + 1j * (y.min(axis=1) + y.max(axis=1))) / 2
    sweep = np.abs(path - middle[:, None]).max(axis=1) + reach
    stride = np.abs(np.diff(path, axis=1)).max(axis=1, initial=0.0)
    a, b = close.a, close.b
    kept = np.flatnonzero(np.abs(middle[a] - middle[b]) - sweep[a] - sweep[b] < FAR_MM)
    a, b = a[kept], b[kept]
    few = path[:, ::_SKIP]
    between = few[a] - few[b]
    square = between.real**2 + between.imag**2
    limit = reach[a] + reach[b] + FAR_MM + (_SKIP - 1) * (stride[a] + stride[b])
    return np.asarray(kept[square.min(axis=1) < limit * limit])


def _circles(bodies: tuple[Body, ...]) -> tuple[Complexes, Floats]:
    return (np.array([body.solid.centre for body in bodies]),
            np.array([body.solid.reach_mm for body in bodies]))
