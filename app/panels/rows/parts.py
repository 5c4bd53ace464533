"""Particulars of parts and points."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import msgspec

from app.panels import quantities as q
from app.panels.rows.fitting import asks, may_move_row
from app.panels.rows.row import Row, Section, field_row, name_row
from app.panels.rows.stuff import stuff_rows
from core import units
from core.effort.masses import mass_of
from core.errors import CrankwrightError
from core.model import Bar, Disc, Mass, Part, Plate, Polygon, Sketch, edits, join_ref, split_ref
from core.motion.redimension import drag_point
from core.space import outline_of

#: More distances than this are not listed.
MOST_LENGTHS = 12
KINDS = ((None, "by its points"), (Bar, "bar"), (Plate, "plate"), (Disc, "disc"))


def part_sections(sketch: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Everything about one part, or what several have in common."""
    parts = [sketch.part(part_id) for part_id in ids]
    rows = [name_row()] if len(ids) == 1 else []
    rows += [
        Row("layer", "Layer", Sketch.layer_of, _write_layer, quantity=q.WHOLE,
            verb="Change layer", tip="0 lies at the back"),
        *stuff_rows(sketch, parts),
    ]
    shape = [Row("outline", "Shape", _read_kind, _write_kind, kind="choice",
                 choices=_kinds(parts), verb="Change shape"), *_size_rows(parts)]
    mass = [Row("mass kind", "Mass", _read_mass_kind, _write_mass_kind, kind="choice",
                choices=((False, "from its shape"), (True, "typed")),
                verb="Change mass")]
    if all(part.mass is not None for part in parts):
        mass += [_mass_row("mass_kg", "Mass", q.MASS), _mass_row("x", "Centre x", q.LENGTH),
                 _mass_row("y", "Centre y", q.LENGTH),
                 _mass_row("inertia_kgmm2", "Inertia kg·mm²", q.FROM_ZERO)]
    else:
        mass.append(Row("mass", "Weighs", _weighs, kind="fact"))
    holds = [
        field_row("parts", "fixed", "Part of the frame", kind="switch"),
        field_row("parts", "lengths_locked", "Lengths locked", kind="switch",
                  tip="Keep the distances between its points when points are dragged"),
        field_row("parts", "note", "Note", kind="text"),
    ]
    title = "Part" if len(ids) == 1 else f"{len(ids)} parts"
    sections = [Section(title, ids, tuple(rows)), Section("Shape", ids, tuple(shape))]
    if len(parts) == 1 and len(parts[0].points) > 1:
        sections.append(Section("Lengths", ids, tuple(_length_rows(parts[0]))))
    return [*sections, Section("Mass", ids, tuple(mass)), Section("Holds", ids, tuple(holds))]


def _write_layer(sketch: Sketch, part_id: str, layer: int) -> Sketch:
    return edits.change(sketch, "parts", part_id, layer=layer)


# -- shape -------------------------------------------------------------------------


def _kinds(parts: list[Part]) -> tuple[tuple[Any, str], ...]:
    free = any(isinstance(part.outline, Polygon) for part in parts)
    return (*KINDS, (Polygon, "free outline")) if free else KINDS


def _read_kind(sketch: Sketch, part_id: str) -> Any:
    outline = sketch.part(part_id).outline
    return None if outline is None else type(outline)


def _write_kind(sketch: Sketch, part_id: str, kind: Any) -> Sketch:
    part = sketch.part(part_id)
    if kind is None:
        outline = None
    elif kind is Disc:
        far = max((math.dist((p.x, p.y), (part.points[0].x, part.points[0].y))
                   for p in part.points), default=0.0)
        outline = Disc(radius_mm=far + 10.0)
    elif kind is Polygon:
        return sketch
    else:
        outline = kind()
    return edits.change(sketch, "parts", part_id, outline=outline)


def _size_rows(parts: list[Part]) -> list[Row]:
    kinds = {type(part.outline) for part in parts}
    if kinds == {Bar}:
        return [_outline_row("width_mm", "Width")]
    if kinds == {Plate}:
        return [_outline_row("margin_mm", "Margin")]
    if kinds == {Disc}:
        return [_outline_row("radius_mm", "Radius")]
    return [Row("extent", "Measures", _extent, kind="fact")]


def _outline_row(name: str, label: str) -> Row:
    def read(sketch: Sketch, part_id: str) -> Any:
        return getattr(sketch.part(part_id).outline, name)

    def write(sketch: Sketch, part_id: str, value: float) -> Sketch:
        outline = msgspec.structs.replace(sketch.part(part_id).outline, **{name: value})
        return edits.change(sketch, "parts", part_id, outline=outline)

    return Row(name, label, read, write, quantity=q.SIZE, verb=f"Change {label.lower()}")


def _extent(sketch: Sketch, part_id: str) -> str:
    try:
        left, low, right, high = outline_of(sketch.part(part_id)).bounds
    except (CrankwrightError, ValueError):
        return "–"
    return " × ".join(units.show_length(size, sketch.units)
                      for size in (right - left, high - low))


# -- lengths -----------------------------------------------------------------------


def _length_rows(part: Part) -> list[Row]:
    """Distances of points that follow each other, and from the first to the last."""
    names = [point.id for point in part.points]
    pairs = list(pairwise(names))
    if len(names) > 2:
        pairs.append((names[0], names[-1]))
    return [_length_row(a, b) for a, b in pairs[:MOST_LENGTHS]]


