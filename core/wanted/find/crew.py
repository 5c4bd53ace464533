"""Processes that share the work of a search: one job each at a time, the answers as they come.

Each worker is a process begun from nothing, at one end of a pipe whose other end only its
owner holds: when the owner is gone, however it went, the worker sees the line end and ends
too. A worker that dies is not missed, the owner does its job. Until the first worker has
loaded what it needs, and where there can be none, the owner works itself.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from typing import Any

Keep = Callable[[], bool]
#: What is done: with what all jobs have in common, one job, and what tells whether to go on.
Work = Callable[[Any, Any, Keep], Any]

#: Fewer jobs at once are not worth beginning processes for.
_WORTH = 4
#: The owner looks up this often while it waits, s.
_LOOK_S = 0.05
_READY = -1


class Crew:
    """So many worker processes; none of fewer than two."""

    def __init__(self, processes: int = 1) -> None:
        self.processes = processes
        self._hands: list[_Hand] = []
        self._begun = processes < 2
        self._round = 0
        self._todo: deque[int] = deque()
        self._own: deque[int] = deque()        # jobs left by workers that died
        self._jobs: Sequence[Any] = ()
        self._common: tuple[Work, Any] | None = None
        self._come: deque[tuple[int, Any]] = deque()

    def begin(self) -> None:
        """Begin the processes, so that they are ready when they are wanted."""
        if self._begun:
            return
        self._begun = True
        with contextlib.suppress(OSError, AssertionError, RuntimeError):
            # A process that may have no children works alone.
            while len(self._hands) < self.processes:
                self._hands.append(_Hand())

    def ready(self) -> None:
        """Begin the processes and wait until all are ready."""
        self.begin()
        while not all(one.ready for one in self._hands):
            wait([one.line for one in self._hands], _LOOK_S)
            self.feed()

    @property
    def idle(self) -> bool:
        """Whether nothing is being shared."""
        return self._common is None

    @property
    def whole(self) -> bool:
        """Whether nothing is being shared and all workers are there."""
        return self.idle and len(self._hands) == self.processes

    def share(self, work: Work, common: Any, jobs: Sequence[Any], going: Keep
              ) -> Iterator[tuple[int, Any]]:
        """Do all jobs; their numbers and what `work` made of each, in no certain order.

        `going` is asked often and may stop it: what is under way then ends early, and what
        workers make of it is forgotten. What `work` raises is raised. One sharing at a time.
        """
        assert self.idle
        if len(jobs) >= _WORTH:
            self.begin()
        self._round += 1
        self._common, self._jobs = (work, common), jobs
        self._todo.extend(range(len(jobs)))
        try:
            while True:
                self.feed()
                while self._come:
                    yield self._come.popleft()
                    self.feed()
                if not going():
                    return
                if self._own or (self._todo and not any(one.ready for one in self._hands)):
                    number = (self._own or self._todo).popleft()
                    yield number, work(common, jobs[number], going)
                elif self._todo or self._busy():
                    wait([one.line for one in self._hands], _LOOK_S)
                elif not self._come:
                    return
        finally:
            self._stop()
            self._common = None
            for one in (self._todo, self._own, self._come):
                one.clear()

    def feed(self) -> None:
        """Take what has come and hand out what is to be done; at once."""
        for one in tuple(self._hands):
            try:
                while one.line.poll():
                    self._take(one, *one.line.recv())
                if self._common is not None and self._todo and one.ready and one.doing is None:
                    self._hand_out(one)
            except (EOFError, OSError):
                self._lose(one)

    def close(self) -> None:
        """End all workers; idempotent."""
        self._begun = True
        while self._hands:
            self._hands.pop().end()

    def _hand_out(self, one: _Hand) -> None:
        if one.round != self._round:
            one.line.send(("about", *(self._common or ())))
            one.round = self._round
        one.doing = self._todo.popleft()
        one.line.send(("do", one.doing, self._jobs[one.doing]))

    def _take(self, one: _Hand, number: int, done: bool, answer: Any) -> None:
        one.ready = True
        if number == _READY:
            return
        one.doing = None
        if one.round == self._round and self._common is not None:
            if done:
                self._come.append((number, answer))
            else:
                self._own.append(number)  # whatever is wrong is told from here

    def _busy(self) -> bool:
        """Whether a worker is at something of this sharing."""
        return any(one.doing is not None and one.round == self._round for one in self._hands)

    def _stop(self) -> None:
        for one in self._hands:
            if one.doing is not None:
                with contextlib.suppress(OSError):
                    one.line.send(("stop",))

    def _lose(self, one: _Hand) -> None:
        if one.doing is not None and one.round == self._round:
            self._own.append(one.doing)
        self._hands.remove(one)
        one.end()


class _Hand:
    """The owner's end of one worker: `doing` which job, of which `round`."""

    def __init__(self) -> None:
        spawn = multiprocessing.get_context("spawn")
        self.line, theirs = spawn.Pipe()
        self.process: SpawnProcess = spawn.Process(
            target=_serve, args=(theirs,), daemon=True, name="crankwright worker")
        try:
            self.process.start()
        except BaseException:
            self.line.close()
            raise
        finally:
            theirs.close()
        self.ready = False
        self.doing: int | None = None
        self.round = 0

    def end(self) -> None:
        self.line.close()
        self.process.terminate()
        self.process.join()
        self.process.close()


_kept: list[Crew] = []


@contextlib.contextmanager
def crew(processes: int) -> Iterator[Crew]:
    """A crew of so many for one search; its workers stay for the next one of as many."""
    if processes < 2:
        yield Crew()
        return
    own = _kept.pop() if _kept else Crew(processes)
    if own.processes != processes:
        own.close()
        own = Crew(processes)
    try:
        yield own
    finally:
        if _kept or not own.whole:
            own.close()
        else:
            _kept.append(own)


def warm(processes: int) -> None:
    """Begin the processes of the next search."""
    with crew(processes) as own:
        own.begin()


def dismiss() -> None:
    """End the workers that wait for the next search."""
    while _kept:
        _kept.pop().close()


def _serve(line: Connection) -> None:
    """What a worker runs: jobs from its line, until that ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is the owner's to answer
    work, common = _none, None
    with contextlib.suppress(EOFError, OSError):
        line.send((_READY, True, None))
        while True:
            match line.recv():
                case ("about", new, about):
                    work, common = new, about
                case ("do", number, job):
                    line.send((number, *_done(work, common, job, _Going(line))))


def _done(work: Work, common: Any, job: Any, going: Keep) -> tuple[bool, Any]:
    try:
        return True, work(common, job, going)
    except (EOFError, ConnectionError):
        raise
    except Exception:
        return False, None


def _none(common: Any, job: Any, going: Keep) -> None:
    """Nothing was said yet."""


class _Going:
    """Whether the owner lets a worker go on with a job; asked during the job."""

    def __init__(self, line: Connection) -> None:
        self._line, self._on = line, True

    def __call__(self) -> bool:
        while self._line.poll():
            self._on = self._line.recv() != ("stop",)
        return self._on
