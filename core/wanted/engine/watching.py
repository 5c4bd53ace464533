"""Mechanisms as goals see them: channels over the whole cycle, and exact values at instants."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from core.wanted.engine.mechanisms import Bools, Complexes, Floats, Mechanisms
from core.wanted.engine.recipe import Recipe
from core.wanted.engine.run import Run, run
from core.wanted.goals.dense import Dense, Instants, Seen

#: Steps to a turn over which mechanisms are watched.
STEPS = 96

#: What stands for each channel of the goals: a point's name, or a body's for its angle.
Shown = tuple[Literal["point", "angle"], str]
View = tuple[Shown, ...]


class Judge(Protocol):
    """What mechanisms are held against; `core.wanted.goals.Goals` is one."""

    def match(self, dense: Dense) -> Instants:
        """When each sample is compared."""

    def residuals(self, instants: Instants, seen: Seen) -> tuple[Floats, Floats | None]:
        """(M, R) in tolerances, weighted, and (M, R, P) their derivatives."""

    def advance(self, instants: Instants, seen: Seen, step: Floats) -> Instants:
        """The instants after a step (M, P) of the parameters."""


@dataclass(frozen=True)
class Watched:
    """The whole cycle of M mechanisms.

    Attributes
    ----------
    dense : the channels, as goals want them.
    extremes : (M, 2D) crank angles where each dyad's cosine is greatest, and least.
    steepest : (M,) the greatest size of any cosine; 1 and more cannot go round.
    """

    dense: Dense
    extremes: Floats
    steepest: Floats

    def some(self, which: Bools) -> Watched:
        """Some of the mechanisms, (M,) bool."""
        return Watched(self.dense.part(np.flatnonzero(which)), self.extremes[which],
                       self.steepest[which])


def watch(recipe: Recipe, mechanisms: Mechanisms, view: View, steps: int = STEPS) -> Watched:
    """Look at the whole cycle, `steps` to a turn of the crank."""
    cycle = 2 * np.pi * recipe.turns
    crank: Floats = np.linspace(0.0, cycle, steps * recipe.turns, endpoint=False)
    done = run(recipe, mechanisms, crank, derive=False)
    values = tuple(done.point(name) if kind == "point"
                   else np.unwrap(done.angle(name), axis=1) for kind, name in view)
    extremes, steepest = _extremes(done.cosines(), crank)
    return Watched(Dense(crank, values, done.reached, cycle), extremes, steepest)


def _extremes(cosines: Floats, crank: Floats) -> tuple[Floats, Floats]:
    """Where cosines (D, M, N) are greatest and least, by parabolas through three steps,
    and the greatest size of any, (M,)."""
    dyads, count, steps = cosines.shape
    both = np.stack([cosines, -cosines], axis=1).reshape(2 * dyads, count, steps)
    if not dyads:
        return np.zeros((count, 0)), np.zeros(count)
    best = np.argmax(both, axis=2)[:, :, None]
    before, here, after = (np.take_along_axis(both, (best + k) % steps, axis=2)[:, :, 0]
                           for k in (-1, 0, 1))
    bend = 2 * here - before - after
    aside = np.divide(after - before, 2 * bend, out=np.zeros_like(bend), where=bend > 0)
    top = here + 0.25 * (after - before) * aside
    at = crank[best[:, :, 0]] + aside * (crank[1] - crank[0])
    return np.ascontiguousarray(at.T), top.max(axis=0)


def look(recipe: Recipe, mechanisms: Mechanisms, view: View, instants: Instants,
         extremes: Floats, derive: bool = True) -> tuple[Seen, Run, Bools]:
    """Exact values at instants; the run of them and, after them, of the extremes (M, 2D);
    and which mechanisms (M,) reach all instants.

    Instants that are NaN are looked at as zero; goals know them.
    """
    count = instants.crank_rad.shape[1]
    crank = np.concatenate([np.nan_to_num(instants.crank_rad), extremes], axis=1)
    done = run(recipe, mechanisms, crank, derive=derive, margin_from=count)
    reached = np.all(np.abs(done.cosines()[:, :, :count]) < 1, axis=(0, 2))
    if len(view) == 1:
        return _one(done, view[0], count, derive), done, reached
    shape = instants.crank_rad.shape
    value, slope = np.zeros(shape, complex), np.zeros(shape, complex)
    deriv = np.zeros((*shape, len(recipe.parameters)), complex) if derive else None
    for index, own in enumerate(view):
        columns = np.flatnonzero(instants.channel == index)
        seen = _one(done, own, count, derive)
        value[:, columns] = seen.value[:, columns]
        if deriv is not None and seen.deriv is not None:
            slope[:, columns] = seen.slope[:, columns]
            deriv[:, columns] = seen.deriv[:, columns]
    return Seen(value, slope, deriv), done, reached


def _one(done: Run, own: Shown, count: int, derive: bool) -> Seen:
    """One thing at the first `count` crank angles of a run."""
    kind, name = own
    value: Complexes = np.array(
        (done.point(name) if kind == "point" else done.angle(name))[:, :count], np.complex128)
    if not derive:
        return Seen(value, np.zeros_like(value))
    slope, deriv = done.point_rates(name) if kind == "point" else done.angle_rates(name)
    return Seen(value, np.asarray(slope[:, :count], np.complex128),
                np.asarray(deriv[:, :count], np.complex128))
