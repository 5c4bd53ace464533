"""Findings about holes: a pin or a slot that leaves the wood of its own part."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from core.errors import SketchError
from core.findings.finding import Finding
from core.model import Sketch, split_ref
from core.space import outline_of
from core.units import show_length

#: What the polygons of round ends are off by, at most, mm.
_CHORD_MM = 0.02


def wood_findings(sketch: Sketch) -> Iterator[Finding]:
    """Where a hole lies off its part's outline, or breaks through its edge.

    The hole of a pin is looked at in every part on it, a slot at both ends. A hole whose
    middle is off the wood is a fault, one that breaks the edge a warning.
    """
    woods: dict[str, shapely.Polygon] = {}
    for part in sketch.parts:
        try:
            wood = outline_of(part)
        except SketchError:
            continue  # told of by the checks of the sketch
        if not wood.is_empty:
            woods[part.id] = shapely.Polygon(wood.exterior)  # the hole may be drawn in it
    holes = [hole for hole in _holes(sketch) if hole[1] in woods]
    if not holes:
        return
    around = np.array([woods[part] for _, part, _, _ in holes])
    middles = shapely.points([[place.real, place.imag] for *_, place, _ in holes])
    off = shapely.distance(around, middles)
    room = np.where(off > 0.0, -off, shapely.distance(shapely.boundary(around), middles))
    bare = np.array([radius for *_, radius in holes]) - room
    worst: dict[tuple[str, str], int] = {}
    for row in np.flatnonzero(bare > _CHORD_MM).tolist():
        where = holes[row][:2]
        if bare[row] >= bare[worst.get(where, row)]:
            worst[where] = row
    for (joint, name), row in worst.items():
        yield _told(sketch, joint, name, float(off[row]), float(bare[row]))


def _holes(sketch: Sketch) -> Iterator[tuple[str, str, complex, float]]:
    """(joint, part, middle in the part's drawn pose, radius) of every hole, mm."""
    cuts = [(pin.id, pin.at, pin.diameter_mm) for pin in sketch.pins]
    cuts += [(slot.id, slot.slot, slot.diameter_mm) for slot in sketch.slots]
    for joint, refs, diameter in cuts:
        for ref in refs:
            point = sketch.point(ref)
            yield joint, split_ref(ref)[0], point.place, diameter / 2


def _told(sketch: Sketch, joint: str, part: str, off_mm: float, bare_mm: float) -> Finding:
    """The finding about one hole; `bare_mm` of it are not in the wood."""
    hole = joint if any(slot.id == joint for slot in sketch.slots) else f"The hole of {joint}"
    mend = f"Move it inwards, or give {part} a shape that reaches round it."
    if off_mm > _CHORD_MM:
        return Finding("off-the-wood", "fault",
                       f"{hole} lies {show_length(off_mm, sketch.units)} off the wood of"
                       f" {part}.", (part,), None, off_mm, 0.0, "mm", mend, (), (joint,),
                       "the outline as it is drawn")
    return Finding("breaks-the-edge", "warning",
                   f"{hole} breaks through the edge of {part} by"
                   f" {show_length(bare_mm, sketch.units)}.", (part,), None, bare_mm, 0.0,
                   "mm", mend, (), (joint,), "the outline as it is drawn")
