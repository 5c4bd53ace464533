"""Where a counterweight may sit: inside a part's outline, or on a tail beyond its pivot."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from core.errors import SketchError
from core.model import Part, Pin, PinInSlot, Sketch, part_of
from core.motion.turn import Complexes, Floats
from core.pleasant.options import WeightRules
from core.space import outline_of

#: The smallest weight worth letting in has this radius, mm.
LEAST_RADIUS = 3.0
#: About so many candidate places inside an outline, and so many directions of a tail.
INSIDE, ROUND = 48, 24
#: A tail is as wide as this share of the weight's diameter, and never narrower, mm.
TAIL_SHARE, TAIL_LEAST_MM = 0.6, 12.0


@dataclass(frozen=True)
class Site:
    """A part that may bear a weight.

    `places` (K,) complex mm, drawn pose: candidates; `radius_mm` (K,) of the largest round
    weight each has room for; `on_tail` (K,) whether it lies on a tail to be added.
    `flush`: nothing may stand out of the sheet; nothing may be wider than `widest_mm`. A tail
    springs from `pivot`, at most `reach_mm` long; `bores` and `wood` are what must be kept
    clear of and stayed within, by `margin_mm`.
    """

    part: Part
    places: Complexes
    radius_mm: Floats
    on_tail: Floats
    bores: tuple[shapely.Geometry, ...]
    wood: shapely.Polygon
    margin_mm: float
    pivot: complex | None
    reach_mm: float
    flush: bool = False
    widest_mm: float = math.inf

    def room(self, place: complex) -> float:
        """Radius of the largest round weight that may sit at a place within the outline,
        mm; negative where none may."""
        at = shapely.Point(place.real, place.imag)
        edge = shapely.distance(at, self.wood.boundary)
        inside = edge if self.wood.contains(at) else -edge
        free = min(inside, *(b.distance(at) for b in self.bores), math.inf) - self.margin_mm
        return float(min(free, self.widest_mm / 2.0))

    def tail_room(self, place: complex) -> float:
        """The same on a tail: only pivot, reach and bores count."""
        if self.pivot is None or abs(place - self.pivot) > self.reach_mm + 1e-9:
            return -1.0
        at = shapely.Point(place.real, place.imag)
        free = min((b.distance(at) for b in self.bores), default=math.inf) - self.margin_mm
        return float(min(free, self.widest_mm / 2.0))


def site(sketch: Sketch, part_id: str, rules: WeightRules) -> Site | None:
    """Where a part may bear a weight; None when nowhere, or when it has no sound outline."""
    part, rules = sketch.part(part_id), rules.of(part_id)
    try:
        wood = outline_of(part)
    except SketchError:
        return None
    bores = bores_of(sketch, part)
    pivot = fixed_pivot(sketch, part_id)
    far = max((abs(p.place - pivot) for p in part.points), default=0.0) if (
        pivot is not None) else 0.0
    reach = (far if rules.reach_mm is None else rules.reach_mm) if pivot is not None else 0.0
    places = _inside(part, wood, rules.margin_mm)
    xy = shapely.points(places.real, places.imag)
    room = shapely.distance(xy, wood.boundary)
    room = np.where(shapely.contains(wood, xy), room, -room)
    for bore in bores:
        room = np.minimum(room, shapely.distance(xy, bore))
    room = room - rules.margin_mm
    on_tail = np.zeros(places.size)
    if reach > 0.0 and pivot is not None:
        ring = _tail(pivot, reach)
        tips = shapely.points(ring.real, ring.imag)
        free = np.full(ring.size, math.inf)
        for bore in bores:
            free = np.minimum(free, shapely.distance(tips, bore))
        outside = ~shapely.contains(wood, tips)
        places = np.append(places, ring[outside])
        room = np.append(room, free[outside] - rules.margin_mm)
        on_tail = np.append(on_tail, np.ones(int(outside.sum())))
    good = room >= LEAST_RADIUS
    if not good.any():
        return None
    return Site(part, places[good], room[good], on_tail[good], bores, wood,
                rules.margin_mm, pivot, reach)


def fixed_pivot(sketch: Sketch, part_id: str) -> complex | None:
    """Where a part is pinned to a fixed part, complex mm; None when it is not."""
    fixed = {part.id for part in sketch.parts if part.fixed}
    for pin in sketch.pins:
        owners = [part_of(ref) for ref in pin.at]
        if part_id in owners and not fixed.isdisjoint(owners):
            return sketch.place(pin.at[owners.index(part_id)])
    return None


def bores_of(sketch: Sketch, part: Part) -> tuple[shapely.Geometry, ...]:
    """What is cut out of a part, or runs along it: bores, slots, guides; mm, drawn pose."""
    found: list[shapely.Geometry] = []
    for pin in sketch.pins:
        found += [_round(sketch, ref, pin) for ref in pin.at if part_of(ref) == part.id]
    for slot in sketch.slots:
        if part_of(slot.point) == part.id:
            found.append(_round(sketch, slot.point, slot))
        if part_of(slot.slot[0]) == part.id:
            found.append(_line(sketch, slot.slot).buffer(slot.diameter_mm / 2))
    for slide in sketch.slides:
        if part_of(slide.along[0]) == part.id:
            found.append(_line(sketch, slide.along).buffer(3.0))
    for hook in [end for spring in sketch.springs for end in (spring.a, spring.b)]:
        if part_of(hook) == part.id:
            place = sketch.place(hook)
            found.append(shapely.Point(place.real, place.imag).buffer(1.5))
    found += [shapely.Point(w.x, w.y).buffer(max(w.diameter_mm, 2.0) / 2)
              for w in part.weights]
    return tuple(found)


def with_tail(site: Site, place: complex, radius_mm: float) -> shapely.Polygon:
    """The outline with a tail out to a weight: a bar from the pivot and a disc round the
    weight with the margin."""
    assert site.pivot is not None
    width = max(TAIL_LEAST_MM, TAIL_SHARE * 2.0 * radius_mm)
    bar = shapely.LineString([_xy(site.pivot), _xy(place)]).buffer(width / 2, quad_segs=6)
    tip = shapely.Point(_xy(place)).buffer(radius_mm + site.margin_mm, quad_segs=8)
    whole = shapely.union_all([site.wood, bar, tip])
    if not isinstance(whole, shapely.Polygon):
        return site.wood
    return whole.simplify(0.05)


def _xy(place: complex) -> tuple[float, float]:
    return place.real, place.imag


def _round(sketch: Sketch, ref: str, pin: Pin | PinInSlot) -> shapely.Geometry:
    place = sketch.place(ref)
    return shapely.Point(_xy(place)).buffer(pin.diameter_mm / 2)


def _line(sketch: Sketch, ends: tuple[str, str]) -> shapely.LineString:
    return shapely.LineString([_xy(sketch.place(ref)) for ref in ends])


def _inside(part: Part, wood: shapely.Polygon, margin: float) -> Complexes:
    """Candidate places within an outline: a grid, places on the lines between points, as
    narrow bars have room there only, and the farthest places of discs of many sizes."""
    x0, y0, x1, y1 = wood.bounds
    pitch = max(math.sqrt(wood.area / INSIDE), 2.0)
    x, y = np.meshgrid(np.arange(x0 + pitch / 2, x1, pitch),
                       np.arange(y0 + pitch / 2, y1, pitch))
    found: list[Complexes] = [np.asarray((x + 1j * y).ravel())]
    spots = [point.place for point in part.points]
    pairs = [(a, b) for k, a in enumerate(spots) for b in spots[k + 1:]][:6]
    along = np.linspace(0.0, 1.0, 13)
    found += [np.asarray(a + (b - a) * along) for a, b in pairs if a != b]
    for radius in ladder(wood):
        rim = wood.buffer(-(radius + margin)).boundary
        found += [_sampled(line) for line in shapely.get_parts(rim)]
    return np.unique(np.concatenate(found))


def _sampled(line: shapely.Geometry) -> Complexes:
    """Places along a line, about 8 mm apart."""
    count = min(24, max(8, math.ceil(shapely.length(line) / 8.0)))
    steps = np.linspace(0.0, 1.0, count, endpoint=False)
    xy = shapely.get_coordinates(
        shapely.line_interpolate_point(line, steps, normalized=True))
    return np.asarray(xy[:, 0] + 1j * xy[:, 1], dtype=np.complex128)


def ladder(wood: shapely.Polygon) -> list[float]:
    """Radii of weights, mm, in steps of a fifth, up to what no outline of that area holds."""
    found, radius = [], LEAST_RADIUS
    most = math.sqrt(wood.area / math.pi)
    while radius <= most:
        found.append(radius)
        radius *= 1.2
    return found


def _tail(pivot: complex, reach: float) -> Complexes:
    """Candidate places of a weight on a tail."""
    round_ = np.exp(2j * np.pi * np.arange(ROUND) / ROUND)
    rings = reach * np.array([0.5, 0.75, 1.0])
    found: Complexes = (pivot + np.multiply.outer(rings, round_)).ravel()
    return found


