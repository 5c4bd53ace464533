"""How much wood there is round a hole: from its middle to the edge, every way."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely

from core.model import Part
from core.motion.turn import Complexes, Floats
from core.space.outlines import outline_of

#: Directions looked in, evenly spread.
RAYS = 96
_WAYS = np.exp(2j * np.pi * np.arange(RAYS) / RAYS)


@lru_cache(maxsize=4096)
def _edges(part: Part, place: complex) -> Floats:
    """(RAYS,) mm from a drawn place to the first edge of the part; infinite where a ray
    meets none."""
    outline = outline_of(part)
    starts, ends = [], []
    for ring in (outline.exterior, *outline.interiors):
        xy = shapely.get_coordinates(ring)
        rim = xy[:, 0] + 1j * xy[:, 1] - place
        starts.append(rim[:-1])
        ends.append(rim[1:])
    a, side = np.concatenate(starts), np.concatenate(ends) - np.concatenate(starts)
    way = _WAYS[:, None]
    # way · t = a + side · s, by cross products
    across = (way.conj() * side).imag
    with np.errstate(divide="ignore", invalid="ignore"):
        s = -(way.conj() * a).imag / across
        t = (a.conj() * side).imag / (way.conj() * side).imag
    hit = (np.abs(across) > 1e-12) & (s >= -1e-9) & (s <= 1.0 + 1e-9) & (t > 0.0)
    found: Floats = np.where(hit, t, np.inf).min(axis=1)
    return found


def edge_distance(part: Part, place: complex, direction: Complexes) -> Floats:
    """From a drawn place of a part to its edge in a direction, mm, (N,).

    `direction` (N,) complex of any size, drawn pose. Of the two nearest rays out of 96 the
    shorter counts, so that what is found is not more than there is but for the last degrees.
    """
    rays = _edges(part, place)
    turn = np.nan_to_num(np.angle(direction)) / (2.0 * math.pi) * RAYS
    low = np.floor(turn).astype(np.intp)
    nearest: Floats = np.minimum(rays[low % RAYS], rays[(low + 1) % RAYS])
    return nearest


def least_edge(part: Part, place: complex) -> float:
    """The least of those distances, mm."""
    return float(_edges(part, place).min())


def reach(part: Part, place: complex, way: complex) -> float:
    """From a drawn place of a part to its first edge in one direction, mm; 0 outside it."""
    outline = outline_of(part)
    if not outline.contains(shapely.Point(place.real, place.imag)):
        return 0.0
    minx, miny, maxx, maxy = outline.bounds
    far = place + way / abs(way) * (maxx - minx + maxy - miny)
    ray = shapely.LineString([(place.real, place.imag), (far.real, far.imag)])
    cut = ray.intersection(outline.boundary)
    return float(shapely.Point(place.real, place.imag).distance(cut))
