"""How the whole motion changes when points are drawn elsewhere.

Implicit function theorem, group by group in solving order: the matrices are those of the
rates (`group_rates`), the right-hand sides say how moved drawn points open each joint. The
turn of the crank from the drawn pose is held. (Implicit function theorem as in Nocedal &
Wright, *Numerical Optimization*, appendix A.2, from memory.)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from core.model import join_ref, part_of
from core.motion.closed import normal
from core.motion.group_rates import Inverse, axis_parts, used
from core.motion.network import GROUND, Place
from core.motion.plan import KNOWN, Block, Chain, Guide, Turned
from core.motion.rates import BRIDGED
from core.motion.running import near_touches, probe
from core.motion.solution import Solution, neighbours
from core.motion.state import State
from core.motion.turn import Complexes, Floats, Turn

#: A complex or real array that broadcasts to (D, M), or a number.
Rows = Any


@dataclass(frozen=True)
class Sensitivity:
    """Derivatives of all poses by D moves of drawn points, at each of N crank angles.

    Attributes
    ----------
    turn : what was differentiated.
    count : D.
    drawn : (D,) complex velocity of every drawn point that moves, by reference.
    spin : (P, D, N) derivative of every part's turn from the drawn pose, rad per unit of
        move; NaN where the crank does not come.
    shift : (P, D, N) complex derivative of every part's shift, mm per unit.
    within : how it was worked out, for `core.motion` itself.
    """

    turn: Turn
    count: int
    drawn: dict[str, Complexes]
    spin: Floats
    shift: Complexes
    within: Moved

    def place(self, ref: str) -> Complexes:
        """(N, D) complex mm per unit: derivatives of the place of ``"part.point"``."""
        return self.place_at(part_of(ref), self.turn.sketch.place(ref), self.drawn.get(ref))

    def place_at(self, part: str, drawn: complex, moves: Complexes | None = None
                 ) -> Complexes:
        """(N, D): as :meth:`place`, of a drawn place (mm) of a part that itself moves on
        the part by `moves` (D,), if at all."""
        row = self.turn.row(part)
        rotation = self.turn.rotation[row]
        found = 1j * self.spin[row] * (rotation * drawn) + self.shift[row]
        if moves is not None:
            found = found + moves[:, None] * rotation
        return np.asarray(found.T)

    def angle(self, part: str) -> Floats:
        """(N, D) rad per unit: derivatives of a part's turn from the drawn pose."""
        spin: Floats = self.spin[self.turn.row(part)]
        return spin.T

    def direction(self, start: str, end: str) -> Floats:
        """(N, D) rad per unit: derivatives of the direction from one point to another of
        the same part."""
        sketch = self.turn.sketch
        way = sketch.place(end) - sketch.place(start)
        rest = np.zeros(self.count, np.complex128)
        moved = self.drawn.get(end, rest) - self.drawn.get(start, rest)
        return self.angle(part_of(start)) + (moved / way).imag if way else \
            self.angle(part_of(start))


def sensitivity(turn: Turn, moves: Sequence[Mapping[str, complex]]) -> Sensitivity:
    """Exact derivatives of the motion by moves of drawn points.

    Parameters
    ----------
    turn : a solved turn, or poses of it at any crank angles (`pose_at`).
    moves : for each of D moves the velocity of drawn points, complex mm per unit, by
        reference ``"part.point"``; others stay. Points one pin holds must move alike, and
        points must stay on the lines they slide along, for the drawn pose to stay one.

    Where two solutions of a group touch, derivatives are those of the neighbours, as in
    :func:`core.motion.rates`. Where the crank locks they grow without bound. A joint more
    than needed is not looked at: moves may break it.

    Raises
    ------
    MotionError
        For a turn that was not solved.
    KeyError
        For a point that does not exist.
    """
    solution = turn.solved
    count, drawn = len(moves), velocities_of(turn, moves)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        slots = at_slots(turn, drawn)
        found = Moved(solution.state, slots)
        _bridge(solution, found, slots)
    samples = len(turn.crank_rad)
    spin = np.zeros((len(turn.part_ids), count, samples))
    shift = np.zeros(spin.shape, np.complex128)
    plan = solution.grid.plan
    for row, body in enumerate(plan.network.body_of):
        if body not in plan.adrift:
            spin[row] = _first(found.spin[body], samples)
            shift[row] = _first(found.shift[body], samples)
    spin[:, :, ~turn.reached] = np.nan
    shift[:, :, ~turn.reached] = np.nan
    return Sensitivity(turn, count, drawn, spin, shift, found)


