"""The edges of bodies as places with normals, and the nearest edge of a body from a place.

Pinch places are sought with these: something soft rests on an edge of one body, and the edge
of another comes towards it. Round edges and corners are sampled a finger's width or less
apart; distances from places to bodies are exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from core.space.outlines import Rounded, Solid

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: Places on an edge lie no farther apart than this, mm, and around a corner or an arc no
#: farther than this in direction.
EDGE_MM, EDGE_RAD = 3.0, math.radians(30.0)
#: Round edges of free outlines are many short ones; of more than so many places some are
#: passed over, evenly.
MOST_PLACES = 400
#: Numbers worked on at once: small enough for the processor's cache.
_CHUNK = 1 << 15
#: Places of which the edges near them are sorted out together, and rounding there, mm.
_TOGETHER, _HAIR_MM = 32, 1e-9


@dataclass(frozen=True)
class Rim:
    """Places along the edge of a body and the outward normals there, drawn pose.

    `place` (K,) complex mm, `normal` (K,) complex of length one. A sharp corner is there
    several times, with the directions between the normals of its two sides.
    """

    place: Complexes
    normal: Complexes


@lru_cache(maxsize=2048)
def _rim_of(key: SolidKey) -> Rim:
    solid = key.solid
    if solid.free is not None:
        polygon = shapely.geometry.polygon.orient(solid.free)  # holes clockwise
        rings = [shapely.get_coordinates(ring)[:-1] @ np.array([1.0, 1.0j])
                 for ring in (polygon.exterior, *polygon.interiors)]
        sides = [_walk(ring, 0.0) for ring in rings]
    else:
        sides = [_walk(piece.corners, piece.radius_mm) for piece in solid.pieces]
    place = np.concatenate([side[0] for side in sides])
    normal = np.concatenate([side[1] for side in sides])
    if len(solid.pieces) > 1:  # a bent bar: what lies inside its other straights is no edge
        bare = signed_distances_from(solid, place)[0] > -1e-6
        place, normal = place[bare], normal[bare]
    if place.size > MOST_PLACES:
        some = np.linspace(0, place.size - 1, MOST_PLACES).astype(np.intp)
        place, normal = place[some], normal[some]
    return Rim(place, normal)


def around(solid: Solid, at: Complexes, within_mm: float) -> NDArray[np.bool_]:
    """Which places are near a body, those farther away for certain left out."""
    if solid.free is None:
        x, y = at.real - solid.centre.real, at.imag - solid.centre.imag
        return np.asarray(x * x + y * y < (solid.reach_mm + within_mm) ** 2)
    left, low, right, high = solid.free.bounds
    return np.asarray((at.real > left - within_mm) & (at.real < right + within_mm)
                      & (at.imag > low - within_mm) & (at.imag < high + within_mm))


class SolidKey:
    """A solid by identity: it holds arrays, which cannot be compared."""

    def __init__(self, solid: Solid) -> None:
        self.solid = solid

    def __hash__(self) -> int:
        return id(self.solid)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, SolidKey) and other.solid is self.solid


def rim_of(solid: Solid) -> Rim:
    """The edge of a body. Holes of a free outline have edges too; bores have none."""
    return _rim_of(SolidKey(solid))


def _walk(corners: Complexes, radius_mm: float) -> tuple[Complexes, Complexes]:
    """Places and outward normals along a ring of corners (counter-clockwise; a hole
    clockwise) grown by a radius: its sides, and round its corners where they stand out."""
    if corners.size == 1:
        normal = _fan(1.0 + 0j, 2.0 * math.pi, radius_mm)[:-1]
        return corners[0] + radius_mm * normal, normal
    step = np.roll(corners, -1) - corners
    keep = np.abs(step) > 0.0
    corners, step = corners[keep], step[keep]
    length = np.abs(step)
    out = -1j * step / length
    places, normals = [], []
    for i in range(corners.size):
        count = max(1, math.ceil(length[i] / EDGE_MM))
        along = (np.arange(count) + 0.5) / count  # the ends belong to the corners
        places.append(corners[i] + step[i] * along + radius_mm * out[i])
        normals.append(np.full(count, out[i]))
        turn = float(np.angle(out[i] / out[i - 1]))
        if corners.size == 2:
            turn = math.pi
        # Along a curve drawn as short sides, their middles say enough.
        if turn > (0.0 if radius_mm > 0.0 else EDGE_RAD / 2):
            fan = _fan(out[i - 1], turn, radius_mm)
            places.append(corners[i] + radius_mm * fan)
            normals.append(fan)
    return np.concatenate(places), np.concatenate(normals)


def _fan(first: complex, turn_rad: float, radius_mm: float) -> Complexes:
    """Unit directions from `first` on through an angle, close enough on that radius."""
    count = max(1, math.ceil(turn_rad / EDGE_RAD), math.ceil(radius_mm * turn_rad / EDGE_MM))
    return np.asarray(first * np.exp(1j * np.linspace(0.0, turn_rad, count + 1)))


def signed_distances_from(solid: Solid, at: Complexes) -> tuple[Floats, Complexes]:
    """How far places are from a body, and which way is away from it.

    Parameters
    ----------
    at : (M,) complex mm, the body's drawn pose.

    Returns
    -------
    distance_mm : (M,), negative inside the body.
    away : (M,) complex of length one (0 on the very edge): from the nearest place of the
        body to the place asked about; of no meaning inside.
    """
    if solid.free is not None:
        return _from_free(solid, at)
    x, y = at.real.copy(), at.imag.copy()
    found = _from_piece(solid.pieces[0], x, y)
    best = found[0]
    for piece in solid.pieces[1:]:
        more = _from_piece(piece, x, y)
        nearer = more[0] < best
        for old, new in zip(found, more, strict=True):
            np.copyto(old, new, where=nearer)
    return best, _unit(*found[1:])


def _from_piece(piece: Rounded, x: Floats, y: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Signed distance from a piece; the way to the places from the nearest place of the rim
    of its core, and how far that is."""
    corners = piece.corners
    if corners.size == 1:
        off_x, off_y = x - corners[0].real, y - corners[0].imag
        square = off_x * off_x + off_y * off_y
        inside = None
    else:
        ends = np.roll(corners, -1)
        first, *others = zip(corners[:1] if corners.size == 2 else corners, ends, strict=False)
        square, off_x, off_y, inside = _from_edge(*first, x, y)
        for edge in others:
            more = _from_edge(*edge, x, y)
            inside &= more[3]
            nearer = more[0] < square
            np.copyto(square, more[0], where=nearer)
            np.copyto(off_x, more[1], where=nearer)
            np.copyto(off_y, more[2], where=nearer)
    core = np.sqrt(square)
    distance = core - piece.radius_mm
    if inside is not None and corners.size > 2:
        np.subtract(-piece.radius_mm, core, out=distance, where=inside)
    return distance, off_x, off_y, core


