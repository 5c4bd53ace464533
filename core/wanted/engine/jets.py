"""Values with their derivatives: places and turns of M mechanisms at N crank angles.

Derivatives are kept only by the parameters a value depends on. Planar vectors are held
as components, parameters first and crank angles last, so that every operation runs over
long contiguous rows. All are ordinary forward-mode differentiation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Rows = tuple[int, ...]


@dataclass(frozen=True)
class Place:
    """Places: `at` (2, M, N) mm; `by` (R, 2, M, N) derivatives by the parameters `rows`
    (R), or with M and N of 1 where they are the same for all."""

    at: Floats
    rows: Rows
    by: Floats


@dataclass(frozen=True)
class Heading:
    """Turns: unit vectors `unit` (2, M, N) and `by` (R, M, N) derivatives of the angle,
    rad. `angle` (M, N) where it is known beyond whole turns."""

    unit: Floats
    rows: Rows
    by: Floats
    angle: Floats | None = None


def left(vector: Floats) -> Floats:
    """Vectors (…, 2, M, N) turned a quarter turn counter-clockwise."""
    turned = np.empty_like(vector)
    np.negative(vector[..., 1, :, :], out=turned[..., 0, :, :])
    turned[..., 1, :, :] = vector[..., 0, :, :]
    return turned


def tail(values: Floats, first: int) -> Floats:
    """The crank angles from the index `first` on of values (…, N), or of one for all."""
    return values if values.shape[-1] == 1 else values[..., first:]


def dot(one: Floats, other: Floats) -> Floats:
    """Scalar products of vectors (…, 2, M, N)."""
    product: Floats = (one[..., 0, :, :] * other[..., 0, :, :]
                       + one[..., 1, :, :] * other[..., 1, :, :])
    return product


#: Derivatives to be summed: by which rows (R), factors (R, …), and a vector they are of.
Term = tuple[Rows, Floats] | tuple[Rows, Floats, Floats]


def total(*terms: Term) -> tuple[Rows, Floats]:
    """Sum of derivatives, each by its own rows: all rows met, and the sums.

    A term is an array (R, …), or factors (R, M, N) of one vector (2, M, N); shapes
    broadcast against each other beyond the first axis.
    """
    rows = tuple(dict.fromkeys(row for term in terms for row in term[0]))
    shape = np.broadcast_shapes(*(own.shape[1:] if k == 1 else own.shape
                                  for term in terms for k, own in enumerate(term[1:], 1)))
    sums = np.empty((len(rows), *shape))
    place = {row: k for k, row in enumerate(rows)}
    seen: set[int] = set()
    for own, factors, *vector in terms:
        for row, factor in zip(own, factors, strict=True):
            target = sums[place[row]]
            if row not in seen:
                np.multiply(factor, vector[0] if vector else 1.0, out=target)
                seen.add(row)
            elif vector:
                target += factor * vector[0]
            else:
                target += factor
    return rows, sums
