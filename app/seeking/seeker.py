"""The window's end of a search: start, stop, newest progress, result."""

from __future__ import annotations

import atexit
import contextlib
import multiprocessing
import pickle
import threading
import weakref
from collections.abc import Mapping
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from app.seeking.helper import FAULT, HEAD, PROGRESS, RESULT, main

#: A search that does not heed a stop within this time is ended from outside.
PATIENCE_MS = 2500


@dataclass(frozen=True)
class Job:
    """A call ``module:name`` of `core` that takes a `report`, with what it is given."""

    target: str
    args: tuple[Any, ...] = ()
    kwargs: Mapping[str, Any] = field(default_factory=dict)


def begin_helper(theirs: Connection) -> SpawnProcess:
    """The other process, at its end of the line; it begins from nothing and shares nothing
    with the window (a fork would copy what other threads hold just then). It is no daemon:
    those may have no processes to help them."""
    spawn = multiprocessing.get_context("spawn")
    process = spawn.Process(target=main, args=(theirs,), name="crankwright search")
    process.start()
    theirs.close()
    return process


class Seeker(QObject):
    """Runs one search at a time; a newer one replaces it.

    For each search that is not dropped or replaced there is one `ended(result)` or
    `failed(sentence)`, after any number of `progressed(progress)`, newest only. The
    result is None when the search had to be ended from outside.
    """

    progressed = Signal(object)
    ended = Signal(object)
    failed = Signal(str)
    _arrived = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._process: SpawnProcess | None = None
        self._line: Connection | None = None
        self._reader: threading.Thread | None = None
        self._guard = threading.Lock()
        self._news: list[bytes] = []
        self._number = 0
        self._job: Job | None = None
        self._stopping = self._closed = False
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.setInterval(PATIENCE_MS)
        self._patience.timeout.connect(self._give_up)
        self._arrived.connect(self._read)
        _SEEKERS.add(self)

    @property
    def running(self) -> bool:
        """Whether a search is under way (or has been asked to stop and has not yet)."""
        return self._job is not None

    def warm(self, *names: str) -> None:
        """Start the process and let it load modules (``module``) and call functions
        (``module:name``), so that the first search begins at once."""
        if not self._closed and self._process is None:
            self._order("warm", 0, names)

    def start(self, job: Job) -> None:
        """Begin a search; one under way is stopped and forgotten."""
        if self._closed:
            return
        self.drop()
        self._number += 1
        self._job, self._stopping = job, False
        self._run()

    def stop(self) -> None:
        """Ask the search to end with what it has; `ended` follows."""
        if self._job is not None and not self._stopping:
            self._stopping = True
            self._ask_to_stop()

    def drop(self) -> None:
        """Stop the search and forget it: no signal follows."""
        if self._job is not None:
            self._job = None
            self._ask_to_stop()

    def close(self) -> None:
        """End the process; idempotent. To be called before the window goes."""
        self._closed = True
        self._job = None
        self._end_process()

    # -- the process ---------------------------------------------------------------

    def _run(self) -> None:
        assert self._job is not None
        job = self._job
        self._order("run", self._number, job.target, job.args, dict(job.kwargs))

    def _ask_to_stop(self) -> None:
        self._order("stop", self._number)
        if not self._patience.isActive():
            self._patience.start()

    def _order(self, *order: Any) -> None:
        try:
            if self._process is None or not self._process.is_alive():
                self._begin_process()
            assert self._line is not None
            self._line.send(order)
        except (OSError, ValueError):
            self._end_process()
            self._lost()

    def _begin_process(self) -> None:
        self._end_process()
        self._line, theirs = multiprocessing.Pipe()
        self._process = begin_helper(theirs)
        self._reader = threading.Thread(target=self._listen, args=(self._line,), daemon=True)
        self._reader.start()

    def _end_process(self) -> None:
        process, line, reader = self._process, self._line, self._reader
        self._process = self._line = self._reader = None
        if process is not None:
            process.terminate()
            process.join()
            process.close()
        if reader is not None:
            reader.join()  # the other end is gone, so it has read to the end
        if line is not None:
            line.close()
        with self._guard:
            self._news.clear()
        self._patience.stop()

    def _listen(self, line: Connection) -> None:
        """Take answers as they come, on a thread that does nothing else."""
        with contextlib.suppress(EOFError, OSError):
            while True:
                self._post(line.recv_bytes())
        if line is self._line:
            self._post(b"")

    def _post(self, news: bytes) -> None:
        with self._guard:
            self._news.append(news)
            first = len(self._news) == 1
        if first:
            self._arrived.emit()

    # -- answers -------------------------------------------------------------------

    @Slot()
    def _read(self) -> None:
        with self._guard:
            news, self._news = self._news, []
        heads = [HEAD.unpack_from(one) if one else (FAULT, 0) for one in news]
        for place, (one, (kind, number)) in enumerate(zip(news, heads, strict=True)):
            if not one:
                # Its own line: ends of earlier ones are cleared away with their process.
                self._end_process()
                self._lost()
            elif kind != PROGRESS:
                self._patience.stop()
                if number != self._number and self._job is not None and self._stopping:
                    self._patience.start()  # the one that is to stop comes only now
                if number == self._number and self._job is not None:
                    self._finish(kind, pickle.loads(one[HEAD.size:]))
            # All but the newest progress is out of date before it is shown.
            elif (number == self._number and self._job is not None
                  and heads[place + 1:] == []):
                self.progressed.emit(pickle.loads(one[HEAD.size:]))

    def _finish(self, kind: int, content: Any) -> None:
        self._job = None
        if kind == RESULT:
            self.ended.emit(content)
        else:
            self.failed.emit(content)

    @Slot()
    def _give_up(self) -> None:
        """The process does not answer: end it. A search that waited behind it begins."""
        self._end_process()
        if self._job is None:
            return
        if self._stopping:
            self._job = None
            self.ended.emit(None)
        else:
            self._run()

    def _lost(self) -> None:
        if self._job is not None:
            self._job = None
            self.failed.emit("The search ended unexpectedly and nothing was changed; try "
                             "again.")


_SEEKERS: weakref.WeakSet[Seeker] = weakref.WeakSet()


def _close_all() -> None:
    """A program that ends otherwise than by its window must not wait for a search."""
    for one in tuple(_SEEKERS):
        with contextlib.suppress(RuntimeError):  # what it is in Qt is gone already
            one.close()


# Python waits for such processes at exit, in a step registered when `multiprocessing` was
# loaded; what is registered later comes before that.
atexit.register(_close_all)
