"""How far places are from straight pieces, and whether they lie in polygons, many at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Bools = NDArray[np.bool_]


def nearest_on(place: Complexes | complex, start: Complexes | complex,
               end: Complexes | complex) -> tuple[Floats, Complexes]:
    """Where on straight pieces places are nearest.

    All complex mm, of shapes that broadcast. A piece may have no length.

    Returns
    -------
    share : 0 … 1, how far along the piece, from its start to its end.
    away : complex mm, the way from there to the place.
    """
    side, off = np.asarray(end) - start, np.asarray(place) - start
    square = np.maximum(side.real**2 + side.imag**2, 1e-300)
    share: Floats = np.clip((off * side.conj()).real / square, 0.0, 1.0)
    away: Complexes = off - share * side
    return share, away


def inside(corners: Complexes, places: Complexes) -> Bools:
    """(M,) whether places (M,) lie in the polygon of these corners (n,): a ray to the right
    of the place crosses its sides an odd number of times (even–odd rule)."""
    start, end = corners, np.roll(corners, -1)
    below = start.imag <= places.imag[:, None]
    crosses = below != (end.imag <= places.imag[:, None])
    turning = ((end - start).conj() * (places[:, None] - start)).imag
    right = np.where(below, turning > 0, turning < 0)
    found: Bools = (crosses & right).sum(axis=1) % 2 == 1
    return found
