"""One search for what makes the crank pleasant, and taking what it proposes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal, Slot

from app import engine
from app.seeking.run import Run
from app.seeking.seeker import Job
from app.session import Session
from core.errors import CrankwrightError
from core.model import Sketch

if TYPE_CHECKING:
    from core.pleasant import Advice, Options, Progress, Proposal

ADVISE = "core.pleasant:advise"
CHANGED = ("The sketch was changed meanwhile, so these proposals are not for it any more; "
           "ask again, or undo the change.")
STOPPED = "Stopped; what was found until then is kept."
NO_CRANK = ("This sketch has no crank yet, so there is nothing to make pleasant: give it one "
            "with the Crank tool.")


class EaseRun(Run):
    """Asks the advisor for a session. Its proposals are for the recorded sketch at which it
    was asked (`asked`); with any other in hand they are only looked at, and become good again
    when an undo brings it back.

    Its own attributes are `running`, `hurried` (whether the best will be taken at the end),
    `proposals`, `declined` (sentences), `shown` (the proposal seen on the canvas as a preview)
    and `taken` (the one that was put in last).
    """

    taking = Signal()

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(session, ADVISE, parent)
        self.proposals: tuple[Proposal, ...] = ()
        self.declined: tuple[str, ...] = ()
        self.shown: Proposal | None = None
        self.taken: Proposal | None = None
        self.asked: Sketch | None = None
        self._after: Sketch | None = None
        self.hurried = self._showing = False
        session.sketch_changed.connect(self._sketch_changed)

    @property
    def running(self) -> bool:
        """Whether the advisor is at work."""
        return self.seeker.running

    @property
    def current(self) -> bool:
        """Whether the proposals are for the sketch as it is recorded now."""
        return self.asked is not None and self._session.committed is self.asked

    @property
    def was_taken(self) -> bool:
        """Whether the sketch in hand is what taking a proposal made of it."""
        return self._after is not None and self._session.committed is self._after

    def start(self, options: Options, *, hurried: bool = False) -> None:
        """Ask. `hurried`: the best is taken as soon as it is known."""
        self.put_back()
        sketch = self._session.committed
        self._forget()
        if sketch.drive is None:
            self.seeker.drop()
            self.words = (NO_CRANK,)
        else:
            self.asked, self.hurried = sketch, hurried
            self.done, self.stage = 0.0, "beginning"
            self.seeker.start(Job(self.job, (sketch, options)))
        self.changed.emit()

    def stop(self) -> None:
        """End soon; what is found stays."""
        if self.running:
            self.seeker.stop()
            self.stage, self.hurried = "stopping", False
            self.changed.emit()

    def show(self, proposal: Proposal) -> bool:
        """See a proposal on the canvas, nothing recorded; False when it cannot be."""
        if not self.current:
            return False
        self._showing = True
        try:
            self._session.preview(proposal.sketch)
            self.shown = proposal
        except CrankwrightError as trouble:
            self._session.cancel()
            self.words = (str(trouble),)
        finally:
            self._showing = False
        self.changed.emit()
        return self.shown is proposal

    def put_back(self) -> bool:
        """Show the sketch as it is recorded; False when it was shown already."""
        if self.shown is None:
            return False
        self._showing = True
        self._session.cancel()
        self._showing = False
        self.shown = None
        self.changed.emit()
        return True

    def take(self, proposal: Proposal) -> bool:
        """Put a proposal into the sketch as one undo step; refused, with the reason in
        `words`, when the sketch is another one now."""
        if not self.current:
            self.words = (CHANGED,)
            self.changed.emit()
            return False
        self._showing = True
        try:
            done = self._session.commit(label_of(proposal), proposal.sketch)
        finally:
            self._showing = False
        self.shown = None
        if done:
            self.taken, self._after = proposal, self._session.committed
            self.words = (f"Taken: {proposal.title}. Ctrl+Z takes it out again; ask once more "
                          "to go on from here.",)
            self._session.select(("part", name) for name in proposal.parts)
            self.taking.emit()
        self.changed.emit()
        return done

    # -- what the search says --------------------------------------------------------

    @Slot(object)
    def _progressed(self, progress: Progress) -> None:
        self.done, self.stage = progress.done, progress.stage
        self._take_in(progress.proposals)
        self.changed.emit()

    def _take_in(self, proposals: tuple[Proposal, ...]) -> None:
        """Those shown already stay the same objects: one may be chosen, or seen on the
        canvas. The advisor only ever adds to its list."""
        self.proposals = (*self.proposals, *proposals[len(self.proposals):])

    @Slot(object)
    def _ended(self, result: Any) -> None:
        self.done, self.stage = 1.0, ""
        if result is None:  # ended from outside: what was seen last is all there is
            self.words = (STOPPED,)
        else:
            self._settle(result)
        self.changed.emit()

    def _settle(self, advice: Advice) -> None:
        self._take_in(advice.proposals)
        self.declined = tuple(one.words for one in advice.declined)
        self.words = (STOPPED,) if advice.stopped else ()
        hurried, self.hurried = self.hurried, False
        if hurried and not advice.stopped:
            chosen = engine.best_of(self.proposals)
            if chosen is None:
                self.words = ("Nothing that is allowed makes this crank more pleasant.",)
            elif self._session.sketch is self._session.committed or self.shown is not None:
                self.take(chosen)

    @Slot(str)
    def _failed(self, text: str) -> None:
        self.done, self.stage, self.hurried = 1.0, "", False
        self.words = (f"The {text[4:]}" if text.startswith("the ") else text,)
        self.changed.emit()

    # -- what the session says -------------------------------------------------------

    @Slot()
    def _sketch_changed(self) -> None:
        """Another hand changed the sketch: it wins, and what was asked for it is told so."""
        if self._showing or self.asked is None:
            return
        self.shown = None
        if self._session.sketch is not self._session.committed:
            return  # a drag under way; it may come to nothing
        if self.current:
            self.words = ()
        elif self.running:
            self.seeker.drop()
            self.hurried, self.stage = False, ""
            self.words = ("Stopped, because the sketch was changed meanwhile; ask again.",)
        elif not self.was_taken and self.proposals:
            self.words = (CHANGED,)
        self.changed.emit()

    def _forget(self) -> None:
        self.proposals, self.declined, self.words = (), (), ()
        self.taken = self.asked = self._after = None
        self.hurried = False


def label_of(proposal: Proposal) -> str:
    """What the Edit menu calls taking it."""
    return {
        "weights": "Add weights", "springs": "Hook in a spring",
        "torsion": "Wind a torsion spring", "gears": "Add a gear step",
        "flywheel": "Add a flywheel",
    }.get(proposal.kind, "Make the crank pleasant")
