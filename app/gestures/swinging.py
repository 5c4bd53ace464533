"""A slotted lever swings when its pivot is dragged: it still runs over the pin in its slot."""

from __future__ import annotations

from core.model import Part, PinInSlot, Sketch, part_of
from core.model.edits import pin_of

_ON_LINE_MM = 1e-3


def swung(sketch: Sketch, ref: str, place: complex) -> dict[str, tuple[float, float]]:
    """Where points go when the point `ref` goes to `place` (mm, drawn pose).

    The point itself; and where it is the pivot of a lever with a slot towards it, of
    which nothing else is pinned, all points of that lever, turned so that the slot stays
    over its pin. The lever keeps its shape, and what drives it its length.
    """
    goes = {ref: place}
    pin = pin_of(sketch, ref)
    for each in pin.at if pin is not None else (ref,):
        part = sketch.part(part_of(each))
        pivot = sketch.place(each)
        slot = _slot_towards(sketch, part, each)
        if slot is None:
            continue
        over = sketch.place(slot.point)
        if abs(over - pivot) < 1.0 or abs(over - place) < 1.0:
            continue
        turn = (over - place) / (over - pivot)
        turn /= abs(turn)
        for point in part.points:
            other = f"{part.id}.{point.id}"
            if other != each:
                goes[other] = place + turn * (point.place - pivot)
    return {name: (at.real, at.imag) for name, at in goes.items()}




def _slot_towards(sketch: Sketch, part: Part, pivot: str) -> PinInSlot | None:
    """The one slot of a part, when it points at the pivot and nothing else of the part is
    held."""
    if part.fixed:
        return None
    others = [f"{part.id}.{point.id}" for point in part.points
              if f"{part.id}.{point.id}" != pivot]
    slots = [slot for slot in sketch.slots if part_of(slot.slot[0]) == part.id]
    guides = [slide for slide in sketch.slides if part_of(slide.along[0]) == part.id]
    if len(slots) != 1 or guides or any(
            pin_of(sketch, ref) is not None or sketch.point(ref).locked for ref in others):
        return None
    start, end = (sketch.place(ref) for ref in slots[0].slot)
    away = ((sketch.place(pivot) - start) / (end - start)).imag if end != start else 1.0
    return slots[0] if abs(away * (end - start)) < _ON_LINE_MM else None