def _from_edge(start: complex, end: complex, x: Floats,
               y: Floats) -> tuple[Floats, Floats, Floats, NDArray[np.bool_]]:
    """Square of the distance from an edge, the way from its nearest place, and who lies to
    its left."""
    length = abs(end - start)
    ahead = (end - start) / length
    x, y = x - start.real, y - start.imag
    beside = y * ahead.real - x * ahead.imag
    beyond = x * ahead.real + y * ahead.imag
    beyond -= np.clip(beyond, 0.0, length)
    return (beyond * beyond + beside * beside,
            beyond * ahead.real - beside * ahead.imag,
            beyond * ahead.imag + beside * ahead.real, beside >= 0.0)


def _unit(x: Floats, y: Floats, size: Floats) -> Complexes:
    """The same of length one, zero where it has none."""
    scale = np.divide(1.0, size, out=np.zeros_like(size), where=size > 0.0)
    unit = np.empty(x.shape, dtype=np.complex128)
    np.multiply(x, scale, out=unit.real)
    np.multiply(y, scale, out=unit.imag)
    return unit


@lru_cache(maxsize=512)
def _edges_of(key: SolidKey) -> tuple[Complexes, Complexes, Floats]:
    """Starts, directions and lengths of all edges of a free outline."""
    assert key.solid.free is not None
    polygon = key.solid.free
    rings = [shapely.get_coordinates(ring) @ np.array([1.0, 1.0j])
             for ring in (polygon.exterior, *polygon.interiors)]
    start = np.concatenate([ring[:-1] for ring in rings])
    step = np.concatenate([np.diff(ring) for ring in rings])
    length = np.abs(step)
    start, step, length = start[length > 0], step[length > 0], length[length > 0]
    return start, step / length, length


def _from_free(solid: Solid, at: Complexes) -> tuple[Floats, Complexes]:
    """As :func:`signed_distances_from` for a free outline.

    Places that follow each other mostly lie near each other: of so many together only the
    edges are looked at that are the nearest of none but might be of some, by how far the
    places lie from their middle.
    """
    if at.size == 0:
        return np.empty(0), np.empty(0, dtype=np.complex128)
    start, ahead, length = _edges_of(SolidKey(solid))
    groups = -(-at.size // _TOGETHER)
    spare = groups * _TOGETHER - at.size
    some = np.append(at, np.full(spare, at[-1])).reshape(groups, _TOGETHER)
    middle = some.mean(axis=1)
    spread = np.abs(some - middle[:, None]).max(axis=1)
    off = np.empty(some.shape, dtype=np.complex128)
    stride = max(1, _CHUNK // start.size)
    for first in range(0, groups, stride):
        here = slice(first, first + stride)
        square = _along(middle[here, None], start, ahead, length)[1]
        apart = np.sqrt(square)
        least = apart.min(axis=1) + 2.0 * spread[here] + _HAIR_MM
        group, edge = np.nonzero(apart <= least[:, None])
        way, square = _along(some[first + group], start[edge, None], ahead[edge, None],
                             length[edge, None])
        begin = np.searchsorted(group, np.arange(apart.shape[0]))
        nearest = square == np.minimum.reduceat(square, begin, axis=0)[group]
        number = np.where(nearest, np.arange(edge.size)[:, None], edge.size)
        best = np.minimum.reduceat(number, begin, axis=0)
        off[here] = np.take_along_axis(way, best, axis=0) * ahead[edge[best]]
    off = off.ravel()[:at.size]
    distance = np.abs(off)
    shapely.prepare(solid.free)
    inside = shapely.contains_xy(solid.free, at.real, at.imag)
    return np.where(inside, -distance, distance), _unit(off.real, off.imag, distance)


def _along(at: Complexes, start: Complexes, ahead: Complexes,
           length: Floats) -> tuple[Complexes, Floats]:
    """The way from the nearest place of edges as seen along them, and its square."""
    along = (at - start) * ahead.conj()
    along -= np.clip(along.real, 0.0, length)
    return along, along.real**2 + along.imag**2
