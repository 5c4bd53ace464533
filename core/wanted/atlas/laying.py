"""Laying wished places on paths of mechanisms: best place, size, turn and start of each.

A wish is K places w_j at parameters u_j of the path (shares of the crank's cycle when it
is timed, of the arc length when only the shape counts; a piece of a path then has u_j in a
part of the whole). Of a path z(u) = Σ c_k e^{2πiku} the best w_j ≈ a·z(u_j + s) + b is
sought over the complex a, b and the start s. For each s this is linear regression: with
wish and path about their means,

    a = ⟨z, w⟩ / ⟨z, z⟩,    what is left = ⟨w, w⟩ − |⟨z, w⟩|² / ⟨z, z⟩

(Procrustes without scaling penalty; J. C. Gower, 1975, from memory). All sums over j are
trigonometric polynomials of s whose coefficients are products of those of the path with
sums that belong to the wish alone, so that M paths and S starts take three small matrix
products and no loop.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.wanted.atlas.shape import Complexes, Floats, curve_from, mirrored, orders

#: Starts tried along a path.
STARTS = 96
#: A path is not laid on a wish at more than so many times its size, nor shrunk below its
#: inverse: a nearly still stretch of a path fits anything when blown up.
LARGEST = 30.0


@dataclass(frozen=True)
class Wished:
    """What is laid: `places` (K,) complex mm at parameters `share` (K,), and whether the
    paths' start is `free`; else only s = 0 counts after the turn of the whole (a path
    turned by φ is then met at a crank turned along by φ, see `tied`)."""

    places: Complexes
    share: Floats
    tied: float | None = None


@dataclass(frozen=True)
class Laid:
    """The best way to lay each of M paths on a wish.

    `misfit` (M,) rms distance, mm; a place z of the mechanism goes to
    ``turn · (conj z if flip else z) + shift``; `start` (M,) is the s of the best.
    """

    misfit: Floats
    turn: Complexes
    shift: Complexes
    flip: NDArray[np.bool_]
    start: Floats

    def best(self, count: int) -> NDArray[np.int64]:
        """Indices of the `count` nearest, nearest first."""
        count = min(count, len(self.misfit))
        few = np.argpartition(self.misfit, count - 1)[:count] if count else np.zeros(0, int)
        return few[np.lexsort((few, self.misfit[few]))]


def lay(wish: Wished, coefficients: Complexes, *, flips: bool = True,
        starts: int = STARTS) -> Laid:
    """Lay every path on the wish, as it is and (with `flips`) mirrored.

    `coefficients` (M, 2H) of paths about 0 as in :mod:`core.wanted.atlas.shape`, by the
    same parameter as the wish's. A mirrored mechanism draws conj z(−u).
    """
    ways = [(coefficients, False)] + ([(mirrored(coefficients), True)] if flips else [])
    laid = [_one_way(wish, way, flip, starts) for way, flip in ways]
    return laid[0] if len(laid) == 1 else _nearer(laid[0], laid[1])


def costs(wish: Wished, coefficients: Complexes, starts: int = STARTS
          ) -> tuple[Floats, Complexes, Complexes]:
    """Of every path and start: mean squared misfit (M, S) mm², and a, b (M, S)."""
    order = orders(coefficients.shape[1])
    angle = 2 * np.pi * wish.share
    shifts = np.exp(2j * np.pi * np.outer(order, np.arange(starts)) / starts)
    mean = wish.places.mean()
    about = wish.places - mean
    count = len(about)
    wave = np.exp(1j * np.outer(order, angle))
    # ⟨z, w⟩, the mean of z, and the mean of |z|², each at every start
    cross = np.conj(coefficients @ (shifts * (wave @ about.conj())[:, None])) / count
    middle = coefficients @ (shifts * wave.sum(axis=1)[:, None]) / count
    spread = _mean_square(coefficients, angle, starts) - np.abs(middle) ** 2
    spread = np.maximum(spread, 1e-30)
    turn = cross / spread
    if wish.tied is not None:
        turn = _tied(turn, wish.tied, starts)
    power = float(np.mean(np.abs(about) ** 2))
    left = (power - 2 * (turn.conj() * cross).real + np.abs(turn) ** 2 * spread)
    size = np.sqrt(power)
    wild = (np.abs(turn) > LARGEST * size) | (np.abs(turn) * LARGEST < size)
    left = np.where(wild, np.inf, np.maximum(left, 0.0))
    return left, turn, mean - turn * middle


def _mean_square(coefficients: Complexes, angle: Floats, starts: int) -> Floats:
    """Mean over j of |z(u_j + s)|² for every path and start: (M, S)."""
    half = coefficients.shape[1] // 2
    fine = 4 * half + 2
    square = np.fft.rfft(np.abs(curve_from(coefficients, fine)) ** 2, axis=1) / fine
    degree = np.arange(square.shape[1])
    weight = np.where(degree == 0, 1.0, 2.0) * np.exp(1j * np.outer(angle, degree)).mean(axis=0)
    shifts = np.exp(2j * np.pi * np.outer(degree, np.arange(starts)) / starts)
    mean: Floats = (square @ (shifts * weight[:, None])).real
    return mean


def _tied(turn: Complexes, zero: float, starts: int) -> Complexes:
    """Turns allowed when the crank's reading is not free: of a path turned by φ the crank
    is turned along, so that the start must be −φ (`zero` apart); else only the size is
    free, and never negative."""
    allowed = np.exp(-2j * np.pi * np.arange(starts) / starts + 1j * zero)
    size = np.maximum((turn * allowed.conj()).real, 0.0)
    tied: Complexes = size * allowed
    return tied


def _one_way(wish: Wished, coefficients: Complexes, flip: bool, starts: int) -> Laid:
    left, turn, shift = costs(wish, coefficients, starts)
    at = np.argmin(left, axis=1)
    row = np.arange(len(left))
    return Laid(misfit=np.sqrt(left[row, at]), turn=turn[row, at], shift=shift[row, at],
                flip=np.full(len(left), flip), start=at / starts)


def _nearer(one: Laid, other: Laid) -> Laid:
    second = other.misfit < one.misfit
    return Laid(*(np.where(second, getattr(other, name), getattr(one, name))
                  for name in ("misfit", "turn", "shift", "flip", "start")))
