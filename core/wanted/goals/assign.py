"""Which step of the trace each sample of a curve is compared with: in order, and best.

A curve of K samples is laid onto a trace of L steps so that the steps rise (or stay) from
sample to sample and the sum of costs is least: dynamic programming over running minima, K·L
steps for each mechanism and all mechanisms at once (they come last in the arrays, so that
all work is along them). On a cyclic trace the first sample may lie anywhere and the last no
further than once round from it. There the end is sought by branch and bound: for a range of
ends, with no sample before the first step any of them allows, one pass gives a lower bound
for each, and often a solution; ranges that may hold a better one are cut into smaller ones,
down to single ends, for which it is exact.
"""

from __future__ import annotations

import numpy as np

from core.wanted.goals.dense import Bools, Floats, Ints

#: Numbers held at once; more mechanisms are taken in portions.
_PORTION = 2_000_000
#: Jumps shorter than this share of a lap are no detours.
_DETOUR = 16
#: Ranges of ends are cut into so many.
_CUT = 4


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
    most : so many ranges are followed for each mechanism, the most promising; None: all
        that may hold the best.

    Returns
    -------
    steps : (K, M), not falling along K, the last in L … 2L − 1 and the first at most L
        before it; taken modulo L they are steps of the trace.
    total : (M,) sum of their costs.
    """
    parts = [_Loops(part).closed(most) for part in _portions(cost, 2)]
    return (np.concatenate([steps for steps, _ in parts], axis=-1),
            np.concatenate([total for _, total in parts]))


def assign_either(cost: Floats, most: int | None = None) -> tuple[Ints, Floats, Bools]:
    """As :func:`assign_loop`, the samples as they come or the other way round, whichever is
    better.

    Returns
    -------
    steps : (K, M), as of the samples taken in the better direction.
    total : (M,).
    back : (M,) whether that is the other way round.
    """
    parts = [_either(part, most) for part in _portions(cost, 4)]
    return (np.concatenate([steps for steps, _, _ in parts], axis=-1),
            np.concatenate([total for _, total, _ in parts]),
            np.concatenate([back for _, _, back in parts]))


def _portions(cost: Floats, times: int) -> list[Floats]:
    """The mechanisms in portions of which so many times the costs can be held at once."""
    samples, length, count = cost.shape
    portion = max(1, _PORTION // (times * samples * length))
    return [cost[..., first:first + portion] for first in range(0, max(count, 1), portion)]


def _either(cost: Floats, most: int | None) -> tuple[Ints, Floats, Bools]:
    """Both directions at once; the worse one is followed no further than to where it cannot
    be better any more."""
    count = cost.shape[2]
    loops = _Loops(np.concatenate([cost, cost[::-1]], axis=2))
    other = np.roll(np.arange(2 * count), count)
    likely = loops.bound < loops.bound[other]
    likely[:count] |= loops.bound[:count] == loops.bound[count:]
    for rows in map(np.flatnonzero, (loops.open & likely, loops.open & ~likely)):
        below = loops.total[other[rows]]
        as_they_come = rows < count  # wins when both are even
        below[as_they_come] = np.nextafter(below[as_they_come], np.inf)
        loops.close(rows, below, most)
    steps, total = loops.steps, loops.total
    back = total[count:] < total[:count]
    return (np.where(back, steps[:, count:], steps[:, :count]),
            np.where(back, total[count:], total[:count]), back)


class _Loops:
    """Samples laid on closed traces: first as if a way could be longer than once round.

    `steps` (K, M) and their `total` (M,), infinite while it is `open` (M,): longer than once
    round; `bound` (M,) below which no total is.
    """

    def __init__(self, cost: Floats) -> None:
        self._cost = cost
        length, count = cost.shape[1:]
        sums, least = _sums(np.concatenate([cost, cost], axis=1))
        self._bounds = sums[length:]
        end = np.argmin(self._bounds, axis=0)
        self.bound = self._bounds[end, np.arange(count)]
        self.steps, self.total = _traced(least, end + length), self.bound.copy()
        self.open = self.steps[-1] > self.steps[0] + length
        self.total[self.open] = np.inf

    def closed(self, most: int | None) -> tuple[Ints, Floats]:
        """The best steps once round at most, and their sums."""
        rows = np.flatnonzero(self.open)
        self.close(rows, np.full(rows.size, np.inf), most)
        return self.steps, self.total

    def close(self, rows: Ints, below: Floats, most: int | None) -> None:
        """Find the best steps once round at most of mechanisms `rows` (B,), where their sum
        is `below` (B,); elsewhere it stays infinite."""
        cost, steps, total = self._cost, self.steps, self.total
        length, every = cost.shape[1], rows
        total[rows] = below
        starts, bounds = np.zeros(rows.size, np.intp), self._bounds[:, rows]
        while rows.size:
            rows, starts, width = _split(rows, starts, bounds, total, most)
            portion = max(1, _PORTION // (cost.shape[0] * (length + width)))
            parts = [slice(first, first + portion) for first in range(0, rows.size, portion)]
            bounds = np.concatenate([np.zeros((width, 0)), *(
                _ending(cost, rows[part], starts[part], width, steps, total)
                for part in parts)], axis=1)
            if width == 1:
                break
        total[every[total[every] >= below]] = np.inf


def _split(rows: Ints, starts: Ints, bounds: Floats, total: Floats, most: int | None
           ) -> tuple[Ints, Ints, int]:
    """Ranges of ends cut into four, those left out that cannot be better than what was found:
    mechanisms (B,), first ends (B,) and how many ends to each."""
    wide = bounds.shape[0]
    width = -(-wide // _CUT)
    cuts = np.minimum(width * np.arange(_CUT), wide - width)
    least = np.stack([bounds[cut:cut + width].min(axis=0) for cut in cuts])
    rows, starts = np.tile(rows, _CUT), (starts + cuts[:, None]).ravel()
    chosen = np.flatnonzero(least.ravel() < total[rows])
    order = chosen[np.lexsort((least.ravel()[chosen], rows[chosen]))]
    if most is not None:
        rank = np.arange(order.size) - np.searchsorted(rows[order], rows[order])
        order = order[rank < most]
    return rows[order], starts[order], width


def _ending(cost: Floats, rows: Ints, start: Ints, width: int, steps: Ints, total: Floats
            ) -> Floats:
    """(width, B) bounds for the sums of mechanisms `rows` (B,) that end at `start` (B,) and
    the next few steps: no step comes before those that the first of them may begin with. What
    is thereby found is put into `steps` and `total`."""
    length = cost.shape[1]
    round_ = (start + np.arange(length + width)[:, None]) % length
    sums, least = _sums(cost[:, round_, rows])
    bounds = sums[length:]
    end = np.argmin(bounds, axis=0)
    found = _traced(least, end + length)
    value = np.where(found[0] >= end, bounds[end, np.arange(end.size)], np.inf)
    np.minimum.at(total, rows, value)
    best = np.flatnonzero((value == total[rows]) & np.isfinite(value))
    steps[:, rows[best]] = found[:, best] + start[best]
    return bounds


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
        # The first row of a falling column that is down to its value there.
        falling = least[k]
        np.argmax(falling <= falling[steps[k + 1], columns], axis=0, out=steps[k])
    return steps


def closer(cost: Floats, steps: Ints, near: float, far: float) -> Ints:
    """Steps (K,) that leave out detours between one sample and the next.

    Where a trace comes by a sample twice, the assignment takes the better time, be it by a
    hair, and the trace may have been far away in between. The other time is taken when that
    costs at most `near` more and there is a way of more than `far` cost between them.

    Parameters
    ----------
    cost : (K, L) of a closed trace. steps : (K,) not falling, as of :func:`assign_loop`.
    """
    length, steps = cost.shape[1], steps.copy()
    least = length // _DETOUR
    for k in range(steps.size - 2, -1, -1):
        if steps[k + 1] - steps[k] < least:
            continue
        between = cost[k, np.arange(steps[k + 1], steps[k] - 1, -1) % length]
        steps[k] = steps[k + 1] - _first_valley(between, near, far)
    for k in range(1, steps.size):
        if steps[k] - steps[k - 1] < least:
            continue
        between = cost[k, np.arange(steps[k - 1], steps[k] + 1) % length]
        steps[k] = steps[k - 1] + _first_valley(between, near, far)
    return steps


def _first_valley(cost: Floats, near: float, far: float) -> int:
    """The lowest place of the first valley that is about as low as the end, where a way of
    `far` lies between; else the end."""
    last = cost.size - 1
    good = np.flatnonzero(cost <= cost[last] + near)
    away = np.flatnonzero(cost > cost[last] + far)
    away = away[away > good[0]]
    return good[0] + int(np.argmin(cost[good[0]:away[0]])) if away.size else last
