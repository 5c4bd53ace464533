"""The last steps of a search, judged by the whole effort with its friction.

Until here friction was taken as fixed between rounds; a small move also changes how hard
joints are pressed, which only an effort tells.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

State = TypeVar("State")

#: Efforts that may be worked out for one proposal.
_BUDGET = 70


def polished(state: Sequence[State], moves: Callable[[State, float], Sequence[State]],
             value: Callable[[Sequence[State]], float], steps: Sequence[float],
             ) -> list[State]:
    """The state after a descent one thing at a time; the first move that helps is taken.

    `moves` gives what may become of one thing at a step, `value` what is made small. Ends
    after a fixed number of values, so that equal input gives equal results.
    """
    best, left = value(state), _BUDGET
    kept = list(state)
    for step in steps:
        moved = True
        while moved and left > 0:
            moved = False
            for k, each in enumerate(kept):
                for other in moves(each, step):
                    if left <= 0:
                        break
                    trial = [*kept[:k], other, *kept[k + 1:]]
                    found, left = value(trial), left - 1
                    if found < best * (1.0 - 1e-6):
                        best, kept, moved = found, trial, True
                        break
    return kept
