"""What a part looks like: its outline as a polygon, and the exact pieces gaps are measured on.

Everything is in the drawn pose, mm, sketch frame. A bar, plate or disc is exactly "every
place within a radius of a convex figure"; measuring on that figure and radius leaves no
error from replacing arcs by chords. Only free polygons are measured as polygons.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from msgspec.structs import replace
from numpy.typing import NDArray

from core.errors import SketchError
from core.model import Bar, Disc, Outline, Part, Plate, Polygon

#: Chords of an outline stay within this of the arc, mm, and are at least so many to a
#: quarter circle.
CHORD_MM, FEWEST_CHORDS = 0.005, 32
#: A polygon core with more corners than this is measured as a free polygon.
MOST_CORNERS = 8


@dataclass(frozen=True)
class Rounded:
    """Every place within `radius_mm` of a convex figure: a place, a segment or a polygon.

    `corners` (K,) complex mm: K = 1 a disc, K = 2 a bar with round ends, K ≥ 3 a convex
    polygon, counter-clockwise.
    """

    corners: NDArray[np.complex128]
    radius_mm: float


@dataclass(frozen=True)
class Solid:
    """What gaps are measured on: the union of `pieces`, or the polygon `free`.

    `centre` (complex mm) and `reach_mm` are a circle around all of it.
    """

    pieces: tuple[Rounded, ...]
    free: shapely.Polygon | None
    centre: complex
    reach_mm: float


def default_outline(part: Part) -> Outline:
    """The outline of a part, the default made explicit.

    Without one: a disc of 10 mm radius for one point, a bar 16 mm wide for two, a plate
    with an 8 mm margin for more.

    Raises
    ------
    SketchError
        When the part has neither points nor outline.
    """
    if part.outline is not None:
        return part.outline
    if not part.points:
        raise SketchError("has neither points nor an outline, so it has no shape",
                          _place(part), "give it a point or an outline")
    if len(part.points) == 1:
        return Disc(radius_mm=10.0)
    return Bar() if len(part.points) == 2 else Plate()


def named_outline(part: Part) -> Outline:
    """The outline with the points it goes by named, so that further points of the part
    do not change it; raises as :func:`default_outline`."""
    shape = default_outline(part)
    names = tuple(point.id for point in part.points)
    if isinstance(shape, Bar) and not shape.through:
        return replace(shape, through=names)
    if isinstance(shape, Plate) and not shape.around:
        return replace(shape, around=names)
    if isinstance(shape, Disc) and not shape.centre and names:
        return replace(shape, centre=names[0])
    return shape


@lru_cache(maxsize=4096)
def outline_of(part: Part) -> shapely.Polygon:
    """The outline of a part as a polygon: drawn pose, mm, sketch frame.

    Holes are those the outline itself has (bores are not cut out). Arcs become chords with
    their corners on the arc.

    Raises
    ------
    SketchError
        For an outline no sheet can have: unknown points, no width, a crossing edge.
    """
    solid = solid_of(part)
    if solid.free is not None:
        return solid.free
    shapes = [_grown(piece.corners, piece.radius_mm) for piece in solid.pieces]
    whole = shapes[0] if len(shapes) == 1 else shapely.union_all(shapes)
    assert isinstance(whole, shapely.Polygon)  # bent bars hang together at their bends
    return whole


@lru_cache(maxsize=4096)
def solid_of(part: Part) -> Solid:
    """The exact pieces of a part for measuring gaps; raises as :func:`outline_of`."""
    shape = default_outline(part)
    if isinstance(shape, Polygon):
        return _free(part, shape)
    if isinstance(shape, Disc):
        named = (shape.centre,) if shape.centre else ()
        radius = _size(part, shape.radius_mm, "radius")
        return solid_union((Rounded(_places(part, named)[:1], radius),))
    if isinstance(shape, Bar):
        radius = _size(part, shape.width_mm, "width") / 2
        line = _places(part, shape.through)
        line = line[np.append(True, line[1:] != line[:-1])]
        if line.size == 1:
            return solid_union((Rounded(line, radius),))
        return solid_union(tuple(Rounded(line[i:i + 2], radius) for i in range(line.size - 1)))
    return _plate(part, shape)


@lru_cache(maxsize=4096)
def disc_solid(centre: complex, radius_mm: float) -> Solid:
    """The solid of a round rod standing on the sheet at `centre` (complex mm)."""
    return solid_union((Rounded(np.array([centre]), radius_mm),))


def hollow(disc: Solid, bore_mm: float) -> Solid:
    """A disc with a round hole about its centre; the disc itself when nothing is left, or
    when a weight stands out over its rim."""
    piece = disc.pieces[0]
    if len(disc.pieces) > 1 or not 0.0 < bore_mm < piece.radius_mm:
        return disc
    rim, bore = (_grown(piece.corners, radius) for radius in (piece.radius_mm, bore_mm))
    ring = shapely.Polygon(rim.exterior, [bore.exterior])
    return Solid((), ring, disc.centre, disc.reach_mm)


def convex_hull(places: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Corners of the convex hull, counter-clockwise, those on a straight edge left out.

    `places` (n,) complex; the result has one corner when all places coincide and two
    when they lie on a line. Method: Andrew's monotone chain (1979).
    """
    ordered = sorted({(float(z.real), float(z.imag)) for z in places})
    if len(ordered) < 3:
        return np.array([complex(x, y) for x, y in ordered])
    chain = _chain(ordered)[:-1] + _chain(ordered[::-1])[:-1]
    return np.array([complex(x, y) for x, y in chain])


