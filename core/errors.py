"""One family of errors. Every message says what is wrong, where, and how to mend it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

T = TypeVar("T")
#: Asked now and then by what takes long: whether its answer is still wanted.
Going = Callable[[], bool]


class CrankwrightError(Exception):
    """Anything the user can put right.

    Parameters
    ----------
    what : str
        What is wrong, one clause without a full stop.
    where : str, optional
        The place: a path such as ``parts[3].material``, or an id.
    mend : str, optional
        How to put it right, one clause without a full stop.
    """

    def __init__(self, what: str, where: str = "", mend: str = "") -> None:
        self.what, self.where, self.mend = what, where, mend
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """Place, trouble and mend as one sentence."""
        text = f"{self.where}: {self.what}" if self.where else self.what
        return f"{text}; {self.mend}." if self.mend else f"{text}."


class UnitError(CrankwrightError):
    """A length, angle or other quantity that cannot be read."""


class FileError(CrankwrightError):
    """A file that cannot be read or written."""


class SketchError(CrankwrightError):
    """A sketch that contradicts itself (dangling reference, negative mass, …)."""


class MotionError(CrankwrightError):
    """A sketch that cannot be turned: loose, over-constrained, without a drive."""


class EditError(CrankwrightError):
    """An edit that cannot be made."""


class Stopped(Exception):
    """Raised out of work whose answer is no longer wanted; nothing went wrong."""


def always() -> bool:
    """For work that nobody stops."""
    return True


def while_going(going: Going, things: Iterable[T]) -> Iterator[T]:
    """The same things; before each it is asked whether to go on.

    Raises Stopped when not.
    """
    for thing in things:
        go_on(going)
        yield thing


def go_on(going: Going) -> None:
    """Raises Stopped when the answer is no longer wanted."""
    if not going():
        raise Stopped
