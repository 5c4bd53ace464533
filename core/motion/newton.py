"""Groups without a closed form: Newton's method, all samples at once.

Warm, every sample starts from the last solution of a sketch nearly the same; cold, the
solution is followed from the drawn pose (see `walk`). A solution belongs to the drawn
pose's branch while the determinant of the derivatives keeps its sign and no sample is far
from its neighbour.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.motion.branch import Branch
from core.motion.closed import hang
from core.motion.corrector import close, correct
from core.motion.fold import is_singular
from core.motion.plan import Block
from core.motion.state import State
from core.motion.system import System, system
from core.motion.turn import Floats
from core.motion.walk import Probe, Walk


def follow(state: State, block: Block, warm: Branch | None, probe: Probe,
           ends: Sequence[float] = ()) -> Branch:
    """Solve a group along the turn from the drawn pose, the last sample, on; `ends` are
    turns at which groups before are known to lock."""
    equations = system(state, block)
    samples = len(state.turn)
    unknown = np.zeros((equations.unknowns, samples))
    home, good_home, facing = correct(equations.take(np.array([samples - 1])),
                                      unknown[:, -1:])
    branch = Branch(unknown, np.zeros(samples, bool), float(facing[0]))
    if good_home[0] and np.abs(home[:equations.spins]).max(initial=0.0) < 0.1:
        unknown[:, -1:] = home
        branch.good[-1] = True
        if is_singular(equations.take(np.array([samples - 1])), home[:, 0]):
            # Drawn flat there is no telling which of two ways it goes.
            branch.given_up, branch.ends = {1, -1}, (0.0, 0.0)
            _settle(state, block, np.repeat(home, samples, axis=1), branch.good)
            return branch
        if warm is not None and warm.unknown.shape == unknown.shape:
            _from_warm(state, equations, branch, warm)
        Walk(state, block, equations, branch, probe, ends).run()
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
        unknown[:, tried], solved, facing = correct(some, guess[:, tried], 60)
        solved &= branch.faces(state.turn[tried], facing) | _at_end(branch, state.turn[tried])
        good[tried] = solved & close(some, unknown[:, tried], guess[:, tried])
    _settle(state, block, unknown, good)


def _at_end(branch: Branch, turn: Floats) -> NDArray[np.bool_]:
    """Turns so near to a lock that the sign of the determinant is rounding."""
    near: NDArray[np.bool_] = np.abs(turn[:, None] - branch.ends).min(axis=1) < 1e-9
    return near


def joins(branch: Branch, block: Block, grid: State) -> bool:
    """Whether a branch followed all round the cycle ends where it began: the step from
    its last to its first sample is like the others."""
    row = _round_trip(branch, block, grid)
    steps = np.abs(np.diff(row, axis=1)).max(axis=1, initial=0.0)
    seam = np.abs(row[:, 0] - row[:, -1])
    return bool((seam <= 4 * steps + 1e-6 * (1 + np.abs(row).max(initial=0.0))).all())


def back_after(branch: Branch, block: Block, grid: State, turns: int) -> int:
    """The fewest whole crank turns after which a branch followed for some `turns` is where
    it was, if they are fewer than these; else 0."""
    row = _round_trip(branch, block, grid)
    per_turn = row.shape[1] // turns
    near = 1e-7 * (1 + np.abs(row).max(initial=0.0))
    for some in range(1, turns):
        if np.abs(row[:, some * per_turn:] - row[:, :-some * per_turn]).max() < near:
            return some
    return 0


def _round_trip(branch: Branch, block: Block, grid: State) -> NDArray[np.complex128]:
    """Unknowns of a branch in the order of the crank's turn, turns as e^{iθ}."""
    order = grid.order[grid.order != len(grid.turn) - 1]
    row = np.array(branch.unknown[:, order], np.complex128)
    spins = len(block.spins)
    row[:spins] = np.exp(1j * row[:spins])
    return row


def solutions(state: State, block: Block, starts: int = 400) -> Floats:
    """All ways found of putting a group together at the first sample, (K, unknowns), from
    many starts, each turn brought to ±π; in rising order."""
    equations = system(state, block).take(np.zeros(starts, np.intp))
    chance = np.random.default_rng(1)
    guess = chance.uniform(-np.pi, np.pi, (equations.unknowns, starts))
    guess[equations.spins:] *= equations.size / np.pi
    unknown, good, _ = correct(equations, guess, 60)
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


def _from_warm(state: State, equations: System, branch: Branch, warm: Branch) -> None:
    """Take what Newton makes of an earlier branch, as far as it hangs together."""
    tried = np.flatnonzero(warm.good)
    unknown, good = warm.unknown.copy(), np.zeros(len(warm.good), bool)
    unknown[:, tried], solved, facing = correct(equations.take(tried),
                                                warm.unknown[:, tried], 8)
    good[tried] = solved & (facing == branch.facing)
    order = state.order
    home = int(np.flatnonzero(order == len(order) - 1)[0])
    joined = close(equations, unknown[:, order][:, 1:], unknown[:, order][:, :-1])
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
