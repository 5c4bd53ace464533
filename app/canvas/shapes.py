"""Outlines and grain of the parts as painter paths, built once per part."""

from __future__ import annotations

import cmath
import itertools
import math
import zlib
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from pyqtgraph.functions import arrayToQPath, arrayToQPolygonF
from PySide6.QtGui import QPainterPath, QPolygonF

from app.canvas.wish_lines import WishLines
from core.errors import SketchError
from core.model import Bar, Disc, Part, Plate, Sketch
from core.space import default_outline, outline_of, ring_bores
from core.space.grain import grain_of

_LANE_MM = 2.6
_MOST_LANES = 40
_NEAR_AXIS_MM = 9.0
_ON_WOOD_MM = 0.05


@dataclass(frozen=True)
class Shape:
    """A part's outline in drawn coordinates (mm, y up): a path to paint, the polygon
    it came from, its middle and direction (radians), and where its name
    is written in which length, and from where on the outline each point is reached that
    lies off the wood, where the mark of a finding and a padlock lie; and the direction of its
    grain (radians)."""

    part_id: str
    path: QPainterPath
    polygon: shapely.Polygon
    middle: complex
    along_rad: float
    length_mm: float
    name_at: complex
    name_room_mm: float
    ties: tuple[tuple[complex, complex], ...]
    mark_at: complex
    lock_at: complex
    grain_rad: float

    @cached_property
    def grain(self) -> QPainterPath:
        """Grain lines; made when first painted, which from afar is never."""
        return _grain(self.part_id, self.polygon, self.grain_rad)


class Shapes:
    """Keeps the shapes of the parts, and the `lines` of the wishes, of the last sketches
    seen.

    Parts are frozen, so a part object always has the same shape.
    """

    def __init__(self) -> None:
        self.lines = WishLines()
        self._held: dict[int, tuple[Part, float, Shape]] = {}
        self._bores: tuple[Sketch | None, dict[str, float]] = (None, {})
        self._layers: tuple[Sketch | None, dict[str, tuple[int, int]]] = (None, {})

    def of(self, part: Part) -> Shape:
        """The shape of a part."""
        bore = self._bores[1].get(part.id, 0.0)
        found = self._held.get(id(part))
        if found is None or found[0] is not part or found[1] != bore:
            found = (part, bore, build_shape(part, bore))
            self._held[id(part)] = found
        return found[2]

    def see(self, sketch: Sketch) -> None:
        """Take the blanks of this sketch's ring gears as cut out."""
        if self._bores[0] is not sketch:
            self._bores = (sketch, ring_bores(sketch) if sketch.meshes else {})

    def layers(self, sketch: Sketch) -> dict[str, tuple[int, int]]:
        """Part id → (layer, place in the list), which sorts into the stack."""
        if self._layers[0] is not sketch:
            order = {part.id: (place if part.layer is None else part.layer, place)
                     for place, part in enumerate(sketch.parts)}
            self._layers = (sketch, order)
        return self._layers[1]

    def keep_only(self, sketch: Sketch) -> None:
        """Forget the shapes of parts and wishes that are not in the sketch."""
        self.lines.keep_only(sketch)
        if len(self._held) > 2 * len(sketch.parts) + 32:
            now = {id(part) for part in sketch.parts}
            self._held = {key: held for key, held in self._held.items() if key in now}


def build_shape(part: Part, bore_mm: float = 0.0) -> Shape:
    """The shape of a part, from the outline the gaps are computed with; with `bore_mm`
    a disc that is cut out to that radius."""
    try:
        polygon = outline_of(part)
    except SketchError:
        polygon = shapely.Polygon()  # said as a finding; nothing to draw
    ties = _ties(part, polygon)  # to the centre of a ring gear there is none
    if bore_mm > 0.0 and not polygon.is_empty:
        polygon = _bored(polygon, bore_mm)
    middle, along, length = _axis(part, polygon)
    name_at, room = _name_room(part, polygon, middle, along)
    return Shape(part.id, ring_path(polygon), polygon, middle, along, length, name_at, room,
                 ties, *(_on_wood(polygon, middle + sense * cmath.rect(length / 3.2, along))
                         for sense in (-1, 1)),
                 grain_of(part) if not polygon.is_empty else along)


def _bored(disc: shapely.Polygon, radius_mm: float) -> shapely.Polygon:
    """A disc with a hole about its middle, unless nothing would be left."""
    ring = disc.difference(disc.centroid.buffer(radius_mm, quad_segs=32))
    return ring if ring.geom_type == "Polygon" and not ring.is_empty else disc


def ring_path(polygon: shapely.Polygon) -> QPainterPath:
    """A polygon with its holes as a painter path."""
    path = QPainterPath()
    if polygon.is_empty:
        return path
    for ring in (polygon.exterior, *polygon.interiors):
        path.addPolygon(to_polygon(shapely.get_coordinates(ring)))
        path.closeSubpath()
    return path


def to_polygon(corners: np.ndarray) -> QPolygonF:
    """(N, 2) coordinates as a Qt polygon."""
    polygon: QPolygonF = arrayToQPolygonF(corners[:, 0], corners[:, 1])
    return polygon


