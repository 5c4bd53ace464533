"""The finding about small parts: what a small child could swallow."""

from __future__ import annotations

from collections.abc import Iterator

from core.errors import SketchError
from core.findings.finding import Finding
from core.making.rods import rods
from core.model import Sketch
from core.space.outlines import solid_of
from core.space.small_parts import SOURCE, is_small, is_small_round
from core.wording import listed

_NAMED = 6


def small_findings(sketch: Sketch) -> Iterator[Finding]:
    """What fits into the small-parts cylinder, in a thing for children; each part, rod and
    weight by itself, as if it had come off."""
    if not sketch.for_children:
        return
    parts = tuple(part.id for part in sketch.parts if _is_small_part(sketch, part.id))
    pins = tuple(rod.id for rod in rods(sketch) if rod.stations and is_small_round(
        rod.diameter_mm, rod.stations[-1].to_mm - rod.stations[0].from_mm))
    weighted = tuple(part.id for part in sketch.parts if any(
        is_small_round(weight.diameter_mm, weight.thickness_mm) for weight in part.weights))
    said = [_said(parts, "part"), _said(pins, "rod"),
            f"weights of {_few(weighted)}" if weighted else ""]
    found = listed(each for each in said if each)
    if found:
        yield Finding(
            "small-part", "warning",
            f"Small enough for a child to swallow, should they come off: {found}, besides all"
            " washers and snap rings.", tuple(dict.fromkeys((*parts, *weighted))), None,
            float(len(parts) + len(pins) + len(weighted)), 0.0, "",
            "Make them larger or fasten them for good, and give it to no child under three; the"
            " toy safety rules where you live go before this.", (), pins, SOURCE)


def _said(names: tuple[str, ...], what: str) -> str:
    if not names:
        return ""
    return f"the {what}{'s' if len(names) > 1 else ''} {_few(names)}"


def _few(names: tuple[str, ...]) -> str:
    """The first few names."""
    if len(names) <= _NAMED:
        return listed(names)
    return f"{', '.join(names[:_NAMED])} and {len(names) - _NAMED} more"


def _is_small_part(sketch: Sketch, part_id: str) -> bool:
    part = sketch.part(part_id)
    try:
        return is_small(solid_of(part), part.thickness_mm)
    except SketchError:
        return False  # told of by the checks of the sketch
