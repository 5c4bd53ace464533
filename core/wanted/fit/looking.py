"""What a fit sees of a sketch with its points at w: the motion over the whole turn, errors
in tolerances with what is held against them, and exact derivatives of all of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.errors import CrankwrightError
from core.model import Sketch
from core.model.wanted import WantedMotion
from core.motion import Turn, pose_at, sensitivity, solve_turn, spare_misfits
from core.motion.solve import plan_of
from core.wanted.fit.freedom import Freedom, freedom
from core.wanted.fit.holds import Hold, holds, look
from core.wanted.fit.penalties import Penalties, Rows
from core.wanted.fit.rocking import (
    Swing,
    goes,
    matched,
    may_rock,
    swing_of,
    turning,
    watched,
)
from core.wanted.fit.seeing import pose_of, seen_at
from core.wanted.fit.step import Held, restore
from core.wanted.goals import Goals, Instants, Seen, goals
from core.wanted.goals.turned import dense_of

Floats = NDArray[np.float64]

#: Steps of the crank over which a turn is watched while fitting.
STEPS = 180
#: Crank angles from the drawn pose at which joints more than needed are tried, rad: where
#: they fit at so many they do over the whole turn, and near by nothing locks.
ABOUT_RAD = np.array([-0.9, -0.5, -0.2, 0.2, 0.5, 0.9])
#: Looks after which instants are matched anew over the whole turn.
RIPE = 4


@dataclass
class Look:
    """A sketch that goes round, or rocks where it may, with its points at `w`.

    Attributes
    ----------
    w : (D,) numbers of its freedom.
    turn : the whole turn.
    instants, seen : of the goals.
    r : (R,) errors in tolerances, weighted, all that is free eliminated.
    penalty : rows of what is held against it besides, and of what must hold over the turn.
    age : how many looks ago the instants were matched over the whole turn; since then they
        only went along.
    swing : the stretch over which the crank rocks, where it may and no wish needs more.
    """

    w: Floats
    turn: Turn
    instants: Instants
    seen: Seen
    r: Floats
    penalty: Rows
    age: int = 0
    swing: Swing | None = None

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
    """A fit of a sketch to some of its wishes; `turns` of its crank make a cycle, `go_on`
    says, between steps, whether it has not been stopped."""

    sketch: Sketch
    wishes: tuple[WantedMotion, ...]
    freedom: Freedom
    holds: tuple[Hold, ...]
    turns: int = 1
    steps: int = STEPS
    go_on: Callable[[], bool] = lambda: True

    @cached_property
    def goals(self) -> Goals:
        """The wishes compiled."""
        return self.compiled(self.wishes)

    def compiled(self, wishes: Sequence[WantedMotion]) -> Goals:
        """Some wishes compiled for the sketch's crank."""
        drive = self.sketch.drive
        turning = drive is None or drive.kind == "turn"
        sense = -1 if drive is not None and drive.rpm < 0 else 1
        return goals(wishes, sense=sense, turns=self.turns,
                     start_free=self.sketch.fit.start_free and turning)

    @cached_property
    def rocks(self) -> bool:
        """Whether the crank may rock."""
        return may_rock(self.sketch, self.wishes)

    @cached_property
    def spare(self) -> bool:
        """Whether there are joints more than needed."""
        return bool(plan_of(self.sketch).spare)

    @cached_property
    def penalties(self) -> Penalties:
        """What is held against a sketch besides."""
        return Penalties(self.sketch, self.freedom)

    def held(self, w: Floats) -> Held:
        """Equations and inequalities of the drawn places; joints more than needed have to
        fit, which is an equation for each of some crank angles."""
        c, equal, g, below = look(self.holds, self.freedom.places(w), self.freedom.velocities)
        if not self.spare:
            return c, equal, g, below
        turn = solve_turn(self.freedom.drawn(w), min(self.steps, 24))
        assert turn.sketch.drive is not None
        home = math.radians(turn.sketch.drive.drawn_deg)
        off, slope = spare_misfits(pose_at(turn, home + ABOUT_RAD), self.freedom.moves)
        return np.concatenate([c, off]), np.vstack([equal, slope]), g, below

    def restored(self, w: Floats) -> Floats | None:
        """The nearest w at which all of them hold; None when there is none near."""
        if not self.holds and not self.spare:
            return w
        try:
            return restore(w, self.held, self.freedom.size_mm)
        except CrankwrightError:  # a link has lost its length on the way
            return None

    def look(self, w: Floats, before: Look | None = None) -> Look | None:
        """The sketch there; None where its crank does not go all the way it should.

        After a look `before`, groups must be put together as they were there, and the
        instants go along from it; over the whole turn they are matched anew every few looks
        (a match can only lower the errors, so nothing is missed in between).
        """
        sketch = self.freedom.drawn(w)
        try:
            turn = solve_turn(turning(sketch) if self.rocks else sketch, self.steps,
                              before.turn if before is not None else None)
        except CrankwrightError:
            return None
        if (not self.rocks and not goes(turn)) or (
                before is not None and flipped(before.turn, turn)):
            return None
        if self.rocks:
            return self._rocking(w, turn, before)
        penalty = self.penalties.rows(w, turn)
        if penalty is None:
            return None
        if before is not None and before.age < RIPE and before.seen.deriv is not None:
            age, step = before.age + 1, (w - before.w)[None]
            instants = self.goals.advance(before.instants, before.seen, step)
        else:
            age = 0
            instants = self.goals.match(dense_of(turn, self.goals.channels), exact=False)
        return self._looked(w, turn, instants, penalty, age)

    def _looked(self, w: Floats, turn: Turn, instants: Instants, penalty: Rows, age: int,
                swing: Swing | None = None) -> Look | None:
        seen = seen_at(pose_of(turn, instants), self.goals.channels, instants)
        r, _ = self.goals.residuals(instants, seen)
        found = Look(w, turn, instants, seen, r[0], penalty, age, swing)
        return found if math.isfinite(found.cost) else None

    def _rocking(self, w: Floats, turn: Turn, before: Look | None) -> Look | None:
        """The same of a crank that may rock: all instants within one stretch of its reach,
        and only that stretch watched. Instants are matched anew where they would leave it,
        and where a crank that went round now locks or the other way about."""
        whole = goes(turn)
        if before is not None and before.age < RIPE and before.seen.deriv is not None \
                and goes(before.turn) == whole:
            instants = self.goals.advance(before.instants, before.seen, (w - before.w)[None])
            swing = swing_of(self.goals, turn, instants)
            if swing is not None:
                penalty = self.penalties.rows(w, watched(turn, swing, self.steps), ends=True)
                found = None if penalty is None else self._looked(
                    w, turn, instants, penalty, before.age + 1, swing)
                if found is not None:
                    return found
        anew = self.goals.match(dense_of(turn, self.goals.channels), exact=False) if whole \
            else matched(self.goals, turn, self.steps)
        swing = None if anew is None else swing_of(self.goals, turn, anew)
        if anew is None or (swing is None and not whole):
            return None
        penalty = self.penalties.rows(w, turn) if swing is None else self.penalties.rows(
            w, watched(turn, swing, self.steps), ends=True)
        return None if penalty is None else self._looked(w, turn, anew, penalty, 0, swing)

    def must_rock(self, at: Look) -> bool:
        """Whether the crank had better rock there: it locks, or the rest of its turn holds
        more against the sketch than the stretch."""
        if at.swing is None or not goes(at.turn):
            return at.swing is not None
        whole = self.penalties.rows(at.w, at.turn)
        if whole is None:
            return True
        fine = 1e-9 * self.freedom.size_mm
        return float(whole.value @ whole.value) > float(
            at.penalty.value @ at.penalty.value) + 1e-6 or float(
                whole.over.max(initial=0.0)) > max(fine, at.over)

    def matched(self, at: Look) -> Look:
        """The same with its instants matched over the whole turn."""
        if not at.age:
            return at
        found = self.look(at.w)
        return at if found is None else found

    def slopes(self, at: Look) -> tuple[Floats, Floats, Floats]:
        """(R, D), (H, D) and (Z, D): derivatives of errors, penalties and of what must
        hold over the turn, by w. What is seen there has its derivatives from then on."""
        pose = pose_of(at.turn, at.instants)
        sensitive = sensitivity(pose, self.freedom.moves)
        seen = seen_at(pose, self.goals.channels, at.instants, sensitive)
        if not self.sketch.fit.start_free and seen.deriv is not None:
            # The drawn pose reads more where the crank's arm is drawn further on.
            late = self.freedom.turned_slope(at.w)
            seen = Seen(seen.value, seen.slope, seen.deriv - seen.slope[..., None] * late)
        at.seen = seen
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


def task(sketch: Sketch, wishes: Sequence[WantedMotion]) -> Task:
    """A fit to these wishes."""
    free = freedom(sketch)
    return Task(sketch, tuple(wishes), free, holds(free), _turns(sketch))


def _turns(sketch: Sketch) -> int:
    """Turns of the crank after which the motion repeats; 1 where that is not known."""
    try:
        turn = solve_turn(sketch, STEPS)
    except CrankwrightError:
        return 1
    return turn.crank_turns if turn.repeats else 1
