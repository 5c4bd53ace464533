"""First and second derivatives of solved poses by the crank angle, group by group."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from core.motion.closed import normal
from core.motion.network import GROUND, Place
from core.motion.plan import KNOWN, Arm, Block, Chain, Guide, Link, Loop, Turned
from core.motion.state import State, Where

#: A real row or number.
Real = Any


@dataclass
class Motion:
    """Derivatives per body at the samples of a state; 0 for frame and loose bodies.

    `spin`, `spin2` are dθ/dφ and d²θ/dφ²; `shift1`, `shift2` those of the shift, mm.
    """

    state: State
    spin: list[Real]
    spin2: list[Real]
    shift1: list[Where]
    shift2: list[Where]
    frees1: list[Where] = field(default_factory=list)
    frees2: list[Where] = field(default_factory=list)

    def place(self, place: Place) -> tuple[Where, Where]:
        """Derivatives of a place."""
        body = place.body
        if body == GROUND:
            return 0j, 0j
        first, second = self.arm(body, self.state.drawn[place.slot])
        return first + self.shift1[body], second + self.shift2[body]

    def arm(self, body: int, vector: complex) -> tuple[Where, Where]:
        """Derivatives of a drawn vector that turns with a body."""
        arm = self.state.rotation[body] * vector
        spin = self.spin[body]
        return 1j * spin * arm, (1j * self.spin2[body] - spin * spin) * arm

    def base(self, chain: Chain) -> tuple[Where, Where]:
        """Derivatives of where a chain starts; unknown free shifts count 0."""
        if chain.free >= 0:
            if self.frees1:
                return self.frees1[chain.free], (
                    self.frees2[chain.free] if self.frees2 else 0j)
            return 0j, 0j
        source = chain.place or self.state.plan.source[chain.pin]
        assert source is not None
        return self.place(source)


@dataclass
class _Way:
    """A + Σ V + S t with its derivatives' known part: `first` = A′, `second` = A″; `arms`
    are the turning vectors V of each unknown turn; `frees` the factors S."""

    first: Any
    second: Any
    arms: list[Any]
    frees: list[int]


def solve_motion(state: State) -> Motion:
    """Derivatives of all bodies of a solved state."""
    bodies = state.plan.network.bodies
    motion = Motion(state, [0.0] * bodies, [0.0] * bodies, [0j] * bodies, [0j] * bodies)
    net = state.plan.network
    if net.hub is not None:
        arm = state.rotation[net.crank] * state.drawn[net.hub.slot]
        motion.spin[net.crank] = np.ones(len(state.turn))
        motion.spin2[net.crank] = np.zeros(len(state.turn))
        motion.shift1[net.crank], motion.shift2[net.crank] = -1j * arm, arm
    for step in state.plan.steps:
        if isinstance(step, Turned):
            motion.spin[step.body] = sum(
                float(factor) * motion.spin[body] for body, factor in step.terms)
            motion.spin2[step.body] = sum(
                float(factor) * motion.spin2[body] for body, factor in step.terms)
        else:
            _group(motion, step)
    return motion


def _group(motion: Motion, block: Block) -> None:
    motion.frees1, motion.frees2 = [], []
    if block.spins or block.frees:
        _unknowns(motion, block)
    for link in block.links:
        _hang(motion, link)
    motion.frees1, motion.frees2 = [], []


def _hang(motion: Motion, link: Link) -> None:
    first, second = motion.base(link.at)
    arms = [*link.at.arms, Arm(link.body, link.slot, -1)]
    for arm in arms:
        drawn = motion.state.drawn
        tip = drawn[arm.tip] if arm.tip >= 0 else 0j  # the last arm leads to the origin
        turn1, turn2 = motion.arm(arm.body, tip - drawn[arm.tail])
        first, second = first + turn1, second + turn2
    motion.shift1[link.body], motion.shift2[link.body] = first, second


def _way(motion: Motion, block: Block, left: Chain, right: Chain) -> _Way:
    first, second = motion.base(left)
    if right.free < 0:
        minus1, minus2 = motion.base(right)
        first, second = first - minus1, second - minus2
    arms: list[Where] = [0j] * len(block.spins)
    frees = [0] * block.frees
    drawn = motion.state.drawn
    for chain, side in ((left, 1), (right, -1)):
        if chain.free >= 0:
            frees[chain.free] += side
        for arm in chain.arms:
            vector = side * (drawn[arm.tip] - drawn[arm.tail])
            spin = block.spin_of(arm.body)
            if spin == KNOWN:
                turn1, turn2 = motion.arm(arm.body, vector)
                first, second = first + turn1, second + turn2
            else:
                arms[spin] = arms[spin] + motion.state.rotation[arm.body] * vector
    return _Way(first, second, arms, frees)


def _unknowns(motion: Motion, block: Block) -> None:
    """Derivatives of a group's unknown turns and free shifts."""
    state = motion.state
    spins = len(block.spins)
    loops, guides = used(block)
    ways: list[tuple[_Way, Where, Where, int]] = []
    rows: list[list[Any]] = []
    right: list[Any] = []
    loop_ways = [_way(motion, block, loop.left, loop.right) for loop in loops]
    for way in loop_ways:
        rows.append([-np.imag(arm) for arm in way.arms] + axis_parts(way.frees, (1.0, 0.0)))
        rows.append([np.real(arm) for arm in way.arms] + axis_parts(way.frees, (0.0, 1.0)))
        right += [-np.real(way.first), -np.imag(way.first)]
    for guide in guides:
        way = _way(motion, block, guide.point, guide.start)
        across, gap, spin = _rail(state, block, guide)
        ways.append((way, across, gap, guide.line.start.body))
        row: list[Any] = [-np.imag(across * arm) for arm in way.arms]
        told: Any = -np.real(across * way.first)
        if spin == KNOWN:
            told = told - motion.spin[guide.line.start.body] * np.imag(across * gap)
        else:
            row[spin] = row[spin] + np.imag(across * gap)
        rows.append([*row, *axis_parts(way.frees, (across.real, -across.imag))])
        right.append(told)
    laws: list[Any] = [_law(motion, block, law.terms) for law in block.laws]
    rows += [factors for factors, _, _ in laws]
    right += [-first for _, first, _ in laws]
    inverse = Inverse(rows, len(state.turn))
    found = inverse(right)
    _set(motion.spin, block, found)
    motion.frees1 = [found[at] + 1j * found[at + 1] for at in range(spins, len(found), 2)]
    right = []
    for way in loop_ways:
        second = way.second - _squares(found, way.arms)
        right += [-np.real(second), -np.imag(second)]
    for way, across, gap, carrier in ways:
        first, second = way.first, way.second - _squares(found, way.arms)
        for number, arm in enumerate(way.arms):
            first = first + 1j * found[number] * arm
        for factor, free in zip(way.frees, motion.frees1, strict=True):
            first = first + factor * free
        spin = motion.spin[carrier]
        known = second - 2j * spin * first - spin * spin * gap
        if block.spin_of(carrier) == KNOWN:
            known = known - 1j * motion.spin2[carrier] * gap
        right.append(-np.real(across * known))
    right += [-second for _, _, second in laws]
    found = inverse(right)
    _set(motion.spin2, block, found)
    motion.frees2 = [found[at] + 1j * found[at + 1] for at in range(spins, len(found), 2)]


