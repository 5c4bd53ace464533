"""A solved turn from inside: samples, tracks, reach, and the way back to arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from core.motion.cycle import gains
from core.motion.network import GROUND
from core.motion.plan import Plan
from core.motion.reach import Reach
from core.motion.residual import worst_error
from core.motion.running import BRIDGED, Track, near_touches, probe
from core.motion.state import State
from core.motion.turn import Complexes, Floats

Rows = TypeVar("Rows", bound="np.ndarray[Any, Any]")

#: Spacing (rad) and number of the neighbours on either side.
SPACING, NEIGHBOURS = 0.01, 4


@dataclass
class Grid:
    """The whole cycle as solved.

    `home` is the crank angle of the drawn pose, rad; `period` the crank angle of the
    cycle when it closes, else 0, and `cut` the turn its samples begin at; samples of
    `state` end with the drawn pose.
    """

    plan: Plan
    state: State
    tracks: list[Track]
    reach: Reach
    home: float
    period: float
    cut: float = 0.0

    def sheet(self, crank_rad: Floats) -> Floats:
        """Turns from the drawn pose, brought into the cycle solved."""
        turn = crank_rad - self.home
        if not self.period:
            return turn
        low, high = self.reach.low, self.reach.high
        if not self.reach.whole and high - low < 2 * np.pi:
            # It locks within a turn: what can be reached is about the middle.
            return turn + 2 * np.pi * np.round(((low + high) / 2 - turn) / (2 * np.pi))
        start = float(self.state.turn.min())
        return (turn - start) % self.period + start


@dataclass
class Solution:
    """Poses at the samples of one :class:`Turn`: the grid's own or others.

    `state` may hold more samples than the turn; the first ones are the turn's.
    """

    grid: Grid
    state: State
    crank_rad: Floats

    def poses(self, which: int) -> Complexes:
        """(P, N) complex: rotations (0) or shifts (1) of all parts; not to be changed."""
        plan = self.grid.plan
        body_of, table = plan.network.body_of, self.state.table(which)
        if plan.adrift:  # a turn without a place shows nothing: they stay as drawn
            table = table.copy()
            table[list(plan.adrift)] = 0.0 if which else 1.0
        if body_of != tuple(range(len(body_of))):
            table = table[list(body_of)]
        return table[:, :len(self.crank_rad)]

    def rows(self, values: list[Any], into: Rows) -> Rows:
        """Fill (P, N) with the value of each part's body."""
        samples = len(self.crank_rad)
        for row, body in enumerate(self.grid.plan.network.body_of):
            value = values[body]
            into[row] = value[:samples] if isinstance(value, np.ndarray) else value
        return into

    def angles(self) -> Floats:
        """(N, P) turn of every part from the drawn pose, rad; NaN where not reached."""
        grid, state, samples = self.grid, self.state, len(self.crank_rad)
        net = grid.plan.network
        turn = state.turn[:samples]
        per_cycle = gains(grid.state) if grid.reach.whole and grid.period else {}
        cycles = np.round((self.crank_rad - grid.home - turn) / grid.period) \
            if grid.period and grid.reach.whole else np.zeros(samples)
        angles = np.zeros((samples, len(net.part_ids)))
        for row, body in enumerate(net.body_of):
            if body != GROUND and body not in grid.plan.loose:
                angles[:, row] = state.angle(body)[:samples]
                angles[:, row] += 2 * np.pi * float(per_cycle.get(body, 0)) * cycles
        angles[~grid.reach.covers(turn)] = np.nan
        return angles

    def residual_mm(self) -> float:
        """Largest joint error at any reached sample, mm."""
        return worst_error(self.state, self.grid.reach.covers(self.state.turn))


def bridge(grid: Grid, state: State) -> None:
    """Replace poses next to a touch by what smooth motion makes of their neighbours."""
    for at in near_touches(grid.tracks, state.turn, grid.period, BRIDGED):
        around, weights = neighbours(float(state.turn[at]))
        fine = probe(grid.state, grid.tracks, grid.sheet(around + grid.home))
        for body in range(1, grid.plan.network.bodies):
            _bridge_body(state, fine, body, at, weights)


def neighbours(turn: float) -> tuple[Floats, Floats]:
    """Turns of the crank either side of one, and the weights that interpolate there
    (Lagrange's formula for even spacing)."""
    steps = np.array([*range(-NEIGHBOURS, 0), *range(1, NEIGHBOURS + 1)], float)
    weights = np.array([np.prod([-other / (step - other) for other in steps if other != step])
                        for step in steps])
    return turn + SPACING * steps, weights


def _bridge_body(state: State, fine: State, body: int, at: int, weights: Floats) -> None:
    rotation, shift = state.rotation[body], state.shift[body]
    turned, shifted = fine.rotation[body], fine.shift[body]
    # What turns with the crank itself is exact already, and shared.
    if (isinstance(rotation, np.ndarray) and isinstance(turned, np.ndarray)
            and rotation.flags.writeable):
        mean = weights @ turned
        with np.errstate(invalid="ignore"):  # neighbours out of reach leave no number
            rotation[at] = mean / abs(mean)
    if isinstance(shift, np.ndarray) and isinstance(shifted, np.ndarray):
        shift[at] = weights @ shifted


