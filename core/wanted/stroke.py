"""From a stroke of the hand to a path with few handles."""

from __future__ import annotations

import numpy as np

from core.model import WantedPath
from core.wanted.borders import nearest_on
from core.wanted.curves import Complexes, Floats, curve_of

#: A path drawn by hand gets no more handles than these.
MOST_HANDLES = 48
#: A stroke that went so far away is a loop when it ends within this share of that.
CLOSING_SHARE = 0.15
_FEWEST_SAMPLES, _MOST_SAMPLES = 400, 1600
_PER_SPAN = 12


def closing_mm(stroke: Complexes, near_mm: float) -> float:
    """How near to its beginning a stroke (K,) must end to be a loop, mm: `near_mm`, or a
    share of how far it went; 0 while it has not been well away."""
    away = float(np.abs(stroke - stroke[0]).max(initial=0.0))
    return max(near_mm, CLOSING_SHARE * away) if away > 3 * near_mm else 0.0


def comes_back(stroke: Complexes, near_mm: float) -> bool:
    """Whether a stroke (K,) ends near its beginning, as `closing_mm` says."""
    return stroke.size >= 8 and bool(
        abs(stroke[-1] - stroke[0]) <= closing_mm(stroke, near_mm))


def thinned(stroke: Complexes, tolerance_mm: float, closed: bool, *,
            smooth_mm: float | None = None) -> Complexes:
    """Handles (n,) of the smooth path that stays within about `tolerance_mm` of a stroke
    (K,) of the hand, complex mm, its trembling smoothed away.

    The stroke is smoothed over `smooth_mm` of its length (five tolerances unless given);
    then handles are put where the spline through them is furthest off, until it is near
    enough everywhere.
    """
    stroke = np.asarray(stroke, np.complex128)
    stroke = stroke[np.append(True, np.abs(np.diff(stroke)) > 0)]
    if stroke.size < 3 or np.abs(np.diff(stroke)).sum() <= tolerance_mm:
        return stroke[[0, -1]] if stroke.size > 1 else stroke
    over = 5.0 * tolerance_mm if smooth_mm is None else smooth_mm
    line = smoothed(_even(stroke, closed), over, closed)
    count = line.size
    chosen = [0, count // 3, 2 * count // 3] if closed else [0, count // 2, count - 1]
    while len(chosen) < MOST_HANDLES:
        worst, off = _worst(line, sorted(chosen), closed)
        if off <= tolerance_mm or worst in chosen:
            break
        chosen.append(worst)
    chosen = _without_needless(line, sorted(chosen), tolerance_mm, closed)
    return line[chosen]


def smoothed(line: Complexes, over_mm: float, closed: bool) -> Complexes:
    """A line of evenly spaced places (K,) smoothed by a bell of deviation `over_mm` along
    it; the ends of an open one stay."""
    chord = float(np.abs(np.diff(line)).mean())
    half = int(min(3.0 * over_mm / chord, line.size // 8)) if chord > 0 else 0
    if half < 1:
        return line
    weights = np.exp(-0.5 * (np.arange(-half, half + 1) * chord / over_mm) ** 2)
    weights /= weights.sum()
    if closed:
        padded = np.concatenate([line[-half:], line, line[:half]])
    else:  # turned over about its ends, which so stay where they are
        padded = np.concatenate([2 * line[0] - line[half:0:-1], line,
                                 2 * line[-1] - line[-2:-half - 2:-1]])
    soft = np.asarray(np.convolve(padded, weights, mode="valid"), np.complex128)
    if not closed:
        soft[0], soft[-1] = line[0], line[-1]
    return soft


def _even(stroke: Complexes, closed: bool) -> Complexes:
    """The stroke at even lengths; of a closed one without the end that is its start."""
    run = np.append(stroke, stroke[0]) if closed else stroke
    length = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(run)))])
    count = min(max(stroke.size, _FEWEST_SAMPLES), _MOST_SAMPLES)
    at = np.linspace(0.0, length[-1], count, endpoint=not closed)
    return np.asarray(np.interp(at, length, run), np.complex128)


def _pieces(line: Complexes, chosen: list[int], closed: bool) -> Complexes:
    """The spline through the chosen places of a line, (spans, samples)."""
    through = tuple((z.real, z.imag) for z in line[chosen].tolist())
    curve = curve_of(WantedPath(id="stroke", through=through, closed=closed))
    spans = int(curve.last)
    at = np.arange(spans)[:, None] + np.linspace(0.0, 1.0, _PER_SPAN + 1)
    return curve.place(np.minimum(at, curve.last - 1e-12))


def _errors(line: Complexes, chosen: list[int], closed: bool) -> Floats:
    """How far each place of the line is from the spline's piece beside it, (K,)."""
    places = _pieces(line, chosen, closed)
    off = np.zeros(line.size)
    ends = [*chosen[1:], chosen[0] + line.size] if closed else chosen[1:]
    for span, (start, end) in enumerate(zip(chosen, ends, strict=False)):
        inner = np.arange(start + 1, end) % line.size
        if inner.size:
            off[inner] = _off(line[inner], places[span])
    return off


def _off(at: Complexes, run: Complexes) -> Floats:
    """Distances of places (K,) from a polyline (n,)."""
    _, away = nearest_on(at[:, None], run[:-1], run[1:])
    return np.asarray(np.abs(away).min(axis=1), np.float64)


def _worst(line: Complexes, chosen: list[int], closed: bool) -> tuple[int, float]:
    """Where the spline is furthest off, and how far."""
    off = _errors(line, chosen, closed)
    worst = int(np.argmax(off))
    return worst, float(off[worst])


def _without_needless(line: Complexes, chosen: list[int], tolerance_mm: float,
                      closed: bool) -> list[int]:
    """The handles without those the path does as well without."""
    least = 3 if closed else 2
    for index in list(chosen if closed else chosen[1:-1]):
        left = [each for each in chosen if each != index]
        if len(left) >= least and _errors(line, left, closed).max() <= tolerance_mm:
            chosen = left
    return chosen
