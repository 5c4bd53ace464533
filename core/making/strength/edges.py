"""How much wood there is from a place of a part to its edge."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely

from core.model import Part
from core.motion.turn import Complexes, Floats
from core.space.outlines import outline_of
from core.space.rays import edges_of, first_hits

#: Directions looked in round a hole, evenly spread.
RAYS = 96
_WAYS = np.exp(2j * np.pi * np.arange(RAYS) / RAYS)


@lru_cache(maxsize=4096)
def _round(part: Part, place: complex) -> Floats:
    """(RAYS,) mm from a drawn place to the first edge of the part; infinite without one."""
    starts, ends = edges_of(outline_of(part))
    return first_hits(np.full(RAYS, place), _WAYS, starts, ends)[0]


def edge_distance(part: Part, place: complex, direction: Complexes) -> Floats:
    """From a drawn place of a part to its edge in a direction, mm, (N,).

    `direction` (N,) complex of any size, drawn pose. The shorter of the two nearest of 96
    rays counts.
    """
    rays = _round(part, place)
    turn = np.nan_to_num(np.angle(direction)) / (2.0 * math.pi) * RAYS
    low = np.floor(turn).astype(np.intp)
    nearest: Floats = np.minimum(rays[low % RAYS], rays[(low + 1) % RAYS])
    return nearest


def reach(part: Part, place: Complexes, way: Complexes) -> Floats:
    """From drawn places (M,) of a part to its first edge along unit vectors (M,), mm; 0 for
    places outside it."""
    outline = outline_of(part)
    starts, ends = edges_of(outline)
    found = first_hits(place, way, starts, ends)[0]
    inside = shapely.contains_xy(outline, place.real, place.imag)
    reached: Floats = np.where(inside & np.isfinite(found), found, 0.0)
    return reached
