"""Descent of many mechanisms at once to what is wanted: batched Levenberg–Marquardt.

Every mechanism has its own damping; those that settle drop out. The instants at which a
free path is compared move along with each step and are matched anew, in order and
direction, every few steps over the whole cycle, which also tells whether the crank still
goes round. A mechanism that would lock is put back and damped. (K. Levenberg 1944, D. W.
Marquardt 1963; damping after H. B. Nielsen, *Damping parameter in Marquardt's method*,
1999.)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from core.wanted.engine.limits import Hinges, Limits
from core.wanted.engine.mechanisms import Bools, Floats, Ints, Mechanisms
from core.wanted.engine.recipe import Recipe
from core.wanted.engine.watching import Judge, View, Watched, look, watch
from core.wanted.goals.dense import Instants, Seen

#: Damping at the start, the least, and beyond which a mechanism rests.
_DAMPED, _LEAST_DAMPED, _STUCK = 1e-2, 1e-12, 1e12
#: A cost, tolerances squared, that cannot be told from none.
_EXACT = 1e-24
#: Limits of length and place count as kept up to this, as a share of the size.
_KEPT = 1e-3
#: The transmission angle asked in the early rounds, degrees.
_EARLY_DEG = 40.0
#: A parameter is damped at least this share of the stiffest.
_FLAT = 1e-10
#: What instants hold for all mechanisms at once; all other arrays have a row for each.
_FOR_ALL = ("channel", "free")
#: A relative fall of the cost below this, for a whole round, is no fall.
_FALL = 1e-7
#: A length changes by at most this share of itself in a step.
_SHARE = 0.5


@dataclass(frozen=True)
class Descent:
    """Mechanisms after a descent, in the order they came.

    Attributes
    ----------
    mechanisms : the M of them.
    error : (M,) of the goals alone, in tolerances (root of the goals' objective).
    cost : (M,) with limits, tolerances squared.
    offset_rad : (M,) see `Instants`.
    steepest : (M,) the greatest size of any dyad's cosine over the turn.
    good : (M,) goes round, and limits are kept to about a thousandth.
    settled : (M,) would not fall any further.
    """

    mechanisms: Mechanisms
    error: Floats
    cost: Floats
    offset_rad: Floats
    steepest: Floats
    good: Bools
    settled: Bools

    @property
    def transmission_deg(self) -> Floats:
        """(M,) the smallest transmission angle over the turn; 0 where it locks."""
        angle: Floats = np.degrees(np.arccos(np.clip(self.steepest, 0.0, 1.0)))
        return angle

    def order(self) -> Ints:
        """Indices, good ones first, by error."""
        return np.lexsort((self.error, ~self.good))


def descend(recipe: Recipe, mechanisms: Mechanisms, goals: Judge, view: View,
            limits: Limits | None = None, *, rounds: int = 16, steps: int = 6,
            early: int = 3, thin_after: int | None = None, fewest: int = 32,
            report: Callable[[Descent], bool] | None = None) -> Descent:
    """Let mechanisms descend to the goals.

    Parameters
    ----------
    mechanisms : M starts; those that do not go round are not moved.
    view : what stands for each channel of the goals (`families.views`).
    rounds, steps : at most so many matches over the whole cycle, with so many steps after
        each.
    early : for so many rounds a good transmission angle is asked whatever the limits, or many
        starts end at the edge of locking; 0 to polish what is good already.
    thin_after : after so many rounds, and each one from then on, only the better half of
        those still moving go on, but no fewer than `fewest`; None: all go on.
    report : called after every round with how far it is; False stops.

    The cost of a mechanism falls with every step taken. Nothing here depends on time
    or chance.
    """
    work = _Work(recipe, mechanisms, goals, view, limits or Limits())
    for done in range(1, rounds + 1):
        work.hinges.transmission_deg = max(work.hinges.limits.transmission_deg,
                                           _EARLY_DEG if done <= early else 0.0)
        work.round(steps)
        if thin_after is not None and done >= thin_after:
            work.thin(fewest)
        if (report is not None and not report(work.result())) or not work.active.any():
            break
    return work.finish()


@dataclass
class _State:
    """Mechanisms of one round, evaluated: what the next step is made from.

    `gradient` (M, P) and `normal` (M, P, P) are Jᵀr and JᵀJ of goals and hinges; `cost`
    (M,) is infinite where a mechanism cannot be put together at the instants looked at.
    """

    params: Floats
    instants: Instants
    seen: Seen
    gradient: Floats
    normal: Floats
    cost: Floats
    error: Floats

    def take(self, other: _State, rows: Bools) -> None:
        """Take some rows from another state of the same mechanisms."""
        for mine, new in (
                (self.params, other.params), (self.gradient, other.gradient),
                (self.normal, other.normal), (self.cost, other.cost),
                (self.error, other.error), (self.seen.value, other.seen.value),
                (self.seen.slope, other.seen.slope), (self.seen.deriv, other.seen.deriv)):
            if mine is not None and new is not None:
                mine[rows] = new[rows]
        changed: dict[str, Any] = {}
        for own in fields(Instants):
            kept = getattr(self.instants, own.name)
            if own.name not in _FOR_ALL and isinstance(kept, np.ndarray):
                changed[own.name] = kept = kept.copy()
                kept[rows] = getattr(other.instants, own.name)[rows]
        self.instants = replace(self.instants, **changed)


class _Work:
    """A descent under way. Arrays are over all M; `active` (M,) still move."""

    def __init__(self, recipe: Recipe, mechanisms: Mechanisms, goals: Judge, view: View,
                 limits: Limits) -> None:
        self.recipe, self.goals, self.view = recipe, goals, view
        self.params, self.signs = mechanisms.params.copy(), mechanisms.signs
        self.hinges = Hinges(recipe, limits, mechanisms)
        self.lengths = [k for k, own in enumerate(recipe.parameters) if own.kind == "length"]
        count = len(mechanisms)
        self.active = np.ones(count, dtype=np.bool_)
        self.settled = np.zeros(count, dtype=np.bool_)
        self.damping = np.full(count, _DAMPED)
        self.growth = np.full(count, 2.0)
        self.weight = np.full(count, np.nan)     # of limits: the error of the last match
        self.safe = self.params.copy()
        self.cost, self.error, self.steepest = np.full((3, count), np.inf)
        self.offset = np.zeros(count)

    def round(self, steps: int) -> None:
        """Match anew over the whole cycle, then take some steps."""
        rows, watched = self._turning(np.flatnonzero(self.active))
        if not rows.size:
            return
        instants = self.goals.match(watched.dense)
        self.weight[rows] = np.nan
        state = self._evaluate(rows, self.params[rows], instants, watched.extremes, True)
        self._note(rows, state, watched)
        before = state.cost.copy()
        for _ in range(steps):
            self._step(rows, state, watched.extremes)
        falls = state.cost < before * (1 - _FALL)
        self.params[rows[falls]] = state.params[falls]     # the others stay as matched
        at_rest = rows[~falls | (state.cost < _EXACT)]
        self.settled[at_rest] = True
        self.active[at_rest] = False

    def thin(self, fewest: int) -> None:
        """Let the worse half of those still moving rest, as they were last matched."""
        rows = np.flatnonzero(self.active)
        better = rows[np.argsort(self.cost[rows], kind="stable")]
        worse = better[max(fewest, len(rows) // 2):]
        self.params[worse] = self.safe[worse]
        self.active[worse] = False

    def finish(self) -> Descent:
        """Match what moved once more, and tell."""
        rows, watched = self._turning(np.flatnonzero(np.any(self.params != self.safe, axis=1)))
        if rows.size:
            instants = self.goals.match(watched.dense)
            self.weight[rows] = np.nan
            state = self._evaluate(rows, self.params[rows], instants, watched.extremes, False)
            self._note(rows, state, watched)
        return self.result()

    def result(self) -> Descent:
        """As of the last match."""
        good = (self.steepest < 1) & np.isfinite(self.cost) & (
            self.hinges.stiff(self.safe) < _KEPT)
        return Descent(Mechanisms(self.safe.copy(), self.signs), self.error.copy(),
                       self.cost.copy(), self.offset.copy(), self.steepest.copy(), good,
                       self.settled.copy())

    def _turning(self, rows: Ints) -> tuple[Ints, Watched]:
        """Those of some mechanisms that go round, and how they look; the others are put
        back to the last match and damped, and rest if they never went round."""
        watched = watch(self.recipe, Mechanisms(self.params[rows], self.signs[rows]), self.view)
        turns = watched.dense.reached.all(axis=1) & (watched.steepest < 1)
        locked = rows[~turns]
        self.params[locked] = self.safe[locked]
        self.damping[locked] = np.maximum(self.damping[locked], 1.0) * 1e3
        rest = ~np.isfinite(self.cost[locked]) | (self.damping[locked] > _STUCK)
        self.active[locked[rest]] = False
        return rows[turns], watched.some(turns)

    def _note(self, rows: Ints, state: _State, watched: Watched) -> None:
        """Write down what a match found."""
        self.safe[rows] = state.params
        self.cost[rows], self.error[rows] = state.cost, state.error
        self.steepest[rows], self.offset[rows] = watched.steepest, state.instants.offset_rad

    def _evaluate(self, rows: Ints, params: Floats, instants: Instants, extremes: Floats,
                  derive: bool) -> _State:
        """Residuals of goals and hinges, and what a step needs of their derivatives.

        Far from the goals limits weigh as much more as the goals are missed, so that they
        are not sacrificed on the way.
        """
        mechanisms = Mechanisms(params, self.signs[rows])
        seen, done, reached = look(self.recipe, mechanisms, self.view, instants, extremes,
                                   derive)
        goal, by = self.goals.residuals(instants, seen)
        hinge, hinge_by, whole = self.hinges.residuals(mechanisms, done, rows)
        missed = np.sum(goal * goal, axis=1)
        new = np.isnan(self.weight[rows])
        self.weight[rows[new]] = np.maximum(1.0, np.sqrt(missed[new]))
        weight = self.weight[rows, None]
        hinge, hinge_by = hinge * weight, None if hinge_by is None else (
            hinge_by * weight[:, :, None])
        cost = missed + np.sum(hinge * hinge, axis=1)
        cost[~(reached & whole & np.isfinite(cost))] = np.inf
        count, wide = params.shape
        gradient, normal = np.zeros((count, wide)), np.zeros((count, wide, wide))
        for value, slope in ((goal, by), (hinge, hinge_by)):
            if slope is not None:
                back = np.swapaxes(slope, 1, 2)
                gradient += (back @ value[:, :, None])[:, :, 0]
                normal += back @ slope
        return _State(params.copy(), instants, seen, gradient, normal, cost, np.sqrt(missed))

    def _step(self, rows: Ints, state: _State, extremes: Floats) -> None:
        """One damped step of every mechanism, taken where the cost falls."""
        each = np.arange(state.params.shape[1])
        normal = state.normal.copy()
        diagonal = normal[:, each, each]
        scale = np.maximum(diagonal, _FLAT * (1 + diagonal.max(axis=1, keepdims=True)))
        normal[:, each, each] += self.damping[rows, None] * scale
        lost = ~np.isfinite(state.cost)
        normal[lost] = np.eye(len(each))
        step = np.asarray(np.linalg.solve(normal, -state.gradient[:, :, None]))[:, :, 0]
        step = self._shortened(state.params, np.where(lost[:, None], 0.0, step))
        instants = self.goals.advance(state.instants, state.seen, step)
        new = self._evaluate(rows, state.params + step, instants, extremes, True)
        promised = np.sum(step * (self.damping[rows, None] * scale * step - state.gradient),
                          axis=1)
        falls = new.cost < state.cost
        with np.errstate(divide="ignore", invalid="ignore"):
            gain = (state.cost - new.cost) / promised
        easier = np.maximum(1 / 3, 1 - (2 * np.clip(gain, 0, 1) - 1) ** 3)
        damping = self.damping[rows] * np.where(falls, easier, self.growth[rows])
        self.damping[rows] = np.clip(damping, _LEAST_DAMPED, 10 * _STUCK)
        self.growth[rows] = np.where(falls, 2.0, np.minimum(2 * self.growth[rows], 1e6))
        state.take(new, falls)

    def _shortened(self, params: Floats, step: Floats) -> Floats:
        """Steps cut so that no length changes by more than a share of itself."""
        change = np.abs(step[:, self.lengths]) / np.abs(params[:, self.lengths])
        most = change.max(axis=1, initial=0.0)
        shortened: Floats = step * np.minimum(1.0, _SHARE / np.maximum(most, 1e-300))[:, None]
        return shortened
