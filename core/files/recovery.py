"""What is not saved yet survives a crash: a journal of the current sketch on the disk.

Each running program has one journal and holds a lock on it; the system lets go of the lock
when the program ends, however it ends. A journal that nobody holds is what a crash left.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from core.errors import CrankwrightError, FileError
from core.files.atomic import write_bytes
from core.files.raw import read_bytes
from core.files.salvage import salvage
from core.files.write import dumps
from core.model import Sketch

_JOURNAL = ".journal"
_LOCK = ".lock"


@dataclass(frozen=True)
class Recovered:
    """A sketch that a crash left behind.

    `source` is the file it was opened from or saved to (None: never saved), `saved_at` the
    time of the journal in seconds since 1970, `lost` what of it could not be read.
    """

    sketch: Sketch
    source: Path | None
    saved_at: float
    lost: tuple[str, ...]
    journal: Path


class Recovery:
    """Keeps the current sketch in a folder of the user's, and finds what crashes left.

    Parameters
    ----------
    folder : made when it is missing.
    interval_s : the least time between two writings.
    clock : seconds, for tests.

    Raises
    ------
    FileError
        When the folder cannot be made or written.
    """

    def __init__(self, folder: Path, interval_s: float = 2.0,
                 clock: Callable[[], float] = time.monotonic) -> None:
        self._folder, self._interval_s, self._clock = folder, interval_s, clock
        self._name = f"{os.getpid()}-{secrets.token_hex(4)}"
        self._written_s = -float("inf")
        self._waiting: tuple[Sketch, Path | None] | None = None
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._lock: IO[bytes] | None = (folder / (self._name + _LOCK)).open("xb")
            _hold(self._lock)
        except OSError as error:
            raise FileError(f"unsaved work cannot be kept there ({error.strerror})",
                            str(folder), "make the folder writable") from None

    def keep(self, sketch: Sketch, source: Path | None = None) -> bool:
        """Note the current sketch; True when it was written now.

        It is written at once unless the last writing was less than the interval ago; then
        it waits for :meth:`flush`. Raises FileError when the disk refuses.
        """
        self._waiting = (sketch, source)
        return self._clock() - self._written_s >= self._interval_s and self.flush()

    def flush(self) -> bool:
        """Write what waits, if anything; to be called every few seconds."""
        if self._waiting is None or self._lock is None:
            return False
        sketch, source = self._waiting
        head = json.dumps({"source": None if source is None else str(source),
                           "saved_at": time.time()}).encode()
        write_bytes(self._folder / (self._name + _JOURNAL), head + b"\n" + dumps(sketch))
        self._waiting, self._written_s = None, self._clock()
        return True

    def forget(self) -> None:
        """Everything is saved: drop the journal, and what waits."""
        self._waiting = None
        (self._folder / (self._name + _JOURNAL)).unlink(missing_ok=True)

    def close(self) -> None:
        """A clean end: nothing is left behind. May be called twice."""
        if self._lock is None:
            return
        self.forget()
        self._lock.close()
        self._lock = None
        (self._folder / (self._name + _LOCK)).unlink(missing_ok=True)

    def found(self) -> list[Recovered]:
        """What crashed programs left, newest first; unreadable journals are passed over."""
        left = []
        for journal in self._folder.glob("*" + _JOURNAL):
            if journal.stem != self._name and not _held(journal.with_suffix(_LOCK)):
                with contextlib.suppress(CrankwrightError):
                    left.append(_read(journal))
        return sorted(left, key=lambda one: one.saved_at, reverse=True)

    def discard(self, one: Recovered) -> None:
        """Drop what a crash left, once it is taken over or refused."""
        one.journal.unlink(missing_ok=True)
        one.journal.with_suffix(_LOCK).unlink(missing_ok=True)


def _read(journal: Path) -> Recovered:
    first, _, rest = read_bytes(journal).partition(b"\n")
    try:
        head = json.loads(first)
        source = None if head["source"] is None else Path(head["source"])
        saved_at = float(head["saved_at"])
    except (ValueError, KeyError, TypeError):
        raise FileError("the journal is damaged", journal.name) from None
    sketch, lost = salvage(rest, journal.name)
    return Recovered(sketch, source, saved_at, tuple(lost), journal)


def _held(lock: Path) -> bool:
    """Whether a running program holds the lock; a missing lock is held by nobody."""
    try:
        with lock.open("rb+") as file:
            _hold(file)
    except FileNotFoundError:
        return False
    except OSError:
        return True
    return False


if sys.platform == "win32":
    import msvcrt

    def _hold(file: IO[bytes]) -> None:
        """Take the lock of an open file for this program; OSError when another has it."""
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _hold(file: IO[bytes]) -> None:
        """Take the lock of an open file for this program; OSError when another has it."""
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
