"""A curve as read from a file, and what makes a heap of pieces into sound curves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from core.errors import FileError
from core.model.numbers import LARGEST_MM

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]
#: More pieces, or places in all, than these are no path for a point.
MOST_PIECES, MOST_POINTS = 5_000, 200_000
#: Curved pieces are followed with so many places for each.
PER_PIECE = 24
#: Ends this near to each other, as a share of the whole drawing, are one place.
MEET = 1e-6


@dataclass(frozen=True)
class Curve:
    """One curve.

    Attributes
    ----------
    places : (K,) x + iy mm, y up, in the order they are run through; of a closed curve the
        first is not repeated at the end.
    closed : whether it comes back to its beginning.
    crank_deg : (K,) crank angle of each place, or None.
    kind : "straight" for corners joined by straight lines, "smooth" for places that lie
        densely on a curve, "places" for single places (rows of a table).
    name : what the file calls it, or "".
    """

    places: Complexes
    closed: bool
    crank_deg: Floats | None = None
    kind: Literal["smooth", "straight", "places"] = "smooth"
    name: str = ""

    @property
    def length_mm(self) -> float:
        """Length from place to place, the way back of a closed curve included."""
        run = np.append(self.places, self.places[:1]) if self.closed else self.places
        return float(np.abs(np.diff(run)).sum())

    @property
    def size_mm(self) -> float:
        """The larger side of its box."""
        return size(self.places)


def size(places: Complexes) -> float:
    """The larger side of the box round some places; 0 for none."""
    if not places.size:
        return 0.0
    return float(max(np.ptp(places.real), np.ptp(places.imag)))


def tidied(curves: Iterable[Curve], where: str = "") -> tuple[Curve, ...]:
    """Sound curves, the longest first: pieces that meet end to end are joined, a curve that
    ends where it begins is closed, repeated places and curves without length are left out.

    Raises
    ------
    FileError
        Nothing is left, or some place is not finite or further than any sketch goes.
    """
    kept = list(curves)
    for curve in kept:
        check_places(curve.places, where)
    whole = size(np.concatenate([curve.places for curve in kept])) if kept else 0.0
    sound = [found for curve in joined(kept, whole * MEET)
             if (found := _without_repeats(curve, whole * MEET)) is not None]
    if not sound:
        raise FileError("there is no curve in it", where,
                        "draw a path, polyline, circle or spline in it")
    return tuple(sorted(sound, key=lambda curve: -curve.length_mm))


def check_places(places: Complexes, where: str) -> None:
    """Raise FileError when some place is not finite or absurdly far."""
    if not np.isfinite(places).all():
        raise FileError("a place in it is not finite", where, "mend it where it was drawn")
    if places.size and max(np.abs(places.real).max(), np.abs(places.imag).max()) > LARGEST_MM:
        raise FileError(f"it reaches further than {LARGEST_MM / 1e6:g} km", where,
                        "draw it smaller, or set its units")


def _without_repeats(curve: Curve, meet: float) -> Curve | None:
    places, crank = curve.places, curve.crank_deg
    if curve.kind == "places":
        return curve if places.size else None
    keep = np.append(True, np.abs(np.diff(places)) > 0)
    places = places[keep]
    crank = crank[keep] if crank is not None else None
    closed = curve.closed
    if places.size > 2 and abs(places[-1] - places[0]) <= meet:
        places, closed = places[:-1], True
        crank = crank[:-1] if crank is not None else None
    if places.size < 2 or size(places) == 0.0:
        return None
    return Curve(places, closed and places.size > 2, crank, curve.kind, curve.name)


def joined(curves: Sequence[Curve], meet: float) -> list[Curve]:
    """Open curves that share an end with one other, end to end as one (the direction of
    the first is kept where it can be); the others as they are."""
    loose = [curve for curve in curves if not curve.closed and curve.kind != "places"
             and abs(curve.places[-1] - curve.places[0]) > meet]
    if len(loose) < 2:
        return list(curves)
    ends = np.array([[curve.places[0], curve.places[-1]] for curve in loose])
    names = _same(ends.ravel(), meet).reshape(ends.shape)
    lines, alone = [], {}
    for curve, pair in zip(loose, names, strict=True):
        start, end = complex(pair[0]), complex(pair[1])
        run = np.column_stack([curve.places.real, curve.places.imag])
        run[0], run[-1] = (start.real, start.imag), (end.real, end.imag)
        lines.append(shapely.LineString(run))
        alone[start, end, len(run)] = alone[end, start, len(run)] = curve
    merged = shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines)))
    taken = {id(curve) for curve in loose}
    out = [curve for curve in curves if id(curve) not in taken]
    straight = all(curve.kind == "straight" for curve in loose)
    rank = {complex(pair[0]): k for k, pair in reversed(list(enumerate(names)))}
    for line in merged:
        xy = shapely.get_coordinates(line)
        places = xy[:, 0] + 1j * xy[:, 1]
        before = alone.get((places[0].item(), places[-1].item(), places.size))
        if before is not None:
            out.append(before)
            continue
        drawn_first = min((rank[at] for at in places.tolist() if at in rank), default=0)
        if _runs_against(places, loose[drawn_first].places, meet):
            places = places[::-1]
        out.append(Curve(places, False, None, "straight" if straight else "smooth"))
    return out


def _runs_against(places: Complexes, piece: Complexes, meet: float) -> bool:
    """Whether a run passes the second place of a piece right before its first."""
    before, at = places[:-1], places[1:]
    return bool(((np.abs(at - piece[0]) <= meet) & (np.abs(before - piece[1]) <= meet)).any())


def _same(places: Complexes, meet: float) -> Complexes:
    """Places, those within `meet` of one another made equal."""
    if meet <= 0:
        return places
    order = np.lexsort((places.imag, places.real))
    out = places.copy()
    held: list[complex] = []
    for index in order:
        here = complex(places[index])
        near = next((old for old in reversed(held[-64:]) if abs(old - here) <= meet), None)
        if near is None:
            held.append(here)
        out[index] = here if near is None else near
    return out
