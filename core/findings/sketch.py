"""Findings about the sketch itself: what contradicts itself before anything turns."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from core.findings.finding import Finding, Mend
from core.model import Part, Sketch
from core.model.links import parts_of
from core.model.problem import Problem
from core.model.snap import snap

_PLACE = re.compile(r"(?P<group>\w+)\[(?P<index>\d+)\]")


def sketch_findings(sketch: Sketch, problems: Sequence[Problem]) -> Iterator[Finding]:
    """A finding for each problem of :func:`core.model.validate.problems`."""
    for problem in problems:
        parts, joints = _concerned(sketch, problem.place)
        advice = f"{problem.mend[:1].upper()}{problem.mend[1:]}."
        edits = (Mend("Snap the points together", snap),) if problem.snap else ()
        code = "apart" if problem.snap else "unsound"
        text = f"{problem.what[:1].upper()}{problem.what[1:]}."
        yield Finding(code, "fault", text, parts, mend=advice, edits=edits, joints=joints)


def _concerned(sketch: Sketch, place: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Ids of the parts and joints a place in the sketch file speaks of."""
    found = _PLACE.match(place)
    if found is None:
        return (), ()
    item = getattr(sketch, found["group"])[int(found["index"])]
    if isinstance(item, Part):
        return (item.id,), ()
    known = {part.id for part in sketch.parts}
    return tuple(sorted(set(parts_of(item)) & known)), (item.id,)