def velocities_of(turn: Turn, moves: Sequence[Mapping[str, complex]]
                  ) -> dict[str, Complexes]:
    """(D,) velocity of every drawn point that moves; raises KeyError for unknown ones."""
    drawn: dict[str, Complexes] = {}
    for at, move in enumerate(moves):
        for ref, velocity in move.items():
            turn.sketch.point(ref)
            drawn.setdefault(ref, np.zeros(len(moves), np.complex128))[at] = velocity
    return drawn


def at_slots(turn: Turn, drawn: Mapping[str, Complexes]) -> list[Rows]:
    """(D, 1) velocity of each of the network's numbered points, 0 for those that stay."""
    assert turn.solution is not None
    parts = turn.sketch.parts
    refs = [join_ref(parts[row].id, parts[row].points[at].id)
            for row, at in turn.solution.grid.plan.network.points]
    return [drawn[ref][:, None] if ref in drawn else 0j for ref in refs]


def _first(values: Rows, samples: int) -> Rows:
    return values[..., :samples] if np.ndim(values) and values.shape[-1] > 1 else values


class Moved:
    """Derivatives of all bodies of a solved state: `spin` and `shift`, (D, M) or a number
    that broadcasts. `slots` are the velocities of the drawn points (see `at_slots`)."""

    def __init__(self, state: State, slots: list[Rows]) -> None:
        net = state.plan.network
        self.state, self.slots = state, slots
        self.spin: list[Rows] = [0.0] * net.bodies
        self.shift: list[Rows] = [0j] * net.bodies
        self.frees: list[Rows] = []
        if net.hub is not None and net.axle is not None:
            self.shift[net.crank] = (slots[net.axle.slot]
                                     - state.rotation[net.crank] * slots[net.hub.slot])
        for step in state.plan.steps:
            if isinstance(step, Turned):
                self.spin[step.body] = sum(float(factor) * self.spin[body]
                                           for body, factor in step.terms)
            else:
                self._group(step)

    def place(self, place: Place) -> Rows:
        """Derivative of a place."""
        moved = self.slots[place.slot]
        if place.body == GROUND:
            return moved
        turned = self.turned(place.body, self.state.drawn[place.slot], moved)
        return turned + self.shift[place.body]

    def turned(self, body: int, vector: complex, moved: Rows) -> Rows:
        """Derivative of a drawn vector, itself changing by `moved`, turned with a body."""
        rotation = self.state.rotation[body]
        return rotation * moved + 1j * self.spin[body] * (rotation * vector)

    def _group(self, block: Block) -> None:
        self.frees = []
        if block.spins or block.frees:
            self._unknowns(block)
        for link in block.links:
            where = self._base(link.at)
            for arm in link.at.arms:
                where = where + self.arm(arm.body, arm.tail, arm.tip)
            self.shift[link.body] = where - self.turned(
                link.body, self.state.drawn[link.slot], self.slots[link.slot])

    def _base(self, chain: Chain) -> Rows:
        if chain.free >= 0:
            return self.frees[chain.free] if self.frees else 0j
        source = chain.place or self.state.plan.source[chain.pin]
        assert source is not None
        return self.place(source)

    def arm(self, body: int, tail: int, tip: int) -> Rows:
        drawn, slots = self.state.drawn, self.slots
        return self.turned(body, drawn[tip] - drawn[tail], slots[tip] - slots[tail])

    def way(self, block: Block, left: Chain, right: Chain
             ) -> tuple[Rows, list[Rows], list[int]]:
        """What opens the way from the end of `right` to the end of `left` while unknowns
        are held, the arms that turn by each unknown turn, and the factors of free shifts."""
        opened: Rows = self._base(left) if left.free < 0 else 0j
        if right.free < 0:
            opened = opened - self._base(right)
        arms: list[Rows] = [0j] * len(block.spins)
        frees = [0] * block.frees
        drawn, slots = self.state.drawn, self.slots
        for chain, side in ((left, 1), (right, -1)):
            if chain.free >= 0:
                frees[chain.free] += side
            for arm in chain.arms:
                spin = block.spin_of(arm.body)
                if spin == KNOWN:
                    opened = opened + side * self.arm(arm.body, arm.tail, arm.tip)
                    continue
                rotation = side * self.state.rotation[arm.body]
                opened = opened + rotation * (slots[arm.tip] - slots[arm.tail])
                arms[spin] = arms[spin] + rotation * (drawn[arm.tip] - drawn[arm.tail])
        return opened, arms, frees

    def _unknowns(self, block: Block) -> None:
        """Derivatives of a group's unknown turns and free shifts."""
        rows: list[list[Any]] = []
        right: list[Rows] = []
        loops, guides = used(block)
        for loop in loops:
            opened, arms, frees = self.way(block, loop.left, loop.right)
            rows.append([-np.imag(arm) for arm in arms] + axis_parts(frees, (1.0, 0.0)))
            rows.append([np.real(arm) for arm in arms] + axis_parts(frees, (0.0, 1.0)))
            right += [-np.real(opened), -np.imag(opened)]
        for guide in guides:
            row, told = self._rail(block, guide)
            rows.append(row)
            right.append(told)
        for law in block.laws:
            factors = [0.0] * (len(block.spins) + 2 * block.frees)
            known: Rows = 0.0
            for body, factor in law.terms:
                spin = block.spin_of(body)
                if spin == KNOWN:
                    known = known + float(factor) * self.spin[body]
                else:
                    factors[spin] += float(factor)
            rows.append(factors)
            right.append(-known)
        samples = len(self.state.turn)
        even = np.broadcast_arrays(np.zeros(samples), *right)
        found = Inverse(rows, samples)(list(even[1:]))
        for number, bodies in enumerate(block.spins):
            for body in bodies:
                self.spin[body] = found[number]
        spins = len(block.spins)
        self.frees = [found[at] + 1j * found[at + 1] for at in range(spins, len(found), 2)]

    def _rail(self, block: Block, guide: Guide) -> tuple[list[Any], Rows]:
        """The row and right-hand side of a point that stays on a line."""
        state, line = self.state, guide.line
        opened, arms, frees = self.way(block, guide.point, guide.start)
        carrier = line.start.body
        rotation = state.rotation[carrier]
        along = abs(state.drawn[line.end] - state.drawn[line.start.slot])
        across = np.conj(rotation * normal(state, line.start, line.end))
        tilted = (np.conj(rotation * 1j * (self.slots[line.end] - self.slots[line.start.slot]))
                  / along)
        gap = state.at(line.point) - state.at(line.start)
        row: list[Any] = [-np.imag(across * arm) for arm in arms]
        told = -np.real(across * opened) - np.real(tilted * gap)
        spin = block.spin_of(carrier)
        if spin == KNOWN:
            told = told - self.spin[carrier] * np.imag(across * gap)
        else:
            row[spin] = row[spin] + np.imag(across * gap)
        return [*row, *axis_parts(frees, (across.real, -across.imag))], told


def _bridge(solution: Solution, found: Moved, slots: list[Rows]) -> None:
    """Derivatives next to a touch, from what smooth motion makes of their neighbours."""
    grid, state = solution.grid, solution.state
    for at in near_touches(grid.tracks, state.turn, grid.period, BRIDGED):
        around, weights = neighbours(float(state.turn[at]))
        fine = Moved(probe(grid.state, grid.tracks, grid.sheet(around + grid.home)), slots)
        for own, near_by in ((found.spin, fine.spin), (found.shift, fine.shift)):
            for body in range(1, grid.plan.network.bodies):
                value, others = own[body], near_by[body]
                if np.ndim(value) == 2 and np.ndim(others) == 2 and value.shape[1] > 1:
                    value[:, at] = others @ weights
