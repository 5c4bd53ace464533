"""A pin's rod: what it is of, how much play it has, or the bought hinge in its place."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from app.panels import quantities as q
from app.panels.rows.row import Row, field_row
from core.model import Hinge, Sketch, edits
from core.model.stuff import materials_of

#: What rods are made of; springs are told by their note.
_ROD_STUFF = ("metal", "wood", "plastic")


def rod_rows(sketch: Sketch, ids: tuple[str, ...]) -> list[Row]:
    """Material and play of the rods, or what is known of the hinges."""
    pins = [edits.get(sketch, each) for each in ids]
    rows = []
    if not all(pin.hinge is not None for pin in pins):
        rows += [
            field_row("pins", "material", "Rod of", kind="choice",
                      choices=_choices(sketch, {pin.material for pin in pins})),
            field_row("pins", "clearance_mm", "Play in the bore", quantity=q.MAYBE_ROOM,
                      empty="as is usual",
                      tip="On the diameter; nothing typed: what is usual, 0.1 to 0.25 mm"
                          " (common practice, no source)"),
        ]
    rows.append(Row("hinge", "Bought hinge", _has_hinge, _set_hinge, kind="switch",
                    verb="Change hinge", tip="A hinge screwed to its panels, in place of a rod"
                                             " through the layers"))
    if all(pin.hinge is not None for pin in pins):
        rows += [
            _hinge_row("screws", "Screws a leaf", q.COUNT),
            _hinge_row("screw_mm", "Screw diameter", q.SIZE),
            _hinge_row("length_mm", "Thread in the wood", q.SIZE),
            _hinge_row("edge", "Into the edge", None,
                       tip="Screws in the edge of a sheet hold about half as well (common"
                           " practice, no source)"),
        ]
    return rows


def _choices(sketch: Sketch, used: set[str]) -> tuple[tuple[str, str], ...]:
    known = materials_of(sketch.materials)
    rods = [(each.id, each.name) for each in known.values()
            if (each.stuff in _ROD_STUFF and each.note != "springs") or each.id in used]
    rods.sort(key=lambda one: known[one[0]].stuff != "metal")
    return (*rods, *((name, name) for name in sorted(used - known.keys())))


def _has_hinge(sketch: Sketch, pin_id: str) -> bool:
    return edits.get(sketch, pin_id).hinge is not None


def _set_hinge(sketch: Sketch, pin_id: str, on: bool) -> Sketch:
    return edits.change(sketch, "pins", pin_id, hinge=Hinge() if on else None)


def _hinge_row(name: str, label: str, quantity: q.Quantity | None, tip: str = "") -> Row:
    """A row for a field of the hinge of a pin."""

    def read(sketch: Sketch, pin_id: str) -> Any:
        return getattr(edits.get(sketch, pin_id).hinge or Hinge(), name)

    def write(sketch: Sketch, pin_id: str, value: Any) -> Sketch:
        hinge = edits.get(sketch, pin_id).hinge or Hinge()
        return edits.change(sketch, "pins", pin_id, hinge=replace(hinge, **{name: value}))

    return Row(f"hinge_{name}", label, read, write, quantity=quantity, tip=tip,
               kind="switch" if quantity is None else "box", verb=f"Change {label.lower()}")
