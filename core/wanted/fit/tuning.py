"""Fit: the maker's own sketch tuned to what is wanted of it."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TypeVar

import msgspec
import numpy as np

from core.errors import SketchError
from core.model import Sketch
from core.model.links import parts_of
from core.motion import Turn, solve_turn
from core.motion.solve import plan_of, usable_drive
from core.wanted.attached import attached
from core.wanted.fit import staying
from core.wanted.fit.batch import seeds
from core.wanted.fit.beginnings import begin, others
from core.wanted.fit.descent import Place, descend
from core.wanted.fit.looking import Look, Task, task
from core.wanted.fit.rocking import goes, instants_of, rocked, turning
from core.wanted.fit.seeing import pose_of, seen_at
from core.wanted.fit.words import words
from core.wanted.goals.turned import dense_of
from core.wanted.measure import Met, measure, overall

replace = msgspec.structs.replace
T = TypeVar("T")

#: Starts besides the sketch itself: with closed forms alone, and with groups without one.
STARTS, STARTS_LARGE = 16, 5
#: Steps of the sketch itself; of every other start before the worse half is let go, and
#: the most of the last one.
OWN, FIRST, MORE = 80, 10, 300
#: The best of a batch that are followed further, and the starts at random after them.
SEEDS, AFTER = 4, 2
#: An error (tolerances) below which nothing else is tried.
PERFECT = 0.02
#: and below which fewer other starts are tried, none of them in batches.
MET = 0.5
#: Steps of the crank at which a result is checked.
CHECKED = 720
#: What the sketch itself came to is left only for a cost below this share of it.
FAVOUR = 0.995
#: Errors (tolerances) that differ by less are the same.
TIE = 1e-6
#: Reports are no more often than this, s; what comes out does not depend on it.
PAUSE_S = 0.04


@dataclass(frozen=True)
class Progress:
    """How far a fit is: the best sketch so far, its error (root mean square over the wishes,
    in tolerances), the share done (0 to 1) and what it is about, in words."""

    sketch: Sketch
    error: float
    done: float
    stage: str


@dataclass(frozen=True)
class Fitting:
    """What a fit came to.

    Attributes
    ----------
    sketch : the best sketch that goes round and keeps what must hold; `before` itself when
        nothing better was found.
    error, before_error : root mean square over the wishes, in tolerances; of a sketch that
        does not go all the way, 10 000 for what it does not reach.
    mets, before_mets : how every wish is met, and was.
    good : every wish is met, the crank goes all the way, and all that must hold does.
    stopped : the fit was stopped before it was done.
    words : what there is to say of it, one sentence each.
    trail : the error after every step, falling; the last may be a little more again, where
        points were moved back that need not have moved.
    """

    sketch: Sketch
    before: Sketch
    error: float
    before_error: float
    mets: tuple[Met, ...]
    before_mets: tuple[Met, ...]
    good: bool
    stopped: bool
    words: tuple[str, ...]
    trail: tuple[float, ...]


Report = Callable[[Progress], bool]


def fit(sketch: Sketch, *, seed: int = 0, starts: int | None = None,
        patience_s: float | None = None, report: Report | None = None) -> Fitting:
    """The sketch with its free points where its wishes are met best.

    Parameters
    ----------
    seed : of everything random; equal sketches and seeds give equal results.
    starts : how many starts besides the sketch itself are tried.
    patience_s : stop after so long (the result then depends on the machine).
    report : told now and then how far it is, from the same thread; False stops.

    The order in which places are passed, the way each group is put together and the full
    turn are respected: a sketch whose crank locks is never taken, and what comes out is
    solved and measured anew at 720 steps.

    Raises
    ------
    MotionError
        When the sketch has no crank.
    SketchError
        When nothing is wanted of it, or nothing may move.
    """
    wishes = attached(sketch)
    usable_drive(sketch, plan_of(sketch))
    if not wishes and any(not parts_of(wish) for wish in sketch.wanted):
        raise SketchError("nothing is wanted of this sketch's own points and parts",
                          mend="attach the wishes there are, or find a mechanism for them")
    if not wishes:
        raise SketchError("nothing is wanted of this sketch",
                          mend="draw a path for one of its points, or ask for an angle")
    work = task(sketch, wishes)
    if not work.freedom.count:
        raise SketchError("no point may move", mend="unlock one, or name it free")
    run = _Run(work, starts, patience_s, report)
    run.go(np.random.default_rng(seed))
    return run.result()


def error_of(work: Task, turn: Turn) -> float:
    """Error of a turn, in tolerances; what is not reached counts 10 000."""
    instants = instants_of(work.goals, turn) if work.rocks else work.goals.match(
        dense_of(turn, work.goals.channels))
    seen = seen_at(pose_of(turn, instants), work.goals.channels, instants)
    return float(work.goals.error(work.goals.residuals(instants, seen)[0])[0])


@dataclass
class _Run:
    """A fit under way."""

    work: Task
    starts: int | None
    patience_s: float | None
    report: Report | None
    best: Place | None = None
    own: Place | None = None
    stopped: bool = False
    trail: list[float] = field(default_factory=list)
    began: float = field(default_factory=time.monotonic)
    told: float = -math.inf
    done: float = 0.0
    stage: str = ""

    def go(self, random: np.random.Generator) -> None:
        """All starts; the best is kept at any time."""
        large = any(block.kind == "newton" for block in plan_of(self.work.sketch).blocks)
        count = self.starts if self.starts is not None else (
            STARTS_LARGE if large else STARTS)
        self.stage = "the sketch itself"
        own = begin(self.work, np.zeros(self.work.freedom.count))
        if own is not None:
            self._down(descend(self.work, own, OWN), OWN, 0.0, 0.3)
        self._elsewhere(own, random, count)
        self._back(own)

    def _elsewhere(self, own: Look | None, random: np.random.Generator, count: int) -> None:
        """Other starts, unless what the sketch itself came to will do."""
        if self._halted() or count < 1 or self._error < PERFECT or (
                self.best is not None and staying.well(self.work, self.best.look)):
            return
        self.own, self.stage = self.best, "other starts"
        met = self._error < MET
        self._race(self._starts(own, random, count // 4 if met else count, not met))

    def _back(self, own: Look | None) -> None:
        """Back towards the drawn places, as far as that costs nothing that counts."""
        if self.best is None or self._halted():
            return
        self.stage, best = "moving no more than needed", self.best
        start = self.work.matched(best.look)
        bounds = staying.bounds_of(self.work, start, own)
        for look in staying.back(self.work, start, bounds):
            self.best = Place(look, best.multipliers, best.settled)
            if not self._go_on():
                break
        if self.best is not best:
            look = staying.settled(self.work, start, self.best.look, bounds)
            self.best = Place(look, best.multipliers, best.settled)
            self.trail.append(self._error)

    def _starts(self, own: Look | None, random: np.random.Generator, count: int,
                batch: bool) -> Iterator[Look]:
        """Other starts: the best of a batch of many where there is one, which are seldom
        bettered by one at random; else more of these."""
        left = count
        if batch:
            self.stage = "many random starts"
            for look in seeds(self.work, random, min(count, SEEDS), self._go_on):
                yield look
                left = AFTER
            self.stage = "other starts"
        yield from _first(others(self.work, own, random), min(count, left))

    def _race(self, starts: Iterator[Look]) -> None:
        """Descents a few steps each, the worse half let go every round."""
        field_: list[tuple[float, int, Iterator[Place]]] = []
        low, high, steps = 0.3, 0.6, FIRST
        for number, look in enumerate(starts):
            descent = descend(self.work, look, MORE)
            done = low + (high - low) * number / (number + 3)
            self._run(field_, number, descent, steps, done)
            if self._halted() or self._error < PERFECT:
                return
        while field_:
            steps, low, high = 2 * steps, high, high + 0.4 * (1.0 - high)
            keep = sorted(field_, key=lambda one: one[:2])[:max(1, (len(field_) + 1) // 2)]
            field_ = []
            for rank, (_, number, descent) in enumerate(keep):
                self._run(field_, number, descent, steps, low + (high - low) * rank / len(keep))
                if self._halted() or self._error < PERFECT:
                    return

    def _run(self, field_: list[tuple[float, int, Iterator[Place]]], number: int,
             descent: Iterator[Place], steps: int, done: float) -> None:
        """Some steps of one descent; it stays in the field unless it has settled. One that
        is as good as perfect is followed to its end."""
        place = self._down(descent, steps, done, done)
        if place is not None and _rms(self.work, place) < PERFECT and not self._halted():
            place = self._down(descent, MORE, done, 1.0)
        if place is not None and not place.settled:
            field_.append((place.look.cost, number, descent))

    def _down(self, places: Iterator[Place], steps: int, low: float, high: float
              ) -> Place | None:
        """Some steps of a descent; where it has come to."""
        place = None
        for number, place in enumerate(_first(places, steps)):
            self._note(place)
            self.done = low + (high - low) * (number + 1) / steps
            if not self._go_on():
                break
        return place

    def _halted(self) -> bool:
        return self.stopped

    def _note(self, place: Place) -> None:
        bar = math.inf if self.best is None else _value(self.best)
        # What is come to from elsewhere must be better, not only as good.
        if _value(place) < bar * (FAVOUR if self.best is self.own else 1.0):
            self.best = place
        self.trail.append(self._error)

    @property
    def _error(self) -> float:
        return math.inf if self.best is None else _rms(self.work, self.best)

    def _go_on(self) -> bool:
        if self.stopped:
            return False
        now = time.monotonic()
        if self.patience_s is not None and now - self.began > self.patience_s:
            self.stopped = True
        elif self.report is not None and now - self.told >= PAUSE_S:
            self.told = now
            sketch = self.work.sketch if self.best is None else finished(
                self.work, self.best.look)
            self.stopped = not self.report(Progress(sketch, self._error,
                                                    min(self.done, 1.0), self.stage))
        return not self.stopped

    def result(self) -> Fitting:
        """The best, checked; the sketch as it was when that is no worse."""
        work, before = self.work, self.work.sketch
        was = solve_turn(before, CHECKED)
        before_error = error_of(work, was)
        sketch, turn, error, sound = before, was, before_error, goes(was)
        mets = before_mets = measure(was)
        if self.best is not None:
            found = finished(work, self.best.look)
            checked = solve_turn(found, CHECKED)
            now, found_mets = error_of(work, checked), measure(checked)
            # It may be that only the zero of the crank's reading was not as wished.
            late = now <= before_error + TIE and (
                overall(found_mets, found) < overall(before_mets, before) - TIE)
            better = now < before_error or late or not sound or not self._kept_before()
            if goes(checked) and better:
                sketch, turn, error, sound, mets = found, checked, now, True, found_mets
        met = all(each.met for each in mets if any(w.id == each.wish for w in work.wishes))
        kept, stopped = sketch is not before or self._kept_before(), self.stopped
        work.go_on, self.done, self.stage = self._go_on, 1.0, "what holds it back"
        said = words(work, self.best if sketch is not before else None, turn, mets,
                     kept=kept, stopped=stopped)
        return Fitting(sketch, before, error, before_error, mets, before_mets,
                       met and sound and kept, stopped, said, tuple(self.trail))

    def _kept_before(self) -> bool:
        """Whether all that must hold did so in the sketch as it was."""
        c, _, g, _ = self.work.held(np.zeros(self.work.freedom.count))
        size = 1e-9 * self.work.freedom.size_mm
        return bool(np.abs(c).max(initial=0.0) <= size and g.max(initial=0.0) <= size)


def _first(items: Iterator[T], count: int) -> Iterator[T]:
    for _, item in zip(range(count), items, strict=False):
        yield item


def _value(place: Place) -> float:
    """What places are compared by: cost, and what must hold over the turn a hundredfold."""
    return place.look.cost + 100.0 * place.look.over


def _rms(work: Task, place: Place) -> float:
    return math.sqrt(place.look.missed / work.goals.weight)


def finished(work: Task, look: Look) -> Sketch:
    """The whole sketch at a look, its crank reading as wished."""
    sketch = work.freedom.finished(look.w)
    if work.rocks:
        if look.swing is not None and work.must_rock(look):
            return rocked(sketch, look.swing, look.offset_rad)
        sketch = turning(sketch)
    drive = sketch.drive
    assert drive is not None
    late = math.degrees(look.offset_rad)
    if not late:
        return sketch
    drawn = drive.drawn_deg - late
    cycle = 360.0 * look.turn.crank_turns
    drawn -= cycle * round((drawn - drive.drawn_deg) / cycle)
    return replace(sketch, drive=replace(drive, drawn_deg=drawn))
