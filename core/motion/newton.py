"""Groups without a closed form: Newton's method, all samples at once.

Warm, every sample starts from the last solution of a sketch nearly the same. Cold, the
solution is followed from the drawn pose sample by sample, halving the step where needed
(predictor and corrector; E. L. Allgower and K. Georg, *Numerical Continuation Methods*).
A solution belongs to the drawn pose's branch while the determinant of the derivatives
keeps its sign and no sample is far from its neighbour.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.motion.closed import hang
from core.motion.fold import find_fold
from core.motion.plan import Block
from core.motion.state import State
from core.motion.system import System, system
from core.motion.turn import Floats

#: Residual, relative to the group's size, at which a sample is solved.
SOLVED = 1e-14
#: and the residual rounding may leave it at.
GOOD = 1e-11
#: Largest change of a turn (rad) between neighbouring samples, and of a shift by size.
JUMP = 0.5
#: How often a step is halved before the group counts as locked.
HALVINGS = 16

Probe = Callable[[Floats, Block], State]


@dataclass
class Branch:
    """A group's solution along the turn.

    `unknown` (unknowns, M) continuous from the drawn pose; `good` (M,) where it was
    reached; `facing` the sign of the determinant (0 when the group has spare joints, NaN
    when any will do); `steps` the crank's turn and the unknowns at steps in between;
    `ends` the turns at which it locks, if they were found.
    """

    unknown: Floats
    good: NDArray[np.bool_]
    facing: float
    steps: list[tuple[float, Floats]] = field(default_factory=list)
    ends: tuple[float, float] = (-np.inf, np.inf)
    knots: tuple[Floats, Floats] | None = None

    def near(self, grid: State, turn: Floats) -> tuple[Floats, NDArray[np.bool_]]:
        """Unknowns interpolated at turns of the crank, and which of them the branch
        reaches or nearly reaches. `grid` has the samples the branch is solved at."""
        if self.knots is None:
            every = [*grid.turn[self.good], *(step for step, _ in self.steps)]
            order = np.argsort(every)
            values = np.column_stack([self.unknown[:, self.good],
                                      *(value for _, value in self.steps)])
            self.knots = np.array(every)[order], values[:, order]
        at, values = self.knots
        if not len(at):
            return np.zeros((len(values), len(turn))), np.zeros(len(turn), bool)
        guess = np.array([np.interp(turn, at, row) for row in values])
        margin = np.diff(grid.turn[grid.order]).max(initial=0.0)
        inside = (turn >= max(at[0] - margin, self.ends[0])) & (
            turn <= min(at[-1] + margin, self.ends[1]))
        return guess.reshape(len(values), len(turn)), inside


def follow(state: State, block: Block, warm: Branch | None, probe: Probe) -> Branch:
    """Solve a group along the turn from the drawn pose, the last sample, on."""
    equations = system(state, block)
    samples = len(state.turn)
    unknown = np.zeros((equations.unknowns, samples))
    home, good_home, facing = _newton(equations.take(np.array([samples - 1])),
                                      unknown[:, -1:])
    branch = Branch(unknown, np.zeros(samples, bool), float(facing[0]))
    if good_home[0] and np.abs(home[:equations.spins]).max(initial=0.0) < 0.1:
        unknown[:, -1:] = home
        branch.good[-1] = True
        if warm is not None and warm.unknown.shape == unknown.shape:
            _from_warm(state, equations, branch, warm)
        _Walk(state, block, equations, branch, probe).run()
    _settle(state, block, branch.unknown, branch.good)
    return branch


def solve_near(state: State, block: Block, branch: Branch) -> None:
    """Solve a group at other samples, close to a branch."""
    grid = state.reference
    assert grid is not None
    guess, inside = branch.near(grid, state.turn)
    equations = system(state, block)
    unknown, good = guess.copy(), np.zeros(len(state.turn), bool)
    tried = np.flatnonzero(inside)
    if len(tried):
        some = equations.take(tried)
        unknown[:, tried], solved, facing = _newton(some, guess[:, tried], 60)
        solved &= (facing == branch.facing) | np.isnan(branch.facing) | _at_end(
            branch, state.turn[tried])
        good[tried] = solved & _close(some, unknown[:, tried], guess[:, tried])
    _settle(state, block, unknown, good)


def _at_end(branch: Branch, turn: Floats) -> NDArray[np.bool_]:
    """Turns so near to a lock that the sign of the determinant is rounding."""
    near: NDArray[np.bool_] = np.abs(turn[:, None] - branch.ends).min(axis=1) < 1e-9
    return near


def joins(branch: Branch, block: Block, grid: State) -> bool:
    """Whether a branch followed all round the cycle ends where it began: the step from
    its last to its first sample is like the others."""
    order = grid.order[grid.order != len(grid.turn) - 1]
    row = np.array(branch.unknown[:, order], np.complex128)
    spins = len(block.spins)
    row[:spins] = np.exp(1j * row[:spins])
    steps = np.abs(np.diff(row, axis=1)).max(axis=1, initial=0.0)
    seam = np.abs(row[:, 0] - row[:, -1])
    return bool((seam <= 4 * steps + 1e-6 * (1 + np.abs(row).max(initial=0.0))).all())


def solutions(state: State, block: Block, starts: int = 400) -> Floats:
    """All ways found of putting a group together at the first sample, (K, unknowns), from
    many starts, each turn brought to ±π; in rising order."""
    equations = system(state, block).take(np.zeros(starts, np.intp))
    chance = np.random.default_rng(1)
    guess = chance.uniform(-np.pi, np.pi, (equations.unknowns, starts))
    guess[equations.spins:] *= equations.size / np.pi
    unknown, good, _ = _newton(equations, guess, 60)
    spins = equations.spins
    unknown[:spins] = np.angle(np.exp(1j * unknown[:spins]))
    found: list[Floats] = []
    for one in unknown[:, good].T:
        if all(np.abs(one - other).max(initial=0.0) > 1e-6 * (1 + equations.size)
               for other in found):
            found.append(one)
    return np.array(sorted(found, key=tuple)).reshape(len(found), equations.unknowns)


def _settle(state: State, block: Block, unknown: Floats, good: NDArray[np.bool_]) -> None:
    """Hand turns and shifts to the state."""
    spins = len(block.spins)
    for number, bodies in enumerate(block.spins):
        for body in bodies:
            state.set_angle(body, unknown[number])
    state.frees = list(unknown[spins::2] + 1j * unknown[spins + 1::2])
    hang(state, block)
    state.frees = []
    state.set_margin(block.number, np.where(good, 1.0, -1.0))


def _close(equations: System, unknown: Floats, guess: Floats) -> NDArray[np.bool_]:
    spins = equations.spins
    near = np.abs(unknown[:spins] - guess[:spins]).max(axis=0, initial=0.0) < JUMP
    reach = np.abs(unknown[spins:] - guess[spins:]).max(axis=0, initial=0.0)
    close: NDArray[np.bool_] = near & (reach < JUMP * equations.size)
    return close


def _newton(equations: System, guess: Floats, most: int = 15
            ) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Solutions (unknowns, M) near a guess, where found, and signs of determinants."""
    unknown = guess.copy()
    least = np.full(unknown.shape[1], np.inf)
    stuck = np.zeros(unknown.shape[1], np.intp)
    square = equations.equations == equations.unknowns
    tight = SOLVED * equations.size
    for _ in range(most):
        value, slope = equations.evaluate(unknown)
        worst = np.abs(value).max(axis=1, initial=0.0)
        # A sample that has not come closer for some rounds has no solution near by.
        stuck = np.where(worst < 0.9 * least, 0, stuck + 1)
        least = np.minimum(least, worst)
        if ((worst < tight) | (stuck > 4)).all():
            break
        step = _step(value, slope, square)
        # A step of more than half a radian leaves the neighbourhood: shorten it.
        long = np.abs(step[:, :equations.spins]).max(axis=1, initial=0.0)
        share = np.where(worst < tight, 0.0, 1.0 / np.maximum(1.0, long / JUMP))
        unknown -= share * step.T
    value, slope = equations.evaluate(unknown)
    good = np.abs(value).max(axis=1, initial=0.0) < GOOD * equations.size
    facing = np.zeros(len(value))
    if square:
        facing = np.asarray(np.sign(np.linalg.det(slope)))
    return unknown, good, facing


