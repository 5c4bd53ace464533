"""Findings about wanted motion: wishes that the turn does not meet."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from core.findings.finding import Finding
from core.model import Sketch
from core.model.links import parts_of

if TYPE_CHECKING:
    from core.wanted.measure import Met


def wish_findings(sketch: Sketch, wanted: Sequence[Met]) -> Iterator[Finding]:
    """A finding for every wish with an error above its tolerance, and for those that are
    of nothing yet."""
    wishes = {wish.id: wish for wish in sketch.wanted}
    for met in wanted:
        wish = wishes.get(met.wish)
        if wish is None or met.met:
            continue
        lost = not math.isfinite(met.worst)
        yield Finding(
            "wish-missed", "warning", met.text, parts_of(wish),
            crank_deg=None if lost else math.degrees(met.crank_rad),
            value=None if lost else met.worst, limit=met.tolerance, unit=met.unit,
            mend="Let the crank go all round first." if lost else
                 "Fit the sketch to its wishes, or allow a wider tolerance.",
            source="the tolerance of the wish")
    for wish in sketch.wanted:
        if not parts_of(wish):
            yield Finding("wish-of-nothing", "note",
                          f"The wish {wish.id} is not of any part or point yet.",
                          mend="Attach it to one, or let mechanisms be found for it.")
