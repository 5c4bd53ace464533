"""Gaps of free polygons, holes included, by the general geometry library.

The distance of two polygons is exact. How deep they overlap is the width of the widest
round peg that fits into what they share: zero when they touch, and for a pin in a sheet
(worked out apart, exactly) the shift that would bring it to the nearest edge. The widest
peg is sought to 0.01 mm of its radius.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from core.space.outlines import Rounded, Solid, figure, quarter_chords

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: How exactly the depth of an overlap with a free polygon is sought, mm.
DEPTH_MM = 0.01


def signed_distances_free(a: Solid, b: Solid, rotation: Complexes, shift: Complexes,
                          every: int = 1) -> Floats:
    """Signed distance of `b` from `a`, of which one at least is a free polygon.

    Parameters
    ----------
    rotation, shift : (N,) complex; the pose of b as seen from a: a place p of b lies at
        ``rotation · p + shift`` in the drawn pose of a.
    every : measure how deep they overlap, which takes by far the most time, in one of so
        many poses of each stretch of overlapping ones, and draw straight lines between.
        0: not at all; touching or overlapping is minus infinity then.

    Returns
    -------
    (N,) mm; negative: the depth of the overlap as said above. NaN where the pose is.
    """
    known = np.isfinite(rotation) & np.isfinite(shift)
    if not known.all():  # beyond a lock; the geometry library refuses such places
        out = np.full(rotation.size, np.nan)
        if known.any():
            out[known] = signed_distances_free(a, b, rotation[known], shift[known], every)
        return out
    if a.free is None:
        return signed_distances_free(b, a, rotation.conj(), -rotation.conj() * shift, every)
    shapely.prepare(a.free)
    if b.free is not None:
        return _polygons(a.free, b.free, 0.0, rotation, shift, every)
    lanes = [_piece(a.free, piece, rotation, shift, every) for piece in b.pieces]
    return np.asarray(np.min(lanes, axis=0))


def _piece(polygon: shapely.Polygon, piece: Rounded, rotation: Complexes,
           shift: Complexes, every: int) -> Floats:
    if piece.corners.size > 1:
        return _polygons(polygon, figure(piece.corners), piece.radius_mm, rotation, shift,
                         every)
    centre = rotation * piece.corners[0] + shift
    points = shapely.points(centre.real, centre.imag)
    distance = shapely.distance(polygon, points)
    inside = distance == 0.0
    distance[inside] = -shapely.distance(polygon.boundary, points[inside])
    return np.asarray(distance - piece.radius_mm)


def _polygons(polygon: shapely.Polygon, core: shapely.Geometry, radius_mm: float,
              rotation: Complexes, shift: Complexes, every: int) -> Floats:
    """Signed distance of a core grown by a radius from a polygon."""
    distance = shapely.distance(polygon, _moved(core, rotation, shift)) - radius_mm
    meet = np.flatnonzero(distance <= 0.0)
    if not every:
        distance[meet] = -np.inf
    elif meet.size:
        grown = core if radius_mm == 0.0 else core.buffer(
            radius_mm, quad_segs=quarter_chords(radius_mm))
        some = _sampled(meet, every)
        depth = _depth(polygon, _moved(grown, rotation[some], shift[some]))
        distance[meet] = -np.interp(meet, some, depth)
    return np.asarray(distance)


def _sampled(steps: NDArray[np.intp], every: int) -> NDArray[np.intp]:
    """One of so many of rising step numbers, and both ends of every unbroken stretch."""
    breaks = np.flatnonzero(np.diff(steps) > 1)
    ends = np.concatenate([[0], breaks, breaks + 1, [steps.size - 1]])
    return np.asarray(steps[np.union1d(np.arange(0, steps.size, every), ends)])


def _moved(shape: shapely.Geometry, rotation: Complexes,
           shift: Complexes) -> NDArray[np.object_]:
    """One shape in many poses, (N,)."""
    corner = shapely.get_coordinates(shape) @ np.array([1.0, 1.0j])
    at = rotation[:, None] * corner + shift[:, None]
    shapes = np.full(rotation.size, shape, dtype=object)
    return np.asarray(shapely.set_coordinates(
        shapes, np.column_stack([at.real.ravel(), at.imag.ravel()])))


def _depth(polygon: shapely.Polygon, shapes: NDArray[np.object_]) -> Floats:
    """Diameter of the widest circle in what each shape shares with the polygon."""
    depth = np.zeros(shapes.size)
    shared = shapely.intersection(polygon, shapes)
    parts, owner = shapely.get_parts(shared, return_index=True)
    keep = shapely.area(parts) > 0.0
    parts, owner = parts[keep], owner[keep]
    if parts.size:
        wide = shapely.length(shapely.maximum_inscribed_circle(
            parts, tolerance=DEPTH_MM))
        np.maximum.at(depth, owner, 2.0 * wide)
    return depth
