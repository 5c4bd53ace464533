"""One family after one wish: seeds from the atlas, and their descent, stage by stage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from core.wanted.atlas.nearest import neighbours
from core.wanted.engine import Mechanisms, View, joined, run
from core.wanted.engine.descent import Descent, descend
from core.wanted.families import FAMILIES, Family
from core.wanted.find.posed import posed_four_bars
from core.wanted.find.problem import Problem

#: Two mechanisms are one when no joint is ever further apart than this share of their size;
#: and too much alike to offer both.
_SAME, ALIKE = 5e-3, 5e-2
#: Rounds in which fresh seeds are kept from ending at the edge of locking.
_EARLY = 3
#: So many are remembered.
_MOST = 240
#: Crank angles at which they are compared.
_LOOKS = 12

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Keep = Callable[[], bool]


@dataclass(frozen=True)
class Stage:
    """How much work a pursuit does in one go.

    `seeds` more from the atlas, by lot or (not `by_lot`) the nearest, and the `keep` best so
    far descend together; of a `funnel` of (how many, rounds) ever fewer go ever further.
    Those of the `sieve` come first and see the wishes coarsely; without a funnel they are
    what is found. In the end the best `exact` go on without the wish for a good
    transmission angle, so that the most exact build is found beside the best to crank.
    """

    seeds: int
    keep: int
    sieve: tuple[tuple[int, int], ...] = ()
    funnel: tuple[tuple[int, int], ...] = ()
    steps: int = 6
    by_lot: bool = True
    exact: int = 0


@dataclass
class Pursuit:
    """A family seen in one way; `found` is how far its mechanisms are, the good ones first,
    by error."""

    problem: Problem
    family: Family
    view: View
    rng: np.random.Generator
    found: Descent | None = None
    _chosen: tuple[Descent, int, Descent] | None = field(default=None, repr=False)

    @property
    def best(self) -> float:
        """The smallest error of a mechanism that goes round, in tolerances."""
        if self.found is None or not self.found.good.any():
            return np.inf
        return float(self.found.error[self.found.good].min())

    def go(self, stage: Stage, going: Keep) -> None:
        """Do one stage; `going` is asked after every round and may stop it."""
        if not stage.seeds and self.found is None:
            return  # nothing to go on with
        start = self._start(stage)
        turns = self.family.recipe.turns
        early = _EARLY if stage.seeds else 0
        for count, rounds, coarse in ([(*one, True) for one in stage.sieve]
                                      + [(*one, False) for one in stage.funnel]):
            if not len(start) or not going():
                return
            found = self._distinct(descend(
                self.family.recipe, start[:count], self.problem.goals(turns, coarse), self.view,
                self.problem.limits, rounds=rounds, steps=stage.steps, early=early,
                report=lambda _: going()))
            start, early = found.mechanisms, 0
            if not coarse or not stage.funnel:
                self.found = self._distinct(_both(self._others(min(stage.keep, count)), found))
        if stage.exact and self.found is not None and going():
            bare = replace(self.problem.limits, transmission_deg=0.0)
            self.found = self._distinct(_both(self.found, descend(
                self.family.recipe, self.found.mechanisms[:stage.exact],
                self.problem.goals(turns), self.view, bare, rounds=10, early=0,
                report=lambda _: going())))

    def task(self, stage: Stage) -> Task:
        """What another process has to know to do a stage."""
        return Task(self.family.id, self.view, self.rng, self.found, stage)

    def take(self, done: Pursued) -> None:
        """What another process found, as if it had been found here."""
        self.found, self.rng = done

    def _others(self, keep: int) -> Descent | None:
        """What was found but for those that go on."""
        found = self.found
        return None if found is None else _some(found, np.arange(keep, len(found.error)))

    def _start(self, stage: Stage) -> Mechanisms:
        own: list[Mechanisms] = []
        if self.found is not None and stage.keep:
            own.append(self.found.mechanisms[:stage.keep])
        if stage.seeds:
            bodies = tuple(name for kind, name in self.view if kind == "angle")
            own.append(neighbours(
                self.family, self.problem.asked, bodies, stage.seeds, home=self.problem.home,
                rng=self.rng if stage.by_lot else None).mechanisms)
            if self.family.id == "four-bar":
                own.append(posed_four_bars(self.problem, self.rng, stage.seeds))
        return joined(own)

    def choice(self, count: int) -> Descent | None:
        """The best few that are good and unlike each other."""
        found = self.found
        if found is None:
            return None
        if self._chosen is None or self._chosen[0] is not found \
                or self._chosen[1] != count:
            good = _some(found, np.flatnonzero(found.good))
            self._chosen = found, count, self._unlike(good, ALIKE, count)
        return self._chosen[2]

    def _distinct(self, descent: Descent) -> Descent:
        """Each mechanism once, the good ones first, by error, no more than are of use."""
        order = descent.order()
        order = order[np.isfinite(descent.error[order])]
        return self._unlike(_some(descent, order), _SAME, _MOST)

    def _unlike(self, descent: Descent, apart: float, most: int) -> Descent:
        """The first `most` that are further apart than that from those before."""
        crowd = Crowd(apart)
        kept: list[int] = []
        for k, (joints, size) in enumerate(zip(*joints_of(self.family, descent.mechanisms),
                                               strict=True)):
            if len(kept) == most:
                break
            if crowd.takes(joints, size):
                kept.append(k)
        return _some(descent, np.array(kept, dtype=np.intp))


@dataclass(frozen=True)
class Task:
    """A stage of a pursuit, without what all pursuits share."""

    family: str
    view: View
    rng: np.random.Generator
    found: Descent | None
    stage: Stage


#: What was found, and where chance goes on from.
Pursued = tuple[Descent | None, np.random.Generator]


def pursued(problem: Problem, task: Task, going: Keep) -> Pursued:
    """A stage done, in whatever process."""
    own = Pursuit(problem, FAMILIES[task.family], task.view, task.rng, task.found)
    own.go(task.stage, going)
    return own.found, own.rng


def joints_of(family: Family, mechanisms: Mechanisms) -> tuple[Complexes, Floats]:
    """All joints of mechanisms at a few crank angles, (M, L) complex mm, and the sizes (M,)
    of the mechanisms, mm."""
    recipe = family.recipe
    crank = 2 * np.pi * recipe.turns * np.arange(_LOOKS) / _LOOKS
    done = run(recipe, mechanisms, crank, derive=False)
    places = np.concatenate([done.point(name) for name in recipe.points], axis=1)
    middle = places.mean(axis=1, keepdims=True)
    return places, np.abs(places - middle).max(axis=1, initial=1e-12)


class Crowd:
    """Mechanisms of one family none of which is much like another: of every two some joint
    is further apart than a share of their size."""

    def __init__(self, apart: float) -> None:
        self.apart = apart
        self._seen: list[Complexes] = []

    def takes(self, joints: Complexes, size: float) -> bool:
        """Whether a mechanism (its joints (L,) and size, mm) is unlike all so far; it then
        is one of them."""
        if self._seen and np.abs(np.array(self._seen) - joints).max(axis=1).min() \
                <= self.apart * size:
            return False
        self._seen.append(joints)
        return True


def _both(one: Descent | None, other: Descent) -> Descent:
    if one is None:
        return other
    return Descent(joined([one.mechanisms, other.mechanisms]),
                   *(np.concatenate([getattr(one, name), getattr(other, name)])
                     for name in _ARRAYS))


_ARRAYS = ("error", "cost", "offset_rad", "steepest", "good", "settled")


def _some(descent: Descent, rows: Ints) -> Descent:
    return Descent(descent.mechanisms[rows], *(getattr(descent, name)[rows]
                                               for name in _ARRAYS))
