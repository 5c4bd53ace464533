"""Mass, centre of mass and moment of inertia of parts.

A part weighs its typed :class:`~core.model.Mass`, else outline × thickness × density, and
the weights fixed to it besides.
Bores and the rods of pins are left out: a bore takes away about what its rod puts back.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from core.errors import SketchError
from core.model import OwnMaterial, Part, Weight
from core.model.stuff import material_of
from core.space.outlines import Rounded, outline_of, solid_of


@dataclass(frozen=True)
class PartMass:
    """Mass of a rigid body.

    `kg`; `centre` complex mm, drawn pose, sketch frame; `inertia_kgmm2` about `centre`.
    """

    kg: float
    centre: complex
    inertia_kgmm2: float


@dataclass(frozen=True)
class _Area:
    """Area mm², centroid complex mm, polar second moment about the centroid mm⁴."""

    area: float
    centroid: complex
    polar: float


@lru_cache(maxsize=4096)
def mass_of(part: Part, own: tuple[OwnMaterial, ...] = ()) -> PartMass:
    """Mass of a part and its weights; `own` are the sketch's own materials.

    Straight bars, discs and plates are exact in closed form; bent bars and free
    polygons are exact for the polygon of their outline, holes left out.

    Raises
    ------
    SketchError
        For a negative or infinite mass or thickness, an unknown material, or an outline
        that no sheet can have.
    """
    bare = _bare(part, own)
    if not part.weights:
        return bare
    for each in part.weights:
        _check(part, each.mass_kg, "weight")
    return together([bare, *map(_weight, part.weights)])


def _weight(weight: Weight) -> PartMass:
    """A weight as a disc of its diameter (textbook: m·d²/8 about its middle)."""
    return PartMass(weight.mass_kg, weight.place,
                    weight.mass_kg * weight.diameter_mm**2 / 8.0)


def _bare(part: Part, own: tuple[OwnMaterial, ...]) -> PartMass:
    """The part without its weights."""
    if part.mass is not None:
        typed = part.mass
        _check(part, typed.mass_kg, "mass")
        _check(part, typed.inertia_kgmm2, "moment of inertia")
        return PartMass(typed.mass_kg, complex(typed.x, typed.y), typed.inertia_kgmm2)
    _check(part, part.thickness_mm, "thickness")
    solid = solid_of(part)
    one = len(solid.pieces) == 1
    figure = _rounded(solid.pieces[0]) if one else _polygon(outline_of(part))
    per_mm2 = material_of(own, part.material).density_kg_m3 * 1e-9 * part.thickness_mm
    return PartMass(per_mm2 * figure.area, figure.centroid, per_mm2 * figure.polar)


def together(masses: list[PartMass]) -> PartMass:
    """Several parts made fast to each other as one body (parallel-axis theorem).

    A body without mass has its centre at the mean of the centres.
    """
    if len(masses) == 1:
        return masses[0]
    kg = sum(each.kg for each in masses)
    if kg > 0.0:
        centre = sum(each.kg * each.centre for each in masses) / kg
    else:
        centre = sum(each.centre for each in masses) / max(len(masses), 1)
    inertia = sum(each.inertia_kgmm2 + each.kg * abs(each.centre - centre) ** 2
                  for each in masses)
    return PartMass(kg, centre, inertia)


def _check(part: Part, value: float, what: str) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise SketchError(f"has a {what} of {value:g}", f"part {part.id!r}",
                          f"give a {what} of zero or more")


def _join(pieces: list[_Area]) -> _Area:
    area = sum(each.area for each in pieces)
    centroid = sum(each.area * each.centroid for each in pieces) / area
    polar = sum(each.polar + each.area * abs(each.centroid - centroid) ** 2
                for each in pieces)
    return _Area(area, centroid, polar)


def _rounded(piece: Rounded) -> _Area:
    """Every place within a radius of a convex figure, piece by piece: the figure, a
    rectangle along each edge, a sector at each corner (textbook area moments)."""
    corners, radius = [complex(z) for z in piece.corners], piece.radius_mm
    if len(corners) == 1:
        return _Area(math.pi * radius**2, corners[0], math.pi / 2 * radius**4)
    pieces = [_ring(piece.corners)] if len(corners) > 2 else []
    edges = [b - a for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    if radius > 0.0:
        for k, (corner, edge) in enumerate(zip(corners, edges, strict=True)):
            long, before = abs(edge), edges[k - 1]
            out = -1j * edge / long
            pieces.append(_Area(long * radius, corner + edge / 2 + out * radius / 2,
                                long * radius * (long**2 + radius**2) / 12))
            turn = cmath.phase(edge / before)
            turn = math.pi if len(corners) == 2 else turn
            pieces.append(_sector(corner, -1j * before / abs(before)
                                  * cmath.exp(0.5j * turn), radius, turn))
    return _join(pieces)


def _sector(corner: complex, middle: complex, radius: float, turn: float) -> _Area:
    """Sector of a disc about `corner`, `turn` wide (rad), its middle along `middle`."""
    area = 0.5 * radius**2 * turn
    if area <= 0.0:
        return _Area(0.0, corner, 0.0)
    off = 4.0 * radius * math.sin(turn / 2) / (3.0 * turn)
    polar = 0.25 * radius**4 * turn - area * off**2
    return _Area(area, corner + off * middle, polar)


def _polygon(shape: shapely.Polygon) -> _Area:
    """Area moments of a polygon with holes."""
    outer = _ring(_places(shape.exterior))
    holes = [_ring(_places(ring)) for ring in shape.interiors]
    return _join([outer, *(_Area(-h.area, h.centroid, -h.polar) for h in holes)])


def _places(ring: shapely.LinearRing) -> NDArray[np.complex128]:
    xy = shapely.get_coordinates(ring)[:-1]
    places: NDArray[np.complex128] = xy[:, 0] + 1j * xy[:, 1]
    return places


def _ring(corners: NDArray[np.complex128]) -> _Area:
    """Area moments of a ring, any orientation, by Green's theorem.

    About a corner first, so that a ring far from the origin loses no digits.
    """
    start = complex(corners[0])
    a = corners - start
    b = np.roll(a, -1)
    cross = (a.conj() * b).imag
    area = 0.5 * float(cross.sum())
    first = complex(((a + b) * cross).sum()) / 6.0
    polar = float((cross * (abs(a) ** 2 + (a.conj() * b).real + abs(b) ** 2)).sum()) / 12.0
    off = first / area
    sign = math.copysign(1.0, area)
    return _Area(sign * area, start + off, sign * (polar - area * abs(off) ** 2))
