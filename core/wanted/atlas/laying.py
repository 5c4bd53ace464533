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

from dataclasses import dataclass, fields

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
    """What is laid: `places` (K,) complex mm at parameters `share` (K,).

    With `tied` (whole crank turns in the cycle) the crank's reading is not free: a
    mechanism turned by φ is met with its crank turned along by φ, so that the start says
    how it is turned; 0 leaves the start free.
    """

    places: Complexes
    share: Floats
    tied: int = 0


@dataclass(frozen=True)
class WishedAngle:
    """An angle of a body: `angle_rad` (K,) at shares `share` (K,) of the crank's cycle, of
    which only changes count."""

    angle_rad: Floats
    share: Floats


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

    def or_nearer(self, other: Laid) -> Laid:
        """Of every path the nearer of two ways to lay it, this one where they are even."""
        return self.where(other.misfit < self.misfit, other)

    def where(self, rows: NDArray[np.bool_], other: Laid) -> Laid:
        """This with the rows (M,) of another."""
        return Laid(*(np.where(rows, getattr(other, own.name), getattr(self, own.name))
                      for own in fields(self)))

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
    return laid[0] if len(laid) == 1 else laid[0].or_nearer(laid[1])


def costs(wish: Wished, coefficients: Complexes, starts: int = STARTS
          ) -> tuple[Floats, Complexes, Complexes]:
    """Of every path and start: mean squared misfit (M, S) mm², and a, b (M, S)."""
    mean = complex(wish.places.mean())
    about = wish.places - mean
    cross, middle, spread = _sums(about, wish.share, coefficients, starts)
    turn = cross / spread
    if wish.tied:
        turn = _tied(turn, wish.tied, starts)
    power = float(np.mean(np.abs(about) ** 2))
    with np.errstate(over="ignore", invalid="ignore"):  # of paths all but a point; wild
        square = turn.real**2 + turn.imag**2
        left = power - 2 * (turn.real * cross.real + turn.imag * cross.imag) + square * spread
        wild = ~(square <= LARGEST**2 * power) | (square * LARGEST**2 < power)
    left = np.where(wild, np.inf, np.maximum(left, 0.0))
    return left, turn, mean - turn * middle


def angle_costs(wish: WishedAngle, coefficients: Complexes, starts: int = STARTS) -> Floats:
    """Of every angle and start: mean squared misfit (M, S) rad², the best zero taken.

    `coefficients` (M, H), k = 1 … H, of angles φ(u) = 2 Re Σ c_k e^{2πiku}. A mirrored
    mechanism has −φ(−u), coefficients −conj c_k.
    """
    about = (wish.angle_rad - wish.angle_rad.mean()).astype(np.complex128)
    whole = np.concatenate([coefficients[:, ::-1].conj(), coefficients], axis=1)
    cross, _, spread = _sums(about, wish.share, whole, starts)
    left = float(np.mean(np.abs(about) ** 2)) - 2 * cross.real + spread
    return np.maximum(left, 0.0)


def _sums(about: Complexes, share: Floats, coefficients: Complexes, starts: int
          ) -> tuple[Complexes, Complexes, Floats]:
    """⟨z, w⟩, the mean of z and its spread ⟨z, z⟩ about that, (M, S) each, of paths at the
    shares; `about` (K,) is w about its mean."""
    order, count = orders(coefficients.shape[1]), len(about)
    angle = 2 * np.pi * share
    kind = coefficients.dtype  # single precision stays so: it takes half the time
    shifts = np.exp(2j * np.pi * np.outer(order, np.arange(starts)) / starts)
    wave = np.exp(1j * np.outer(order, angle)) / count
    cross = (coefficients @ (shifts * (wave @ about.conj())[:, None]).astype(kind)).conj()
    middle = coefficients @ (shifts * wave.sum(axis=1)[:, None]).astype(kind)
    spread = _mean_square(coefficients, angle, starts) - (middle.real**2 + middle.imag**2)
    return cross, middle, np.maximum(spread, 1e-30)


def _mean_square(coefficients: Complexes, angle: Floats, starts: int) -> Floats:
    """Mean over j of |z(u_j + s)|² for every path and start: (M, S)."""
    half = coefficients.shape[1] // 2
    fine = 4 * half + 2
    curve = curve_from(coefficients, fine)
    square = np.fft.rfft(curve.real**2 + curve.imag**2, axis=1) / fine
    degree = np.arange(square.shape[1])
    weight = np.where(degree == 0, 1.0, 2.0) * np.exp(1j * np.outer(angle, degree)).mean(axis=0)
    shifts = np.exp(2j * np.pi * np.outer(degree, np.arange(starts)) / starts)
    mean: Floats = (square @ (shifts * weight[:, None]).astype(square.dtype)).real
    return mean


def _tied(turn: Complexes, turns: int, starts: int) -> Complexes:
    """Turns allowed when the crank's reading is not free: a start of s says the whole is
    turned by −s of the cycle. Only the size is free then, and never negative."""
    allowed = np.exp(-2j * np.pi * turns * np.arange(starts) / starts)
    size = np.maximum((turn * allowed.conj()).real, 0.0)
    tied: Complexes = size * allowed
    return tied


def _one_way(wish: Wished, coefficients: Complexes, flip: bool, starts: int) -> Laid:
    left, turn, shift = costs(wish, coefficients, starts)
    at = np.argmin(left, axis=1)
    row = np.arange(len(left))
    return Laid(misfit=np.sqrt(left[row, at]), turn=turn[row, at], shift=shift[row, at],
                flip=np.full(len(left), flip), start=at / starts)