def _chain(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """One half of the hull: the places that keep turning left."""
    chain: list[tuple[float, float]] = []
    for x, y in ordered:
        while len(chain) > 1:
            (ax, ay), (bx, by) = chain[-2], chain[-1]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0:
                break
            chain.pop()
        chain.append((x, y))
    return chain


def _plate(part: Part, shape: Plate) -> Solid:
    if not (math.isfinite(shape.margin_mm) and shape.margin_mm >= 0.0):
        raise SketchError(f"has a margin of {shape.margin_mm:g} mm around its points",
                          _place(part), "give the plate a margin of zero or more")
    hull = convex_hull(_places(part, shape.around))
    if shape.margin_mm == 0.0 and hull.size < 3:
        raise SketchError("is a plate without area: its points lie on one line and its"
                          " margin is zero", _place(part), "give the plate a margin")
    if hull.size > MOST_CORNERS:
        return _of_polygon(_grown(hull, shape.margin_mm))
    return solid_union((Rounded(hull, shape.margin_mm),))


def _free(part: Part, shape: Polygon) -> Solid:
    if len(set(shape.outer)) < 3:
        raise SketchError("has an outline of fewer than three corners", _place(part),
                          "draw at least three corners")
    if any(len(set(hole)) < 3 for hole in shape.holes):
        raise SketchError("has a hole of fewer than three corners", _place(part),
                          "draw the hole with at least three corners or remove it")
    polygon = shapely.Polygon(shape.outer, shape.holes)
    if not polygon.is_valid or polygon.area <= 0.0:
        why = shapely.is_valid_reason(polygon)
        raise SketchError(f"has an outline that crosses or touches itself ({why})",
                          _place(part), "move the corners so that no two edges cross")
    return _of_polygon(polygon)


def _of_polygon(polygon: shapely.Polygon) -> Solid:
    """A polygon as a solid; a small convex one is measured exactly as a rounded figure."""
    rim = shapely.get_coordinates(polygon.exterior)[:-1] @ np.array([1.0, 1.0j])
    if not polygon.interiors and rim.size <= MOST_CORNERS:
        hull = convex_hull(rim)
        if math.isclose(_area(hull), polygon.area, rel_tol=1e-12):
            return solid_union((Rounded(hull, 0.0),))
    centre, reach = _circle(rim)
    return Solid((), polygon, centre, reach)


def solid_union(pieces: tuple[Rounded, ...]) -> Solid:
    """The solid that is the union of these pieces."""
    centre, reach = _circle(np.concatenate([piece.corners for piece in pieces]))
    return Solid(pieces, None, centre, reach + max(piece.radius_mm for piece in pieces))


def _circle(places: NDArray[np.complex128]) -> tuple[complex, float]:
    """A circle around places: about the middle of their bounding box."""
    x, y = places.real, places.imag
    centre = complex(x.min() + x.max(), y.min() + y.max()) / 2
    return centre, float(np.abs(places - centre).max())


def _area(ring: NDArray[np.complex128]) -> float:
    return float(np.sum((ring.conj() * np.roll(ring, -1)).imag)) / 2


def figure(corners: NDArray[np.complex128]) -> shapely.Geometry:
    """A convex figure (see :class:`Rounded`) as a point, line or polygon."""
    xy = np.column_stack([corners.real, corners.imag])
    if corners.size == 1:
        return shapely.Point(xy[0])
    return shapely.LineString(xy) if corners.size == 2 else shapely.Polygon(xy)


def quarter_chords(radius_mm: float) -> int:
    """Chords that stand for a quarter of a circle of that radius, mm."""
    half = math.acos(max(0.0, 1.0 - CHORD_MM / radius_mm))
    return max(FEWEST_CHORDS, math.ceil(math.pi / 4.0 / half))


def _grown(corners: NDArray[np.complex128], radius_mm: float) -> shapely.Polygon:
    """A convex figure grown by a radius, as a polygon."""
    core = figure(corners)
    grown = core if radius_mm == 0.0 else core.buffer(
        radius_mm, quad_segs=quarter_chords(radius_mm))
    assert isinstance(grown, shapely.Polygon)
    return grown


def _places(part: Part, named: tuple[str, ...]) -> NDArray[np.complex128]:
    """The named points of a part (all when none is named), complex mm."""
    if not named:
        points = part.points
    else:
        known = {point.id: point for point in part.points}
        missing = next((name for name in named if name not in known), None)
        if missing is not None:
            raise SketchError(f"has an outline through {missing!r}, which is not one of its"
                              " points", _place(part), "name a point of the part")
        points = tuple(known[name] for name in named)
    if not points:
        raise SketchError("has an outline around its points but no points", _place(part),
                          "give the part a point")
    return np.array([point.place for point in points])


def _size(part: Part, value: float, what: str) -> float:
    """A width or radius, checked."""
    if not (math.isfinite(value) and value > 0.0):
        raise SketchError(f"has a {what} of {value:g} mm", _place(part),
                          f"give the outline a {what} above zero")
    return value


def _place(part: Part) -> str:
    return f"part {part.id!r}"
