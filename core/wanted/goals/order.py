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
    fresh = np.ones(x.shape, bool)  # where a group of samples that lie together begins
    for _ in range(x.shape[1] if x.shape[0] == 1 else _ROUNDS):
        wrong = np.diff(x, axis=1) < -_TIED
        if not wrong.any():
            break
        fresh[:, 1:] &= ~wrong
        group = np.cumsum(fresh, axis=1) - 1
        middle = _means(start, group)
        spread = np.abs(start - middle).max(axis=1, keepdims=True) + room
        x = near(middle, _means(np.broadcast_to(target, x.shape), group),
                 np.broadcast_to(spread, x.shape))
    x = np.maximum.accumulate(x, axis=1)
    tied = np.diff(x, axis=1) <= _TIED
    held = np.zeros(x.shape, bool)
    held[:, 1:] |= tied
    held[:, :-1] |= tied
    return x, held


def _means(values: _T, group: Ints) -> _T:
    """(M, K) the mean over each one's group (M, K)."""
    count, samples = group.shape
    flat = (group + samples * np.arange(count)[:, None]).ravel()
    size = np.maximum(np.bincount(flat, minlength=count * samples), 1)
    total = np.zeros(count * samples, values.dtype)
    np.add.at(total, flat, np.ascontiguousarray(values).ravel())
    return np.asarray((total / size)[flat].reshape(group.shape))
