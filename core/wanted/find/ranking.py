"""Order, kin and Pareto marks of proposals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from core.wanted.atlas.shape import Complexes, Floats, backwards, evenly, harmonics
from core.wanted.find.proposal import Proposal

#: Paths nearer than this share of their size are the same path: more than the chords of
#: places compared leave the curve by, and less than good answers to one wish differ.
_SAME = 4e-4
#: Places of a path compared, and so many apart for a first look.
_PLACES, _APART = 384, 24
#: An error below this, in tolerances, is none.
_EXACT = 1e-6
#: A mechanism so many times as large as what is wished is of little use.
_HUGE = 10.0


def ranked(proposals: Sequence[Proposal], paths: Sequence[Complexes], top: int,
           least_deg: float, wish_mm: float) -> tuple[Proposal, ...]:
    """The best `top`, by error, then whether everything goes free, then transmission angle,
    size and torque; those far below the transmission angle wanted (`least_deg`) or far
    larger than the wishes (`wish_mm`) last. Errors that agree to three digits are even.
    Proposals of one path are kin and stand together behind the best of them, counted once.

    `paths` (N,) are where the tracer of each goes.
    """
    kin = kinship(paths)
    order = sorted(range(len(proposals)), key=lambda k: _key(proposals[k], least_deg, wish_mm))
    first: dict[int, int] = {}
    for place, k in enumerate(order):
        first.setdefault(kin[k], place)
    order.sort(key=lambda k: first[kin[k]])
    kept = [k for k in order if sum(place < first[kin[k]] for place in first.values()) < top]
    numbers = {kin[k]: number for number, k in reversed(list(enumerate(kept)))}
    best = marked([proposals[k] for k in kept])
    return tuple(replace(one, kin=sorted(numbers.values()).index(numbers[kin[k]]))
                 for one, k in zip(best, kept, strict=True))


def _key(one: Proposal, least_deg: float, wish_mm: float
         ) -> tuple[bool, float, bool, float, float, float]:
    torque = one.peak_torque_nmm
    poor = one.transmission_deg < 0.5 * least_deg or one.size_mm > _HUGE * wish_mm > 0
    error = float(f"{one.error:.3g}") if one.error > _EXACT else 0.0
    return (poor, error, bool(one.meets), -one.transmission_deg,
            one.size_mm, torque if np.isfinite(torque) else np.inf)


def marked(proposals: Sequence[Proposal]) -> list[Proposal]:
    """Proposals with their Pareto marks: none other is at least as good in error,
    transmission angle, size and torque, and better in one."""
    if not proposals:
        return []
    price: Floats = np.array([[one.error, -one.transmission_deg, one.size_mm,
                               np.nan_to_num(one.peak_torque_nmm, nan=np.inf)]
                              for one in proposals])
    no_worse = (price[:, None] <= price[None]).all(axis=2)
    better = (price[:, None] < price[None]).any(axis=2)
    beaten: NDArray[np.bool_] = np.logical_or.reduce(no_worse & better, axis=0)
    return [replace(one, pareto=not lost)
            for one, lost in zip(proposals, beaten, strict=True)]


def kinship(paths: Sequence[Complexes]) -> list[int]:
    """For each path the index of the first that is the same, wherever it starts and
    whichever way it runs."""
    if not paths:
        return []
    even = np.concatenate([evenly(np.asarray(path)[None], _PLACES) for path in paths])
    size = np.maximum(np.ptp(even.real, axis=1), np.ptp(even.imag, axis=1))
    # Only paths whose numbers nearly agree are laid on each other.
    found = harmonics(even, 8)
    told = np.concatenate([even.mean(axis=1).real[:, None], even.mean(axis=1).imag[:, None],
                           np.abs(found) + np.abs(backwards(found))], axis=1)
    kin: list[int] = []
    for k in range(len(even)):
        near = np.abs(told[:k] - told[k]).max(axis=1) < 2 * _SAME * size[k]
        first = (j for j in np.flatnonzero(near) if kin[j] == j
                 and _apart(even[j], even[k]) < _SAME * max(size[j], size[k]))
        kin.append(int(next(first, k)))
    return kin


def _apart(one: Complexes, other: Complexes) -> float:
    """How far the places of one path are from the other at most, either way round; less
    than that where a few of them are too far already."""
    few = _strays(one[::_APART], other)
    if few > _SAME * max(np.ptp(one.real), np.ptp(one.imag)) * 2:
        return few
    return max(_strays(one, other), _strays(other, one))


def _strays(one: Complexes, other: Complexes) -> float:
    """The greatest distance of a place of one from the polyline of the other."""
    start, side = other, np.roll(other, -1) - other
    span = np.maximum(np.abs(side) ** 2, 1e-300)
    away = one[:, None] - start
    share = np.clip((away * side.conj()).real / span, 0.0, 1.0)
    far: NDArray[np.float64] = np.abs(away - share * side).min(axis=1)
    return float(far.max())
