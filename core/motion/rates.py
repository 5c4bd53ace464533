"""Velocities and accelerations of the whole turn at once.

First and second derivatives by the crank angle come from differentiating each group's
own equations (implicit function theorem), in the order in which the groups were solved:
the same small matrix serves both. Time enters only through the crank's speed and
acceleration. (Loop-closure derivatives as in any kinematics textbook, e.g. R. L. Norton,
*Design of Machinery*, ch. 6 and 7.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from core.errors import MotionError
from core.model import part_of
from core.motion.group_rates import Motion, solve_motion
from core.motion.running import near_touches, probe
from core.motion.solution import Solution, neighbours
from core.motion.turn import Complexes, Floats, Turn

#: Samples nearer than this (rad) to where a group's solutions touch take their rates
#: from their neighbours.
BRIDGED = 2e-3


@dataclass(frozen=True)
class Rates:
    """Derivatives of all poses by the crank angle φ; NaN where not reached.

    Attributes
    ----------
    spin, spin2 : (P, N) dθ/dφ and d²θ/dφ² of every part (1 and 0 for the crank).
    shift1, shift2 : (P, N) complex d(shift)/dφ and d²(shift)/dφ², mm.
    """

    turn: Turn
    spin: Floats
    spin2: Floats
    shift1: Complexes
    shift2: Complexes

    @cached_property
    def crank_motion(self) -> tuple[Floats, Floats]:
        """Crank speed (rad/s) and acceleration (rad/s²), each (N,)."""
        return crank_motion(self.turn)

    def slope(self, ref: str) -> tuple[Complexes, Complexes]:
        """First and second derivative by the crank angle of a point's place, (N,) complex
        mm (per rad, per rad²)."""
        return self.slope_at(part_of(ref), self.turn.sketch.place(ref))

    def slope_at(self, part: str, drawn: complex) -> tuple[Complexes, Complexes]:
        """As :meth:`slope`, of a drawn place (mm) fixed to a part."""
        row = self.turn.row(part)
        arm = self.turn.rotation[row] * drawn
        spin = self.spin[row]
        first = 1j * spin * arm + self.shift1[row]
        second = (1j * self.spin2[row] - spin * spin) * arm + self.shift2[row]
        return first, second

    def velocity(self, ref: str) -> Floats:
        """Velocity of the point ``"part.point"``, (N, 2) mm/s."""
        omega, _ = self.crank_motion
        return _pairs(self.slope(ref)[0] * omega)

    def acceleration(self, ref: str) -> Floats:
        """Acceleration of the point ``"part.point"``, (N, 2) mm/s²."""
        omega, alpha = self.crank_motion
        first, second = self.slope(ref)
        return _pairs(second * omega**2 + first * alpha)

    def part_speed(self, part: str) -> Floats:
        """Angular velocity of a part, (N,) rad/s, counter-clockwise positive."""
        speed: Floats = self.spin[self.turn.row(part)] * self.crank_motion[0]
        return speed

    def part_acceleration(self, part: str) -> Floats:
        """Angular acceleration of a part, (N,) rad/s²."""
        row = self.turn.row(part)
        omega, alpha = self.crank_motion
        grown: Floats = self.spin2[row] * omega**2 + self.spin[row] * alpha
        return grown


def crank_motion(turn: Turn) -> tuple[Floats, Floats]:
    """Angular speed (rad/s) and acceleration (rad/s²) of the crank at every step, (N,).

    "turn": the constant speed of the drive, negative when clockwise. "rock": the forth
    stroke of a harmonic swing; on the way back the speed is the opposite, the
    acceleration the same.

    Raises
    ------
    MotionError
        For a sketch without a drive.
    """
    drive = turn.sketch.drive
    if drive is None:
        raise MotionError("there is no crank", mend="choose a part to turn")
    rate = drive.rpm * 2 * math.pi / 60
    if drive.kind == "turn":
        return np.full(len(turn.crank_rad), rate), np.zeros(len(turn.crank_rad))
    low, high = sorted(map(math.radians, (drive.from_deg, drive.to_deg)))
    off = turn.crank_rad - (low + high) / 2
    speed = abs(rate) * np.sqrt(np.maximum(((high - low) / 2) ** 2 - off * off, 0.0))
    return speed, -rate * rate * off


def rates(turn: Turn) -> Rates:
    """First and second derivatives by the crank angle at all steps of a turn.

    Where the crank locks the derivatives grow without bound; where two solutions of a
    group touch (a parallelogram stretched flat) those of the smooth motion are given.

    Raises
    ------
    MotionError
        For a turn that was not made by :func:`core.motion.solve_turn`.
    """
    solution = turn.solved
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        motion = solve_motion(solution.state)
        _bridge(solution, motion)
    for body in solution.grid.plan.adrift:
        motion.spin[body] = motion.spin2[body] = 0.0
    spin, spin2 = (solution.rows(values, np.empty(turn.rotation.shape))
                   for values in (motion.spin, motion.spin2))
    shift1, shift2 = (solution.rows(values, np.empty_like(turn.rotation))
                      for values in (motion.shift1, motion.shift2))
    if not turn.reached.all():
        for values in (spin, spin2, shift1, shift2):
            values[:, ~turn.reached] = np.nan
    return Rates(turn, spin, spin2, shift1, shift2)


def _bridge(solution: Solution, motion: Motion) -> None:
    """Rates next to a touch, from what smooth motion makes of their neighbours."""
    grid, state = solution.grid, solution.state
    for at in near_touches(grid.tracks, state.turn, grid.period, BRIDGED):
        around, weights = neighbours(float(state.turn[at]))
        fine = solve_motion(probe(grid.state, grid.tracks, grid.sheet(around + grid.home)))
        for own, near_by in ((motion.spin, fine.spin), (motion.spin2, fine.spin2),
                             (motion.shift1, fine.shift1), (motion.shift2, fine.shift2)):
            for body in range(1, grid.plan.network.bodies):
                value, others = own[body], near_by[body]
                if isinstance(value, np.ndarray) and isinstance(others, np.ndarray):
                    value[at] = weights @ others


def _pairs(value: Complexes) -> Floats:
    return np.stack([value.real, value.imag], axis=-1)
