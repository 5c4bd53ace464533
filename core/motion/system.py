"""The equations of a group in its few unknowns: turns θ, and free shifts t.

Loops are A + Σ B e^{iθ} + S t = 0 (complex, mm), guides Re(n̄ · way) = 0 (mm), angle laws
Σ factor · θ + known = 0 (rad, times a length so that all rows weigh alike).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.motion.closed import normal, open_guide, open_loop
from core.motion.network import GROUND
from core.motion.plan import KNOWN, Block, Loop
from core.motion.state import State, Where
from core.motion.turn import Complexes, Floats


@dataclass
class _Way:
    """A + Σ B e^{iθ} + S t at every sample."""

    known: Complexes
    arms: NDArray[np.complex128]
    frees: Floats


@dataclass
class _Rail:
    """A way kept across a line; `spin` is the turn of the line if it is unknown."""

    way: _Way
    normal: Complexes
    spin: int


@dataclass
class System:
    """Residuals and derivatives of a group at some samples.

    Unknowns are ordered θ₀ … θₙ₋₁, then x and y of each free shift; arrays of unknowns
    are (unknowns, M).
    """

    spins: int
    frees: int
    loops: list[_Way]
    rails: list[_Rail]
    laws: list[tuple[Floats, Floats]]
    size: float

    @property
    def unknowns(self) -> int:
        """Number of unknowns."""
        return self.spins + 2 * self.frees

    @property
    def equations(self) -> int:
        """Number of real equations."""
        return 2 * len(self.loops) + len(self.rails) + len(self.laws)

    def take(self, at: NDArray[np.intp]) -> System:
        """The same equations at chosen samples."""
        def way(one: _Way) -> _Way:
            return _Way(one.known[at], one.arms, one.frees)

        return System(self.spins, self.frees, [way(one) for one in self.loops],
                      [_Rail(way(rail.way), rail.normal[at], rail.spin)
                       for rail in self.rails],
                      [(factors, known[at]) for factors, known in self.laws], self.size)

    def evaluate(self, unknown: Floats) -> tuple[Floats, Floats]:
        """Residuals (M, equations) and derivatives (M, equations, unknowns)."""
        samples, spins = unknown.shape[1], self.spins
        turn = np.exp(1j * unknown[:spins])
        shift = unknown[spins::2] + 1j * unknown[spins + 1::2]
        value = np.empty((samples, self.equations))
        slope = np.zeros((samples, self.equations, self.unknowns))
        row = 0
        for way in self.loops:
            gap, arms = self._way(way, turn, shift)
            value[:, row], value[:, row + 1] = gap.real, gap.imag
            slope[:, row, :spins], slope[:, row + 1, :spins] = -arms.imag.T, arms.real.T
            slope[:, row, spins::2] = way.frees
            slope[:, row + 1, spins + 1::2] = way.frees
            row += 2
        for rail in self.rails:
            gap, arms = self._way(rail.way, turn, shift)
            across = np.conj(rail.normal)
            if rail.spin != KNOWN:
                across = across * np.conj(turn[rail.spin])
            value[:, row] = (across * gap).real
            slope[:, row, :spins] = -(across * arms).imag.T
            if rail.spin != KNOWN:
                slope[:, row, rail.spin] += (across * gap).imag
            slope[:, row, spins::2] = across.real[:, None] * rail.way.frees
            slope[:, row, spins + 1::2] = -across.imag[:, None] * rail.way.frees
            row += 1
        for factors, known in self.laws:
            value[:, row] = (factors @ unknown[:spins] + known) * self.size
            slope[:, row, :spins] = factors * self.size
            row += 1
        return value, slope

    @staticmethod
    def _way(way: _Way, turn: Complexes, shift: Complexes) -> tuple[Complexes, Complexes]:
        arms = way.arms[:, None] * turn
        return way.known + arms.sum(axis=0) + way.frees @ shift, arms


def system(state: State, block: Block) -> System:
    """The equations of a group at the samples of a state."""
    samples = len(state.turn)
    state.frees = []

    def row(value: Where) -> Complexes:
        return np.array(np.broadcast_to(np.asarray(value, np.complex128), samples))

    def frees(loop: Loop) -> Floats:
        weight = np.zeros(block.frees)
        for chain, side in ((loop.left, 1.0), (loop.right, -1.0)):
            if chain.free >= 0:
                weight[chain.free] += side
        return weight

    loops = []
    for loop in block.loops:
        known, arms = open_loop(state, block, loop)
        loops.append(_Way(row(known), np.array(arms, np.complex128), frees(loop)))
    rails = []
    for guide in block.guides:
        known, arms = open_guide(state, block, guide)
        carrier = guide.line.start.body
        spin = block.spin_of(carrier)
        across: Where = normal(state, guide.line.start, guide.line.end)
        if spin == KNOWN:
            across = across * state.rotation[carrier]
        way = _Way(row(known), np.array(arms, np.complex128),
                   frees(Loop("", guide.point, guide.start)))
        rails.append(_Rail(way, row(across), spin))
    laws = []
    for law in block.laws:
        factors, rest = np.zeros(len(block.spins)), np.zeros(samples)
        for body, factor in law.terms:
            spin = block.spin_of(body)
            if spin != KNOWN:
                factors[spin] += float(factor)
            elif body != GROUND:
                rest = rest + float(factor) * state.angle(body)
        laws.append((factors, rest))
    ways = [*loops, *(rail.way for rail in rails)]
    reach = [abs(way.arms).max(initial=0.0) for way in ways]
    reach += [abs(way.known).max(initial=0.0) for way in ways]
    # Where what it hangs on is out of reach there are no numbers.
    size = max((float(each) for each in reach if np.isfinite(each)), default=0.0) or 1.0
    return System(len(block.spins), block.frees, loops, rails, laws, size)
