"""The table of a part's weights in the particulars."""

from __future__ import annotations

from typing import Any

from app.panels import quantities as q
from app.panels.rows.tables import Table
from core.model import Sketch, edits
from core.units import show_length

#: Lengths without their unit, as in the table of points: five columns are to be read.
_PLACE, _SIZE = (q.Quantity(kind.parse, lambda value, shown: show_length(value, shown, False))
                 for kind in (q.LENGTH, q.ROOM))
_FIELDS = ("x", "y", "mass_kg", "diameter_mm", "thickness_mm")


def weights_table(part_id: str) -> Table:
    """Place (drawn pose), mass beyond the wood that goes away, diameter and thickness."""
    def read(sketch: Sketch) -> list[tuple[Any, ...]]:
        return [tuple(getattr(weight, name) for name in _FIELDS)
                for weight in sketch.part(part_id).weights]

    def write(sketch: Sketch, row: int, column: int, value: Any) -> Sketch:
        name = _FIELDS[column]
        changed: dict[str, Any] = {name: value}
        if name not in ("x", "y"):
            changed["made_of"] = ""  # it is no longer what was said
        return edits.change_weight(sketch, part_id, row, **changed)

    def add(sketch: Sketch, row: int, crank_deg: float) -> Sketch:
        from core.pleasant.by_hand import weight_for  # not before it is asked for

        return edits.add_weight(sketch, part_id, weight_for(sketch, part_id))

    def remove(sketch: Sketch, row: int) -> Sketch:
        return edits.remove_weight(sketch, part_id, row)

    return Table("Weights", "weight", ("x", "y", "Mass", "Ø", "Thick"),
                 (_PLACE, _PLACE, q.MASS, _SIZE, _SIZE), read, write, add, remove,
                 "A disc of steel let in where there is most room; drag it on the paper",
                 snug=True, after="Mass")
