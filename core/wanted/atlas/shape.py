"""What a path is like, wherever it lies, however large and turned: Fourier coefficients.

A closed path z(u), 0 ≤ u < 1, is the sum over k of c_k e^{2πiku}. Moving it changes c_0
alone; turning and scaling it multiplies all c_k by one complex number; another starting
point multiplies c_k by e^{iks}. So c_0 is left out, the rest is scaled to Σ|c_k|² = 1, and
the magnitudes |c_k| do not mind place, size, turn or start. Running backwards swaps c_k and
c_{−k}; a mirrored path run backwards has the same magnitudes (harmonics of a curve by its
parameter: C. T. Zahn and R. Z. Roskies, 1972, and later work on shape; from memory).

Arrays of coefficients are (…, 2H), k = −H … −1, 1 … H. u is the share of the arc length
(shape alone) or of the crank turn (shape with timing).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

#: Of single precision as kept in the atlas, or of double.
Complexes = NDArray[np.complexfloating[Any, Any]]
Floats = NDArray[np.float64]


def orders(count: int) -> NDArray[np.int64]:
    """k of the `count` = 2H coefficients: −H … −1, 1 … H."""
    half = count // 2
    return np.concatenate([np.arange(-half, 0), np.arange(1, half + 1)])


def evenly(traces: Complexes, count: int, closed: bool = True) -> Complexes:
    """Places at even arc length along polylines.

    Parameters
    ----------
    traces : (M, N) complex, finite, the places of each polyline; closed ones end at the
        first place without repeating it.
    count : places wanted; of a closed line the first is traces[:, 0] and the last one step
        short of it, of an open line first and last are its ends.

    Returns
    -------
    (M, count) complex. A line without length stays where it is.
    """
    if closed:
        traces = np.concatenate([traces, traces[:, :1]], axis=1)
    steps = np.abs(np.diff(traces, axis=1))
    length = np.concatenate([np.zeros((len(traces), 1)), np.cumsum(steps, axis=1)], axis=1)
    whole = np.where(length[:, -1:] > 0, length[:, -1:], 1.0)
    # One search for all lines: line m's shares lie between 2m and 2m + 1.
    base = 2.0 * np.arange(len(traces))[:, None]
    share = np.minimum(length / whole, 1.0)
    wanted = np.linspace(0.0, 1.0, count, endpoint=not closed)[None, :]
    at = np.searchsorted((share + base).ravel(), (wanted + base).ravel(), side="right")
    row = np.repeat(np.arange(len(traces)), count)
    at = np.clip(at - row * traces.shape[1], 1, traces.shape[1] - 1)
    low, high = share[row, at - 1], share[row, at]
    span = np.where(high > low, high - low, 1.0)
    part = np.clip((np.tile(wanted[0], len(traces)) - low) / span, 0.0, 1.0)
    placed: Complexes = traces[row, at - 1] * (1 - part) + traces[row, at] * part
    return placed.reshape(len(traces), count)


def harmonics(curves: Complexes, half: int) -> Complexes:
    """Coefficients k = ±1 … ±half of closed curves (M, N) at even parameter: (M, 2·half),
    not scaled. N must be more than 2·half."""
    count = curves.shape[-1]
    if count <= 2 * half:
        raise ValueError(f"{count} places are too few for {half} harmonics")
    found: Complexes = np.fft.fft(curves, axis=-1)[..., orders(2 * half) % count] / count
    return found


def curve_from(coefficients: Complexes, count: int) -> Complexes:
    """The curves (…, count) at even parameter with those coefficients, about 0."""
    half = coefficients.shape[-1] // 2
    if count <= 2 * half:  # too few places to carry them all: leave out the highest
        keep = max((count - 1) // 2, 1)
        coefficients = coefficients[..., half - keep:half + keep]
        half = keep
    spread = np.zeros((*coefficients.shape[:-1], count), dtype=coefficients.dtype)
    spread[..., orders(2 * half) % count] = coefficients
    curve: Complexes = np.fft.ifft(spread, axis=-1) * count
    return curve


def scaled(coefficients: Complexes) -> Complexes:
    """Coefficients scaled to Σ|c_k|² = 1; of a single place, all zero."""
    size = np.sqrt(np.sum(np.abs(coefficients) ** 2, axis=-1, keepdims=True))
    return coefficients / np.where(size > 0, size, 1.0)


def signature(coefficients: Complexes) -> Floats:
    """The magnitudes (…, 2H) of scaled coefficients, which do not mind place, size, turn,
    start, nor mirroring together with running backwards. Distances between signatures are
    never above those between the curves best laid on each other."""
    return np.abs(scaled(coefficients))


def backwards(coefficients: Complexes) -> Complexes:
    """Of the curves run the other way: c_k and c_{−k} swapped."""
    return coefficients[..., ::-1]


def mirrored(coefficients: Complexes) -> Complexes:
    """Of the curves mirrored in the x-axis *and* run the other way, as a mirrored
    mechanism whose crank keeps its sense draws them: c_k conjugated."""
    return coefficients.conj()
