"""Which parts are alike: cut to one template, under one item number."""

from __future__ import annotations

import cmath
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.drawing.subject import Hole, Subject, Track
from core.model import Part, part_of
from core.space.grain import grain_of

#: Bores of parts that are alike lie within this of one another, their edges within that:
#: less than a hobby router's own error (common practice, no source).
SAME_MM = 0.05
SAME_EDGE_MM = 0.25
#: The sine of one degree: grain that differs by less is cut the same.
_SAME_GRAIN = 0.0175

Complexes = NDArray[np.complex128]


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
    """What must agree: outline, marks (place, size) on it, and the way of the grain, in the
    pose shown."""

    part: Part
    outline: shapely.Polygon
    marks: NDArray[np.complex128]
    sizes: NDArray[np.float64]
    grain: complex


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
    marks = [(hole.at, hole.diameter_mm) for hole in holes_of(subject, part.id)]
    for track in tracks_of(subject, part.id):
        marks += [(end, -1.0 - track.width_mm) for end in track.at]
    # Told from bores and slots, and from each other by what they weigh.
    marks += [(subject.moved(part.id, weight.place),
               -1e6 - 1e3 * weight.diameter_mm - weight.mass_kg) for weight in part.weights]
    marks += [(subject.place(slide.point), 0.0) for slide in subject.sketch.slides
              if part_of(slide.point) == part.id]
    return _Form(part, subject.shapes[part.id],
                 np.array([at for at, _ in marks], dtype=np.complex128),
                 np.array([size for _, size in marks], dtype=np.float64),
                 subject.rotation[part.id] * cmath.rect(1.0, grain_of(part)))


def _alike(a: _Form, b: _Form) -> int:
    """1 when b is a moved copy of a, −1 when a mirrored one, 0 when neither."""
    if (a.part.material != b.part.material or a.part.fixed != b.part.fixed
            or abs(a.part.thickness_mm - b.part.thickness_mm) > 1e-6
            or a.marks.size != b.marks.size
            or abs(a.outline.area - b.outline.area) > SAME_EDGE_MM * a.outline.length
            or abs(a.outline.length - b.outline.length) > 10 * SAME_EDGE_MM):
        return 0
    for sense in (1, -1):
        if any(_agree(a, b, turn, shift, sense) for turn, shift in _moves(a, b, sense)):
            return sense
    return 0


def _sensed(z: Complexes, sense: int) -> Complexes:
    return z if sense > 0 else z.conj()


def _moves(a: _Form, b: _Form, sense: int) -> list[tuple[complex, complex]]:
    """Turns and shifts that could lay a on b: they carry the two marks farthest apart onto
    two like them; without two marks, centroid on centroid and corner on corner."""
    spread = np.abs(a.marks[:, None] - a.marks)
    if a.marks.size < 2 or spread.max() < 10 * SAME_MM:
        return _moves_by_rim(a, b, sense)
    first, last = np.unravel_index(int(np.argmax(spread)), spread.shape)
    lead = _sensed(a.marks, sense)
    fit = np.abs(np.abs(b.marks[:, None] - b.marks) - spread.max()) < SAME_MM
    fit &= (np.abs(b.sizes - a.sizes[first]) < 1e-6)[:, None]
    fit &= (np.abs(b.sizes - a.sizes[last]) < 1e-6)[None, :]
    moves = []
    for i, j in np.argwhere(fit):
        turn = (b.marks[j] - b.marks[i]) / (lead[last] - lead[first])
        turn /= abs(turn)
        # Middle on middle shares what little they differ by.
        shift = (b.marks[i] + b.marks[j]) / 2 - turn * (lead[first] + lead[last]) / 2
        moves.append((complex(turn), complex(shift)))
    return moves


def _moves_by_rim(a: _Form, b: _Form, sense: int) -> list[tuple[complex, complex]]:
    """Centroid on centroid, the outermost corner on one as far out."""
    middles = [complex(f.outline.centroid.x, f.outline.centroid.y) for f in (a, b)]
    rims = [shapely.get_coordinates(f.outline) @ np.array([1, 1j]) - middle
            for f, middle in zip((a, b), middles, strict=True)]
    lead = _sensed(rims[0][np.argmax(np.abs(rims[0]))], sense)
    likely = rims[1][np.abs(np.abs(rims[1]) - abs(lead)) < SAME_MM][:64]
    turns = [complex(mark / lead / abs(mark / lead)) for mark in likely if abs(mark) > 0]
    middle = middles[0] if sense > 0 else middles[0].conjugate()
    return [(turn, middles[1] - turn * middle) for turn in turns]


def _grain_agrees(a: _Form, b: _Form, turn: complex, sense: int) -> bool:
    """Whether the grain of both runs the same way. Where neither has a grain of its own it
    goes along the part, which a disc does whichever way it lies."""
    if a.part.grain_deg is None and b.part.grain_deg is None:
        return True
    laid = turn * (a.grain if sense > 0 else a.grain.conjugate())
    return abs((laid * b.grain.conjugate()).imag) < _SAME_GRAIN


def _agree(a: _Form, b: _Form, turn: complex, shift: complex, sense: int) -> bool:
    if not _grain_agrees(a, b, turn, sense):
        return False
    if a.marks.size:
        laid = turn * _sensed(a.marks, sense) + shift
        apart = np.abs(laid[:, None] - b.marks[None, :])
        unlike = np.abs(a.sizes[:, None] - b.sizes[None, :]) > 1e-6
        if (np.where(unlike, np.inf, apart).min(axis=1) > SAME_MM).any():
            return False

    def lay(points: NDArray[np.float64]) -> NDArray[np.float64]:
        z = turn * _sensed(points @ np.array([1, 1j]), sense) + shift
        return np.stack([z.real, z.imag], axis=-1)

    return bool(shapely.hausdorff_distance(shapely.transform(a.outline, lay), b.outline)
                < SAME_EDGE_MM)