def _step(value: Floats, slope: Floats, square: bool) -> Floats:
    if square:
        try:
            return np.asarray(np.linalg.solve(slope, value[..., None])[..., 0])
        except np.linalg.LinAlgError:
            pass
    return np.asarray((np.linalg.pinv(slope) @ value[..., None])[..., 0])


def _from_warm(state: State, equations: System, branch: Branch, warm: Branch) -> None:
    """Take what Newton makes of an earlier branch, as far as it hangs together."""
    tried = np.flatnonzero(warm.good)
    unknown, good = warm.unknown.copy(), np.zeros(len(warm.good), bool)
    unknown[:, tried], solved, facing = _newton(equations.take(tried),
                                                warm.unknown[:, tried], 8)
    good[tried] = solved & (facing == branch.facing)
    order = state.order
    home = int(np.flatnonzero(order == len(order) - 1)[0])
    joined = _close(equations, unknown[:, order][:, 1:], unknown[:, order][:, :-1])
    same = np.abs(unknown[:, -1] - branch.unknown[:, -1])
    if not good[-1] or same.max(initial=0.0) > 1e-6 * (1 + equations.size):
        return
    along = good[order]
    last, first = home, home
    while last + 1 < len(order) and along[last + 1] and joined[last]:
        last += 1
    while first > 0 and along[first - 1] and joined[first - 1]:
        first -= 1
    kept = order[first:last + 1]
    branch.unknown[:, kept] = unknown[:, kept]
    branch.good[kept] = True


