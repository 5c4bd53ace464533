"""What is seen of mechanisms over one cycle of the crank, and in between."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

#: Places on either side that interpolation goes by: polynomials of degree 7.
_NODES = 8


@dataclass(frozen=True)
class Channel:
    """Something about a mechanism that wishes speak of: a point's place or a part's angle.

    Attributes
    ----------
    kind : "point": complex places, mm; "angle": continuous over the turn, rad.
    ref : "part.point" or the part's id; "" while the wish is not attached.
    line : two points of the part, whose direction from the first to the second is the
        angle; empty where only changes of the angle count, so that any zero will do.
    of : ids of the wishes that speak of it. Wishes that are not attached share a channel
        only where they must be of one thing: all poses are of one point and one part.
    """

    kind: Literal["point", "angle"]
    ref: str
    line: tuple[str, ...]
    of: tuple[str, ...]


@dataclass(frozen=True)
class Dense:
    """Channels of M mechanisms over one cycle at N even steps of the crank.

    Attributes
    ----------
    crank_rad : (N,) increasing, evenly spaced; readings of the crank.
    values : for each channel (M, N), complex mm or angles in rad, continuous over the
        cycle; anything where not reached.
    reached : (M, N) False where the crank cannot come.
    cycle_rad : crank angle after which all repeats, one step beyond the last; 0 for a
        crank that rocks between its first and last step.
    """

    crank_rad: Floats
    values: tuple[NDArray[np.generic], ...]
    reached: Bools
    cycle_rad: float

    @property
    def count(self) -> int:
        """How many mechanisms."""
        return int(self.reached.shape[0])

    @property
    def steps(self) -> int:
        """How many steps of the crank."""
        return int(self.crank_rad.size)

    @property
    def step_rad(self) -> float:
        """From one step to the next."""
        if self.crank_rad.size < 2:
            return 1.0
        return float((self.crank_rad[-1] - self.crank_rad[0]) / (self.crank_rad.size - 1))

    def turned(self) -> Dense:
        """The same with the crank counted the other way round."""
        return Dense(-self.crank_rad[::-1], tuple(v[:, ::-1] for v in self.values),
                     self.reached[:, ::-1], self.cycle_rad)

    def part(self, rows: Ints | slice) -> Dense:
        """Some of the mechanisms."""
        return Dense(self.crank_rad, tuple(v[rows] for v in self.values),
                     self.reached[rows], self.cycle_rad)

    @cached_property
    def gains(self) -> tuple[Floats, ...]:
        """For each channel (M,): what its value gains in a cycle; whole turns for an angle,
        0 for a point."""
        return tuple(self._gain(np.asarray(v)) for v in self.values)

    def _gain(self, values: NDArray[np.generic]) -> Floats:
        if np.iscomplexobj(values) or not self.cycle_rad or self.steps < 3:
            return np.zeros(self.count)
        v = np.asarray(values, np.float64)
        on = 2.0 * v[:, -1] - v[:, -2] - v[:, 0]
        return 2.0 * np.pi * np.round(np.nan_to_num(on) / (2.0 * np.pi))

    def at(self, channel: int, crank_rad: Floats) -> tuple[Complexes, Complexes, Complexes]:
        """Value, first and second derivative by the crank of a channel between the steps.

        By the polynomial of degree 7 through the eight nearest steps (by the chord between
        two where others are not reached). An angle is the real part.

        Parameters
        ----------
        crank_rad : (M, K) readings; beyond the cycle they are taken into it, an angle
            gaining what it gains in a cycle.

        Returns
        -------
        value, slope, bend : (M, K) complex; NaN where not reached.
        """
        values = np.asarray(self.values[channel])
        x = (crank_rad - self.crank_rad[0]) / self.step_rad
        outside = np.isnan(x)
        x = np.where(outside, 0.0, x)
        n, size = self.steps, min(_NODES, self.steps)
        if self.cycle_rad:
            first = np.floor(x).astype(np.intp) - (size // 2 - 1)
        else:
            first = np.clip(np.floor(x).astype(np.intp) - (size // 2 - 1),
                            0, n - size)
            outside |= (x < -1e-9) | (x > n - 1 + 1e-9)
        nodes = first[..., None] + np.arange(size)
        rows = np.arange(values.shape[0])[:, None, None]
        steps = nodes % n
        around = values[rows, steps]
        if self.cycle_rad and not np.iscomplexobj(values):
            around = around + self.gains[channel][:, None, None] * np.floor(nodes / n)
        basis = _basis(x - first, size)
        if not self._whole:
            seen = self.reached[rows, steps]
            whole = seen.all(axis=-1)
            around = np.where(seen, around, 0.0)
            self._chords(basis, seen, x - first, ~whole & ~outside, size)
            outside = outside | np.isnan(basis[..., 0, :]).any(axis=-1)
        found = (basis @ around[..., None])[..., 0].astype(np.complex128)
        if outside.any():
            found[outside] = np.nan
        return (found[..., 0], found[..., 1] / self.step_rad,
                found[..., 2] / self.step_rad**2)

    @cached_property
    def _whole(self) -> bool:
        return bool(self.reached.all())

    @staticmethod
    def _chords(basis: Floats, seen: Bools, t: Floats, where: Bools, size: int) -> None:
        """Replace the weights by those of a chord, NaN where its ends are not reached."""
        low = np.clip(np.floor(t[where]).astype(np.intp), 0, size - 2)
        share = t[where] - low
        each, ends = np.arange(low.size), seen[where]
        on = ends[each, low] & (share < 1e-9)
        both = ends[each, low] & ends[each, low + 1]
        value, slope = np.zeros((low.size, size)), np.zeros((low.size, size))
        value[each, low], value[each, low + 1] = 1.0 - share, share
        slope[each, low], slope[each, low + 1] = -1.0, 1.0
        value[on & ~both, :] = 0.0
        value[(on & ~both).nonzero()[0], low[on & ~both]] = 1.0
        slope[on & ~both] = 0.0
        value[~on & ~both] = np.nan
        basis[where] = np.stack([value, slope, 0.0 * value], axis=-2)


@dataclass(frozen=True)
class Instants:
    """When each of the K samples of the goals is compared, for M mechanisms.

    Attributes
    ----------
    crank_rad : (M, K) readings of the crank, rad; NaN where nothing is reached. It may lie
        beyond the cycle.
    channel : (K,) index of the channel each is of.
    free : (K,) True where the instant is eliminated (it moves with the mechanism).
    offset_rad : (M,) common offset: a reading of the wishes is this much less than the
        reading of the crank.
    value : (M, K) complex, the values as they were when matched, interpolated; an angle
        with all its whole turns.
    bend : (M, K) complex, second derivative of the value by the crank, as far as it was
        known when matched; 0 where not.
    blocked : (M, K) True where a free instant cannot move, its neighbour or its bound
        being in the way.
    tied : (M, K) True where that bound is a tick: such an instant moves with the offset.
    misfit : (M,) what paths without ticks, and between them, came to when matched, in
        tolerances squared, on the steps alone: to compare directions, not to report.
    cycle_rad : as of the `Dense` they were matched on.
    """

    crank_rad: Floats
    channel: Ints
    free: Bools
    offset_rad: Floats
    value: Complexes
    bend: Complexes
    blocked: Bools
    tied: Bools
    misfit: Floats
    cycle_rad: float = 0.0


@dataclass(frozen=True)
class Seen:
    """Exact values at instants, and their derivatives.

    Attributes
    ----------
    value : (M, K) complex: places in mm, or angles in rad (real part, any whole turns
        may be left out).
    slope : (M, K) complex, derivative by the crank angle, per rad.
    deriv : (M, K, P) complex, derivatives by the parameters; None when only the errors
        are wanted.
    """

    value: Complexes
    slope: Complexes
    deriv: Complexes | None = None


def _tables() -> dict[int, Floats]:
    """For each number n of even nodes (n, 3 n): coefficients, by powers of the place about
    the middle, of the Lagrange polynomials through them and of their two derivatives."""
    tables = {}
    for size in range(1, _NODES + 1):
        nodes = np.arange(size) - (size - 1) / 2.0
        table = np.zeros((3, size, size))
        for j in range(size):
            others = np.delete(nodes, j)
            line = np.polynomial.polynomial.polyfromroots(others) / np.prod(nodes[j] - others)
            for order in range(min(3, size)):
                one = np.polynomial.polynomial.polyder(line, order)
                table[order, j, :one.size] = one
        tables[size] = table.reshape(3 * size, size).T.copy()
    return tables


_TABLES = _tables()


def _basis(t: Floats, size: int) -> Floats:
    """Weights (…, 3, size) of the nodes 0 … size − 1, for the value and its first and
    second derivative, at t (…)."""
    powers = np.empty((*t.shape, size))
    powers[..., 0] = 1.0
    for power in range(1, size):
        np.multiply(powers[..., power - 1], t - (size - 1) / 2.0, out=powers[..., power])
    return np.asarray((powers @ _TABLES[size]).reshape(*t.shape, 3, size))
