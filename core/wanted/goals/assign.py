"""Which step of the trace each sample of a curve is compared with: in order, and best.

A curve of K samples is laid onto a trace of L steps so that the steps rise (or stay) from
sample to sample and the sum of costs is least: dynamic programming over running minima, K·L
steps for each mechanism and all mechanisms at once (they come last in the arrays, so that
all work is along them). On a cyclic trace the first sample may lie anywhere and the last no
further than once round from it. There the end is sought by branch and bound: with the first
sample left free, one pass gives the best sum for every end, a lower bound for each; ends are
tried in the order of these until the next bound is no better than the best found.
"""

from __future__ import annotations

import numpy as np

from core.wanted.goals.dense import Floats, Ints

#: Numbers held at once; more mechanisms are taken in portions.
_PORTION = 2_000_000
#: Ends tried at once, over all mechanisms that are left.
_BATCH = 32


def assign_line(cost: Floats) -> tuple[Ints, Floats]:
    """The best rising steps on an open trace.

    Parameters
    ----------
    cost : (K, L, M), not NaN.

    Returns
    -------
    steps : (K, M) in 0 … L − 1, not falling along K.
    total : (M,) sum of their costs.
    """
    sums, least = _sums(cost)
    end = np.argmin(sums, axis=0)
    return _traced(least, end), sums[end, np.arange(end.size)]


def assign_loop(cost: Floats, most: int | None = None) -> tuple[Ints, Floats]:
    """The best rising steps on a closed trace, once round at most.

    Parameters
    ----------
    cost : (K, L, M), not NaN.
    most : so many ends are tried for each mechanism; None: until the best is certain.

    Returns
    -------
    steps : (K, M), not falling along K, the last in L … 2L − 1 and the first at most L
        before it; taken modulo L they are steps of the trace.
    total : (M,) sum of their costs.
    """
    samples, length, count = cost.shape
    portion = max(1, _PORTION // (2 * samples * length))
    if count <= portion:
        return _loop(cost, most)
    parts = [_loop(cost[..., first:first + portion], most)
             for first in range(0, count, portion)]
    return (np.concatenate([steps for steps, _ in parts], axis=-1),
            np.concatenate([total for _, total in parts]))


def _loop(cost: Floats, most: int | None) -> tuple[Ints, Floats]:
    length = cost.shape[1]
    twice = np.concatenate([cost, cost], axis=1)
    sums, least = _sums(twice)
    bound = sums[length:].copy()
    end = np.argmin(bound, axis=0)
    steps, total = _traced(least, end + length), bound[end, np.arange(end.size)]
    left = np.flatnonzero(steps[-1] > steps[0] + length)
    total[left] = np.inf
    tried, most = 0, length if most is None else most
    while left.size and tried < max(most, 1):
        batch = min(max(1, _BATCH // left.size), length, max(most, 1) - tried)
        ends = np.argpartition(bound[:, left], batch - 1, axis=0)[:batch] if batch > 1 \
            else np.argmin(bound[:, left], axis=0)[None]
        found, sums = _to(cost, np.tile(left, batch), ends.ravel())
        found, sums = found.reshape(-1, batch, left.size), sums.reshape(batch, left.size)
        best, column = np.argmin(sums, axis=0), np.arange(left.size)
        better = sums[best, column] < total[left]
        steps[:, left[better]] = found[:, best, column][:, better]
        total[left[better]] = sums[best, column][better]
        bound[ends, left] = np.inf
        left = left[bound[:, left].min(axis=0) < total[left]]
        tried += batch
    return steps, total


def _to(cost: Floats, rows: Ints, end: Ints) -> tuple[Ints, Floats]:
    """The best steps of mechanisms `rows` (B,) that end at L + `end` (B,) and begin at most
    once round before."""
    length = cost.shape[1]
    round_ = (end + np.arange(length + 1)[:, None]) % length
    sums, least = _sums(cost[:, round_, rows])
    return _traced(least, np.full(end.size, length, np.intp)) + end, sums[length]


def _sums(cost: Floats) -> tuple[Floats, Floats]:
    """(L, M) the least sum with the last sample just at each step, and (K − 1, L, M) the
    least with each of the others there or before."""
    least = np.empty((cost.shape[0] - 1, *cost.shape[1:]))
    sums: Floats = cost[0]
    for before, row in zip(least, cost[1:], strict=True):
        np.minimum.accumulate(sums, axis=0, out=before)
        sums = before + row
    return sums, least


def _traced(least: Floats, end: Ints) -> Ints:
    """The steps (K, M) behind the sums that end at `end` (M,)."""
    columns = np.arange(end.size)
    steps = np.empty((least.shape[0] + 1, end.size), np.intp)
    steps[-1] = end
    for k in range(least.shape[0] - 1, -1, -1):
        steps[k] = _first(least[k], least[k][steps[k + 1], columns], columns)
    return steps


def _first(falling: Floats, value: Floats, columns: Ints) -> Ints:
    """The first row at which each column of a falling array (L, M) is down to a value."""
    if columns.size == 1:
        return np.searchsorted(-falling[:, 0], -value)
    low = np.zeros(columns.size, np.intp)
    high = np.full(columns.size, falling.shape[0] - 1, np.intp)
    for _ in range(int(falling.shape[0]).bit_length()):
        middle = (low + high) // 2
        down = falling[middle, columns] <= value
        low, high = np.where(down, low, middle + 1), np.where(down, middle, high)
        low = np.minimum(low, high)
    return high