def used(block: Block) -> tuple[tuple[Loop, ...], tuple[Guide, ...]]:
    """The equations a group was solved by."""
    if block.kind in ("pair", "aim"):
        return block.loops[:1], ()
    if block.kind == "ray":
        return (), block.guides[:1]
    if block.kind == "cross":
        return (), block.guides[:2]
    return block.loops, block.guides


def _rail(state: State, block: Block, guide: Guide) -> tuple[Where, Where, int]:
    """Conjugate normal of a line, the way from its start to the point, and the line's
    unknown turn. The group's shifts being known, so are both ends."""
    carrier = guide.line.start.body
    across = np.conj(state.rotation[carrier] * normal(state, guide.line.start,
                                                      guide.line.end))
    gap = state.at(guide.line.point) - state.at(guide.line.start)
    return across, gap, block.spin_of(carrier)


def axis_parts(frees: list[int], parts: tuple[Real, Real]) -> list[Real]:
    """Factors of the x and y of each free shift in a row."""
    return [factor * part for factor in frees for part in parts]


def _squares(found: list[Real], arms: list[Where]) -> Where:
    total: Where = 0j
    for spin, arm in zip(found, arms, strict=False):
        total = total + spin * spin * arm
    return total


def _law(motion: Motion, block: Block, terms: Any) -> tuple[list[Real], Real, Real]:
    factors: list[Real] = [0.0] * (len(block.spins) + 2 * block.frees)
    first: Real = 0.0
    second: Real = 0.0
    for body, factor in terms:
        spin = block.spin_of(body)
        if spin == KNOWN:
            first = first + float(factor) * motion.spin[body]
            second = second + float(factor) * motion.spin2[body]
        else:
            factors[spin] += float(factor)
    return factors, first, second


def _set(values: list[Real], block: Block, found: list[Real]) -> None:
    for number, bodies in enumerate(block.spins):
        for body in bodies:
            values[body] = found[number]


class Inverse:
    """A small matrix at every sample, ready for several right-hand sides, each a list of
    one value (…, M) per row."""

    def __init__(self, rows: list[list[Real]], samples: int) -> None:
        self.rows, self.samples = rows, samples
        self.unknowns = len(rows[0])
        if self.unknowns == 2 and len(rows) == 2:
            (a, b), (c, d) = rows
            self.scale = 1.0 / (a * d - b * c + np.zeros(samples))
        elif self.unknowns == 1:
            self.scale = 1.0 / (sum(row[0] * row[0] for row in rows) + np.zeros(samples))
        else:
            matrix = np.empty((samples, len(rows), self.unknowns))
            for at, row in enumerate(rows):
                for column, value in enumerate(row):
                    matrix[:, at, column] = value
            matrix[~np.isfinite(matrix).all(axis=(1, 2))] = 0.0
            self.inverse = np.linalg.pinv(matrix) if len(rows) != self.unknowns \
                else _inverse(matrix)

    def __call__(self, right: list[Real]) -> list[Real]:
        """The unknowns, each (…, M)."""
        if self.unknowns == 2 and len(self.rows) == 2:
            (a, b), (c, d) = self.rows
            one, two = right
            return [(d * one - b * two) * self.scale, (a * two - c * one) * self.scale]
        if self.unknowns == 1:
            total = sum(row[0] * value for row, value in zip(self.rows, right, strict=True))
            return [total * self.scale]
        column = np.stack([value + np.zeros(self.samples) for value in right], axis=-1)
        found = (self.inverse @ column[..., None])[..., 0]
        return list(np.moveaxis(found, -1, 0))


def _inverse(matrix: Any) -> Any:
    try:
        return np.linalg.inv(matrix)
    except np.linalg.LinAlgError:
        return np.linalg.pinv(matrix)
