"""Instants between the steps that keep the order of their samples."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np

from core.wanted.goals.dense import Bools, Complexes, Floats, Ints

#: Places (M, K) near `start` (M, K), no further than `room` (M, K), where the trace is
#: nearest to `target` (M, K).
Near = Callable[[Floats, Complexes, Floats], Floats]
_TIED = 1e-12
#: Rounds of pooling of many mechanisms at once; what is left then lies together.
_ROUNDS = 4
_T = TypeVar("_T", Floats, Complexes)


def in_order(start: Floats, target: Complexes, room: float, near: Near
             ) -> tuple[Floats, Bools]:
    """The best rising places about steps that rise, and which of them lie together.

    Samples whose nearest places come in the wrong order share one, the nearest to all of
    them: that is where the trace is nearest to their middle. (Pool adjacent violators: R. E.
    Barlow et al., *Statistical Inference under Order Restrictions*, 1972.)

    Parameters
    ----------
    start : (M, K) rising. target : (M, K) complex, or what broadcasts to it.
    """
    x = near(start, target, np.full(start.shape, room))
    x = _pooled(start, target, room, near, x) if x.shape[0] == 1 else \
        _pooled_rows(start, target, room, near, x)
    x = np.maximum.accumulate(x, axis=1)
    tied = np.diff(x, axis=1) <= _TIED
    held = np.zeros(x.shape, bool)
    held[:, 1:] |= tied
    held[:, :-1] |= tied
    return x, held


def _pooled(start: Floats, target: Complexes, room: float, near: Near, x: Floats) -> Floats:
    """Nearest places (1, K) of one mechanism with those in the wrong order pooled until none
    is; only groups that have grown are looked at again, however many samples there are."""
    first = np.arange(x.shape[1])  # of each group
    size, at = np.ones(x.shape[1]), x[0]
    begun, aim = start[0], np.broadcast_to(target, x.shape)[0]
    while True:
        fresh = np.concatenate([[True], np.diff(at) >= -_TIED])
        if fresh.all():
            return np.repeat(at, size.astype(np.intp))[None]
        old = np.flatnonzero(fresh)
        grown = np.diff(np.append(old, first.size)) > 1
        first, at = first[old], at[old]
        size = np.diff(np.append(first, x.shape[1])).astype(np.float64)
        middle = np.add.reduceat(begun, first) / size
        last = np.append(first[1:], x.shape[1]) - 1
        spread = float(np.maximum(middle - begun[first], begun[last] - middle).max()) + room
        goal: Complexes = np.add.reduceat(aim, first).astype(np.complex128) / size
        at[grown] = near(middle[None, grown], goal[None, grown],
                         np.full((1, int(grown.sum())), spread))[0]


def _pooled_rows(start: Floats, target: Complexes, room: float, near: Near, x: Floats
                 ) -> Floats:
    """The same for many mechanisms (M, K) at once, in a few rounds."""
    fresh = np.ones(x.shape, bool)  # where a group of samples that lie together begins
    for _ in range(_ROUNDS):
        wrong = np.diff(x, axis=1) < -_TIED
        if not wrong.any():
            break
        fresh[:, 1:] &= ~wrong
        group = np.cumsum(fresh, axis=1) - 1
        middle = _means(start, group)
        spread = np.abs(start - middle).max(axis=1, keepdims=True) + room
        x = near(middle, _means(np.broadcast_to(target, x.shape), group),
                 np.broadcast_to(spread, x.shape))
    return x


def _means(values: _T, group: Ints) -> _T:
    """(M, K) the mean over each one's group (M, K)."""
    count, samples = group.shape
    flat = (group + samples * np.arange(count)[:, None]).ravel()
    size = np.maximum(np.bincount(flat, minlength=count * samples), 1)
    total = np.zeros(count * samples, values.dtype)
    np.add.at(total, flat, np.ascontiguousarray(values).ravel())
    return np.asarray((total / size)[flat].reshape(group.shape))
