"""How hard a hand may have to push at a crank: presets, and the limit of a handle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.materials import Trust
from core.model import Handle

Who = Literal["adult", "child"]

_BOOK = ("Ivergård and Hunt, Handbook of Control Room Design and Ergonomics, as read in a"
         " copy")
_PRACTICE = "what makers of hand-cranked machines aim at; common practice, no source"


@dataclass(frozen=True)
class PushLimit:
    """What `who` copes with at a handle of less than `below_mm` radius.

    `easy_n` to `most_n` N is comfortable; beyond `most_n` the crank is told to be stiff.
    `trust` says how far `source` can be trusted, as for figures of materials.
    """

    who: Who
    below_mm: float
    easy_n: float
    most_n: float
    source: str
    trust: Trust


#: The book gives 9 to 22 N below 80 mm and 22 to 45 N from 125 to 200 mm; between the two,
#: where it is silent, the smaller holds. A child's figures are half of what is aimed at for
#: a grown-up at leisure.
LIMITS: tuple[PushLimit, ...] = (
    PushLimit("adult", 125.0, 9.0, 22.0, f"{_BOOK}: cranks of less than 80 mm radius",
              "read"),
    PushLimit("adult", float("inf"), 22.0, 45.0, f"{_BOOK}: cranks of 125 to 200 mm radius",
              "read"),
    PushLimit("child", float("inf"), 5.0, 10.0, _PRACTICE, "practice"),
)
#: What a crank for pleasure should ask for: mean over the turn and peak, N; `most_n` is the
#: peak, `easy_n` the mean.
AIMS: dict[Who, PushLimit] = {
    "adult": PushLimit("adult", float("inf"), 10.0, 20.0, _PRACTICE, "practice"),
    "child": PushLimit("child", float("inf"), 5.0, 10.0, _PRACTICE, "practice"),
}
#: Longest handle that is offered, mm: the largest crank the book speaks of.
LONGEST_MM = 200.0
#: What a grown-up can push round at most, standing at a crank of 400 mm radius, N
#: (engineering tables of human power, as read in a copy).
HARDEST_N = 130.0
HARDEST_SOURCE = ("the most for heavy work, standing at a crank of 400 mm: engineering tables"
                  " of human power, as read in a copy")


def preset(who: Who, radius_mm: float) -> PushLimit:
    """The preset for a handle of that radius, mm."""
    return next(one for one in LIMITS if one.who == who and radius_mm < one.below_mm)


def limit_of(handle: Handle, radius_mm: float | None = None) -> tuple[float, str]:
    """The hardest push, N, that a handle may ask for, and where that is from.

    The user's own limit comes first, else the preset. `radius_mm` asks about another
    radius than the handle has.
    """
    if handle.limit_n is not None:
        return handle.limit_n, "the user's own limit"
    one = preset(handle.who, handle.radius_mm if radius_mm is None else radius_mm)
    return one.most_n, one.source
