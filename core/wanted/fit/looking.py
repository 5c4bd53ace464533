"""What a fit sees of a sketch with its points at w: the motion over the whole turn, errors
in tolerances with what is held against them, and exact derivatives of all of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.errors import CrankwrightError
from core.model import Sketch
from core.model.wanted import WantedMotion
from core.motion import Turn, sensitivity, solve_turn
from core.wanted.fit.freedom import Freedom, freedom
from core.wanted.fit.holds import Hold, holds, look
from core.wanted.fit.penalties import Penalties, Rows
from core.wanted.fit.seeing import dense_of, pose_of, seen_at
from core.wanted.fit.step import Held, restore
from core.wanted.goals import Goals, Instants, Seen, goals

Floats = NDArray[np.float64]

#: Steps of the crank over which a turn is watched while fitting.
STEPS = 180


@dataclass
class Look:
    """A sketch that goes round, with its points at `w`.

    Attributes
    ----------
    w : (D,) numbers of its freedom.
    turn : the whole turn.
    instants, seen : of the goals.
    r : (R,) errors in tolerances, weighted, all that is free eliminated.
    penalty : rows of what is held against it besides, and of what must hold over the turn.
    offset_rad : how much later than wished the crank may read.
    """

    w: Floats
    turn: Turn
    instants: Instants
    seen: Seen
    r: Floats
    penalty: Rows

    @property
    def offset_rad(self) -> float:
        """Common offset of the crank's reading, rad."""
        return float(self.instants.offset_rad[0])

    @property
    def missed(self) -> float:
        """Sum of squared errors in tolerances, by the wishes' weights."""
        return float(self.r @ self.r)

    @property
    def cost(self) -> float:
        """What is made small: errors and penalties, tolerances squared."""
        return self.missed + float(self.penalty.value @ self.penalty.value)

    @property
    def over(self) -> float:
        """By how much what must hold over the turn does not, mm summed up."""
        return float(np.maximum(self.penalty.over, 0.0).sum())


@dataclass
class Task:
    """A fit of a sketch to some of its wishes."""

    sketch: Sketch
    wishes: tuple[WantedMotion, ...]
    freedom: Freedom
    holds: tuple[Hold, ...]
    steps: int = STEPS
    looks: int = field(default=0, init=False)

    @cached_property
    def goals(self) -> Goals:
        """The wishes compiled."""
        drive = self.sketch.drive
        turning = drive is None or drive.kind == "turn"
        sense = -1 if drive is not None and drive.rpm < 0 else 1
        return goals(self.wishes, sense=sense,
                     start_free=self.sketch.fit.start_free and turning)

    @cached_property
    def penalties(self) -> Penalties:
        """What is held against a sketch besides."""
        return Penalties(self.sketch, self.freedom)

    def held(self, w: Floats) -> Held:
        """Equations and inequalities of the drawn places."""
        return look(self.holds, self.freedom.places(w), self.freedom.velocities)

    def restored(self, w: Floats) -> Floats | None:
        """The nearest w at which all of them hold."""
        return restore(w, self.held, self.freedom.size_mm) if self.holds else w

    def look(self, w: Floats, warm: Turn | None = None) -> Look | None:
        """The sketch there; None where its crank does not go all the way it should, or a
        group came to be put together another way than in `warm`."""
        sketch = self.freedom.drawn(w)
        self.looks += 1
        try:
            turn = solve_turn(sketch, self.steps, warm)
        except CrankwrightError:
            return None
        if not turn.reached.all() or turn.limits or (warm is not None
                                                     and flipped(warm, turn)):
            return None
        instants = self.goals.match(dense_of(turn, self.goals.channels))
        pose = pose_of(turn, instants)
        seen = seen_at(pose, self.goals.channels, instants)
        r, _ = self.goals.residuals(instants, seen)
        penalty = self.penalties.rows(w, turn)
        if penalty is None:
            return None
        found = Look(w, turn, instants, seen, r[0], penalty)
        return found if math.isfinite(found.cost) else None

    def slopes(self, at: Look) -> tuple[Floats, Floats, Floats]:
        """(R, D), (H, D) and (Z, D): derivatives of errors, penalties and of what must
        hold over the turn, by w."""
        pose = pose_of(at.turn, at.instants)
        sensitive = sensitivity(pose, self.freedom.moves)
        seen = seen_at(pose, self.goals.channels, at.instants, sensitive)
        if not self.sketch.fit.start_free and seen.deriv is not None:
            # The drawn pose reads more where the crank's arm is drawn further on.
            late = self.freedom.turned_slope(at.w)
            seen = Seen(seen.value, seen.slope, seen.deriv - seen.slope[..., None] * late)
        _, jacobian = self.goals.residuals(at.instants, seen)
        assert jacobian is not None
        penalty, over = self.penalties.slopes(at.w, at.turn, at.penalty)
        return jacobian[0], penalty, over


def flipped(one: Turn, other: Turn) -> bool:
    """Whether some group is put together the other way than it was."""
    if one.solution is None or other.solution is None:
        return False
    first, second = one.solution.grid, other.solution.grid
    return first.plan is not second.plan or any(
        was.sign != now.sign for was, now in zip(first.tracks, second.tracks, strict=True))


def task(sketch: Sketch, wishes: Sequence[WantedMotion],
         without: str | None = None) -> Task:
    """A fit to these wishes; `without` the bounds, rule or zone of that name."""
    free = freedom(sketch)
    held = tuple(hold for hold in holds(free) if not without or hold.source != without)
    return Task(sketch, tuple(wishes), free, held)
