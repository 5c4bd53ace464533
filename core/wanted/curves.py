"""Wanted curves as functions: a path of a point, the angle of a part over the crank.

A smooth path is the cubic spline through its places over the length of its chords, closed
(periodic) or open (no bend at its ends): de Boor, *A Practical Guide to Splines*, ch. IV.
A smooth curve of angles keeps to the shape of its knots, so that an angle that is the same
at two knots is held between them: Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.model import WantedAngle, WantedPath

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True)
class PathCurve:
    """A wanted path as a function of `at`, as ticks count it: 0 is its first place, 1.5
    halfway (by chord length) from the second to the third.

    Attributes
    ----------
    last : `at` of the end; for a closed curve that is its start again.
    closed : whether it comes back to its start.
    places : (n,) complex mm, the places it goes through, the first again at the end where
        it is closed.
    chords : (n − 1,) lengths from each to the next, mm.
    slopes : (n,) complex, derivatives by chord length at the places; None for a polyline.
    """

    last: float
    closed: bool
    places: Complexes
    chords: Floats
    slopes: Complexes | None

    def place(self, at: ArrayLike) -> Complexes:
        """Places on the curve, complex mm, of the shape of `at`; beyond its ends a closed
        curve goes round again and an open one stays at its end."""
        span, part = self._split(at)
        a, b = self.places[span], self.places[span + 1]
        if self.slopes is None:
            return np.asarray(a + part * (b - a), np.complex128)
        chord, q = self.chords[span], 1.0 - part
        return np.asarray(
            q * q * (a + part * (2.0 * a + chord * self.slopes[span]))
            + part * part * (b + q * (2.0 * b - chord * self.slopes[span + 1])),
            np.complex128)

    def along(self, at: ArrayLike) -> Complexes:
        """Derivatives of :meth:`place` by `at`, complex mm, of the shape of `at`."""
        span, part = self._split(at)
        a, b = self.places[span], self.places[span + 1]
        if self.slopes is None:
            return np.asarray(b - a + 0.0 * part, np.complex128)
        chord, q = self.chords[span], 1.0 - part
        return np.asarray(
            6.0 * part * q * (b - a) + chord * self.slopes[span] * q * (1.0 - 3.0 * part)
            + chord * self.slopes[span + 1] * part * (3.0 * part - 2.0), np.complex128)

    def _split(self, at: ArrayLike) -> tuple[NDArray[np.intp], Floats]:
        """Span and the part of it, 0 to 1."""
        where = np.asarray(at, np.float64)
        where = where % self.last if self.closed else np.clip(where, 0.0, self.last)
        span = np.minimum(where.astype(np.intp), max(self.chords.size - 1, 0))
        return span, where - span

    def even(self, count: int, start: float = 0.0, end: float | None = None) -> Floats:
        """(count + 1,) values of `at` from `start` to `end`, at even lengths of curve.

        A `count` of 0 gives the start alone.
        """
        end = self.last if end is None else end
        fine = np.linspace(start, end, 1 + max(16, int(16 * np.ceil(abs(end - start)))))
        run = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(self.place(fine))))])
        if count < 1 or run[-1] == 0.0:
            return np.linspace(start, end, count + 1)
        even: Floats = np.interp(np.linspace(0.0, run[-1], count + 1), run, fine)
        return even

    @property
    def length_mm(self) -> float:
        """Length of the curve, once round where it is closed, mm."""
        fine = self.place(np.linspace(0.0, self.last, 1 + 32 * self.chords.size))
        return float(np.abs(np.diff(fine)).sum())


@lru_cache(maxsize=256)
def curve_of(wish: WantedPath) -> PathCurve:
    """The curve of a wanted path; the polyline through its places for a wish of places.

    Places drawn twice in a row count once for the bend, and keep their number. A wish of
    places is never closed: it asks for nothing between its places.
    """
    places = np.array([complex(x, y) for x, y in wish.through], np.complex128)
    closed = wish.closed and wish.curve != "places" and places.size > 2
    if closed:
        places = np.append(places, places[0])
    if places.size < 2:
        places = np.repeat(places, 2) if places.size else np.zeros(2, np.complex128)
    chords = np.abs(np.diff(places))
    size = float(chords.max(initial=0.0)) or 1.0
    smooth = wish.curve == "smooth" and places.size > 2
    slopes = _spline_slopes(places, np.maximum(chords, 1e-9 * size), closed) if smooth else None
    return PathCurve(float(places.size - 1), closed, places, chords, slopes)


def sample_path(wish: WantedPath, per_span: int = 16) -> tuple[Complexes, Floats]:
    """A wanted path as a fine polyline, as it is drawn.

    Returns
    -------
    places : (n,) complex mm; of a closed path the last is the first again. `per_span`
        pieces from each place to the next, one where the path is straight.
    at : (n,) where they are along the path, as ticks count it.
    """
    curve = curve_of(wish)
    spans = int(curve.last) if len(wish.through) > 1 else 0
    pieces = 1 if curve.slopes is None else per_span
    at = np.linspace(0.0, float(spans), 1 + spans * pieces)
    return curve.place(at), at


def gain_deg(wish: WantedAngle) -> float:
    """What a closed curve of angles gains in every turn of the crank, degrees: the
    difference of its first and last knot where they are a whole turn apart and that is a
    whole number of turns; 0 otherwise."""
    knots = sorted(wish.knots, key=lambda knot: knot.crank_deg)
    if not wish.closed or len(knots) < 2 \
            or abs(knots[-1].crank_deg - knots[0].crank_deg - 360.0) > 1e-6:
        return 0.0
    gain = knots[-1].angle_deg - knots[0].angle_deg
    return 360.0 * round(gain / 360.0) if abs(gain % 360.0 - 180.0) > 179.999 else 0.0


def angle_at(wish: WantedAngle, crank_deg: ArrayLike) -> Floats:
    """The wanted angle at readings of the crank, degrees, of the shape of `crank_deg`.

    A closed curve repeats with the turn of the crank (gaining :func:`gain_deg` in each);
    an open one, and a wish of places, is NaN before its first and after its last knot.
    """
    crank = np.asarray(crank_deg, np.float64)
    x, y, slopes = _angle_knots(wish)
    if x.size == 1:
        return np.where(wish.closed | (crank == x[0]), y[0], np.nan)
    turns = np.floor((crank - x[0]) / 360.0) if wish.closed else np.zeros_like(crank)
    local = crank - 360.0 * turns
    span = np.clip(np.searchsorted(x, local, side="right") - 1, 0, x.size - 2)
    width = x[span + 1] - x[span]
    part = (local - x[span]) / width
    q, a, b = 1.0 - part, y[span], y[span + 1]
    if slopes is None:
        value = q * a + part * b
    else:
        value = (q * q * (a + part * (2.0 * a + width * slopes[span]))
                 + part * part * (b + q * (2.0 * b - width * slopes[span + 1])))
    value = value + turns * gain_deg(wish)
    outside = np.zeros_like(crank, bool) if wish.closed else (local < x[0]) | (local > x[-1])
    return np.where(outside, np.nan, value)


@lru_cache(maxsize=256)
def _angle_knots(wish: WantedAngle) -> tuple[Floats, Floats, Floats | None]:
    """Crank angles and angles of the knots in order, degrees, the first again a turn on
    where the curve is closed, and the slopes there of a smooth one."""
    knots = sorted(wish.knots, key=lambda knot: knot.crank_deg)
    x = np.array([knot.crank_deg for knot in knots] or [0.0])
    y = np.array([knot.angle_deg for knot in knots] or [0.0])
    if wish.closed and x.size > 1:
        keep = x < x[0] + 360.0 - 1e-6
        x, y = np.append(x[keep], x[0] + 360.0), np.append(y[keep], y[0] + gain_deg(wish))
    if wish.curve != "smooth" or x.size < 3:
        return x, y, None
    return x, y, _shape_slopes(x, y, wish.closed)


def _shape_slopes(x: Floats, y: Floats, closed: bool) -> Floats:
    """(n,) slopes that keep the shape of the data: none where it turns or holds."""
    width, rise = np.diff(x), np.diff(y) / np.diff(x)
    if closed:
        width, rise = np.append(width[-1:], width), np.append(rise[-1:], rise)
        width, rise = np.append(width, width[1]), np.append(rise, rise[1])
    before, after = width[:-1], width[1:]
    low, high = rise[:-1], rise[1:]
    heavy, light = 2.0 * after + before, after + 2.0 * before
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (heavy + light) / (heavy / low + light / high)
    slopes = np.where(low * high > 0.0, mean, 0.0)
    return slopes if closed else np.concatenate([[rise[0]], slopes, [rise[-1]]])


def _spline_slopes(places: Complexes, chords: Floats, closed: bool) -> Complexes:
    """(n,) derivatives by chord length of the cubic spline through places (n,)."""
    rise = np.diff(places) / chords
    if closed:
        before = np.roll(chords, 1)
        right = 3.0 * (chords * np.roll(rise, 1) + before * rise)
        slopes = _cyclic(chords, 2.0 * (before + chords), before, right)
        return np.append(slopes, slopes[0])
    lower = np.concatenate([[0.0], chords[1:], [1.0]])
    upper = np.concatenate([[1.0], chords[:-1], [0.0]])
    middle = np.concatenate([[2.0], 2.0 * (chords[:-1] + chords[1:]), [2.0]])
    right = np.concatenate([[3.0 * rise[0]],
                            3.0 * (chords[1:] * rise[:-1] + chords[:-1] * rise[1:]),
                            [3.0 * rise[-1]]])
    return _tridiagonal(lower, middle, upper, right[:, None])[:, 0]


def _tridiagonal(lower: Floats, middle: Floats, upper: Floats,
                 right: Complexes) -> Complexes:
    """Solution (n, k) of a diagonally dominant tridiagonal system, one row after the
    other; row i is lower[i], middle[i], upper[i] about the diagonal, right[i] beside it."""
    n = middle.size
    above, answer = np.zeros(n), np.array(right, np.complex128)
    pivot = middle[0]
    answer[0] /= pivot
    for row in range(1, n):
        above[row - 1] = upper[row - 1] / pivot
        pivot = middle[row] - lower[row] * above[row - 1]
        answer[row] = (answer[row] - lower[row] * answer[row - 1]) / pivot
    for row in range(n - 2, -1, -1):
        answer[row] -= above[row] * answer[row + 1]
    return answer


def _cyclic(lower: Floats, middle: Floats, upper: Floats, right: Complexes) -> Complexes:
    """Solution (n,) of a system that is tridiagonal but for its two far corners: the
    corners are a change of rank one (Sherman & Morrison)."""
    gamma = -middle[0]
    main = middle.copy()
    main[0] -= gamma
    main[-1] -= upper[-1] * lower[0] / gamma
    lean = np.zeros(main.size, np.complex128)
    lean[0], lean[-1] = gamma, upper[-1]
    both = _tridiagonal(lower, main, upper, np.column_stack([right, lean]))
    free, bent = both.T
    tail = lower[0] / gamma
    share = (free[0] + tail * free[-1]) / (1.0 + bent[0] + tail * bent[-1])
    return np.asarray(free - share * bent, np.complex128)