def _axis(part: Part, polygon: shapely.Polygon) -> tuple[complex, float, float]:
    """Middle, direction and free length for the name of a part."""
    if polygon.is_empty:
        return 0j, 0.0, 0.0
    places = _shaping(part)
    if len(places) < 2:
        low_x, _, high_x, _ = polygon.bounds
        return _inside(polygon), 0.0, float(high_x - low_x)
    spans = np.diff(places)
    longest = int(np.argmax(np.abs(spans)))
    middle = (places[longest] + places[longest + 1]) / 2
    span = spans[longest]
    along = float(np.angle(span)) if abs(span) else 0.0
    if isinstance(default_outline(part), Bar):
        return complex(middle), along, float(abs(span))
    if isinstance(default_outline(part), Disc):
        return _inside(polygon), 0.0, float(polygon.bounds[2] - polygon.bounds[0])
    return _inside(polygon), along, float(abs(span)) * 0.6


def _shaping(part: Part) -> NDArray[np.complex128]:
    """Places of the points that the outline goes through or round; of all, for outlines
    that name none. A traced point far off gives a bar no other direction."""
    outline = default_outline(part)
    names = (outline.through if isinstance(outline, Bar)
             else outline.around if isinstance(outline, Plate) else ())
    places = {point.id: point.place for point in part.points}
    return np.array([places[name] for name in names or places if name in places])


def _name_room(part: Part, polygon: shapely.Polygon, middle: complex,
               along: float) -> tuple[complex, float]:
    """Middle and length of the longest stretch of a part, on its axis and clear of its
    points: there its name is written."""
    if polygon.is_empty:
        return middle, 0.0
    axis = cmath.exp(1j * along)
    far = axis * math.dist(polygon.bounds[:2], polygon.bounds[2:])
    line = shapely.LineString([((middle - far).real, (middle - far).imag),
                               ((middle + far).real, (middle + far).imag)])
    free: list[tuple[float, float]] = []
    for piece in shapely.get_parts(polygon.intersection(line)):
        if piece.geom_type != "LineString" or piece.is_empty:
            continue
        ends = [((complex(x, y) - middle) / axis).real for x, y in piece.coords]
        local = [(p.place - middle) / axis for p in part.points]
        stops = sorted([min(ends), max(ends), *(z.real for z in local
                        if abs(z.imag) < _NEAR_AXIS_MM and min(ends) < z.real < max(ends))])
        free += itertools.pairwise(stops)
    if not free:
        return middle, 0.0
    low, high = max(free, key=lambda stretch: stretch[1] - stretch[0])
    return middle + axis * (low + high) / 2, high - low


def _on_wood(polygon: shapely.Polygon, place: complex) -> complex:
    """The place, or some place on the wood when it is not."""
    if polygon.is_empty or polygon.covers(shapely.Point(place.real, place.imag)):
        return place
    return _inside(polygon)


def _ties(part: Part, polygon: shapely.Polygon) -> tuple[tuple[complex, complex], ...]:
    """For each point outside the outline: the nearest place of the outline, the point."""
    if polygon.is_empty or part.fixed:
        return ()
    ties = []
    for point in part.points:
        lines = shapely.shortest_line(polygon, shapely.Point(point.x, point.y))
        (x, y), _ = lines.coords
        if math.hypot(point.x - x, point.y - y) > _ON_WOOD_MM:
            ties.append((complex(x, y), point.place))
    return tuple(ties)


def _inside(polygon: shapely.Polygon) -> complex:
    """The centroid, or for a shape that is hollow there some place within."""
    middle = polygon.centroid
    if not polygon.contains(middle):
        middle = polygon.representative_point()
    return complex(middle.x, middle.y)


def _grain(part_id: str, polygon: shapely.Polygon, along: float) -> QPainterPath:
    """Irregular, slightly bent lines in the direction of the grain, inside the outline.

    Each line keeps its bends while the part is
    stretched; the same name gives the same grain.
    """
    if polygon.is_empty:
        return QPainterPath()
    chance = np.random.default_rng(zlib.crc32(part_id.encode()))
    lanes = np.arange(-_MOST_LANES, _MOST_LANES + 1) * _LANE_MM
    lanes = lanes + chance.normal(0, 0.5, lanes.size)
    bends = np.cumsum(chance.normal(0, 0.22, (lanes.size, 7)), axis=1)
    corners = shapely.get_coordinates(polygon.exterior)
    local = (corners[:, 0] + 1j * corners[:, 1]) * np.exp(-1j * along)
    middle = (local.imag.min() + local.imag.max()) / 2
    used = np.abs(lanes) < (local.imag.max() - local.imag.min()) / 2
    xs = np.linspace(local.real.min() - 1, local.real.max() + 1, bends.shape[1])
    world = (xs + 1j * (middle + lanes[used, None] + bends[used])) * np.exp(1j * along)
    lines = shapely.linestrings(np.stack([world.real, world.imag], axis=-1))
    inside = shapely.get_parts(shapely.intersection(shapely.multilinestrings(lines), polygon))
    inside = inside[shapely.get_type_id(inside) == shapely.GeometryType.LINESTRING]
    at, piece = shapely.get_coordinates(inside, return_index=True)
    path: QPainterPath = arrayToQPath(at[:, 0], at[:, 1], np.append(np.diff(piece) == 0, False))
    return path
