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
        return np.abs(at - solid.centre) < solid.reach_mm + within_mm
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
        return _from_polygon(solid.free, at)
    best = np.full(at.shape, np.inf)
    away = np.zeros(at.shape, dtype=np.complex128)
    for piece in solid.pieces:
        core, off, inside = _from_core(piece, at)
        distance = np.where(inside, -core, core) - piece.radius_mm
        nearer = distance < best
        best = np.where(nearer, distance, best)
        away = np.where(nearer, off, away)
    size = np.abs(away)
    return best, np.divide(away, size, out=np.zeros_like(away), where=size > 0.0)


def _from_core(piece: Rounded, at: Complexes) -> tuple[Floats, Complexes, NDArray[np.bool_]]:
    """Distance from the rim of a convex core, the way from it, and who is inside."""
    corners = piece.corners
    if corners.size == 1:
        off = at - corners[0]
        return np.abs(off), off, np.zeros(at.shape, dtype=bool)
    ends = np.roll(corners, -1)
    inside = np.full(at.shape, corners.size > 2)
    core = np.full(at.shape, np.inf)
    way = np.zeros(at.shape, dtype=np.complex128)
    for start, end in zip(corners[:1] if corners.size == 2 else corners, ends, strict=False):
        along, off = _from_edge(start, end, at)
        if corners.size > 2:
            inside &= along.imag >= 0.0
        size = np.abs(off)
        nearer = size < core
        core = np.where(nearer, size, core)
        way = np.where(nearer, off, way)
    return core, way, inside


def _from_edge(start: complex, end: complex, at: Complexes) -> tuple[Complexes, Complexes]:
    """Places as seen along an edge, and the way to them from its nearest place."""
    length = abs(end - start)
    ahead = (end - start) / length
    along = (at - start) * ahead.conjugate()
    return along, (along - np.clip(along.real, 0.0, length)) * ahead


def _from_polygon(polygon: shapely.Polygon, at: Complexes) -> tuple[Floats, Complexes]:
    """As :func:`signed_distances_from`, all edges of a free outline at once."""
    rings = [shapely.get_coordinates(ring) @ np.array([1.0, 1.0j])
             for ring in (polygon.exterior, *polygon.interiors)]
    start = np.concatenate([ring[:-1] for ring in rings])
    step = np.concatenate([np.diff(ring) for ring in rings])
    length = np.abs(step)
    start, step, length = start[length > 0], step[length > 0], length[length > 0]
    ahead = step / length
    off = np.empty(at.size, dtype=np.complex128)
    stride = max(1, _CHUNK // start.size)
    for first in range(0, at.size, stride):
        some = at[first:first + stride]
        along = (some[:, None] - start) * ahead.conj()
        along -= np.clip(along.real, 0.0, length)
        square = along.real**2 + along.imag**2
        best = square.argmin(axis=1)
        off[first:first + stride] = along[np.arange(some.size), best] * ahead[best]
    distance = np.abs(off)
    away = np.divide(off, distance, out=np.zeros_like(off), where=distance > 0.0)
    shapely.prepare(polygon)
    inside = shapely.contains_xy(polygon, at.real, at.imag)
    return np.where(inside, -distance, distance), away
