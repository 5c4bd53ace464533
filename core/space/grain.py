"""Which way the grain of a part runs."""

from __future__ import annotations

import cmath
import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.model import Part, Polygon
from core.space.outlines import convex_hull, solid_of

#: Strips whose widths differ by less than this share count as equally narrow.
_EVEN = 1e-9


def grain_of(part: Part) -> float:
    """Direction of the grain (of plywood: of the face grain) in the drawn pose, radians in
    (-π/2, π/2]: the part's own, else its longest direction.

    In the pose at a crank angle it is turned by the part's rotation there.

    Raises
    ------
    SketchError
        For a part without grain of its own whose outline cannot be.
    """
    if part.grain_deg is not None:
        return _folded(math.radians(part.grain_deg))
    return longest_direction(part)


@lru_cache(maxsize=4096)
def longest_direction(part: Part) -> float:
    """Direction along the narrowest strip that holds the part, radians in (-π/2, π/2].

    Exact: such a strip lies flush with an edge of the convex hull (rotating calipers), and
    round corners widen every strip alike. Where several are equally narrow the one along
    the edge drawn first is taken, so that the direction turns with the part. A disc has no
    longest direction: then from its first to its second point, else level.

    Raises
    ------
    SketchError
        When the part has no shape.
    """
    solid = solid_of(part)
    if solid.free is not None:
        ring = np.asarray(solid.free.exterior.coords)[:-1]
        corners = ring @ np.array([1.0, 1.0j])
    else:
        corners = np.concatenate([piece.corners for piece in solid.pieces])
    hull = convex_hull(corners)
    if hull.size == 1:
        places = [point.place for point in part.points]
        away = next((z - places[0] for z in places[1:] if z != places[0]), 1.0 + 0.0j)
        return _folded(cmath.phase(away))
    if hull.size == 2:
        return _folded(cmath.phase(complex(hull[1] - hull[0])))
    edges = np.roll(hull, -1) - hull
    along = edges / np.abs(edges)
    widths = np.max(((hull[:, None] - hull) * along.conj()).imag, axis=0)
    even = np.flatnonzero(widths <= widths.min() + _EVEN * float(np.abs(hull - hull[0]).max()))
    order = _drawn(part)[:, None]
    places = np.argmin(np.abs(order - hull), axis=0)
    first = min(even.tolist(), key=lambda k: sorted((
        int(places[k]), int(places[(k + 1) % hull.size]))))
    return _folded(float(np.angle(along[first])))


def _drawn(part: Part) -> NDArray[np.complex128]:
    """The places that shape a part in the order they were drawn: the hull forgets it."""
    if isinstance(part.outline, Polygon):
        x, y = np.array(part.outline.outer).T
        return np.asarray(x + 1j * y)
    return np.array([point.place for point in part.points])


def _folded(angle_rad: float) -> float:
    """The same line's angle in (-π/2, π/2]."""
    turned = math.remainder(angle_rad, math.pi)
    return turned if turned > -math.pi / 2 else turned + math.pi