def _length_row(a: str, b: str) -> Row:
    def read(sketch: Sketch, part_id: str) -> float:
        part = sketch.part(part_id)
        one, other = part.point(a), part.point(b)
        return math.dist((one.x, one.y), (other.x, other.y))

    def write(sketch: Sketch, part_id: str, length: float) -> Sketch:
        part = sketch.part(part_id)
        one, other = part.point(a), part.point(b)
        held, moved, name = (other, one, a) if other.locked and not one.locked else (
            one, other, b)
        angle = math.atan2(moved.y - held.y, moved.x - held.x)
        return _exactly(sketch, part_id, drag_point(
            sketch, join_ref(part_id, name), held.x + length * math.cos(angle),
            held.y + length * math.sin(angle)), a, b, length)

    return Row(f"length {a} {b}", f"{a} – {b}", read, write, quantity=q.SIZE,
               verb="Change length", tip=f"Moves {b} towards or away from {a}")


def _exactly(old: Sketch, part_id: str, new: Sketch, a: str, b: str, length: float) -> Sketch:
    part = new.part(part_id)
    one, other = part.point(a), part.point(b)
    if abs(math.dist((one.x, one.y), (other.x, other.y)) - length) > 1e-6 * max(length, 1.0):
        raise CrankwrightError(f"{a} – {b} of {part_id!r} is held by what is locked",
                               mend="unlock the lengths or a point first")
    return new


# -- mass --------------------------------------------------------------------------


def _read_mass_kind(sketch: Sketch, part_id: str) -> bool:
    return sketch.part(part_id).mass is not None


def _write_mass_kind(sketch: Sketch, part_id: str, typed: bool) -> Sketch:
    part = sketch.part(part_id)
    if not typed:
        return edits.change(sketch, "parts", part_id, mass=None)
    if part.mass is not None:
        return sketch
    now = mass_of(part, sketch.materials)
    mass = Mass(mass_kg=now.kg, x=now.centre.real, y=now.centre.imag,
                inertia_kgmm2=now.inertia_kgmm2)
    return edits.change(sketch, "parts", part_id, mass=mass)


def _mass_row(name: str, label: str, quantity: q.Quantity) -> Row:
    def read(sketch: Sketch, part_id: str) -> Any:
        return getattr(sketch.part(part_id).mass, name)

    def write(sketch: Sketch, part_id: str, value: float) -> Sketch:
        mass = sketch.part(part_id).mass
        if mass is None:
            return sketch
        return edits.change(sketch, "parts", part_id,
                            mass=msgspec.structs.replace(mass, **{name: value}))

    return Row(f"mass {name}", label, read, write, quantity=quantity,
               verb=f"Change {label.lower()}")


def _weighs(sketch: Sketch, part_id: str) -> str:
    try:
        part = sketch.part(part_id)
        return units.show_mass(mass_of(part, sketch.materials).kg, sketch.units)
    except CrankwrightError as trouble:
        return str(trouble)


# -- points ------------------------------------------------------------------------


def point_sections(sketch: Sketch, refs: tuple[str, ...]) -> list[Section]:
    """Place and marks of points."""
    rows = [
        Row("name", "Name", _point_name, edits.rename, quantity=q.WORDS, verb="Rename",
            renames=True),
        Row("x", "x", _point_x, _write_x, quantity=q.LENGTH, verb="Move point",
            tip="In the drawn pose"),
        Row("y", "y", _point_y, _write_y, quantity=q.LENGTH, verb="Move point",
            tip="In the drawn pose"),
        _mark_row("trace", "Path drawn", "Draw the path of this point"),
        _mark_row("locked", "Locked in place", "Stays where it is when others are dragged"),
    ]
    if asks(sketch):
        rows.append(may_move_row())
    title = f"Point of {split_ref(refs[0])[0]}" if len(refs) == 1 else f"{len(refs)} points"
    return [Section(title, refs, tuple(rows if len(refs) == 1 else rows[3:]))]


def _point_name(_: Sketch, ref: str) -> str:
    return split_ref(ref)[1]


def _point_x(sketch: Sketch, ref: str) -> float:
    return sketch.point(ref).x


def _point_y(sketch: Sketch, ref: str) -> float:
    return sketch.point(ref).y


def _write_x(sketch: Sketch, ref: str, x: float) -> Sketch:
    return move_to(sketch, ref, x, sketch.point(ref).y)


def _write_y(sketch: Sketch, ref: str, y: float) -> Sketch:
    return move_to(sketch, ref, sketch.point(ref).x, y)


def move_to(sketch: Sketch, ref: str, x: float, y: float) -> Sketch:
    """The point at (x, y) mm exactly; EditError where what is locked forbids it."""
    moved = drag_point(sketch, ref, x, y)
    now = moved.point(ref)
    if math.dist((now.x, now.y), (x, y)) > 1e-6 * max(abs(x), abs(y), 1.0):
        raise CrankwrightError(f"{ref} cannot come there with what is locked",
                               mend="unlock the lengths or a point first")
    return moved


def _mark_row(name: str, label: str, tip: str) -> Row:
    def read(sketch: Sketch, ref: str) -> bool:
        return bool(getattr(sketch.point(ref), name))

    def write(sketch: Sketch, ref: str, on: bool) -> Sketch:
        return edits.change_point(sketch, ref, **{name: on})

    return Row(name, label, read, write, kind="switch", tip=tip,
               verb=f"Change {label.lower()}")
