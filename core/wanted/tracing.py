"""Curves drawn elsewhere as wanted paths."""

from __future__ import annotations

from typing import Literal

import numpy as np

from core.model import Tick, WantedPath
from core.wanted.curves import Complexes, Floats, curve_of
from core.wanted.stroke import thinned

#: Corners and places beyond these are thinned to a smooth path.
MOST_CORNERS, MOST_PLACES = 120, 60
#: A smooth path leaves the curve by at most this share of its size: more than the chords do
#: that stand for a curve read from a file, so that their corners are not followed.
OFF = 1.5e-3
_MOST_TICKS = 12


def traced(places: Complexes, *, kind: Literal["smooth", "straight", "places"] = "smooth",
           closed: bool = False, crank_deg: Floats | None = None, name: str = "path",
           point: str = "") -> WantedPath:
    """A wanted path along a curve.

    Parameters
    ----------
    places : (K,) complex mm, in the order they are run through; K > 0, of a closed curve
        the first is not repeated.
    kind : "smooth" for places on a curve, which get few handles within `OFF` of its size;
        "straight" for corners and "places" for single places, which stay as they are
        unless they are very many.
    crank_deg : (K,) crank angle at each place; they become ticks.
    name, point : id of the wish, and the point it is asked of.

    The tolerance is 1 mm, less for a path smaller than 50 mm.
    """
    places = np.asarray(places, np.complex128)
    size = float(max(np.ptp(places.real), np.ptp(places.imag)))
    exact = (kind == "straight" and places.size <= MOST_CORNERS) or (
        kind == "places" and places.size <= MOST_PLACES)
    through, curve = places, kind
    if not exact and places.size > 2 and size > 0.0:
        through, curve = thinned(places, OFF * size, closed, smooth_mm=0.0), "smooth"
    least = 1 if curve == "places" else 3 if closed else 2
    wish = WantedPath(
        id=name, point=point, curve=curve, closed=closed and through.size >= 3,
        through=tuple((z.real, z.imag) for z in through.tolist()),
        tolerance_mm=min(1.0, 0.02 * size) if size > 0.0 else 1.0)
    if through.size < least:
        wish = WantedPath(id=name, point=point, curve="places", closed=False,
                          through=wish.through, tolerance_mm=wish.tolerance_mm)
    if crank_deg is None:
        return wish
    return _timed(wish, places, np.asarray(crank_deg, np.float64), exact)


def _timed(wish: WantedPath, places: Complexes, crank_deg: Floats, exact: bool) -> WantedPath:
    """The path with ticks: one for each place, or some evenly spread ones."""
    if exact:
        picked = np.arange(places.size)
        at = picked.astype(float)
    else:
        count = min(_MOST_TICKS, places.size)
        picked = np.unique(np.linspace(0, places.size - 1, count).round().astype(int))
        curve = curve_of(wish)
        fine = np.linspace(0.0, curve.last, 1 + 64 * int(curve.last))
        near = np.abs(curve.place(fine)[None, :] - places[picked, None]).argmin(axis=1)
        at = fine[near] % curve.last if curve.closed else fine[near]
    ticks = sorted(zip(at.tolist(), crank_deg[picked].tolist(), strict=True))
    return WantedPath(id=wish.id, point=wish.point, curve=wish.curve, closed=wish.closed,
                      through=wish.through, tolerance_mm=wish.tolerance_mm,
                      ticks=tuple(Tick(at=a, crank_deg=deg) for a, deg in ticks))
