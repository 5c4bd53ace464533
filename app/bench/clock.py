"""Time taken, as the best of repeated runs, and rows of a table of them."""

from __future__ import annotations

import gc
from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter

#: A measurement runs about this long, at least so many times.
_SPAN_S, _LEAST = 0.6, 5


@dataclass(frozen=True)
class Row:
    """One measured figure: `value` in `unit`; `target` is the most (or, with `least`,
    the least) our budget allows, None where it only informs."""

    what: str
    value: float
    unit: str
    target: float | None = None
    least: bool = False

    @property
    def met(self) -> bool | None:
        """Whether the target is met; None without one."""
        if self.target is None:
            return None
        return bool(self.value >= self.target if self.least else self.value <= self.target)


def seconds(job: Callable[[], object], span_s: float = _SPAN_S, least: int = _LEAST) -> float:
    """The shortest time of one call of `job`, s, warmed by one call and with the garbage
    collector held off.

    The shortest, because whatever else the machine does can only make a call longer (so
    the documentation of `timeit` advises).
    """
    job()
    taken: list[float] = []
    gc.collect()
    collected = gc.isenabled()
    gc.disable()
    try:
        end = perf_counter() + span_s
        while len(taken) < least or perf_counter() < end:
            start = perf_counter()
            job()
            taken.append(perf_counter() - start)
    finally:
        if collected:
            gc.enable()
    return min(taken)
