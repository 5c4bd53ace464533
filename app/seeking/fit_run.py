"""One fit of the sketch in hand: begun, watched on the canvas, kept or put back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal, Slot

from app.seeking.run import Run
from app.seeking.seeker import Job
from app.session import Session
from core.errors import CrankwrightError
from core.model import Sketch
from core.wanted.attached import attached
from core.wording import listed

if TYPE_CHECKING:
    from core.wanted.fit import Fitting, Progress

FIT = "core.wanted.fit:fit"
LABEL = "Fit"


class FitRun(Run):
    """Runs fits for a session. While one runs the sketch on the canvas is its best so far,
    as a preview; at the end that becomes one undo step. Any other change of the sketch
    ends the fit.

    Its own attributes are `running`, `trail` (errors in tolerances, falling), `before` (the
    error at the start, None until known) and `result`. `fitted` when a fit has ended and
    changed the sketch.
    """

    fitted = Signal()

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(session, FIT, parent)
        self.trail: list[float] = []
        self.before: float | None = None
        self.result: Fitting | None = None
        self._base: Sketch | None = None
        self._best: Sketch | None = None
        self._fitted: Sketch | None = None
        self._told_of: Sketch | None = None
        self._showing = False
        self._tries = 0
        session.sketch_changed.connect(self._sketch_changed)

    @property
    def running(self) -> bool:
        """Whether a fit is under way."""
        return self._base is not None

    @property
    def can_put_back(self) -> bool:
        """Whether the sketch in hand is what the last fit made of it."""
        return self._fitted is not None and self._session.committed is self._fitted

    def start(self) -> None:
        """Begin, unless something is missing, which `words` then say. Again on what a fit
        made, it tries from other starts."""
        if self.running:
            return
        self._session.cancel()
        sketch = self._told_of = self._session.committed
        self.words, self.result, self.trail = (), None, []
        self.before, self.done, self.stage = None, 0.0, "beginning"
        missing = what_is_missing(sketch) or self._cannot_turn()
        if missing:
            self.words, self.stage = (missing,), ""
        else:
            self._tries = self._tries + 1 if self.can_put_back else 0
            self._base, self._best = sketch, None
            self.seeker.start(Job(self.job, (sketch,), {"seed": self._tries}))
        self.changed.emit()

    def _cannot_turn(self) -> str:
        trouble = self._session.trouble
        return f"This sketch does not turn, so nothing can be fitted yet: {trouble}" \
            if trouble else ""

    def stop(self) -> None:
        """End soon, with the best so far."""
        self.stage = "stopping"
        self.seeker.stop()
        self.changed.emit()

    def settle(self) -> None:
        """End now, with the best so far: somebody takes hold of the sketch."""
        if self.running:
            self.seeker.drop()
            self._finish(self._best, ("Stopped; the best so far is kept.",))

    def put_back(self) -> None:
        """End now and show the sketch as it was; after a fit, undo it."""
        if self.running:
            self.seeker.drop()
            self._finish(None, ("Put back as it was.",))
        elif self.can_put_back:
            self._session.undo()
            self.words, self.trail = ("Put back as it was.",), []
            self._told_of = self._session.committed
            self.changed.emit()

    def close(self) -> None:
        self._base = None
        super().close()

    # -- what the search says --------------------------------------------------------

    @Slot(object)
    def _progressed(self, progress: Progress) -> None:
        self.done, self.stage = progress.done, progress.stage
        if self.before is None:
            self.before = progress.error
        self.trail.append(progress.error)
        if self._best is None or progress.sketch != self._best:
            self._best = progress.sketch
            self._show(progress.sketch)
        self.changed.emit()

    def _show(self, sketch: Sketch) -> None:
        self._showing = True
        try:
            self._session.preview(sketch)
        except CrankwrightError:
            pass  # a twin that cannot follow on the way; the result is checked anyway
        finally:
            self._showing = False

    @Slot(object)
    def _ended(self, result: Any) -> None:
        if not self.running:
            return
        if result is None:  # ended from outside: what was seen last is all there is
            self._finish(self._best, ("Stopped; the best so far is kept.",))
            return
        self.result = result
        self.before = result.before_error
        self.trail = list(result.trail) or self.trail
        self._finish(result.sketch, tuple(result.words))

    @Slot(str)
    def _failed(self, text: str) -> None:
        if self.running:
            self._finish(None, (text,))

    def _finish(self, sketch: Sketch | None, words: tuple[str, ...]) -> None:
        self._base = None
        self._showing = True
        try:
            if sketch is None:
                self._session.cancel()
            elif self._session.commit(LABEL, sketch):
                self._fitted = self._session.committed
                self.fitted.emit()
        finally:
            self._showing = False
        self.words, self.stage, self.done = words, "", 1.0
        self._told_of = self._session.committed
        self.changed.emit()

    @Slot()
    def _sketch_changed(self) -> None:
        """Another hand (undo, a command, another file) changed the sketch: it wins."""
        if self.running and not self._showing:
            self.seeker.drop()
            self._base, self._told_of = None, self._session.committed
            self.words = ("Stopped, because the sketch was changed meanwhile.",)
            self.stage = ""
            self.changed.emit()
        elif not self._showing and self._session.sketch is self._session.committed:
            if self._told_of is not None and self._session.committed is not self._told_of:
                self.words, self.trail = (), []  # they were about the sketch that was
            self.changed.emit()


def what_is_missing(sketch: Sketch) -> str:
    """Why the sketch cannot be fitted, in one sentence with the mend; "" when it can."""
    if not sketch.wanted:
        return ("Nothing is wanted yet: take the Wish tool (D) and draw the path a point is to "
                "take, or ask for an angle of a part in the Motion menu.")
    if sketch.drive is None:
        return "The sketch has no crank yet: give it one, or let Find propose a mechanism."
    if not attached(sketch):
        loose = [f"“{wish.id}”" for wish in sketch.wanted]
        return (f"{listed(loose)} {'is' if len(loose) == 1 else 'are'} not attached: choose "
                "a point or part for it under Particulars, or let Find propose a mechanism.")
    return ""
