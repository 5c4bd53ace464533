"""Joining what should touch: points of a pin, and points on the line they slide along."""

from __future__ import annotations

import msgspec

from core.model.fitness import tolerance_of
from core.model.parts import Part
from core.model.refs import part_of
from core.model.sketch import Sketch

replace = msgspec.structs.replace


def snap(sketch: Sketch) -> Sketch:
    """The sketch with every pin's points at one place and every sliding point on its line.

    A pin goes to its point on the frame, else to its first locked point, else to its first
    point. A sliding point goes to the nearest place on the line, taking the parts on its
    pin along. Points within the tolerance of the file check stay as they are. References
    must be sound (see :mod:`core.model.validate`).
    """
    parts = {part.id: part for part in sketch.parts}
    points = {f"{part.id}.{p.id}": p for part in sketch.parts for p in part.points}
    at = {ref: p.place for ref, p in points.items()}
    near = tolerance_of(sketch)
    pinned = {ref: pin.at for pin in sketch.pins for ref in pin.at}
    for pin in sketch.pins:
        if not pin.at:
            continue
        keep = min(pin.at, key=lambda ref: (not parts[part_of(ref)].fixed,
                                            not points[ref].locked, pin.at.index(ref)))
        _gather(at, pin.at, at[keep], near)
    ways = [*((slide.point, slide.along) for slide in sketch.slides),
            *((slot.point, slot.slot) for slot in sketch.slots)]
    for point, (start, end) in ways:
        direction = at[end] - at[start]
        if abs(direction) <= near:
            continue
        share = ((at[point] - at[start]) / direction).real
        _gather(at, pinned.get(point, (point,)), at[start] + share * direction, near)
    return replace(sketch, parts=tuple(_moved(part, at) for part in sketch.parts))


def _gather(at: dict[str, complex], refs: tuple[str, ...], place: complex, near: float) -> None:
    """Put points at a place unless all are there already."""
    if max(abs(at[ref] - place) for ref in refs) > near:
        at.update(dict.fromkeys(refs, place))


def _moved(part: Part, at: dict[str, complex]) -> Part:
    """The part with its points where `at` says; the very same part when none moved."""
    places = [at[f"{part.id}.{p.id}"] for p in part.points]
    if all(place == p.place for place, p in zip(places, part.points, strict=True)):
        return part
    return replace(part, points=tuple(
        p if place == p.place else replace(p, x=place.real, y=place.imag)
        for place, p in zip(places, part.points, strict=True)))
