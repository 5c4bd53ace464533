"""`find`: from wishes alone to ranked mechanisms, in stages that all families share."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain, islice

import numpy as np

from core.errors import SketchError
from core.model import Sketch
from core.wanted.atlas.shape import Complexes
from core.wanted.engine import Descent, Mechanisms, View, descend
from core.wanted.families import FAMILIES, Family
from core.wanted.find.building import Built, Candidate, built
from core.wanted.find.crew import Crew, crew
from core.wanted.find.kin import kin_of
from core.wanted.find.problem import Problem, problem_of
from core.wanted.find.proposal import Found, Proposal
from core.wanted.find.pursuit import ALIKE, Crowd, Pursuit, Stage, joints_of, pursued
from core.wanted.find.ranking import ranked

Report = Callable[[Found], bool]

#: All families have a look; then all go on; then the promising ones go to the end, and the
#: simplest of them once more from many other seeds.
FIRST = Stage(seeds=16, keep=0, sieve=((16, 1),), steps=5, by_lot=False)
SECOND = Stage(seeds=32, keep=6, sieve=((38, 2),), steps=8)
THIRD = Stage(seeds=0, keep=8, funnel=((8, 3),), steps=12)
DEEP = Stage(seeds=240, keep=10, sieve=((250, 2), (60, 2)), funnel=((24, 4), (6, 8)), steps=8)
#: The same where few places are wished, each of which costs little.
DEEPEST = Stage(seeds=800, keep=16, funnel=((816, 2), (200, 5), (50, 12), (16, 40)),
                exact=8)
_FEW = 30
#: Of curves an error below this, in tolerances, is not refined further, and with so many
#: proposals that meet every wish nothing further is looked for.
_ENOUGH, _PLENTY = 0.3, 6
#: So many pursuits go to the second stage and the third, and so many are gone into deeply.
HOPEFUL, PROMISING, DEEPLY = 24, 8, 2
#: One whose error is so many times the best one's (or a tolerance) falls behind.
_BEHIND = 4.0
#: Proposals of one family: at least so many, so that there is a choice of kinds.
_EACH = 4
#: Among (so many) pursuits or more the list is made anew after (so many).
_LISTED = ((24, 12), (12, 4))
#: So many places in the list are for kinds of mechanism not among the best.
_KINDS = 8
#: Two panels on a hinge, driven by rods.
_PANELS = tuple(name for name in FAMILIES if name.startswith("panel-chain"))


def find(sketch: Sketch, *, seed: int = 0, top: int = 24,
         families: Iterable[str] | None = None, report: Report | None = None,
         processes: int = 1) -> Found:
    """Mechanisms for the wishes of a sketch, best first.

    The wishes attached to nothing count (all, when there are none such); the sketch's rules
    of fit, regions for pivots and the sense of its drive are minded. Every proposal has
    been turned all round; none locks or leaves its assembly mode.

    Parameters
    ----------
    seed : which of the atlas' mechanisms are tried besides the nearest.
    top : proposals wanted; cognates of one of them come in addition.
    families : ids of `core.wanted.families.FAMILIES`; None: all.
    report : told of the best so far, often; False stops the search, and what was found by
        then is returned. Nothing else depends on time.
    processes : so many share the work, best one to a core, which changes nothing in what is
        found. They are begun from nothing and import the main module anew, which therefore
        has to guard what it does by ``if __name__ == "__main__"``; threads of linear algebra
        are for the host to limit. They stay for the next search.

    Raises
    ------
    SketchError
        When nothing is wished, too little to go by, or a family is unknown.
    FileError
        When the atlas is missing or damaged.
    """
    problem = problem_of(sketch)
    known = list(FAMILIES) if families is None else list(dict.fromkeys(families))
    for name in known:
        if name not in FAMILIES:
            raise SketchError(f"there is no family {name!r}",
                              mend=f"choose from {', '.join(FAMILIES)}")
    with crew(processes) as shared:
        return _Search(problem, [FAMILIES[name] for name in known], seed, top, report,
                       shared).run()


class _Search:
    """One search under way."""

    def __init__(self, problem: Problem, families: Sequence[Family], seed: int, top: int,
                 report: Report | None, shared: Crew | None = None) -> None:
        self.problem, self.top, self._report = problem, top, report
        self.crew = Crew() if shared is None else shared
        self.each = max(_EACH, -(-top // max(len(families), 1)))
        self.pursuits = [
            Pursuit(problem, family, view,
                    np.random.default_rng([seed, zlib.crc32(repr((family.id, view)).encode())]))
            for family in families for view in problem.views(family)]
        blind = sum(not problem.views(family) for family in families)
        self.words = (*problem.words, *_blind(blind, len(families)))
        self.stopped = False
        self.state = Found(words=self.words)
        self._built: dict[bytes, Built] = {}

    def run(self) -> Found:
        """All stages."""
        if not self.pursuits:
            self._tell((), 1.0, "Done")
            return self.state
        self._stage(FIRST, self.pursuits, "Looking through the atlas", 0.15, each=1)
        self._stage(SECOND, self._promising(HOPEFUL, PROMISING), "Trying what is near", 0.4,
                    each=2)
        few = self.problem.goals().samples <= _FEW
        promising = self._promising(PROMISING, DEEPLY)
        self._stage(THIRD, [one for one in promising if few or one.best > _ENOUGH],
                    "Refining", 0.7, each=self.each)
        if few or sum(one.good for one in self.state.proposals) < _PLENTY:
            self._stage(DEEPEST if few else DEEP, self._deep(promising), "Looking further",
                        0.95, each=self.each)
        if not self.stopped:
            self._with_kin()
        self._tell(self.state.proposals, 1.0, "Stopped" if self.stopped else "Done")
        return self.state

    def _stage(self, stage: Stage, those: Sequence[Pursuit], words: str, until: float,
               each: int) -> None:
        start, rare = self.state.done, _rarely(len(those))
        tasks = [one.task(stage) for one in those]
        answers = self.crew.share(pursued, self.problem, tasks, self._going)
        for k, (number, done) in enumerate(answers):
            those[number].take(done)
            share = start + (until - start) * (k + 1) / len(those)
            self._tell(self.state.proposals, share, words)
            if not self.stopped and k % rare == rare - 1:
                self._list(each)
        if not self.stopped:
            self._list(each)

    def _promising(self, count: int, least: int = 0) -> list[Pursuit]:
        """The best so far, of those beyond `least` only the ones not far behind."""
        best = sorted(self.pursuits, key=lambda one: one.best)[:count]
        behind = _BEHIND * max(best[0].best, 1.0)
        found = [one for k, one in enumerate(best) if k < least or one.best < behind]
        apt = min(filter(self._apt, self.pursuits), key=lambda one: one.best, default=None)
        return found if apt is None or apt in found else [*found, apt]

    def _apt(self, one: Pursuit | Candidate) -> bool:
        """Whether it is of the kind made for what is wished: hinged panels for two angles,
        which the bodies of other kinds are not."""
        return self.problem.two_angles and one.family.id in _PANELS

    def _deep(self, promising: Sequence[Pursuit]) -> list[Pursuit]:
        """The best, and the simplest family asked for when it is not among them."""
        best = list(promising[:DEEPLY])
        return best if self.pursuits[0] in best else [*best, self.pursuits[0]]

    def _going(self) -> bool:
        """Report as it is, and keep the others at work; whether to go on."""
        self.crew.feed()
        self._tell(self.state.proposals, self.state.done, self.state.stage)
        return not self.stopped

    def _tell(self, proposals: tuple[Proposal, ...], done: float, stage: str) -> None:
        self.state = Found(proposals, done, stage, self.words)
        if self._report is not None and not self.stopped:
            self.stopped = not self._report(self.state)

    def _list(self, each: int) -> None:
        """Build what is best now and rank it; stopped meanwhile, let the list be as it is."""
        best = self._best(each)
        if not (self.stopped and self.state.proposals):
            self._rank(best)

    def _best(self, each: int) -> list[tuple[Proposal, Complexes]]:
        """The best candidates built, as many as are wanted and stand the test; the last
        places are for the best of kinds that would not be seen at all."""
        least = 0.5 * self.problem.sketch.fit.transmission_deg
        own = [_candidates(pursuit, each) for pursuit in self.pursuits]
        kinds: dict[str, Candidate] = {}
        for one in sorted((first[0] for first in own if first),
                          key=lambda one: (not self._apt(one), one.error)):
            kinds.setdefault(one.family.id, one)
        every = sorted((one for several in own for one in several),
                       key=lambda one: (one.transmission_deg < least, one.error))
        self._build_all(every[:self.top])
        best = list(islice(self._built_of(every), self.top))
        known = {proposal.family for proposal, _ in best}
        others = self._built_of(one for kind, one in kinds.items() if kind not in known)
        return best[:max(self.top - _KINDS, 1)] + list(islice(
            chain(others, best[max(self.top - _KINDS, 1):]), _KINDS))

    def _built_of(self, several: Iterable[Candidate]
                  ) -> Iterator[tuple[Proposal, Complexes]]:
        """Those that stand the test, built as they are asked for."""
        return (found for one in several if (found := self._build(one)) is not None)

    def _rank(self, built: Sequence[tuple[Proposal, Complexes]]) -> None:
        self._tell(ranked([one for one, _ in built], [path for _, path in built], self.top,
                          self.problem.sketch.fit.transmission_deg, self.problem.size_mm),
                   self.state.done, self.state.stage)

    def _build_all(self, several: Iterable[Candidate]) -> None:
        """Build those not built yet, shared, unless the others are at something else."""
        fresh = list({one.key: one for one in several if one.key not in self._built}.values())
        if self.crew.idle:
            for number, made in self.crew.share(built, self.problem, fresh, self._going):
                self._built[fresh[number].key] = made

    def _build(self, one: Candidate) -> Built:
        if one.key not in self._built and self._going():
            self._built[one.key] = built(self.problem, one, self._going)
        return self._built.get(one.key)

    def _with_kin(self) -> None:
        """Add the cognates of the best four-bars. Where a search came to one of them by
        itself, the two are much alike, and only the better is kept."""
        if not self.problem.only_paths:
            return
        listed = [one for pursuit in self.pursuits for one in _candidates(pursuit, self.each)]
        bars = sorted((one for one in listed if one.family.id == "four-bar"), key=_error)
        crowds = {pursuit.family.id: Crowd(ALIKE) for pursuit in self.pursuits}

        def taken(one: Candidate) -> bool:
            joints, size = joints_of(one.family, one.mechanism)
            return crowds[one.family.id].takes(joints[0], float(size[0]))

        for one in listed:
            if one.family.id != "four-bar":
                taken(one)
        fresh: list[Candidate] = []
        for one in bars:
            if taken(one):
                fresh += filter(taken, self._kin(one))
            else:
                self._built[one.key] = None
        self._build_all(fresh)
        found = list(self._built_of(fresh))
        best = self._best(self.each)
        if not self.stopped:
            self._rank([*best, *found])

    def _kin(self, one: Candidate) -> Iterator[Candidate]:
        """The cognates of a four-bar that are good, of families asked for."""
        wanted = {pursuit.family.id for pursuit in self.pursuits}
        for name, mechanism in kin_of(one.mechanism, timed=self.problem.timed):
            if name in wanted:
                yield from self._seen(FAMILIES[name], one.view, mechanism)

    def _seen(self, family: Family, view: View, mechanisms: Mechanisms) -> list[Candidate]:
        """Mechanisms held against the goals as they are."""
        goals = self.problem.goals(family.recipe.turns)
        as_is = descend(family.recipe, mechanisms, goals, view, self.problem.limits, rounds=1,
                        steps=0)
        return _listed(family, view, as_is, range(len(mechanisms)))


def _blind(count: int, families: int) -> tuple[str, ...]:
    """What is to be said where some of the families cannot show all wishes."""
    if not count:
        return ()
    if count == families:
        return ("No family can show all that is wished at once.",)
    return (f"{count} of {families} families cannot show all that is wished at once and "
            f"{'is' if count == 1 else 'are'} left out.",)


def _rarely(count: int) -> int:
    """After how many of the pursuits of a stage the list is made anew."""
    return next((after for least, after in _LISTED if count >= least), 1)


def _error(one: Candidate) -> float:
    return one.error


def _candidates(pursuit: Pursuit, count: int) -> list[Candidate]:
    """The best few of a pursuit."""
    found = pursuit.choice(count)
    if found is None:
        return []
    return _listed(pursuit.family, pursuit.view, found, range(len(found.error)))


def _listed(family: Family, view: View, found: Descent, rows: Iterable[int]
            ) -> list[Candidate]:
    """Those of some rows that are good."""
    return [Candidate(family, view, found.mechanisms[k], float(found.error[k]),
                      float(found.transmission_deg[k]), float(found.offset_rad[k]))
            for k in rows if found.good[k]]
