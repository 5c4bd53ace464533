"""What no counterweight can get past: the proof behind the advice.

Whatever weight is allowed on a part, its mass m, moment m·p and second moment m·|p|² + I lie
in the cone spanned by a few corners: for each size of weight the convex hull of the outline
shrunk by that size (or of the circle a tail may reach), with the mass of the heaviest piece
of the next size; corners with the greatest second moment, and a grid of tangents for the
least. A programme over these corners allows more than can be made, so that its
bound holds for all that can.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from core.model.stuff import material_of
from core.motion.turn import Complexes, Floats
from core.pleasant.ground import carried
from core.pleasant.model import Model, moments_of
from core.pleasant.options import Aim, WeightRules
from core.pleasant.places import LEAST_RADIUS, TAIL_LEAST_MM, TAIL_SHARE, Site, ladder
from core.pleasant.programme import Offer, bound_of
from core.pleasant.stock import heaviest

#: Corners of the figure around the circle a tail may reach.
_ROUND = 24
#: Cells along a figure for the least second moments.
_CELLS = 5
#: Room that outlines of chords leave to the arc, mm, many times over.
_SLACK = 0.05


def proved(model: Model, sites: Sequence[Site], aim: Aim, rules: WeightRules) -> float:
    """A value (N·mm) without friction that no weights allowed by the rules get below."""
    return bound_of(model.base, outer_offers(model, sites, rules), aim, rules.most)


def outer_offers(model: Model, sites: Sequence[Site], rules: WeightRules) -> list[Offer]:
    """Offers, one a part, in which lies whatever weight is allowed there."""
    return [offer for each in sites
            if (offer := _outer_offer(model, each, rules)) is not None]


def _outer_offer(model: Model, where: Site, rules: WeightRules) -> Offer | None:
    spots = _outer(model, where, rules.of(where.part.id))
    if not spots:
        return None
    middle = complex(np.concatenate([spot.places for spot in spots]).mean())
    # Columns of mass 1: place, |p − c|² at its least or its greatest, heaviest mass.
    columns = [column for spot in spots for column in (
        (spot.places, np.abs(spot.places - middle) ** 2 + spot.wide**2 / 8.0, spot.kg),
        _least(spot.places, middle, spot.kg))]
    places = np.concatenate([place for place, _, _ in columns])
    second = np.concatenate([square for _, square, _ in columns])
    caps = np.concatenate([np.full(place.size, kg) for place, _, kg in columns])
    size = max(float(np.abs(places - middle).max()), 1e-9)
    off, heavy = (places - middle) / size, caps / caps.max()
    reach = np.column_stack([heavy, heavy * off.real, heavy * off.imag,
                             heavy * second / size**2])
    keep = corners(np.vstack([reach, np.zeros(4)]), places.size)
    places, caps, second = places[keep], caps[keep], second[keep]
    lanes = np.zeros((places.size, model.base.size))
    for name, carry in model.ground.images(where.part.id):
        rows = moments_of(model.ground, name)
        centre = carried(carry, middle)
        at = np.array([carried(carry, complex(z)) for z in places])
        # |p|² = |p − c|² + 2 Re(c̄ p) − |c|²
        square = second + 2.0 * (centre.conjugate() * at).real - abs(centre) ** 2
        lanes += (rows[0] + at.real[:, None] * rows[1] + at.imag[:, None] * rows[2]
                  + square[:, None] * rows[3])
    share = 1.0 / caps
    return Offer(where.part.id, lanes, share, np.ones(share.size))


@dataclass(frozen=True)
class _Spot:
    """Corners `places` (complex mm) of a convex figure for the middles of weights up to
    `kg` and `wide` mm."""

    places: Complexes
    kg: float
    wide: float


def _least(figure: Complexes, middle: complex, kg: float) -> tuple[Complexes, Floats, float]:
    """Corners of a grid over a figure with the least |p − c|² that tangents of it leave:
    (places, squares, kg). Tangents at the middles of square cells of side h meet at the
    corners, h²/2 below the true value."""
    x0, x1 = float(figure.real.min()), float(figure.real.max())
    y0, y1 = float(figure.imag.min()), float(figure.imag.max())
    side = max(max(x1 - x0, y1 - y0) / _CELLS, 1e-6)
    x = x0 + side * np.arange(math.ceil((x1 - x0) / side) + 1)
    y = y0 + side * np.arange(math.ceil((y1 - y0) / side) + 1)
    grid = (x[:, None] + 1j * y).ravel()
    xy = np.column_stack([figure.real, figure.imag])
    near = shapely.MultiPoint(xy).convex_hull.buffer(1.5 * side)
    grid = grid[shapely.contains(near, shapely.points(grid.real, grid.imag))]
    return grid, np.abs(grid - middle) ** 2 - side**2 / 2.0, kg


def _outer(model: Model, where: Site, rules: WeightRules) -> list[_Spot]:
    """The figures within which weights of one size lie, size by size."""
    sketch, part = model.ground.sketch, where.part
    found: list[_Spot] = []
    sizes = ladder(where.wood)
    for radius, larger in zip(sizes, [*sizes[1:], 1.2 * sizes[-1] if sizes else 0.0],
                              strict=True):
        room = where.wood.buffer(_SLACK - radius - where.margin_mm)
        kg = heaviest(sketch, part, rules, larger)
        if room.is_empty or kg <= 0.0:
            continue
        rough = 0.01 * math.sqrt(room.convex_hull.area) + _SLACK
        xy = shapely.get_coordinates(room.convex_hull.simplify(rough).buffer(
            rough, join_style="mitre"))
        found.append(_Spot(np.asarray(xy[:, 0] + 1j * xy[:, 1], dtype=np.complex128), kg,
                           2.0 * larger))
    if where.reach_mm > 0.0 and where.pivot is not None:
        # The wood of the tail is balance too: its middle lies within the reach.
        grown = where.reach_mm / math.cos(math.pi / _ROUND)
        ring = where.pivot + grown * np.exp(2j * np.pi * np.arange(_ROUND) / _ROUND)
        most = _widest(model, where, rules)
        found.append(_Spot(ring, rules.heaviest_kg + _tail_kg(model, where, most), most))
    return found


def _widest(model: Model, where: Site, rules: WeightRules) -> float:
    """Diameter of the widest piece the rules could lead to, mm."""
    own = model.ground.sketch.materials
    wood = material_of(own, where.part.material).density_kg_m3
    discs = [2.0 * math.sqrt(rules.heaviest_kg / (math.pi * thick * 1e-9 * max(
        material_of(own, name).density_kg_m3 - wood, 100.0))) for name, thick in rules.sheets]
    return max([2.0 * LEAST_RADIUS, 35.0, *discs, *(wide for _, wide in rules.rods),
                *(each.diameter_mm for each in rules.own)])


def _tail_kg(model: Model, where: Site, wide: float) -> float:
    """Wood of the largest tail, kg."""
    part = where.part
    density = material_of(model.ground.sketch.materials, part.material).density_kg_m3 * 1e-9
    bar = max(TAIL_LEAST_MM, TAIL_SHARE * wide)
    area = bar * (where.reach_mm + bar) + math.pi * (wide / 2.0 + where.margin_mm) ** 2
    return density * part.thickness_mm * area


def corners(reach: Floats, count: int) -> NDArray[np.intp]:
    """Indices below `count` of corners of the convex hull of rows; all when it is flat."""
    if count < 5:
        return np.arange(count)
    try:
        found = np.sort(ConvexHull(reach).vertices)
    except QhullError:
        return np.arange(count)
    return found[found < count].astype(np.intp)


