"""The other process: runs one search after another and sends what it has so far.

It is a process and not a thread because a search is made of many short array operations:
in a thread they hold Python's lock against the painter, and the painter against them.
Measured while a fit of a walking leg ran: painting a frame of the canvas took the UI
thread 9 ms of processor time beside a process, 16 ms beside a thread.
"""

from __future__ import annotations

import os
import pickle
import signal
import struct
import time
import traceback
from collections.abc import Callable
from importlib import import_module
from multiprocessing.connection import Connection
from typing import Any

from core.errors import CrankwrightError

#: Before every answer: its kind and the number of its job.
HEAD = struct.Struct("<Bq")
PROGRESS, RESULT, FAULT = range(3)
#: What is on the way is sent this often and no oftener, s.
EVERY_S = 0.06
#: Whoever searches leaves the processor to whoever paints.
NICENESS = 5


def main(line: Connection) -> None:
    """What the process runs."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is the window's to answer
    if hasattr(os, "nice"):
        os.nice(NICENESS)
    serve(line)


def serve(line: Connection) -> None:
    """Answer jobs from `line` until it is closed. A job is ``("run", number, "module:name",
    args, kwargs)``; ``("stop", number)`` ends it early; ``("warm", number, names)`` loads
    modules (``module``) and calls functions (``module:name``). Answers are a `HEAD` of kind
    (`PROGRESS`, `RESULT`, `FAULT`) and number, so that what is out of date need not be
    unpacked, and a pickled content.
    """
    waiting: list[tuple[Any, ...]] = []
    try:
        while True:
            order = waiting.pop(0) if waiting else line.recv()
            if order[0] == "run":
                _run(line, waiting, *order[1:])
            elif order[0] == "warm":
                _warm(order[2])
    except (EOFError, OSError):
        return  # the window is gone


def _warm(names: tuple[str, ...]) -> None:
    for name in names:
        module, _, function = name.partition(":")
        try:
            loaded = import_module(module)
            if function:
                getattr(loaded, function)()
        except (ImportError, AttributeError, OSError):
            return  # the job itself will say so


def _run(line: Connection, waiting: list[tuple[Any, ...]], number: int, target: str,
         args: tuple[Any, ...], kwargs: dict[str, Any]) -> None:
    try:
        module, _, name = target.partition(":")
        function: Callable[..., Any] = getattr(import_module(module), name)
        report = _Report(line, waiting, number)
        _send(line, RESULT, number, function(*args, report=report, **kwargs))
    except (EOFError, ConnectionError):
        raise  # the window is gone
    except CrankwrightError as trouble:
        _send(line, FAULT, number, str(trouble))
    except Exception as fault:
        # A fault of ours must not end the process: it is told and work goes on.
        traceback.print_exc()
        _send(line, FAULT, number, "The search could not be finished and nothing was changed "
              f"({type(fault).__name__}: {fault}).")


class _Report:
    """Called by the search with what it has; False when it shall stop."""

    def __init__(self, line: Connection, waiting: list[tuple[Any, ...]], number: int) -> None:
        self._line, self._waiting, self._number = line, waiting, number
        self._sent, self._on = -EVERY_S, True

    def __call__(self, progress: Any) -> bool:
        while self._line.poll():
            order = self._line.recv()
            if order[0] == "stop" and order[1] == self._number:
                self._on = False
            elif order[0] != "stop":
                self._waiting.append(order)
        if self._on and time.monotonic() - self._sent >= EVERY_S:
            _send(self._line, PROGRESS, self._number, progress)
            self._sent = time.monotonic()
        return self._on


def _send(line: Connection, kind: int, number: int, content: Any) -> None:
    packed = pickle.dumps(content, pickle.HIGHEST_PROTOCOL)
    line.send_bytes(HEAD.pack(kind, number) + packed)
