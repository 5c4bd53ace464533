"""How well every group passes force on: its transmission angle over the turn.

For two links on a pin it is the angle between them (H. Alt's transmission angle); for a link
to a slide, that between the link and the normal of the slide; for a pin in the slot of a
lever, that between the slot and the way from the lever's pivot to the pin. All are folded
to 0 … π/2: at π/2 the group is pushed best, at 0 it locks.

A group without a closed form has the angle of the pair of links that is as near to locking:
with the derivatives of its equations by each unknown brought to unit length, the smallest
singular value σ tells it. (For a pair σ² = 1 − |cos μ| is exact, so the measure is the same;
carrying it over to larger groups is our own.)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.motion.closed import normal
from core.motion.group_rates import axis_parts, used
from core.motion.plan import KNOWN, Block, Guide
from core.motion.sensitivity import Moved, Sensitivity
from core.motion.solution import Solution
from core.motion.state import State
from core.motion.turn import Floats, Turn

#: Angles nearer than this (rad) to 0 or π/2 have no sound derivative.
_FLAT = 1e-6


@dataclass(frozen=True)
class Transmission:
    """`angle_rad` (N,): transmission angle of a group at every crank angle, NaN where not
    reached. `parts` are the ids of its parts, `kind` the kind of the group, `number` its
    number in the plan."""

    parts: tuple[str, ...]
    kind: str
    number: int
    angle_rad: Floats


def transmission(turn: Turn) -> tuple[Transmission, ...]:
    """The transmission angle of every group that can lock, in solving order.

    Raises
    ------
    MotionError
        For a turn that was not solved.
    """
    solution = turn.solved
    plan = solution.grid.plan
    return tuple(
        Transmission(plan.network.parts_of(block.moved), block.kind, block.number,
                     transmission_of(turn, solution, block))
        for block in plan.blocks if block.kind in ("pair", "ray", "cross", "newton"))


def transmission_of(turn: Turn, solution: Solution, block: Block) -> Floats:
    """(N,) rad: the transmission angle of one group of a solved turn, NaN where not
    reached."""
    state, samples = solution.state, len(turn.crank_rad)
    margin = state.margin[block.number]
    if block.kind == "newton" or margin is None:
        with np.errstate(divide="ignore", invalid="ignore"):
            angle = _Matrix(state, block, None).angle()[0][:samples]
    else:
        sine = np.clip(margin[:samples], 0.0, 1.0)
        angle = np.arcsin(sine if block.kind == "cross" else np.sqrt(sine))
    return np.where(turn.reached, angle, np.nan)


def transmission_slopes(sensitive: Sensitivity, number: int) -> Floats:
    """(N, D) rad per unit of move: derivatives of the transmission angle of the group of
    that number; 0 where the angle is 0 or π/2, a fold or a best."""
    solution = sensitive.turn.solved
    block = solution.grid.plan.blocks[number]
    with np.errstate(divide="ignore", invalid="ignore"):
        _, slope = _Matrix(solution.state, block, sensitive.within).angle()
    assert slope is not None
    return np.asarray(slope[:, :len(sensitive.turn.crank_rad)].T)


class _Matrix:
    """The derivatives of a group's equations by its unknowns, (M, R, U), each unknown's
    column brought to unit length, and how that changes, (D, M, R, U)."""

    def __init__(self, state: State, block: Block, moved: Moved | None) -> None:
        self.state, self.block = state, block
        self.moved = moved
        self.still = Moved(state, [0j] * len(state.drawn)) if moved is None else moved
        self.unknowns = len(block.spins) + 2 * block.frees
        self.rows: list[list[Any]] = []
        self.moves: list[list[Any]] = []
        self.square: list[Any] = [0.0] * len(block.spins)
        self.growth: list[Any] = [0.0] * len(block.spins)
        self.loops_of = [0] * block.frees
        loops, guides = used(block)
        for loop in loops:
            self._loop(loop)
        for guide in guides:
            self._rail(guide)
        self._laws()

    def angle(self) -> tuple[Floats, Floats | None]:
        """The transmission angle (M,), and its derivatives (D, M)."""
        samples = len(self.state.turn)
        matrix = _filled(self.rows, (samples,))
        length = _filled([self._lengths()], (samples,))[:, 0]
        unit = matrix / length[:, None, :]
        unit[~np.isfinite(unit).all(axis=(1, 2))] = 0.0
        left, value, right = np.linalg.svd(unit, full_matrices=False)
        least = np.clip(value[:, -1], 0.0, 1.0)
        single = self.unknowns == 1
        angle = np.arcsin(least) if single else np.arccos(np.clip(1.0 - least**2, 0.0, 1.0))
        if self.moved is None:
            return angle, None
        count = max((np.shape(each)[0] for row in self.moves for each in row
                     if np.ndim(each) == 2), default=1)
        change = _filled(self.moves, (count, samples)) / length[:, None, :]
        grown = _filled([self._growths()], (count, samples))[:, :, 0] / length
        change -= unit * grown[:, :, None, :]
        slope = np.einsum("mr,dmru,mu->dm", left[:, :, -1], change, right[:, -1, :])
        way = np.cos(angle) if single else np.sin(angle) / (2.0 * np.maximum(least, _FLAT))
        slope = np.where((way > _FLAT) & (least > _FLAT), slope / np.maximum(way, _FLAT), 0.0)
        return angle, slope

    def _loop(self, loop: Any) -> None:
        _, arms, frees = self.still.way(self.block, loop.left, loop.right)
        moves = self._arm_moves(loop.left, loop.right)
        self.rows.append([-np.imag(arm) for arm in arms] + axis_parts(frees, (1.0, 0.0)))
        self.rows.append([np.real(arm) for arm in arms] + axis_parts(frees, (0.0, 1.0)))
        none = [0.0] * (2 * self.block.frees)
        self.moves.append([-np.imag(move) for move in moves] + none)
        self.moves.append([np.real(move) for move in moves] + none)
        for spin, (arm, move) in enumerate(zip(arms, moves, strict=True)):
            self._count(spin, arm, move)
        for free, factor in enumerate(frees):
            self.loops_of[free] += abs(factor)

    def _rail(self, guide: Guide) -> None:
        state, still, line = self.state, self.still, guide.line
        _, arms, frees = still.way(self.block, guide.point, guide.start)
        moves = self._arm_moves(guide.point, guide.start)
        carrier = line.start.body
        spin = self.block.spin_of(carrier)
        if spin != KNOWN:
            arms[spin] = arms[spin] - (state.at(line.point) - state.at(line.start))
            moves[spin] = moves[spin] - (still.place(line.point) - still.place(line.start))
        drawn = state.drawn[line.end] - state.drawn[line.start.slot]
        tilted = still.slots[line.end] - still.slots[line.start.slot]
        across = np.conj(state.rotation[carrier] * normal(state, line.start, line.end))
        turned = still.spin[carrier] + (np.imag(tilted / drawn) if drawn else 0.0)
        swung = -1j * turned * across
        self.rows.append([-np.imag(across * arm) for arm in arms]
                         + axis_parts(frees, (across.real, -across.imag)))
        self.moves.append([-np.imag(across * move + swung * arm)
                           for arm, move in zip(arms, moves, strict=True)]
                          + axis_parts(frees, (np.real(swung), -np.imag(swung))))
        for number, (arm, move) in enumerate(zip(arms, moves, strict=True)):
            self._count(number, arm, move)

    def _laws(self) -> None:
        """Angle laws, in mm by the mean length of the arms."""
        spins = len(self.block.spins)
        if not self.block.laws:
            return
        lengths, growths = self._lengths()[:spins], self._growths()[:spins]
        size, grown = sum(lengths) / spins, sum(growths) / spins
        none = [0.0] * (2 * self.block.frees)
        for law in self.block.laws:
            factors = [0.0] * spins
            for body, factor in law.terms:
                spin = self.block.spin_of(body)
                if spin != KNOWN:
                    factors[spin] += float(factor)
            self.rows.append([factor * size for factor in factors] + none)
            self.moves.append([factor * grown for factor in factors] + none)

    def _arm_moves(self, left: Any, right: Any) -> list[Any]:
        """How the arms of the unknown turns change, these turns changing too."""
        moves: list[Any] = [0j] * len(self.block.spins)
        for chain, side in ((left, 1), (right, -1)):
            for arm in chain.arms:
                spin = self.block.spin_of(arm.body)
                if spin != KNOWN:
                    moves[spin] = moves[spin] + side * self.still.arm(arm.body, arm.tail,
                                                                     arm.tip)
        return moves

    def _count(self, spin: int, arm: Any, move: Any) -> None:
        self.square[spin] = self.square[spin] + np.abs(arm) ** 2
        self.growth[spin] = self.growth[spin] + np.real(np.conj(arm) * move)

    def _lengths(self) -> list[Any]:
        lengths = [np.sqrt(np.maximum(square, 1e-30)) for square in self.square]
        return lengths + [np.sqrt(max(1.0, loops)) for loops in self.loops_of for _ in "xy"]

    def _growths(self) -> list[Any]:
        growths = [growth / np.sqrt(np.maximum(square, 1e-30))
                   for growth, square in zip(self.growth, self.square, strict=True)]
        return growths + [0.0 for _ in self.loops_of for _ in "xy"]


def _filled(rows: list[list[Any]], shape: tuple[int, ...]) -> NDArray[np.float64]:
    """Rows of values that broadcast to `shape`, as one array (*shape, R, U)."""
    matrix = np.empty((*shape, len(rows), len(rows[0])))
    for at, row in enumerate(rows):
        for column, value in enumerate(row):
            matrix[..., at, column] = value
    return matrix
