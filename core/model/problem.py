"""One thing wrong with a sketch, and the words for it."""

from __future__ import annotations

import difflib
from collections.abc import Collection
from dataclasses import dataclass
from itertools import islice

#: Names an unknown one is compared with: enough for people, bounded for broken files.
_MOST_COMPARED = 100


@dataclass(frozen=True)
class Problem:
    """Something wrong with a sketch.

    Attributes
    ----------
    place : path in the sketch file, such as ``pins[2].at[1]``.
    what : what is wrong, one clause.
    mend : how to put it right, one clause.
    fatal : the program cannot work with such a sketch; otherwise it may be opened and
        mended in the window.
    snap : :func:`core.model.snap.snap` puts it right.
    """

    place: str
    what: str
    mend: str
    fatal: bool
    snap: bool = False


def quoted(text: object, longest: int = 40) -> str:
    """A name in quotes, cut and printable, for messages."""
    whole = str(text)
    short = whole if len(whole) <= longest else whole[:longest] + "…"
    return '"' + "".join(c if c.isprintable() else ascii(c)[1:-1] for c in short) + '"'


def nearest(name: str, known: Collection[str]) -> str:
    """The mend for an unknown name: the most alike of those known, or a few of them."""
    near = difflib.get_close_matches(name[:100], list(islice(known, _MOST_COMPARED)), 1, 0.5)
    if near:
        return f"perhaps {quoted(near[0])} is meant"
    if not known:
        return "add it or take the reference out"
    few = ", ".join(quoted(each) for each in islice(known, 6))
    return f"known are {few}{' and more' if len(known) > 6 else ''}"
