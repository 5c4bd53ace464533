"""What the commands that search share: whole numbers given to them, the file named in what
is wrong, and a Ctrl+C that keeps the best so far."""

from __future__ import annotations

import argparse
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from core.errors import SketchError

#: Seeds end here.
MOST_SEED = 2**32 - 1


def count(most: int, least: int = 0) -> Callable[[str], int]:
    """A reader of whole numbers from `least` to `most` on a command line."""
    def read(text: str) -> int:
        if not (text.isascii() and text.isdigit() and least <= int(text[:12]) <= most):
            raise argparse.ArgumentTypeError(f"give a whole number from {least} to {most}")
        return int(text)
    return read


def add_seed(parser: argparse.ArgumentParser) -> None:
    """The option --seed."""
    parser.add_argument("--seed", type=count(MOST_SEED), default=0, metavar="N",
                        help="of all that is random (default 0); equal seeds give equal files")


@contextmanager
def searching(name: str) -> Iterator[Callable[[], bool]]:
    """While a search runs: whether it is to go on, for its `report`.

    The first Ctrl+C asks it to stop, a second one ends the program as ever. What is wrong
    with the sketch is said of the file `name`.
    """
    asked = threading.Event()

    def ask(number: int, frame: Any) -> None:
        if asked.is_set():
            raise KeyboardInterrupt
        asked.set()

    heard = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, ask) if heard else None
    try:
        yield lambda: not asked.is_set()
    except SketchError as error:
        raise SketchError(error.what, error.where or name, error.mend) from None
    finally:
        if before is not None:
            signal.signal(signal.SIGINT, before)
