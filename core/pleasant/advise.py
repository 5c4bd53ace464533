"""One call to all advice: each kind of proposal in turn, judged in full, worst left out."""

from __future__ import annotations

import functools
import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from core.errors import SketchError
from core.model import Sketch
from core.motion import Turn
from core.pleasant.flywheel import flywheel_proposals
from core.pleasant.gears import gear_proposals
from core.pleasant.ground import Ground, ground
from core.pleasant.options import AIMS, KINDS, Kind, Options
from core.pleasant.proposal import Advice, Declined, Progress, Proposal, Report, push
from core.pleasant.say_both import both_proposals
from core.pleasant.say_springs import spring_proposals, torsion_proposals
from core.pleasant.say_weights import weight_proposals
from core.pleasant.stock import WASHERS

#: What each kind is worked out by: proposals, or why there are none.
Maker = Callable[[Ground, Options, Callable[[float], bool]], list[Proposal | Declined]]
_MAKERS: dict[Kind, tuple[str, Maker]] = {
    "weights": ("weighing counterweights", weight_proposals),
    "springs": ("hooking in springs", spring_proposals),
    "torsion": ("winding torsion springs", torsion_proposals),
    "gears": ("looking for gears", gear_proposals),
    "flywheel": ("weighing a flywheel", flywheel_proposals),
}

#: How long a report waits for the next, s.
PAUSE_S = 0.1


@dataclass
class _Run:
    """The telling of progress, and whether to stop."""

    report: Report | None
    kinds: int
    at: int = 0
    stage: str = ""
    done: float = 0.0
    stopped: bool = False
    found: list[Proposal] = field(default_factory=list)

    told: float = -math.inf

    def go_on(self, part: float) -> bool:
        """Tell how far this kind is (0 to 1), now and then; False when it shall stop."""
        return self.tell(part) if time.monotonic() - self.told >= PAUSE_S else (
            not self.stopped)

    def tell(self, part: float) -> bool:
        """Tell it now."""
        if self.report is not None and not self.stopped:
            self.told = time.monotonic()
            self.done = max(self.done, (self.at + part) / max(self.kinds, 1))
            self.stopped = not self.report(
                Progress(self.done, self.stage, tuple(self.found)))
        return not self.stopped


def advise(what: Sketch | Turn, options: Options | None = None,
           report: Report | None = None) -> Advice:
    """Everything that would make the crank more pleasant, with lanes before and after.

    Parameters
    ----------
    what : the sketch, or its solved turn (then nothing is solved again).
    options : what is asked for and allowed.
    report : told now and then how far it is, from the same thread; False stops, and what
        was found until then is handed out.

    Every proposal is evaluated in full, friction and all, as the sketch it hands out; one
    that is not better than before is not proposed. Equal input gives equal advice.

    Raises
    ------
    MotionError
        For a sketch without a crank, one that locks on the way, or jams by friction.
    SketchError
        For a mass or material that cannot be, or options that name what does not exist.
    """
    options = options if options is not None else Options()
    _check(what if isinstance(what, Sketch) else what.sketch, options)
    base = ground(what)
    kinds = _worked_out(options)
    run = _Run(report, len(kinds))
    declined: list[Declined] = []
    for at, kind in enumerate(kinds):
        run.at, (run.stage, make) = at, _maker(kind, run)
        if not run.tell(0.0):
            break
        try:
            made = make(base, options, run.go_on)
        except SketchError as error:
            raise SketchError(error.what, error.where or f"options.{kind}",
                              error.mend) from error
        mine = [each for each in made if isinstance(each, Proposal)]
        run.found += sorted(mine, key=lambda each: each.value_after)
        if not run.stopped:
            declined += [each for each in made if isinstance(each, Declined)]
    run.at = len(kinds)
    run.tell(0.0)
    return Advice(base.sketch, base.before, push(base.sketch.handle, base.before),
                  tuple(run.found), tuple(declined), run.stopped)


def _worked_out(options: Options) -> list[Kind]:
    """The kinds asked for; both together after weights and springs."""
    kinds = [kind for kind in options.kinds if kind in _MAKERS]
    if {"weights", "springs"} <= set(kinds):
        at = max(kinds.index("weights"), kinds.index("springs")) + 1
        kinds.insert(at, "both")
    return kinds


def _maker(kind: Kind, run: _Run) -> tuple[str, Maker]:
    if kind != "both":
        return _MAKERS[kind]
    return ("weighing weights against springs",
            functools.partial(both_proposals, found=tuple(run.found)))


def _check(sketch: Sketch, options: Options) -> None:
    """What is asked for must exist."""
    parts = {part.id for part in sketch.parts}
    for where, names, known in (
            ("weights.parts", options.weights.parts, parts),
            ("springs.parts", options.springs.parts, parts),
            ("weights.washers", options.weights.washers, set(WASHERS)),
            ("kinds", options.kinds, set(KINDS)),
            ("aim", (options.aim,) if isinstance(options.aim, str) else (), set(AIMS))):
        for name in names:
            if name not in known:
                raise SketchError(f"there is no {name!r}", f"options.{where}",
                                  f"use one of {', '.join(sorted(known))}")


def proposals(what: Sketch | Turn, options: Options | None = None,
              report: Report | None = None) -> tuple[Proposal, ...]:
    """The proposals of :func:`advise` alone; raises the same."""
    return advise(what, options, report).proposals
