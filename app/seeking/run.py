"""What a fit and a search have in common: one line to the helper process, and its tidings."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QObject, Signal, Slot

from app.seeking.seeker import Seeker
from app.session import Session


class Run(QObject):
    """A job for a session, done by the helper process.

    `changed` follows every change of the attributes: `done` (0 to 1), `stage` (what goes on),
    `words` (what is said at the end, or why it does not begin), and those of each kind.
    """

    changed = Signal()

    def __init__(self, session: Session, job: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.seeker = Seeker(self)
        self.seeker.progressed.connect(self._progressed)
        self.seeker.ended.connect(self._ended)
        self.seeker.failed.connect(self._failed)
        self.job = job
        self.done, self.stage = 0.0, ""
        self.words: tuple[str, ...] = ()

    def close(self) -> None:
        """Give up what is under way; to be called before the window goes."""
        self.seeker.close()

    # -- for each kind ---------------------------------------------------------------

    @Slot(object)
    def _progressed(self, progress: Any) -> None:
        """The best so far."""
        raise NotImplementedError

    @Slot(object)
    def _ended(self, result: Any) -> None:
        """What came of it; None when the process is gone."""
        raise NotImplementedError

    @Slot(str)
    def _failed(self, text: str) -> None:
        """What went wrong, in words."""
        raise NotImplementedError
