"""What is seen of mechanisms over one cycle of the crank, and in between."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

#: Places on either side that interpolation goes by: polynomials of degree 7.
_NODES = 8
_FEW = 1000
#: Places that agree to this share of their size are the same.
_SAME = 1e-7


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

    @cached_property
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

    def own_cycle(self, channel: int) -> Dense:
        """One channel alone, over its own cycle: of a cycle of several turns of the crank
        the part after which all mechanisms repeat what is seen in the channel."""
        values = np.asarray(self.values[channel])
        turns = round(self.cycle_rad / (2.0 * np.pi))
        for parts in range(turns, 1, -1):
            steps = self.steps // parts
            if turns % parts or self.steps % parts:
                continue
            size = float(np.abs(values[:, 0]).max(initial=0.0)) + 1e-300
            if np.allclose(values, np.roll(values, steps, axis=1), rtol=0.0, atol=_SAME * size,
                           equal_nan=True) and not self.gains[channel].any():
                return Dense(self.crank_rad[:steps], (values[:, :steps],),
                             self.reached[:, :steps], self.cycle_rad / parts)
        return Dense(self.crank_rad, (values,), self.reached, self.cycle_rad)

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
        x = (crank_rad - self.crank_rad[0]) / self.step_rad
        outside = np.isnan(x)
        x = np.where(outside, 0.0, x)
        whole = np.round(x)
        x = np.where(np.abs(x - whole) < 1e-9, whole, x)  # steps themselves are known
        n, size = self.steps, min(_NODES, self.steps)
        step = np.floor(x).astype(np.intp)
        values, known = self._around[channel]
        if self.cycle_rad:
            lap, start = np.divmod(step, n)
            t: Floats = np.asarray(x - step + (size // 2 - 1), np.float64)
        else:
            start = np.clip(step - (size // 2 - 1), 0, n - size)
            t = np.asarray(x - start, np.float64)
            outside |= (x < -1e-9) | (x > n - 1 + 1e-9)
        weights = _weights(t, size)
        flat = start + values.shape[1] * np.arange(self.count)[:, None]
        if known is not None:
            seen = np.stack([known.take(flat + node) for node in range(size)])
            beside = ~seen.all(axis=0) & ~outside
            outside |= beside
            if beside.any():
                outside[beside] = _chord_weights(weights, seen, t, beside)
        found = _weighed(values, flat, weights)
        if self.cycle_rad and self.gains[channel].any():
            found[0] += self.gains[channel][:, None] * lap
        found[:, outside] = np.nan
        return found[0], found[1] / self.step_rad, found[2] / self.step_rad**2

    def at_each(self, channel: Ints, crank_rad: Floats) -> Complexes:
        """(3, M, K) value, first and second derivative as :meth:`at`, of samples that are
        each of its own `channel` (K,)."""
        found = np.full((3, *crank_rad.shape), np.nan, np.complex128)
        for number in range(len(self.values)):
            mine = np.flatnonzero(channel == number)
            if mine.size:
                found[..., mine] = self.at(number, crank_rad[:, mine])
        return found

    @cached_property
    def _around(self) -> tuple[tuple[NDArray[np.generic], Bools | None], ...]:
        """For each channel its values, of a cycle with the nodes before its first and after
        its last step, and which are reached (None: all); what is not is 0."""
        known = None if self.reached.all() else self._wrapped(self.reached, 0.0)
        found = []
        for values, gain in zip(self.values, self.gains, strict=True):
            sound = values if known is None else np.where(self.reached, values, 0.0)
            found.append((self._wrapped(sound, gain[:, None]), known))
        return tuple(found)

    def _wrapped(self, values: Any, gain: Floats | float) -> Any:
        if not self.cycle_rad:
            return values
        size = min(_NODES, self.steps)
        nodes = np.arange(self.steps + size - 1) - (size // 2 - 1)
        wrapped = values[:, nodes % self.steps]
        return wrapped + gain * (nodes // self.steps) if np.any(gain) else wrapped


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
    """For each number n of even nodes (3 n, n): coefficients, by powers of the place about
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
        tables[size] = table.reshape(3 * size, size)
    return tables


_TABLES = _tables()


def _weights(t: Floats, size: int) -> Floats:
    """Weights (3, size, …) of the nodes 0 … size − 1, for the value and its first and
    second derivative, at t (…)."""
    powers = np.empty((size, *t.shape))
    powers[0] = 1.0
    for power in range(1, size):
        np.multiply(powers[power - 1], t - (size - 1) / 2.0, out=powers[power])
    weights = _TABLES[size] @ powers.reshape(size, -1)
    return np.asarray(weights.reshape(3, size, *t.shape))


def _weighed(values: Any, flat: Ints, weights: Floats) -> Complexes:
    """(3, …) sums over the nodes of weights (3, size, …) and values from `flat` (…) on."""
    size = weights.shape[1]
    if flat.size < _FEW:  # fewer calls
        around = values.take(flat + np.arange(size).reshape(-1, *(1,) * flat.ndim))
        return np.asarray((weights * around).sum(axis=1), np.complex128)
    found = np.zeros((3, *flat.shape), np.complex128)
    for node in range(size):  # less memory
        value = values.take(flat + node)
        for order in range(3):
            found[order] += weights[order, node] * value
    return found


def _chord_weights(weights: Floats, seen: Bools, t: Floats, where: Bools) -> Bools:
    """Put in the weights of a chord between two steps where (…) other steps are not reached;
    of those, which have no two steps reached beside them either.

    `seen` (size, …) says which nodes are reached.
    """
    size, ends = seen.shape[0], seen[:, where]
    low = np.clip(np.floor(t[where]).astype(np.intp), 0, max(size - 2, 0))
    high, each = np.minimum(low + 1, size - 1), np.arange(low.size)
    share = np.where(ends[high, each], t[where] - low, 0.0)
    near = np.abs(t[where] - low - share) < 1e-9
    chord = np.zeros((3, size, low.size))
    chord[0, low, each] = 1.0 - share
    chord[0, high, each] += share
    chord[1, low, each] = -1.0
    chord[1, high, each] += 1.0
    chord[1, :, ~ends[high, each]] = 0.0
    weights[:, :, where] = chord
    return ~(ends[low, each] & near)
