"""Which parts are alike: cut to one template, under one item number."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.drawing.subject import Hole, Subject, Track
from core.model import Part, part_of

#: Places and edges of parts that are alike agree within this.
SAME_MM = 0.05


@dataclass(frozen=True)
class Kind:
    """Parts alike, mirrored ones too: item number, the parts (the template is the first),
    and how many of them are mirror images of the first."""

    item: int
    parts: tuple[str, ...]
    mirrored: int

    @property
    def quantity(self) -> int:
        """How many to cut."""
        return len(self.parts)


@dataclass(frozen=True, eq=False)
class _Form:
    """What must agree: outline about its centroid, and marks (place, size) on it."""

    part: Part
    outline: shapely.Polygon
    marks: NDArray[np.complex128]
    sizes: NDArray[np.float64]


def kinds(subject: Subject) -> tuple[Kind, ...]:
    """The parts of a sketch that have a shape, alike ones together, in sketch order."""
    found: list[tuple[_Form, list[str], int]] = []
    for part in subject.sketch.parts:
        if part.id not in subject.shapes:
            continue
        form = _form(subject, part)
        for place, (first, parts, mirrored) in enumerate(found):
            alike = _alike(first, form)
            if alike:
                found[place] = (first, [*parts, part.id], mirrored + (alike < 0))
                break
        else:
            found.append((form, [part.id], 0))
    return tuple(Kind(item, tuple(parts), mirrored)
                 for item, (_, parts, mirrored) in enumerate(found, 1))


def holes_of(subject: Subject, part: str) -> list[Hole]:
    """The holes of a part, in the order of their labels."""
    return [hole for hole in subject.holes if hole.part == part]


def tracks_of(subject: Subject, part: str) -> list[Track]:
    """The slots and slides of a part."""
    return [track for track in subject.tracks if track.part == part]


def centres(subject: Subject, part: str) -> list[tuple[str, complex]]:
    """What is measured on a part: its holes and slot pins, ends of its slots, sliding and
    traced points, as (label, place in the pose shown), each place once."""
    named = [(hole.label.rstrip("0123456789"),
              hole.at) for hole in holes_of(subject, part)]
    for track in tracks_of(subject, part):
        named += [(f"{track.label} {end}", at)
                  for end, at in zip(("from", "to"), track.at, strict=True)]
    sliding = {slide.point for slide in subject.sketch.slides}
    for point in subject.sketch.part(part).points:
        ref = f"{part}.{point.id}"
        if point.trace or ref in sliding:
            named.append((point.id, subject.place(ref)))
    once: list[tuple[str, complex]] = []
    for label, at in named:
        if all(abs(at - other) > 0.01 for _, other in once):
            once.append((label, at))
    return once


def _form(subject: Subject, part: Part) -> _Form:
    shape = subject.shapes[part.id]
    middle = complex(shape.centroid.x, shape.centroid.y)
    marks = [(hole.at, hole.diameter_mm) for hole in holes_of(subject, part.id)]
    for track in tracks_of(subject, part.id):
        marks += [(end, -1.0 - track.width_mm) for end in track.at]
    marks += [(subject.place(slide.point), 0.0) for slide in subject.sketch.slides
              if part_of(slide.point) == part.id]
    centred = shapely.transform(shape, lambda p: p - [middle.real, middle.imag])
    assert isinstance(centred, shapely.Polygon)
    return _Form(part, centred, np.array([at - middle for at, _ in marks], dtype=np.complex128),
                 np.array([size for _, size in marks]))


def _alike(a: _Form, b: _Form) -> int:
    """1 when b is a moved copy of a, −1 when a mirrored one, 0 when neither."""
    if (a.part.material != b.part.material or a.part.fixed != b.part.fixed
            or abs(a.part.thickness_mm - b.part.thickness_mm) > 1e-6
            or a.marks.size != b.marks.size
            or abs(a.outline.area - b.outline.area) > SAME_MM * a.outline.length
            or abs(a.outline.length - b.outline.length) > 10 * SAME_MM):
        return 0
    for sense in (1, -1):
        for turn in _turns(a, b, sense):
            if _agree(a, b, turn, sense):
                return sense
    return 0


def _turned(z: NDArray[np.complex128], turn: complex, sense: int) -> NDArray[np.complex128]:
    return turn * (z if sense > 0 else z.conj())


def _turns(a: _Form, b: _Form, sense: int) -> list[complex]:
    """Turns that could lay a on b: they carry the outermost mark onto one like it."""
    reach = np.abs(a.marks)
    if not a.marks.size or reach.max() < 10 * SAME_MM:
        # No mark off the centre: try turns that lay corner on corner.
        a_rim = shapely.get_coordinates(a.outline) @ np.array([1, 1j])
        b_rim = shapely.get_coordinates(b.outline) @ np.array([1, 1j])
        lead = a_rim[np.argmax(np.abs(a_rim))]
        likely = b_rim[np.abs(np.abs(b_rim) - abs(lead)) < SAME_MM][:64]
    else:
        first = int(np.argmax(reach))
        lead = a.marks[first]
        likely = b.marks[(np.abs(np.abs(b.marks) - reach[first]) < SAME_MM)
                         & (np.abs(b.sizes - a.sizes[first]) < 1e-6)]
    lead = lead if sense > 0 else lead.conjugate()
    return [complex(mark / lead / abs(mark / lead)) for mark in likely if abs(mark) > 0]


def _agree(a: _Form, b: _Form, turn: complex, sense: int) -> bool:
    if a.marks.size:
        apart = np.abs(_turned(a.marks, turn, sense)[:, None] - b.marks[None, :])
        unlike = np.abs(a.sizes[:, None] - b.sizes[None, :]) > 1e-6
        if (np.where(unlike, np.inf, apart).min(axis=1) > SAME_MM).any():
            return False

    def lay(points: NDArray[np.float64]) -> NDArray[np.float64]:
        z = _turned(points @ np.array([1, 1j]), turn, sense)
        return np.stack([z.real, z.imag], axis=-1)

    return bool(shapely.hausdorff_distance(shapely.transform(a.outline, lay), b.outline)
                < SAME_MM)
