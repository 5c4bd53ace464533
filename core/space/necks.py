"""Where a part is narrow, and how the grain runs there.

A neck is a straight cut through wood: between two edges that face each other where they
come nearest, or through the middle of a bore where least is left of the part. Wood breaks
where its fibres run out over the edges of a neck within a few times its width: short grain.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from core.model import Part, Sketch, split_ref
from core.space.grain import grain_of
from core.space.outlines import outline_of
from core.space.rays import Complexes, Floats, edges_of, first_hits

#: Fibres that run out within so many times the width of a neck are short grain; grain
#: further off a neck's axis than this range is off it: common practice, no source.
SHORT_TIMES = 3.0
OFF_AXIS_RAD = (math.radians(10.0), math.radians(15.0))

_SAMPLES = 240
_FACING = 0.7  # the cosine of how far two edges may be from facing each other
_RISE = 1.1  # a neck is narrower than what lies between it and the next by this factor
_SLENDER = 1.5  # a part is narrow where it is longer than wide by this factor
_FIBRES = 9
_TURNS = 180
#: Arcs have so much simpler corners here, and so many chords to a quarter of a bore.
_COARSE_MM, _QUARTER = 0.01, 12


@dataclass(frozen=True)
class Neck:
    """A narrow place of a part, in its drawn pose.

    Attributes
    ----------
    place : middle of the cut, complex mm.
    width_mm : wood on the cut; a bore in it is taken off.
    bore_mm : diameter of the bore in the cut, 0 for none.
    along_rad : direction of the neck, square to the cut, in (-π/2, π/2].
    to_grain_rad : angle between the neck and the grain, 0 (along it) to π/2.
    fibre_mm : length of a fibre through the neck, from edge to edge: the median of those
        that cross the cut.
    """

    place: complex
    width_mm: float
    bore_mm: float
    along_rad: float
    to_grain_rad: float
    fibre_mm: float

    @property
    def short_grain(self) -> bool:
        """The fibres run out over its edges within `SHORT_TIMES` the width. Where the grain
        runs along the neck they do not, however short the part is."""
        return (self.to_grain_rad > OFF_AXIS_RAD[0]
                and self.fibre_mm < SHORT_TIMES * self.width_mm)


def bores_of(sketch: Sketch) -> dict[str, tuple[tuple[complex, float], ...]]:
    """Part id → (middle in the drawn pose, diameter mm) of the round holes of its pins."""
    found: dict[str, list[tuple[complex, float]]] = {}
    for pin in sketch.pins:
        for ref in pin.at if pin.hinge is None else ():
            hole = (sketch.point(ref).place, pin.diameter_mm)
            found.setdefault(split_ref(ref)[0], []).append(hole)
    return {part: tuple(holes) for part, holes in found.items()}


@lru_cache(maxsize=2048)
def necks(part: Part, bores: tuple[tuple[complex, float], ...] = ()) -> tuple[Neck, ...]:
    """The necks of a part, the narrowest first.

    `bores` are (middle in the drawn pose, diameter mm), see :func:`bores_of`; one that
    leaves the part's edge is cut as far as it reaches. A part with neither narrow place nor
    bore, such as a plain disc, has none.

    Raises
    ------
    SketchError
        When the part has no shape.
    """
    outline = outline_of(part).simplify(_COARSE_MM)
    holes = [shapely.Point(at.real, at.imag).buffer(d / 2, quad_segs=_QUARTER)
             for at, d in bores if d > 0.0]
    wood = outline.difference(shapely.union_all(holes)) if holes else outline
    if not isinstance(wood, shapely.Polygon):
        wood = max(shapely.get_parts(wood), key=lambda piece: piece.area, default=outline)
    if wood.is_empty:
        return ()
    cuts = [*_bore_cuts(wood, bores), *_facing_cuts(part, outline, holes)]
    starts, ends = edges_of(wood)
    grain = grain_of(part)
    found = [_neck(cut, grain, wood, starts, ends) for cut in cuts
             if _is_narrow(cut, starts)]
    return tuple(sorted(found, key=lambda neck: neck.width_mm))


@dataclass(frozen=True)
class _Cut:
    """A straight cut from edge to edge; `bore` (diameter mm) lies within it at `at`."""

    one: complex
    other: complex
    at: complex
    bore: float = 0.0


def _is_narrow(cut: _Cut, corners: Complexes) -> bool:
    """Whether the part reaches further along the neck than the cut is wide: not so in the
    middle of a disc or a plate."""
    across = cut.other - cut.one
    along = (corners * (1j * across / abs(across)).conjugate()).real
    return float(np.ptp(along)) >= _SLENDER * abs(across)


def _neck(cut: _Cut, grain: float, wood: shapely.Polygon, starts: Complexes,
          ends: Complexes) -> Neck:
    across = (cut.other - cut.one) / abs(cut.other - cut.one)
    along = math.remainder(math.atan2(across.real, -across.imag), math.pi)
    along = along if along > -math.pi / 2 else along + math.pi
    angle = abs(math.remainder(along - grain, math.pi))
    shares = (np.arange(_FIBRES) + 0.5) / _FIBRES
    spots: Complexes = np.asarray(cut.one + shares * (cut.other - cut.one))
    inside = shapely.contains_xy(wood, spots.real, spots.imag)
    spots = spots[inside] if inside.any() else np.array([(cut.one + cut.other) / 2])
    fibre = complex(math.cos(grain), math.sin(grain))
    ways = [first_hits(spots, np.full(spots.size, way, dtype=complex), starts, ends)[0]
            for way in (fibre, -fibre)]
    width = abs(cut.other - cut.one)
    if cut.bore:
        width = max(width - cut.bore, 0.0)
    return Neck(cut.at, width, cut.bore, along, angle, float(np.median(ways[0] + ways[1])))


def _bore_cuts(wood: shapely.Polygon,
               bores: tuple[tuple[complex, float], ...]) -> Iterator[_Cut]:
    """Through each bore the cut that meets the least wood."""
    starts, ends = edges_of(wood)
    turns = np.exp(1j * np.pi * np.arange(_TURNS) / _TURNS)
    for at, diameter in bores:
        radius = diameter / 2
        if not shapely.contains_xy(wood.exterior.convex_hull, at.real, at.imag):
            continue
        rims = [at + 1.001 * radius * way for way in (turns, -turns)]
        left = [np.where(shapely.contains_xy(wood, rim.real, rim.imag),
                         first_hits(rim, way, starts, ends)[0] + 0.001 * radius, 0.0)
                for rim, way in zip(rims, (turns, -turns), strict=True)]
        best = _middle_of_least(left[0] + left[1])
        way = turns[best]
        if not np.isfinite(left[0][best] + left[1][best]):
            continue
        yield _Cut(complex(at - (radius + left[1][best]) * way),
                   complex(at + (radius + left[0][best]) * way), at, diameter)


def _middle_of_least(wood: Floats) -> int:
    """The middle of the run of (nearly) least values on a closed scale: round the eye of a
    lever many cuts meet as little wood."""
    least = int(np.argmin(wood))
    even = wood <= wood[least] * 1.005 + 1e-6
    if even.all():
        return least
    up = int(np.argmin(np.roll(even, -least)))
    down = int(np.argmin(np.roll(even, -least - 1)[::-1]))
    return (least + (up - down) // 2) % wood.size


def _facing_cuts(part: Part, outline: shapely.Polygon,
                 holes: list[shapely.Polygon]) -> Iterator[_Cut]:
    """Between edges that face each other, where they come nearest, clear of the bores."""
    cuts: list[_Cut] = []
    for ring in shapely.get_rings(orient(outline)):
        spots, inward = _sampled(ring)
        starts, ends = edges_of(outline)
        width, edge = first_hits(spots + 1e-6 * inward, inward, starts, ends)
        met = ends[edge] - starts[edge]
        facing = (edge >= 0) & ((met * 1j / np.abs(met) * inward.conj()).real < -_FACING)
        for row in _narrowest(width):
            if not facing[row]:
                continue
            one, over = complex(spots[row]), complex(width[row] * inward[row])
            cuts.append(_Cut(one, one + over, one + over / 2))
    kept: list[_Cut] = []
    for cut in sorted(cuts, key=lambda each: abs(each.other - each.one)):
        if any(_same_stretch(cut, other, outline) for other in kept):
            continue
        line = _line(cut.one, cut.other)
        if not any(line.intersects(hole) for hole in holes) and (
                _parts_something(part, outline, cut)):
            kept.append(cut)
            yield cut


def _same_stretch(cut: _Cut, other: _Cut, outline: shapely.Polygon) -> bool:
    """Whether the part is about as narrow all the way from one cut to the other."""
    width = abs(other.other - other.one)
    if abs(cut.at - other.at) < width / 2:
        return True
    way = (other.other - other.one) / width
    if abs(((cut.other - cut.one) / abs(cut.other - cut.one) * way.conjugate()).real) < 0.99:
        return False
    spots: Complexes = np.asarray(other.at + np.linspace(0, 1, 9)[1:] * (cut.at - other.at))
    if not shapely.contains_xy(outline, spots.real, spots.imag).all():
        return False
    starts, ends = edges_of(outline)
    across = sum(first_hits(spots, np.full(spots.size, sense * way), starts, ends)[0]
                 for sense in (1, -1))
    return bool(np.max(across) < _RISE * width)


def _sampled(ring: shapely.LinearRing) -> tuple[Complexes, Complexes]:
    """Places evenly along a ring, in order, and the direction inwards at each."""
    far = (np.arange(_SAMPLES) + 0.5) * ring.length / _SAMPLES
    corners = shapely.get_coordinates(ring) @ np.array([1.0, 1.0j])
    steps = np.diff(corners)
    ends = np.cumsum(np.abs(steps))
    edge = np.minimum(np.searchsorted(ends, far), steps.size - 1)
    along = steps[edge] / np.abs(steps[edge])
    return corners[edge] + (far - ends[edge] + np.abs(steps[edge])) * along, 1j * along


def _narrowest(width: Floats) -> Iterator[int]:
    """Rows, along a closed ring, of the middles of its narrow stretches: with a rise by
    the factor `_RISE` between any two of them."""
    if not np.isfinite(width).any():
        return
    first = int(np.argmax(width))
    ring = np.roll(width, -first)
    low = high = 0  # where the ring was last lowest and highest, as it falls and rises by turns
    falling = False
    for row in range(1, ring.size + 1):
        now = ring[row % ring.size]
        if falling:
            low = row if now < ring[low] else low
            if now >= _RISE * ring[low]:
                yield (_plateau_middle(ring, low) + first) % ring.size
                falling, high = False, row % ring.size
        else:
            high = row % ring.size if now > ring[high] else high
            if now * _RISE <= ring[high]:
                falling, low = True, row


def _plateau_middle(ring: Floats, low: int) -> int:
    """The middle of the stretch about `low` that is hardly wider."""
    even = np.flatnonzero(ring > 1.01 * ring[low])
    after = np.searchsorted(even, low)
    end = int(even[after]) if after < even.size else ring.size
    begin = int(even[after - 1]) if after > 0 else -1
    return (begin + end) // 2


def _parts_something(part: Part, outline: shapely.Polygon, cut: _Cut) -> bool:
    """Whether something hangs on both sides of a cut: a point of the part, or wood wider
    than the cut. Nothing does at a pointed tip. A cut through one limb of a ring counts."""
    width = abs(cut.other - cut.one)
    way = (cut.other - cut.one) / width
    pieces = shapely.get_parts(shapely.difference(
        outline, _line(cut.one - 1e-3 * way, cut.other + 1e-3 * way).buffer(1e-4)))
    if len(pieces) < 2:
        return True
    for side in (1j, -1j):
        probe = cut.at + side * way * min(0.05 * width, 0.1)
        piece = min(pieces, key=lambda each: each.distance(shapely.Point(probe.real,
                                                                         probe.imag)))
        beyond = any(((z.place - cut.at) * (side * way).conjugate()).real > width / 4
                     and piece.distance(shapely.Point(z.x, z.y)) < 1e-3 for z in part.points)
        if not beyond and not _holds_wider(piece, width):
            return False
    return True


def _holds_wider(piece: shapely.Polygon, width: float) -> bool:
    """Whether a disc of more than that diameter lies in a piece."""
    return not piece.buffer(-_RISE * width / 2).is_empty


def _line(one: complex, other: complex) -> shapely.LineString:
    return shapely.LineString([(one.real, one.imag), (other.real, other.imag)])
