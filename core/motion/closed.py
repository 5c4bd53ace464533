"""Groups solved in closed form, all samples at once.

Every group is written A + B₁u₁ + B₂u₂ with unknown turns u = e^{iθ}; A holds what is
known at each sample and B are drawn vectors. One turn on a guide gives Re(w̄u) = c, two
turns in a loop a triangle with two sides known; both have two solutions, told apart by a
sign that is read off the drawn pose. (Triangle and line–circle intersection as in any
kinematics textbook, e.g. R. L. Norton, *Design of Machinery*, ch. 4.)

The margin of a group is sin² of the angle at which its two solutions meet: 1 at the best
transmission, 0 where they meet and the group locks, negative where it cannot be put
together. Of a "cross" it is the sine between the two guides, positive as drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from core.errors import MotionError
from core.motion.network import Place
from core.motion.plan import KNOWN, Block, Guide, Loop, Turned
from core.motion.state import State, Where
from core.motion.turn import Complexes, Floats

#: Squared distance, by that of an arm, of two pins on one axis.
SAME = 1e-20


@dataclass
class Half:
    """A group solved up to the sign: `margin`, the sign drawn, and what `finish` needs.
    `room`, where it is not the margin itself, has its sign and no narrow dips: the square
    under the root by its greatest value."""

    margin: Floats
    sign: float
    parts: tuple[Any, ...]
    room: Floats | None = None


def turn_body(state: State, step: Turned) -> None:
    """Turn a body as slides, gears and belts tell."""
    if len(step.terms) == 1 and step.terms[0][1] == 1:
        other = step.terms[0][0]
        state.rotation[step.body] = state.rotation[other]
        return
    total = np.zeros(len(state.turn))
    for other, factor in step.terms:
        total = total + float(factor) * state.angle(other)
    state.set_angle(step.body, total)


def begin(state: State, block: Block, drawn: float | None = None) -> Half | None:
    """Solve up to the sign; None for a group that always has its one solution.

    `drawn` is the sign in the drawn pose; without it the last sample is the drawn pose.
    """
    if block.kind == "pair":
        return _begin_pair(state, block)
    if block.kind == "ray":
        return _begin_ray(state, block)
    if block.kind == "cross":
        return _begin_cross(state, block, drawn)
    return None


def finish(state: State, block: Block, half: Half | None, sign: Floats | float) -> None:
    """Solve a group; `sign` picks the solution."""
    state.frees = []
    if half is not None and block.kind == "pair":
        _finish_pair(state, block, half, sign)
    elif half is not None and block.kind == "ray":
        _finish_ray(state, block, half, sign)
    elif half is not None:
        _finish_cross(state, half)
    elif block.kind == "aim":
        _aim(state, block)
    hang(state, block)


def hang(state: State, block: Block) -> None:
    """Shifts of the bodies of a group whose turns are known."""
    for link in block.links:
        state.hang(link.body, state.end(link.at), state.drawn[link.slot])


def open_loop(state: State, block: Block, loop: Loop) -> tuple[Where, list[complex]]:
    """A and B of a loop, A + Σ B u = 0."""
    gap = state.base(loop.left) - state.base(loop.right)
    turning = [0j] * len(block.spins)
    for chain, side in ((loop.left, 1.0), (loop.right, -1.0)):
        for arm in chain.arms:
            vector = side * (state.drawn[arm.tip] - state.drawn[arm.tail])
            spin = block.spin_of(arm.body)
            if spin == KNOWN:
                gap = gap + state.rotation[arm.body] * vector
            else:
                turning[spin] += vector
    return gap, turning


def open_guide(state: State, block: Block, guide: Guide) -> tuple[Where, list[complex]]:
    """A and B of the way A + Σ B u from the start of a line to the point on it."""
    return open_loop(state, block, Loop(guide.line.id, guide.point, guide.start))


def normal(state: State, start: Place, end: int) -> complex:
    """Unit normal of a line in the drawn pose, 90° ccw from its direction."""
    along = state.drawn[end] - state.drawn[start.slot]
    length = abs(along)
    return 1j * along / length if length else 1j


def _last(value: Any) -> complex:
    return complex(value[-1]) if isinstance(value, np.ndarray) else value


def _row(state: State, value: Floats | float) -> Floats:
    return value if isinstance(value, np.ndarray) else np.full(len(state.turn), value)


def _square(value: Where) -> Any:
    return np.asarray(value.real * value.real + value.imag * value.imag)[()]


def _checked(state: State, block: Block, arms: Sequence[complex]) -> Sequence[complex]:
    """The arms of a group's unknown turns, none of no length."""
    for arm, bodies in zip(arms, block.spins, strict=True):
        if not arm:
            parts = " and ".join(state.plan.network.parts_of(bodies))
            raise MotionError(f"two joints of {parts} lie at one place", mend="move them apart")
    return arms


