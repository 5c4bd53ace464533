"""A group's solution as followed along the turn."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.motion.state import State
from core.motion.turn import Floats

#: So near (rad) to a touch the sign of the determinant is not looked at.
TOUCHING = 1e-4


@dataclass
class Branch:
    """A group's solution along the turn.

    `unknown` (unknowns, M) continuous from the drawn pose; `good` (M,) where it was
    reached; `facing` the sign of the determinant (0 when the group has spare joints, NaN
    when any will do); `steps` the crank's turn and the unknowns at steps in between;
    `ends` the turns at which it locks, if they were found; `touches` those where another
    branch crosses it, and the sign changes; `poses` how many were solved one at a time;
    `given_up` the sides (+1, −1) on which following it took too many.
    """

    unknown: Floats
    good: NDArray[np.bool_]
    facing: float
    steps: list[tuple[float, Floats]] = field(default_factory=list)
    ends: tuple[float, float] = (-np.inf, np.inf)
    knots: tuple[Floats, Floats] | None = None
    touches: list[float] = field(default_factory=list)
    poses: int = 0
    given_up: set[int] = field(default_factory=set)

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

    def faces(self, turn: Floats, facing: Floats) -> NDArray[np.bool_]:
        """Whether determinants of a sign are this branch's at turns of the crank; next to
        a touch any sign will do."""
        wanted = np.full(turn.shape, self.facing)
        fits = np.full(turn.shape, np.isnan(self.facing))
        for touch in self.touches:
            wanted = np.where((turn - touch) * touch > 0, -wanted, wanted)
            fits |= np.abs(turn - touch) < TOUCHING
        fits |= facing == wanted
        return fits
