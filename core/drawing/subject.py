"""What is to be drawn: the sketch posed at one crank angle, with its holes named."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING

import msgspec
import numpy as np
import shapely
from numpy.typing import NDArray

from core.errors import MotionError, SketchError
from core.model import Part, Sketch, part_of
from core.motion import pose_at
from core.space import outline_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from core.study import Study

    Placing = Callable[[str], complex]

# Letters that read like figures, and S, which names slots, are left out.
_LETTERS = "ABCDEFGHJKLMNPRTUVWXYZ"


@dataclass(frozen=True)
class Pivot:
    """A rod seen from the front: its letter, place in the pose shown (complex mm), bore,
    and the points it joins."""

    letter: str
    joint: str
    at: complex
    diameter_mm: float
    points: tuple[str, ...]
    fixed: bool


@dataclass(frozen=True)
class Hole:
    """A hole in one part. `drawn` is its place in the drawn pose, `at` in the pose shown."""

    label: str
    part: str
    drawn: complex
    at: complex
    diameter_mm: float
    fit: str


@dataclass(frozen=True)
class Track:
    """A straight slot or slide on a part: its ends, drawn and in the pose shown, and the
    width of a slot (0: a slide, of which only the line is known)."""

    label: str
    joint: str
    part: str
    drawn: tuple[complex, complex]
    at: tuple[complex, complex]
    width_mm: float


@dataclass(frozen=True)
class Subject:
    """The sketch in the pose that is drawn; places are complex mm in the sketch frame."""

    study: Study
    sketch: Sketch
    crank_deg: float | None
    rotation: dict[str, complex]
    shift: dict[str, complex]
    shapes: dict[str, shapely.Polygon]
    layers: dict[str, int]
    pivots: tuple[Pivot, ...]
    holes: tuple[Hole, ...]
    tracks: tuple[Track, ...]
    datum: complex
    datum_name: str

    @property
    def usual_bore_mm(self) -> float:
        """The commonest bore; 0 when there is none."""
        bores = Counter(pivot.diameter_mm for pivot in self.pivots)
        return max(bores, key=lambda bore: (bores[bore], -bore), default=0.0)

    def place(self, ref: str) -> complex:
        """A point ``"part.point"`` in the pose shown."""
        return self.moved(part_of(ref), self.sketch.place(ref))

    def moved(self, part: str, drawn: complex) -> complex:
        """A place of a part, from the drawn pose to the pose shown."""
        return self.rotation[part] * drawn + self.shift[part]


def subject(study: Study, at_deg: float | None = None) -> Subject:
    """Poses the sketch and names its holes.

    Parameters
    ----------
    at_deg : crank angle, degrees in the sketch's own reading; None is the drawn pose.

    Raises
    ------
    MotionError
        When an angle is asked for and the crank cannot reach it.
    """
    sketch = _drawable(study.sketch)
    rotation, shift = _poses(study, at_deg)
    shown = at_deg if at_deg is not None or not sketch.drive else sketch.drive.drawn_deg

    def place(ref: str) -> complex:
        part = part_of(ref)
        return rotation[part] * sketch.place(ref) + shift[part]

    pivots = tuple(_pivots(sketch, place))
    datum, name = _datum(sketch, pivots, place)
    tracks = tuple(_tracks(sketch, place))
    return Subject(
        study, sketch, shown, rotation, shift,
        {part.id: moved for part in sketch.parts
         if (moved := _shape(part, tracks, rotation[part.id], shift[part.id])) is not None},
        {part.id: sketch.layer_of(part.id) for part in sketch.parts},
        pivots, tuple(_holes(sketch, pivots, place)), tracks, datum, name,
    )


def _drawable(sketch: Sketch) -> Sketch:
    """The sketch without joints and loads that refer to nothing: an unfinished sketch is
    drawn as far as it goes."""
    refs = {f"{part.id}.{point.id}" for part in sketch.parts for point in part.points}
    pins = tuple(pin for pin in sketch.pins if pin.at and refs.issuperset(pin.at))
    rods = {pin.id for pin in pins} | {slot.id for slot in sketch.slots}
    names = {part.id for part in sketch.parts}
    return msgspec.structs.replace(
        sketch, pins=pins,
        slides=tuple(s for s in sketch.slides if refs.issuperset((s.point, *s.along))),
        slots=tuple(s for s in sketch.slots if refs.issuperset((s.point, *s.slot))),
        meshes=tuple(m for m in sketch.meshes if refs.issuperset((m.a, m.b))),
        belts=tuple(b for b in sketch.belts if refs.issuperset((b.a, b.b))),
        springs=tuple(s for s in sketch.springs if refs.issuperset((s.a, s.b))),
        torsion_springs=tuple(t for t in sketch.torsion_springs if t.pin in rods),
        forces=tuple(f for f in sketch.forces if f.at in refs),
        torques=tuple(t for t in sketch.torques if t.part in names),
    )


def _poses(study: Study, at_deg: float | None) -> tuple[dict[str, complex], dict[str, complex]]:
    ids = [part.id for part in study.sketch.parts]
    if at_deg is None:
        return dict.fromkeys(ids, 1 + 0j), dict.fromkeys(ids, 0j)
    if study.turn is None:
        raise MotionError("the sketch does not turn, so it cannot be drawn at another angle",
                          f"crank at {at_deg:g}°", "leave the angle out for the drawn pose")
    posed = pose_at(study.turn, np.array([math.radians(at_deg)]))
    if not posed.reached[0]:
        raise MotionError("the crank cannot get there", f"crank at {at_deg:g}°",
                          "choose an angle inside its reach")
    return ({p: complex(posed.rotation[posed.row(p), 0]) for p in ids},
            {p: complex(posed.shift[posed.row(p), 0]) for p in ids})


def slotted(part: Part, tracks: Iterable[Track]) -> shapely.Polygon:
    """The outline of a part in the drawn pose with its slots cut out. A slot that would cut
    the part in two, or leave nothing of it, is left uncut.

    Raises
    ------
    SketchError
        For a part without a drawable shape.
    """
    shape = outline_of(part)
    for track in tracks:
        if track.part == part.id and track.width_mm:
            ends = shapely.LineString([(end.real, end.imag) for end in track.drawn])
            left = shape.difference(ends.buffer(track.width_mm / 2, quad_segs=24))
            shape = left if isinstance(left, shapely.Polygon) and not left.is_empty else shape
    return shape


def _shape(part: Part, tracks: Iterable[Track], rotation: complex, shift: complex
           ) -> shapely.Polygon | None:
    """The outline in the pose shown; None for a part without a drawable shape."""
    try:
        outline = slotted(part, tracks)
    except SketchError:
        return None

    def move(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        z = rotation * (xy[:, 0] + 1j * xy[:, 1]) + shift
        return np.column_stack([z.real, z.imag])

    moved = shapely.transform(outline, move)
    assert isinstance(moved, shapely.Polygon)
    return moved


def letters() -> Iterator[str]:
    """A, B, … Z, AA, AB, … without those that read like figures."""
    for size in count(1):
        for number in range(len(_LETTERS) ** size):
            word = ""
            for _ in range(size):
                number, digit = divmod(number, len(_LETTERS))
                word = _LETTERS[digit] + word
            yield word


def _pivots(sketch: Sketch, place: Placing) -> Iterator[Pivot]:
    """Rods: the drive first, then other fixed pivots, then moving ones and slot pins."""
    fixed = {part.id for part in sketch.parts if part.fixed}
    drive = sketch.drive.pin if sketch.drive else ""
    rods = [(pin.id, pin.at, pin.diameter_mm) for pin in sketch.pins]
    rods += [(slot.id, (slot.point,), slot.diameter_mm) for slot in sketch.slots
             if not any(slot.point in pin.at for pin in sketch.pins)]
    held = {joint: any(part_of(ref) in fixed for ref in refs) for joint, refs, _ in rods}
    rods.sort(key=lambda rod: (rod[0] != drive, not held[rod[0]]))
    for letter, (joint, refs, bore) in zip(letters(), rods, strict=False):
        yield Pivot(letter, joint, place(refs[0]), bore, refs, held[joint])


def _holes(sketch: Sketch, pivots: tuple[Pivot, ...], place: Placing
           ) -> Iterator[Hole]:
    """A hole for every part on a rod; where two rods share one place of a part it has one
    hole, under the letter of the first."""
    drilled: list[tuple[str, complex]] = []
    for pivot in pivots:
        for number, ref in enumerate(pivot.points, 1):
            part, point = part_of(ref), sketch.point(ref)
            at = point.place
            if any(other == part and abs(at - there) < 0.01 for other, there in drilled):
                continue
            drilled.append((part, at))
            held = next((lock.kind for lock in sketch.locks
                         if lock.pin == pivot.joint and part in lock.parts), "")
            yield Hole(f"{pivot.letter}{number}", part, at, place(ref), pivot.diameter_mm,
                       f"fast: {held}" if held else "running")


def _tracks(sketch: Sketch, place: Placing) -> Iterator[Track]:
    rows = [(slot.id, slot.slot, slot.diameter_mm) for slot in sketch.slots]
    rows += [(slide.id, slide.along, 0.0) for slide in sketch.slides]
    for number, (joint, (a, b), width) in enumerate(rows, 1):
        pa, pb = sketch.point(a), sketch.point(b)
        yield Track(f"S{number}", joint, part_of(a),
                    (pa.place, pb.place), (place(a), place(b)), width)


def _datum(sketch: Sketch, pivots: tuple[Pivot, ...], place: Placing
           ) -> tuple[complex, str]:
    """Where dimensions start: the first fixed pivot, else a point of the frame, else any."""
    for pivot in pivots:
        if pivot.fixed:
            return pivot.at, f"pivot {pivot.letter}"
    for wanted in (True, False):
        for part in sketch.parts:
            if part.points and (part.fixed or not wanted):
                ref = f"{part.id}.{part.points[0].id}"
                return place(ref), f"point {ref}"
    return 0j, "the origin of the sketch"
