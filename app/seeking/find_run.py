"""One search for mechanisms that do what is wanted, and taking one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal, Slot

from app import engine
from app.cores import cores
from app.seeking.run import Run
from app.seeking.seeker import Job
from app.session import Session
from core.errors import CrankwrightError
from core.model import Sketch
from core.model.edits import unattached
from core.model.links import parts_of

if TYPE_CHECKING:
    from core.wanted.find import Found, Proposal

FIND = "core.wanted.find:find"
#: So many are asked for; the gallery shows what can be told apart.
MOST = 36
#: So many are kept when it is searched again and again.
MOST_KEPT = 120
NOTHING_WANTED = ("Nothing is wanted yet. Take the Wish tool (D), draw the path a point is to "
                  "take on the paper, and ask again.")


class FindRun(Run):
    """Searches for a session. What is found belongs to the wishes it was asked for, and
    stays until other wishes are asked for or another file is opened.

    Its own attributes are `running` and `proposals`. `used` when a proposal has been put
    into the sketch.
    """

    used = Signal()

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(session, FIND, parent)
        self.proposals: tuple[Proposal, ...] = ()
        self._asked: object = None
        self._earlier: tuple[Proposal, ...] = ()
        self._seed = 0
        session.file_changed.connect(self._file_changed)
        session.sketch_changed.connect(self._sketch_changed)

    @property
    def running(self) -> bool:
        """Whether a search is under way."""
        return self.seeker.running

    @property
    def stale(self) -> bool:
        """Whether the wishes are others now than those that were asked for."""
        return self._asked is not None and self._asked != _question(self._session.committed)

    @property
    def taken_over(self) -> tuple[str, ...]:
        """The wishes attached to something now that a proposal, once used, takes over."""
        ours = {wish.id for one in self.proposals[:1] for wish in one.sketch.wanted}
        return tuple(wish.id for wish in self._session.committed.wanted
                     if wish.id in ours and parts_of(wish))

    def look(self) -> None:
        """Search, unless the answer is there (or coming) already."""
        if self._asked is None or self.stale:
            self.start()

    def start(self) -> None:
        """Search for the wishes as they are; asked again for the same, search elsewhere and
        keep what was found before."""
        sketch = self._session.committed
        if not sketch.wanted:
            self.seeker.drop()
            self._forget()
            self.words = (NOTHING_WANTED,)
        else:
            question = _question(sketch)
            self._seed = self._seed + 1 if question == self._asked else 0
            if question != self._asked:
                self.proposals = ()
            self._earlier = self.proposals
            self._asked = question
            self.words, self.done, self.stage = (), 0.0, "looking"
            self.seeker.start(Job(self.job, (sketch,), {
                "seed": self._seed, "top": MOST, "processes": cores()}))
        self.changed.emit()

    def stop(self) -> None:
        """End soon; what is found stays."""
        if self.running:
            self.seeker.stop()
            self.stage = "stopping"
            self.changed.emit()

    def use(self, proposal: Proposal) -> bool:
        """Put a proposal into the sketch, as one undo step, its parts selected; False when
        it cannot be, which is told."""
        session = self._session
        session.cancel()
        before = session.committed
        try:
            sketch = engine.adopt(before, proposal)
        except CrankwrightError as trouble:
            session.told.emit(str(trouble))
            return False
        old = {part.id for part in before.parts}
        if not session.commit(f"Use {proposal.name.split(',')[0].lower()}", sketch):
            return False
        session.select(("part", part.id) for part in sketch.parts
                       if part.id not in old and not part.fixed)
        self.used.emit()
        return True

    # -- what the search says --------------------------------------------------------

    @Slot(object)
    def _progressed(self, found: Found) -> None:
        self.done, self.stage = found.done, found.stage
        self._take(found.proposals)
        self.changed.emit()

    @Slot(object)
    def _ended(self, found: Any) -> None:
        self.stage, self.done = "", 1.0
        if found is not None:
            self._take(found.proposals)
            self.words = tuple(found.words)
        if not self.proposals and not self.words:
            self.words = ("No mechanism was found for this. Try a wider tolerance, a smoother "
                          "path, or longer links.",)
        self.changed.emit()

    def _take(self, proposals: tuple[Proposal, ...]) -> None:
        """Keep these; a mechanism that was there already stays the same object, so that its
        picture need not be made anew."""
        known = {(one.family, one.error): one.sketch for one in self.proposals}
        taken = []
        for one in proposals:
            old = known.get((one.family, one.error))
            taken.append(replace(one, sketch=old) if old == one.sketch else one)
        if self._earlier and taken:
            self.proposals = engine.marked(joined(self._earlier, taken))
        else:
            self.proposals = tuple(taken) or self.proposals

    @Slot(str)
    def _failed(self, text: str) -> None:
        self.stage, self.done = "", 1.0
        self.words = (text,)
        self.changed.emit()

    # -- what the session says -------------------------------------------------------

    @Slot()
    def _file_changed(self) -> None:
        if self._asked is not None and self._session.undo_stack.count() == 0 and self.stale:
            self.seeker.drop()
            self._forget()
            self.changed.emit()

    @Slot()
    def _sketch_changed(self) -> None:
        if self._session.sketch is self._session.committed and self._asked is not None:
            self.changed.emit()

    def _forget(self) -> None:
        self.proposals, self._earlier = (), ()
        self.words, self.stage = (), ""
        self.done, self._asked, self._seed = 0.0, None, 0


def joined(earlier: Sequence[Proposal], later: Sequence[Proposal]) -> list[Proposal]:
    """Both without those of the later that were there before, the best `MOST_KEPT`."""
    def told(one: Proposal) -> tuple[str, ...]:
        return one.family, *(f"{value:.3g}" for value in (
            one.error, one.size_mm, one.transmission_deg))

    known = {told(one) for one in earlier}
    after = 1 + max((one.kin for one in earlier), default=-1)
    both = [*earlier, *(replace(one, kin=one.kin + after) for one in later
                        if told(one) not in known)]
    return sorted(both, key=lambda one: one.error)[:MOST_KEPT]


def _question(sketch: Sketch) -> object:
    """What decides the answer: the wishes without what they are attached to, regions,
    rules, and which way the crank goes round."""
    sense = sketch.drive is None or sketch.drive.rpm >= 0
    return tuple(map(unattached, sketch.wanted)), sketch.zones, sketch.fit, sense
