"""The room weights take: on a part, and beyond its outline."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely

from core.model import Part, Weight
from core.space.outlines import Rounded, Solid, outline_of, solid_of, solid_union

#: A weight whose rim keeps this far inside of the outline, mm, or less beyond it, changes
#: nothing that could be measured.
_HARDLY_MM = 1e-6


def disc_of(weight: Weight) -> shapely.Polygon:
    """The disc a weight covers (drawn pose, mm), its corners on the rim; a point without
    area when its size is not known."""
    return shapely.Point(weight.x, weight.y).buffer(max(weight.diameter_mm, 0.0) / 2.0, 64)


@lru_cache(maxsize=4096)
def room_of(part: Part) -> Solid:
    """What gaps are measured on: the part, and the discs of its weights that stand out over
    its outline. Raises SketchError as :func:`core.space.outlines.solid_of`."""
    bare = solid_of(part)
    if not part.weights:
        return bare
    wood = outline_of(part)
    shapely.prepare(wood)
    out = [weight for weight in part.weights if _stands_out(wood, weight)]
    if not out:
        return bare
    if bare.free is None:
        return solid_union((*bare.pieces, *(
            Rounded(np.array([weight.place]), weight.diameter_mm / 2.0) for weight in out)))
    whole = shapely.union_all([bare.free, *map(disc_of, out)])
    if not isinstance(whole, shapely.Polygon):  # a weight with no wood to hold it
        whole = whole.convex_hull
    reach = max([bare.reach_mm, *(abs(weight.place - bare.centre) + weight.diameter_mm / 2.0
                                  for weight in out)])
    return Solid((), whole, bare.centre, reach)


def _stands_out(wood: shapely.Polygon, weight: Weight) -> bool:
    """Whether the disc of a weight reaches over the outline."""
    radius = weight.diameter_mm / 2.0
    if not (math.isfinite(radius) and radius > 0.0):
        return False
    middle = shapely.Point(weight.x, weight.y)
    inside = wood.contains(middle)
    return not inside or wood.exterior.distance(middle) < radius - _HARDLY_MM


def nearest_inside(part: Part, place: complex, radius_mm: float) -> complex:
    """The place nearest to `place` (complex mm, drawn pose) at which a disc of that radius
    lies within the outline of a part, holes apart; where there is no room for it, the
    nearest place of the part. Raises SketchError as :func:`outline_of`."""
    wood = shapely.Polygon(outline_of(part).exterior)
    room = wood.buffer(-max(radius_mm, 0.0), 32)
    room = room if not room.is_empty else wood
    there = shapely.Point(place.real, place.imag)
    if room.contains(there):
        return place
    x, y = shapely.get_coordinates(shapely.shortest_line(room, there))[0]
    return complex(x, y)
