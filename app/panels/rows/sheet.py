"""Particulars of the sketch itself, and of the picture under it."""

from __future__ import annotations

from typing import Any

import msgspec

from app.panels import quantities as q
from app.panels.rows.row import Row, Section
from core.model import Gravity, Sketch

replace = msgspec.structs.replace


def sketch_sections(sketch: Sketch) -> list[Section]:
    """The sketch as a whole; rows act on it whatever id they get."""
    about = (
        _row("title", "Title", quantity=q.WORDS), _row("author", "Made by", quantity=q.WORDS),
        _row("units", "Lengths in", kind="choice",
             choices=(("mm", "millimetres"), ("in", "inches"))),
        _row("note", "Note", kind="text"),
    )
    held = [Row("lies", "Stands", _read_flat, _write_flat, kind="choice", verb="Change gravity",
                choices=((False, "upright"), (True, "lying flat")),
                tip="A mechanism lying flat has no weight in its plane")]
    if sketch.gravity.g_m_s2:
        held.append(Row("down", "Weight pulls towards", _read_down, _write_down,
                        quantity=q.ANGLE, verb="Change gravity",
                        tip="−90° is down the screen"))
    held += [
        _row("friction", "Friction at pins", quantity=q.FRICTION,
             tip="Wood on metal lies anywhere from 0.1 to 0.65: give a range"),
        _row("gap_mm", "Gap wanted", quantity=q.ROOM),
        _row("grid_mm", "Grid", quantity=q.SIZE),
        _row("turns", "Turns shown", quantity=q.COUNT,
             tip="When gears never bring the motion back to its start"),
    ]
    sections = [Section("Sketch", ("",), about), Section("Surroundings", ("",), tuple(held))]
    if sketch.underlay is not None:
        sections.append(_underlay_section())
    return sections


def _row(name: str, label: str, **more: Any) -> Row:
    def read(sketch: Sketch, _: str) -> Any:
        return getattr(sketch, name)

    def write(sketch: Sketch, _: str, value: Any) -> Sketch:
        return replace(sketch, **{name: value})

    return Row(f"sketch {name}", label, read, write, verb=f"Change {label.lower()}", **more)


def _read_flat(sketch: Sketch, _: str) -> bool:
    return sketch.gravity.g_m_s2 == 0


def _write_flat(sketch: Sketch, _: str, flat: bool) -> Sketch:
    gravity = replace(sketch.gravity, g_m_s2=0.0 if flat else Gravity().g_m_s2)
    return replace(sketch, gravity=gravity)


def _read_down(sketch: Sketch, _: str) -> float:
    return sketch.gravity.direction_deg


def _write_down(sketch: Sketch, _: str, deg: float) -> Sketch:
    return replace(sketch, gravity=replace(sketch.gravity, direction_deg=deg))


def _underlay_section() -> Section:
    def row(name: str, label: str, quantity: q.Quantity) -> Row:
        def read(sketch: Sketch, _: str) -> Any:
            return getattr(sketch.underlay, name)

        def write(sketch: Sketch, _: str, value: float) -> Sketch:
            return replace(sketch, underlay=replace(sketch.underlay, **{name: value}))

        return Row(f"underlay {name}", label, read, write, quantity=quantity,
                   verb=f"Change {label.lower()}")

    return Section("Picture underneath", ("",), (
        row("x", "Left edge", q.LENGTH), row("y", "Lower edge", q.LENGTH),
        row("mm_per_px", "mm a pixel", q.POSITIVE), row("angle_deg", "Turned by", q.ANGLE),
        row("opacity", "Strength, 0 to 1", q.FROM_ZERO),
        Row("underlay shown", "Shown", _has_underlay, _drop_underlay, kind="switch",
            verb="Remove picture", tip="Switch off to take the picture away")))


def _has_underlay(sketch: Sketch, _: str) -> bool:
    return sketch.underlay is not None


def _drop_underlay(sketch: Sketch, _: str, on: bool) -> Sketch:
    return sketch if on else replace(sketch, underlay=None)