def _join(real: Floats | float, imag: Floats | float) -> Complexes:
    joined = np.empty(np.shape(imag) or np.shape(real), np.complex128)
    joined.real = real
    joined.imag = imag
    return joined


def _begin_pair(state: State, block: Block) -> Half:
    gap, arms = open_loop(state, block, block.loops[0])
    first, second = _checked(state, block, arms)
    span = _square(gap)
    one, two = abs(first) ** 2, abs(second) ** 2
    middle = (span + (one - two)) * 0.5
    area = span * one - middle * middle
    scale = one * two
    margin = _row(state, area * (1 / scale))
    sign = 1.0 if (first * _last(gap).conjugate()).imag <= 0 else -1.0
    return Half(margin, sign, (gap, span, middle, area, first, second))


def _finish_pair(state: State, block: Block, half: Half, sign: Floats | float) -> None:
    gap, span, middle, area, first, second = half.parts
    if state.least[block.number] < 0.0:
        area = np.maximum(area, 0.0)
    if state.least[block.number] < 1e-9 and state.reference is None \
            and np.max(span) <= SAME * abs(first) ** 2:
        one_bar, other = (" and ".join(state.plan.network.parts_of(bodies))
                          for bodies in block.spins)
        raise MotionError(f"{one_bar} and {other} turn about one axis and nothing says how far",
                          mend="join one of them to what should turn it")
    back = gap * (-1.0)
    one = _join(middle, sign * np.sqrt(area))
    with np.errstate(divide="ignore", invalid="ignore"):
        one *= back * (1.0 / span)
    state.set_rotation(block.spins[0], one, 1 / first)
    state.set_rotation(block.spins[1], back - one, 1 / second)


def _begin_ray(state: State, block: Block) -> Half:
    guide = block.guides[0]
    gap, (arm,) = open_guide(state, block, guide)
    across = normal(state, guide.line.start, guide.line.end)
    carrier = guide.line.start.body
    if block.spin_of(carrier) == KNOWN:
        across_now = state.rotation[carrier] * across
        _checked(state, block, [arm])
        toward = across_now * arm.conjugate()
        reach: Any = -(np.conj(across_now) * gap).real
    else:
        toward = across.conjugate() * gap
        reach = np.float64(-(across.conjugate() * arm).real)
    size = _square(toward)
    with np.errstate(divide="ignore", invalid="ignore"):
        margin = _row(state, 1.0 - reach * reach / size)
    sign = 1.0 if _last(toward).imag <= 0 else -1.0
    most = np.max(size)
    room = (size - reach * reach) / most if np.ndim(size) and most > 0 else None
    return Half(margin, sign, (toward, reach, size), room)


def _finish_ray(state: State, block: Block, half: Half, sign: Floats | float) -> None:
    toward, reach, size = half.parts
    height = sign * np.sqrt(np.maximum(half.margin, 0.0) * size)
    with np.errstate(divide="ignore", invalid="ignore"):
        state.set_rotation(block.spins[0], _join(reach, height), np.asarray(toward) / size)


def _aim(state: State, block: Block) -> None:
    gap, arms = open_loop(state, block, block.loops[0])
    turn: Any = np.asarray(-gap / _checked(state, block, arms)[0])[()]
    with np.errstate(divide="ignore", invalid="ignore"):
        state.set_rotation(block.spins[0], turn, 1 / abs(turn))


def _begin_cross(state: State, block: Block, drawn: float | None) -> Half:
    state.frees = []
    rows = []
    for guide in block.guides[:2]:
        gap, _ = open_guide(state, block, guide)
        across = state.rotation[guide.line.start.body] * normal(
            state, guide.line.start, guide.line.end)
        if guide.start.free >= 0:
            across = -across
            gap = -gap
        rows.append((across, -(np.conj(across) * gap).real))
    (one, reach_one), (two, reach_two) = rows
    sine: Any = np.asarray((np.conj(one) * two).imag)[()]
    facing = (1.0 if _last(sine).real >= 0 else -1.0) if drawn is None else drawn
    return Half(_row(state, sine * facing), facing,
                (one * reach_two - two * reach_one, sine))


def _finish_cross(state: State, half: Half) -> None:
    along, sine = half.parts
    with np.errstate(divide="ignore", invalid="ignore"):
        state.frees = [np.asarray(1j * along)[()] / sine]
