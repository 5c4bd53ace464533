"""How exactly the joints are met."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.motion.closed import normal
from core.motion.state import State
from core.motion.turn import Floats


def joint_errors(state: State) -> Iterator[tuple[str, Floats]]:
    """Id and error (M,), mm, of every joint between determined bodies, one at a time.

    Angle errors (slides, gears, belts) count as the arc at the size of the sketch.
    """
    net, loose = state.plan.network, set(state.plan.loose)
    zero: Floats = np.zeros(len(state.turn))
    for pin in net.pins:
        ends: list[Any] = [state.at(end) for end in pin.ends if end.body not in loose]
        for end in ends[1:]:
            yield pin.id, zero + abs(end - ends[0])
    for line in net.lines:
        if line.point.body not in loose and line.start.body not in loose:
            across = state.rotation[line.start.body] * normal(state, line.start, line.end)
            gap = state.at(line.point) - state.at(line.start)
            yield line.id, zero + np.abs((np.conj(across) * gap).real)
    for law in net.laws:
        if not any(body in loose for body, _ in law.terms):
            total = zero
            for body, factor in law.terms:
                total = total + float(factor) * state.angle(body)
            scale = max(abs(float(factor)) for _, factor in law.terms)
            yield law.id, 2 * np.abs(np.sin(total / scale / 2)) * sketch_size(state)


def sketch_size(state: State) -> float:
    """Largest extent of the joints' drawn places along x or y, mm; 1 when there is none."""
    places = np.array(state.drawn, dtype=np.complex128)
    if not len(places):
        return 1.0
    return float(max(np.ptp(places.real), np.ptp(places.imag))) or 1.0


def worst_error(state: State, reached: NDArray[np.bool_]) -> float:
    """Largest joint error where reached, mm; 0 when nothing is."""
    if not reached.any():
        return 0.0
    return max((float(error[reached].max()) for _, error in joint_errors(state)), default=0.0)


