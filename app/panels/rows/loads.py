"""Particulars of the crank, loads, springs and twins."""

from __future__ import annotations

import math
from typing import Any

import msgspec

from app.panels import quantities as q
from app.panels.rows.row import Row, Section, field_row, titled
from core import units
from core.model import Sketch, edits


def drive_section(sketch: Sketch) -> Section:
    """The crank; rows act on the sketch's drive, whatever id they get."""
    drive = sketch.drive
    rows = [
        Row("crank", "Crank", _turned, kind="fact"),
        _drive_row("kind", "Moves", kind="choice",
                   choices=(("turn", "all the way round"), ("rock", "to and fro"))),
        _drive_row("rpm", "Turns a minute", quantity=q.NUMBER,
                   tip="Negative turns clockwise"),
        _drive_row("drawn_deg", "Drawn at", quantity=q.ANGLE,
                   tip="What the crank angle is called in the drawn pose"),
    ]
    if drive is not None and drive.kind == "rock":
        rows += [_drive_row("from_deg", "From", quantity=q.ANGLE),
                 _drive_row("to_deg", "To", quantity=q.ANGLE)]
    return Section("Crank", ("",), tuple(rows))


def _turned(sketch: Sketch, _: str) -> str:
    return f"{sketch.drive.part} on {sketch.drive.pin}" if sketch.drive else "none yet"


def _drive_row(name: str, label: str, **more: Any) -> Row:
    def read(sketch: Sketch, _: str) -> Any:
        return getattr(sketch.drive, name)

    def write(sketch: Sketch, _: str, value: Any) -> Sketch:
        if sketch.drive is None:
            return sketch
        return msgspec.structs.replace(
            sketch, drive=msgspec.structs.replace(sketch.drive, **{name: value}))

    return Row(f"drive {name}", label, read, write, verb=f"Change {label.lower()}", **more)


def force_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Constant forces."""
    return titled("force", ids, [
        field_row("forces", "fx_n", "To the right", quantity=q.FORCE),
        field_row("forces", "fy_n", "Upwards", quantity=q.FORCE),
        field_row("forces", "turns_with_part", "Turns with the part", kind="switch"),
        Row("at", "Acts on", _field("at"), kind="fact")])


def torque_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Constant torques."""
    return titled("torque", ids, [
        field_row("torques", "torque_nmm", "Torque", quantity=q.TORQUE,
                  tip="Counter-clockwise is positive"),
        field_row("torques", "brakes", "Brakes, whichever way it turns", kind="switch",
                  tip="Friction, as of a leather washer: against the turning of the part"),
        Row("part", "Acts on", _field("part"), kind="fact")])


def spring_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Straight springs."""
    return titled("spring", ids, [
        field_row("springs", "rate_n_per_mm", "Rate", quantity=q.RATE),
        field_row("springs", "free_length_mm", "Free length", quantity=q.ROOM),
        field_row("springs", "initial_tension_n", "Initial tension", quantity=q.TENSION),
        field_row("springs", "pushes", "Pushes too", kind="switch"),
        Row("length", "Drawn length", _drawn_length, kind="fact"),
        Row("ends", "Between", _ends, kind="fact")])


def torsion_spring_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Springs wound about a pin."""
    return titled("torsion spring", ids, [
        field_row("torsion_springs", "rate_nmm_per_deg", "N·mm per degree",
                  quantity=q.POSITIVE),
        field_row("torsion_springs", "free_deg", "Free at", quantity=q.ANGLE,
                  tip="Turn of the second part against the first, from the drawn pose, "
                      "at which the spring does nothing"),
        Row("ends", "Between", _ends, kind="fact")])


def twin_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Mirrored groups."""
    return titled("twin", ids, [
        field_row("twins", "x", "Line through x", quantity=q.LENGTH),
        field_row("twins", "y", "Line through y", quantity=q.LENGTH),
        field_row("twins", "angle_deg", "Line at", quantity=q.ANGLE),
        Row("pairs", "Mirrors", _pairs, kind="fact")])



def _field(name: str) -> Any:
    def read(sketch: Sketch, item_id: str) -> str:
        return str(getattr(edits.get(sketch, item_id), name))
    return read


def _ends(sketch: Sketch, item_id: str) -> str:
    item = edits.get(sketch, item_id)
    return f"{item.a} and {item.b}"


def _drawn_length(sketch: Sketch, item_id: str) -> str:
    item = edits.get(sketch, item_id)
    a, b = sketch.point(item.a), sketch.point(item.b)
    return units.show_length(math.dist((a.x, a.y), (b.x, b.y)), sketch.units)


def _pairs(sketch: Sketch, twin_id: str) -> str:
    return ", ".join(f"{a} → {b}" for a, b in edits.get(sketch, twin_id).parts)
