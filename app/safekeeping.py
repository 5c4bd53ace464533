"""Unsaved work is noted every few seconds, and offered again after a crash."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Slot

from app.session import Session
from core.errors import FileError
from core.files import Recovered, Recovery

NOTE_MS = 2000


class Safekeeping(QObject):
    """Keeps the journal of one session. Works without a journal when the disk refuses
    (and says so once)."""

    def __init__(self, session: Session, folder: Path) -> None:
        super().__init__(session)
        self._session = session
        self._journal: Recovery | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(NOTE_MS)
        self._timer.timeout.connect(self._flush)
        try:
            self._journal = Recovery(folder)
        except FileError as trouble:
            self._refused(trouble)
            return
        self._timer.start()
        session.sketch_changed.connect(self._note)
        session.file_changed.connect(self._note)

    def found(self) -> list[Recovered]:
        """What crashes left, newest first."""
        return [] if self._journal is None else self._journal.found()

    def discard(self, one: Recovered) -> None:
        """Drop what a crash left."""
        if self._journal is not None:
            self._journal.discard(one)

    @Slot()
    def _note(self) -> None:
        session = self._session
        if self._journal is None or session.sketch is not session.committed:
            return
        try:
            if session.unsaved:
                self._journal.keep(session.committed, session.path)
            else:
                self._journal.forget()
        except (FileError, OSError) as trouble:
            self._refused(trouble)

    @Slot()
    def _flush(self) -> None:
        try:
            if self._journal is not None:
                self._journal.flush()
        except (FileError, OSError) as trouble:
            self._refused(trouble)

    def _refused(self, trouble: Exception) -> None:
        self._timer.stop()
        self._journal = None
        self._session.told.emit(f"Unsaved work cannot be kept against a crash: {trouble}")

    def close(self) -> None:
        """A clean end."""
        self._timer.stop()
        if self._journal is not None:
            self._journal.close()
            self._journal = None
