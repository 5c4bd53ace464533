"""A finding: something about the mechanism the maker should know before cutting wood."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from core.errors import EditError
from core.model import Sketch
from core.motion import Turn

Grade = Literal["fault", "warning", "note"]
#: The graver first.
GRADES: tuple[Grade, ...] = ("fault", "warning", "note")


@dataclass(frozen=True)
class Mend:
    """An edit that cures a finding, with the words for its button."""

    label: str
    edit: Callable[[Sketch], Sketch]

    def apply(self, sketch: Sketch) -> Sketch:
        """The sketch after the edit.

        Raises
        ------
        EditError
            When the sketch has changed so that the edit finds nothing to work on.
        """
        try:
            return self.edit(sketch)
        except (KeyError, StopIteration) as error:
            raise EditError("what this would mend is no longer there",
                            mend="look at the findings again") from error


@dataclass(frozen=True)
class Finding:
    """A flagged problem.

    Attributes
    ----------
    code : what kind, stable and kebab-case.
    grade : "fault" (it will not work so), "warning" (it may not work well), "note".
    text : one or two plain sentences.
    parts : ids of the parts concerned; pins and other joints are named in `joints`.
    crank_deg : the crank angle where it is worst, if it has one.
    value, limit, unit : the number found and the number it is held against, if any.
    source : where the limit is from, and how far it can be trusted.
    mend : how to put it right, a sentence.
    edits : edits that put it right.
    joints : ids of the joints concerned.
    """

    code: str
    grade: Grade
    text: str
    parts: tuple[str, ...] = ()
    crank_deg: float | None = None
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    mend: str = ""
    edits: tuple[Mend, ...] = ()
    joints: tuple[str, ...] = ()
    source: str = ""


def in_order(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings by gravity, then by code, parts and joints: the same whatever order the
    sketch lists its parts in."""
    return tuple(sorted(found, key=lambda one: (
        GRADES.index(one.grade), one.code, one.parts, one.joints,
        one.crank_deg if one.crank_deg is not None else 0.0)))


def crank_part(turn: Turn) -> tuple[str, ...]:
    """The part that is the crank, if there is one."""
    return (turn.sketch.drive.part,) if turn.sketch.drive is not None else ()


def intervals(spans: Sequence[tuple[float, float]], turn: Turn) -> str:
    """Crank intervals (from_rad, to_rad) as a reader wants them: "between 90° and 270°"."""
    cycle_deg = 360.0 * turn.crank_turns
    words = [f"between {_whole(a, cycle_deg)}° and {_whole(b, cycle_deg)}°" for a, b in spans]
    if len(words) > 3:
        return f"at {len(words)} places of the turn, first {words[0]},"
    return " and ".join(words)


def _whole(crank_rad: float, cycle_deg: float) -> int:
    """Whole degrees; the end of the turn is its beginning."""
    return round(round(math.degrees(crank_rad)) % cycle_deg)
