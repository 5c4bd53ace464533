"""Straight rays through a polygon: where each first meets its edges."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.polygon import orient

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Ints = NDArray[np.intp]

#: A ray may begin on an edge without meeting it, mm; ends of edges reach over by as much.
_TOUCH_MM = 1e-7


def edges_of(polygon: shapely.Polygon) -> tuple[Complexes, Complexes]:
    """Start and end of every edge of a polygon and its holes, (M,) complex each, with the
    inside on the left."""
    starts, ends = [], []
    for ring in shapely.get_rings(orient(polygon)):
        corners = shapely.get_coordinates(ring) @ np.array([1.0, 1.0j])
        starts.append(corners[:-1])
        ends.append(corners[1:])
    return np.concatenate(starts), np.concatenate(ends)


def first_hits(origins: Complexes, along: Complexes, starts: Complexes,
               ends: Complexes) -> tuple[Floats, Ints]:
    """How far each ray goes before it meets an edge, and which.

    `origins`, `along` (R,) complex, `along` of length 1; edges as :func:`edges_of`.
    Distances (R,) mm, inf where nothing is met (the edge is then -1).
    """
    edge = ends - starts
    gap = starts - origins[:, None]
    across = (along.conj()[:, None] * edge).imag
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (gap.conj() * edge).imag / across
        share = (gap.conj() * along[:, None]).imag / across
    slack = _TOUCH_MM / np.maximum(np.abs(edge), _TOUCH_MM)
    met = (np.abs(across) > 0.0) & (far > _TOUCH_MM) & (share >= -slack) & (
        share <= 1.0 + slack)
    reached = np.where(met, far, np.inf)
    which = np.argmin(reached, axis=1)
    distance = reached[np.arange(origins.size), which]
    return distance, np.where(np.isfinite(distance), which, -1)
