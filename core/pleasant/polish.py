"""The last steps of a search, judged by the whole effort with its friction.

Until here friction was taken as fixed between rounds; a small move also changes how hard
joints are pressed, which only an effort tells.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

State = TypeVar("State")

#: Efforts that may be worked out for one proposal.
_BUDGET = 90


def polished(state: Sequence[State], moves: Callable[[State, float], Sequence[State]],
             value: Callable[[Sequence[State]], float], steps: Sequence[float],
             go_on: Callable[[float], bool],
             may: Callable[[Sequence[State]], bool] = lambda _: True) -> list[State]:
    """The state after a descent one thing at a time; the first move that helps is taken.

    `moves` gives what may become of one thing at a step, `value` what is made small; `may`
    is asked last, of what would be better. Ends
    when `go_on` says no, or after a fixed number of values: equal input, equal results.
    """
    best, left = value(state), _BUDGET
    kept = list(state)
    for step in steps:
        moved = True
        while moved and left > 0:
            moved = False
            for k, each in enumerate(kept):
                for other in moves(each, step):
                    if left <= 0 or not go_on(0.0):
                        return kept
                    trial = [*kept[:k], other, *kept[k + 1:]]
                    found, left = value(trial), left - 1
                    if found < best * (1.0 - 1e-6) and may(trial):
                        best, kept, moved = found, trial, True
                        break
    return kept