class _Walk:
    """Follows a branch from its good samples outwards."""

    def __init__(self, state: State, block: Block, equations: System, branch: Branch,
                 probe: Probe) -> None:
        self.state, self.block, self.equations = state, block, equations
        self.branch, self.probe = branch, probe

    def run(self) -> None:
        """Both ways from the drawn pose, to the ends of the turn or to a lock."""
        order = self.state.order
        home = int(np.flatnonzero(order == len(order) - 1)[0])
        for path in (order[home:], order[home::-1]):
            self._outward(path)

    def _outward(self, path: NDArray[np.intp]) -> None:
        branch, turn = self.branch, self.state.turn
        here, before = path[0], -1
        locked = False
        for there in path[1:]:
            if not branch.good[there] and not locked:
                found = self._advance(here, before, there)
                locked = found is None
                if found is not None:
                    branch.unknown[:, there] = found
                    branch.good[there] = True
            if locked:
                branch.unknown[:, there] = branch.unknown[:, here]
            elif turn[there] != turn[here]:
                here, before = there, here

    def _advance(self, here: int, before: int, there: int) -> Floats | None:
        """The unknowns at the next sample, by as many smaller steps as it takes."""
        turn, unknown = self.state.turn, self.branch.unknown
        start, goal = float(turn[here]), float(turn[there])
        value = unknown[:, here]
        slope = np.zeros_like(value)
        if before >= 0 and start != turn[before]:
            slope = (value - unknown[:, before]) / (start - turn[before])
        at, step = start, goal - start
        while at != goal:
            to = goal if abs(goal - at) <= abs(step) * 1.0001 else at + step
            only = np.array([there])
            equations = (self.equations.take(only) if to == goal else
                         system(self.probe(np.array([to]), self.block), self.block))
            guess = value + slope * (to - at)
            found, good, facing = _newton(equations, guess[:, None])
            if (good[0] and facing[0] == self.branch.facing
                    and _close(equations, found, guess[:, None])[0]
                    and self._steady(found[:, 0], value, guess)):
                slope = (found[:, 0] - value) / (to - at)
                value, at = found[:, 0], to
                if to != goal:
                    self.branch.steps.append((at, value))
                    step *= 2
                continue
            if abs(step) >= abs(goal - start) and self._locks(at, value, goal):
                return None
            step = min(step, goal - at, key=abs) / 2
            if abs(step) < abs(goal - start) * 2.0 ** -HALVINGS:
                return None
        return value

    def _locks(self, at: float, value: Floats, goal: float) -> bool:
        """Whether the group locks on the way to the goal; if so the place is noted."""
        fold = find_fold(lambda turn: system(self.probe(turn, self.block), self.block),
                         at, value)
        if fold is None or not min(at, goal) - 1e-12 <= fold[0] <= max(at, goal) + 1e-12:
            return False
        turn, unknown = fold
        if not _close(self.equations, unknown[:, None], value[:, None])[0]:
            return False
        low, high = self.branch.ends
        self.branch.ends = (low, turn) if goal > at else (turn, high)
        # The way to a fold goes with the square root of the distance.
        for left in (0.75, 0.5, 0.25, 0.1, 0.03, 0.01, 3e-3, 1e-3, 3e-4, 1e-4, 0.0):
            self.branch.steps.append((turn + left**2 * (at - turn),
                                      unknown + left * (value - unknown)))
        return True

    def _steady(self, found: Floats, value: Floats, guess: Floats) -> bool:
        """Whether a step changed turns and shifts about as foreseen."""
        scale = np.ones_like(value)
        scale[self.equations.spins:] = self.equations.size
        off = np.abs((found - guess) / scale).max(initial=0.0)
        moved = np.abs((found - value) / scale).max(initial=0.0)
        return bool(off < 0.05 + 0.5 * moved and moved < JUMP)
