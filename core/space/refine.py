"""The smallest gap between steps: all pairs together, on ever finer grids of crank angles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core import motion
from core.motion.turn import Turn
from core.space.narrow import Narrow

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

#: Crank angles tried at once within each bracket.
_GRID = 17
#: A bracket is done when the gap varies less than this over it, mm.
_DONE_MM = 2e-7
#: Gaps closer to each other than this are the same; of equal ones the first counts, mm.
SAME_MM = 1e-9
#: Brackets worked on together, which bounds the memory used.
_TOGETHER = 96
_MOST_ROUNDS = 12


def refined(turn: Turn, narrow: Narrow, lanes: Floats) -> tuple[Floats, Floats]:
    """Smallest gap of every pair over the continuous turn, and its crank angle.

    Every dip of a lane that could hold the smallest gap is bracketed by its neighbouring
    steps and searched on a grid, which then closes around the best angle. Unlike a
    parabola this also finds the kinks where another corner becomes the nearest.

    Parameters
    ----------
    lanes : (M, N) gaps at the steps of the turn, NaN where not reached.

    Returns
    -------
    smallest_mm, crank_rad : (M,), to about 1e-6 mm; of free polygons that overlap, whose
        depth is known only to 0.01 mm, the deepest step.
    """
    pair, step = _dips(lanes, turn.repeats)
    smallest = lanes[pair, step]
    crank = turn.crank_rad[step]
    finer = np.flatnonzero(~narrow.free[pair] | (smallest > 0.0))
    for start in range(0, finer.size, _TOGETHER):
        some = finer[start:start + _TOGETHER]
        smallest[some], crank[some] = _search(
            turn, narrow.only(pair[some]), smallest[some], crank[some])
    best = np.lexsort((crank, np.round(smallest / SAME_MM), pair))
    best = best[np.flatnonzero(np.diff(pair[best], prepend=-1))]
    return smallest[best], crank[best]


def _dips(lanes: Floats, repeats: bool) -> tuple[Ints, Ints]:
    """Pairs and steps around which the smallest gap can lie, each (K,).

    A dip is a step not above its neighbours. Within its bracket the gap falls below it by
    hardly more than it rises to the neighbours, so dips well above the best are let go.
    """
    filled = np.where(np.isnan(lanes), np.inf, lanes)
    before, after = np.roll(filled, 1, axis=1), np.roll(filled, -1, axis=1)
    if not repeats:
        before[:, 0] = after[:, -1] = np.inf
    rise = np.zeros_like(filled)
    for side in (before, after):
        known = np.isfinite(side) & np.isfinite(filled)
        np.maximum(rise, np.subtract(side, filled, where=known, out=np.zeros_like(rise)),
                   out=rise)
    dip = np.isfinite(filled) & (filled <= before + SAME_MM) & (filled <= after + SAME_MM)
    dip &= filled - rise <= filled.min(axis=1, keepdims=True) + SAME_MM
    # A level stretch (a wheel, two levers on one pin) is one dip, its first step.
    dip[:, 1:] &= ~dip[:, :-1]
    pair, step = np.nonzero(dip)
    return pair, step


def _search(turn: Turn, narrow: Narrow, smallest: Floats,
            crank: Floats) -> tuple[Floats, Floats]:
    """Close the brackets around `crank` until the gap hardly varies in them."""
    smallest, crank = smallest.copy(), crank.copy()
    first, last = turn.crank_rad[0], turn.crank_rad[-1]
    half = np.full(crank.size, np.diff(turn.crank_rad[:2]).sum())
    cycle = 2.0 * np.pi * turn.crank_turns
    going = np.arange(crank.size)
    offsets = np.linspace(-1.0, 1.0, _GRID)
    for _ in range(_MOST_ROUNDS):
        angle = crank[going][:, None] + half[going][:, None] * offsets
        angle = (first + np.mod(angle - first, cycle) if turn.repeats
                 else np.clip(angle, first, last))
        posed = motion.pose_at(turn, angle.ravel())
        shape = (len(turn.part_ids), *angle.shape)
        gap = narrow.only(going).each(posed.rotation.reshape(shape), posed.shift.reshape(shape))
        gap[np.isnan(gap)] = np.inf
        row = np.arange(going.size)
        best = gap.argmin(axis=1)
        better = gap[row, best] < smallest[going]
        smallest[going[better]] = gap[row, best][better]
        crank[going[better]] = angle[row, best][better]
        beside = np.maximum(gap[row, np.maximum(best - 1, 0)],
                            gap[row, np.minimum(best + 1, _GRID - 1)])
        half[going] /= (_GRID - 1) / 2
        going = going[beside - gap[row, best] > _DONE_MM]
        if going.size == 0:
            break
    return smallest, crank
