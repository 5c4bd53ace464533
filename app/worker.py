"""The heavy half of a refresh, off the UI thread: latest sketch wins."""

from __future__ import annotations

import threading
import traceback
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QThread, Signal

from app.garbage import collect_here
from core.errors import Stopped


class Worker(QThread):
    """Runs one job at a time; a newer job replaces one that has not begun.

    `done(token, result)` and `failed(token, text)` arrive on the thread that owns
    the receiver. A job that has begun can ask whether its answer is `wanted` still, and
    raise Stopped when not: then nothing is told. `close` wakes the thread, waits for it and
    is idempotent.
    """

    done = Signal(int, object)
    failed = Signal(int, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        collect_here()
        self._gate = threading.Condition()
        self._job: tuple[int, Callable[[], Any]] | None = None
        self._stop = False
        self._token = self._at_work = 0

    def ask(self, job: Callable[[], Any]) -> int:
        """Hand over a job (a call without Qt objects); its token."""
        with self._gate:
            self._token += 1
            self._job = (self._token, job)
            self._gate.notify()
            token = self._token
        if not self.isRunning() and not self._stop:
            self.start(QThread.Priority.LowPriority)
        return token

    def drop(self) -> None:
        """No answer is wanted any more, neither of the job that waits nor of the one begun."""
        with self._gate:
            self._token += 1
            self._job = None

    def wanted(self) -> bool:
        """For the job at work to ask: whether no newer one came, and nobody dropped it."""
        return self._at_work == self._token and not self._stop

    @property
    def latest(self) -> int:
        """Token of the newest job; answers with another one are out of date."""
        return self._token

    def run(self) -> None:
        """The thread's loop; not to be called."""
        while True:
            with self._gate:
                while self._job is None and not self._stop:
                    self._gate.wait()
                if self._stop:
                    return
                token, job = self._job  # type: ignore[misc]
                self._job, self._at_work = None, token
            try:
                result = job()
            except Stopped:
                continue
            except Exception:
                # A fault of ours must not end the thread: it is told and work goes on.
                self.failed.emit(token, traceback.format_exc())
            else:
                self.done.emit(token, result)

    def close(self) -> None:
        """Stop after the running job, and wait."""
        with self._gate:
            self._stop = True
            self._job = None
            self._gate.notify()
        self.wait()
