"""How a lock holds its parts on the shaft, and what ring keeps a rod in its place."""

from __future__ import annotations

from typing import Any

from app.panels import quantities as q
from app.panels.rows.row import Row, field_row
from core.making.rings import Ends, ends
from core.making.rods import rods
from core.model import Sketch, edits
from core.units import show_force, show_length

#: Kind -> what its size is called; kinds without a size are left out.
_SIZES = {"pinned": "Pin diameter", "spring-pinned": "Pin diameter", "screwed": "Screw, M",
          "clamped": "Screw, M", "square": "Side", "hex": "Across flats", "keyed": "Key width",
          "cottered": "Width of the wedge", "flat": "Across the flat"}


def hold_rows(sketch: Sketch, ids: tuple[str, ...]) -> list[Row]:
    """The size of a hold and how much of the shaft it takes."""
    kinds = {edits.get(sketch, each).kind for each in ids}
    label = _SIZES.get(kinds.pop(), "") if len(kinds) == 1 else ""
    rows = [] if not label else [
        field_row("locks", "size_mm", label, quantity=q.MAYBE_SIZE, empty="as is usual",
                  tip="Nothing typed: what is usual for the shaft")]
    rows.append(field_row("locks", "length_mm", "Length of shaft", quantity=q.MAYBE_SIZE,
                          empty="its thickness",
                          tip="How much of the shaft the hold takes; nothing typed: the"
                              " thickness of the part. More than that takes a boss on it."))
    return rows


def ring_row() -> Row:
    """The ring that keeps a rod, its groove, and the length of the rod."""
    return Row("ring", "Kept by", _ring, kind="fact",
               tip="A ring in a groove at each end, beyond a washer; the force is what the"
                   " groove bears along the rod")


def _ring(sketch: Sketch, pin_id: str) -> Any:
    rod = next((one for one in rods(sketch) if pin_id in one.joints), None)
    kept = None if rod is None else ends(rod)
    return "–" if kept is None else _words(kept, sketch.units)


def _words(kept: Ends, units: str) -> str:
    ring = kept.ring
    return (f"{ring.name}, {ring.standard}: groove Ø {show_length(ring.groove_mm, units)} ×"
            f" {show_length(ring.width_mm, units)},"
            f" {show_length(ring.beyond_mm, units)} beyond the washer, bears"
            f" {show_force(ring.load_n.low, units)}; rod"
            f" {show_length(kept.length_mm, units)} long")
