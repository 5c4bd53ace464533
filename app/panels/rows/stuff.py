"""What a part is made of: thickness, material, and the way of its grain."""

from __future__ import annotations

import math
from typing import Any

from app.panels import quantities as q
from app.panels.rows.row import Row, field_row
from app.shelf import given, offered
from core import units
from core.errors import CrankwrightError
from core.materials import TOLERANCE_SOURCE, ply_tolerance
from core.model import Part, Sketch, edits
from core.model.stuff import materials_of
from core.space.grain import grain_of

#: Grain matters for these, and a quarter of a turn is what one turns it by.
_GRAINED = ("wood", "plywood")


def stuff_rows(sketch: Sketch, parts: list[Part]) -> list[Row]:
    """Thickness, material, and for wood and plywood the grain."""
    known = offered(sketch)
    rows = [
        field_row("parts", "thickness_mm", "Thickness", quantity=q.SIZE,
                  tip=thickness_tip(sketch, parts[0]) if parts else ""),
        Row("material", "Material", _read_material, _write_material, kind="choice",
            choices=tuple((each.id, each.name) for each in known.values()),
            verb="Change material", tip=_material_tip(sketch, parts)),
    ]
    if any(part.material in known and known[part.material].stuff in _GRAINED
           for part in parts):
        rows += [
            Row("grain", "Grain runs", _read_kind, _write_kind, kind="choice",
                choices=((False, "along the part"), (True, "as turned")),
                verb="Change grain", tip="The face grain of plywood"),
            Row("grain_deg", "Grain at", _read_deg, _write_deg, quantity=q.ANGLE,
                verb="Turn grain", tip="Angle to the right of the drawing, counter-clockwise,"
                " in the drawn pose; drag the arrow on the part to turn it"),
        ]
    return rows


def thickness_tip(sketch: Sketch, part: Part) -> str:
    """That a sheet has to be measured, and how far plywood may be off."""
    known = materials_of(sketch.materials).get(part.material)
    text = "Measure the sheet, do not trust its name."
    if known is None or known.stuff != "plywood":
        return text
    nominal, low, high = (units.show_length(each, sketch.units)
                          for each in ply_tolerance(part.thickness_mm))
    return f"{text} Plywood sold as {nominal} may be {low} to {high} thick" \
           f" ({TOLERANCE_SOURCE})."


def _read_material(sketch: Sketch, part_id: str) -> str:
    return sketch.part(part_id).material


def _write_material(sketch: Sketch, part_id: str, material: str) -> Sketch:
    return given(sketch, (part_id,), material)


def _material_tip(sketch: Sketch, parts: list[Part]) -> str:
    """Density and note of the material several parts share."""
    names = {part.material for part in parts}
    each = offered(sketch).get(names.pop()) if len(names) == 1 else None
    if each is None:
        return ""
    note = f"; {each.note}" if each.note else ""
    return f"{each.density_kg_m3:g} kg/m³{note}. All figures: Build, Materials"


def _read_kind(sketch: Sketch, part_id: str) -> bool:
    return sketch.part(part_id).grain_deg is not None


def _write_kind(sketch: Sketch, part_id: str, turned: bool) -> Sketch:
    deg = _read_deg(sketch, part_id) if turned else None
    return edits.change(sketch, "parts", part_id, grain_deg=deg)


def _read_deg(sketch: Sketch, part_id: str) -> Any:
    try:
        return round(math.degrees(grain_of(sketch.part(part_id))), 9)
    except CrankwrightError:
        return 0.0


def _write_deg(sketch: Sketch, part_id: str, deg: float) -> Sketch:
    return edits.change(sketch, "parts", part_id, grain_deg=deg)
