"""A weight to begin with, where somebody adds one by hand."""

from __future__ import annotations

import shapely

from core.model import Sketch, Weight, part_of
from core.pleasant.options import WeightRules
from core.pleasant.stock import pieces
from core.space import outline_of

#: The weight aimed at, kg, and the wood left round it, mm.
_ABOUT_KG, _MARGIN_MM = 0.02, 3.0


def weight_for(sketch: Sketch, part_id: str) -> Weight:
    """A disc of steel as thick as the sheet, about 20 g, let in where a part is widest and
    has no bore; a point of 20 g where there is no room for any.

    Raises
    ------
    SketchError
        For a part without a sound outline, or of an unknown material.
    """
    part = sketch.part(part_id)
    wood = outline_of(part)
    bores = [shapely.Point(*_place(sketch, ref)).buffer(pin.diameter_mm / 2.0)
             for pin in sketch.pins for ref in pin.at if part_of(ref) == part_id]
    taken = shapely.union_all([*bores, *(
        shapely.Point(each.x, each.y).buffer(max(each.diameter_mm / 2.0, 0.1))
        for each in part.weights)])
    free = wood.difference(taken)
    if free.is_empty:
        middle, rim = wood.representative_point(), 0.0
        at = complex(middle.x, middle.y)
    else:
        ends = shapely.get_coordinates(shapely.maximum_inscribed_circle(free, 0.1))
        at, rim = complex(*ends[0].round(1)), float(abs(complex(*(ends[1] - ends[0]))))
    rules = WeightRules(sheets=(("steel", part.thickness_mm),), rods=(), washers=())
    found = pieces(sketch, part, rules, rim - _MARGIN_MM - 0.1, _ABOUT_KG)
    if not found:
        return Weight(mass_kg=_ABOUT_KG, x=at.real, y=at.imag)
    best = found[0]
    return Weight(mass_kg=round(best.kg, 7), x=at.real, y=at.imag,
                  diameter_mm=best.diameter_mm, thickness_mm=best.thickness_mm,
                  made_of=best.made_of)


def _place(sketch: Sketch, ref: str) -> tuple[float, float]:
    at = sketch.place(ref)
    return at.real, at.imag
