"""Particulars of pins, slides, slots, locks, gear pairs and belts."""

from __future__ import annotations

import math
from typing import Any

from app.panels import quantities as q
from app.panels.rows.holds import hold_rows, ring_row
from app.panels.rows.rods import rod_rows
from app.panels.rows.row import Row, Section, field_row, titled
from core import units
from core.model import Sketch, edits
from core.model.links import parts_of

PRESSURE_TIP = "20° for nearly all gears today"


def _joins(sketch: Sketch, joint_id: str) -> str:
    return ", ".join(parts_of(edits.get(sketch, joint_id)))


_JOINS = Row("joins", "Joins", _joins, kind="fact")


def _is_held(sketch: Sketch, pin_id: str) -> bool:
    return any(sketch.point(ref).locked for ref in edits.get(sketch, pin_id).at)


def _hold(sketch: Sketch, pin_id: str, on: bool) -> Sketch:
    """One locked point holds them all; unlocking frees every one."""
    refs = edits.get(sketch, pin_id).at
    for ref in refs[:1] if on else refs:
        sketch = edits.change_point(sketch, ref, locked=on)
    return sketch


_HELD = Row("locked", "Locked in place", _is_held, _hold, kind="switch",
            verb="Change locked in place", tip="Stays where it is when others are dragged")


def _friction(group: str) -> Row:
    def read(sketch: Sketch, joint_id: str) -> tuple[float, float]:
        own = edits.get(sketch, joint_id).friction
        return sketch.friction if own is None else own

    def write(sketch: Sketch, joint_id: str, value: tuple[float, float]) -> Sketch:
        own = None if value == sketch.friction else value
        return edits.change(sketch, group, joint_id, friction=own)

    return Row("friction", "Friction", read, write, quantity=q.FRICTION,
               verb="Change friction", tip="Coefficient, one number or a range")



def pin_sections(sketch: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Pins."""
    return titled("pin", ids, [
        field_row("pins", "diameter_mm", "Diameter", quantity=q.SIZE), _friction("pins"),
        *rod_rows(sketch, ids), ring_row(), _JOINS, _HELD])


def slide_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Slides."""
    return titled("slide", ids, [
        _friction("slides"), Row("travel", "Travel", _travel, kind="fact"), _JOINS])


def slot_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Pins in slots."""
    return titled("slot", ids, [
        field_row("slots", "diameter_mm", "Diameter", quantity=q.SIZE), _friction("slots"),
        Row("travel", "Travel", _travel, kind="fact"), _JOINS])


def _travel(sketch: Sketch, joint_id: str) -> str:
    joint = edits.get(sketch, joint_id)
    a, b = (sketch.point(ref) for ref in getattr(joint, "along", None) or joint.slot)
    return units.show_length(math.dist((a.x, a.y), (b.x, b.y)), sketch.units)


HOLDS = (("glued", "glued"), ("pinned", "cross pin"), ("spring-pinned", "spring pin"),
         ("screwed", "set screw on a flat"), ("clamped", "clamp collar"),
         ("flat", "D-shaped bore"), ("square", "square end"), ("hex", "hexagonal end"),
         ("keyed", "key"), ("cottered", "splitting cotter"))


def lock_sections(sketch: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Locks."""
    used = {edits.get(sketch, each).kind for each in ids}
    known = {value for value, _ in HOLDS}
    choices = (*HOLDS, *((kind, kind) for kind in sorted(used - known)))
    return titled("lock", ids, [
        field_row("locks", "kind", "Held", kind="choice", choices=choices),
        *hold_rows(sketch, ids), _JOINS])


def mesh_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Gear pairs."""
    return titled("gear pair", ids, [
        Row("first", "First gear", _end("a"), kind="fact"),
        field_row("meshes", "teeth_a", "Its teeth", quantity=q.COUNT),
        Row("second", "Second gear", _end("b"), kind="fact"),
        field_row("meshes", "teeth_b", "Teeth of the second", quantity=q.COUNT),
        Row("module", "Module", _module, kind="fact",
            tip="Pitch diameter over teeth, from the centre distance"),
        field_row("meshes", "internal", "One inside the other", kind="switch"),
        field_row("meshes", "pressure_angle_deg", "Pressure angle", quantity=q.ANGLE,
                  tip=PRESSURE_TIP),
    ])


def _end(name: str) -> Any:
    def read(sketch: Sketch, joint_id: str) -> str:
        return str(getattr(edits.get(sketch, joint_id), name)).partition(".")[0]
    return read


def _module(sketch: Sketch, mesh_id: str) -> str:
    mesh = edits.get(sketch, mesh_id)
    a, b = sketch.point(mesh.a), sketch.point(mesh.b)
    apart = math.dist((a.x, a.y), (b.x, b.y))
    teeth = abs(mesh.teeth_a - mesh.teeth_b) if mesh.internal else mesh.teeth_a + mesh.teeth_b
    if not teeth:
        return "–"
    module = 2 * apart / teeth
    text = f"{module:.4g} mm"
    return f"{text} ({units.MM_PER_INCH / module:.4g} teeth per inch)" \
        if sketch.units == "in" and module else text


def belt_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Belts."""
    return titled("belt", ids, [
        Row("first", "First pulley", _end("a"), kind="fact"),
        field_row("belts", "diameter_a_mm", "Its diameter", quantity=q.SIZE),
        Row("second", "Second pulley", _end("b"), kind="fact"),
        field_row("belts", "diameter_b_mm", "Diameter of the second", quantity=q.SIZE),
        field_row("belts", "crossed", "Crossed", kind="switch",
                  tip="A crossed belt turns the second pulley the other way"),
    ])
