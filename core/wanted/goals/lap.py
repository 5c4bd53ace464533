"""The trace once round, as a cyclic row of places: a rocking crank goes there and back."""

from __future__ import annotations

import numpy as np

from core.wanted.goals.dense import Complexes, Dense, Floats, Ints


class Lap:
    """Places along the trace: x counts steps of the crank in the order of travel.

    `length` steps make a lap, after which all repeats; `steps` (length,) are the steps of
    the crank there. A crank that rocks goes up all its steps and down again.
    """

    def __init__(self, dense: Dense) -> None:
        self.dense = dense
        up = np.arange(dense.steps)
        self.steps: Ints = up if dense.cycle_rad else np.concatenate([up, up[-2:0:-1]])
        self.length = int(self.steps.size)

    def crank(self, x: Floats) -> Floats:
        """Crank angles, rad, at places x along laps; on a whole turn they go on rising."""
        dense = self.dense
        if dense.cycle_rad:
            return np.asarray(dense.crank_rad[0] + dense.step_rad * x)
        folded = np.abs((x + dense.steps - 1) % self.length - (dense.steps - 1))
        return np.asarray(dense.crank_rad[0] + dense.step_rad * folded)

    def way(self, x: Floats) -> Floats:
        """+1 where the crank goes up at places x, −1 where it comes down."""
        if self.dense.cycle_rad:
            return np.ones(x.shape)
        return np.where(x % self.length < self.dense.steps, 1.0, -1.0)

    def nearest_legs(self, x: Ints) -> Ints:
        """The same steps of a rocking crank (M, K), rising, on the legs of the lap, there or
        back, on which they lie closest together: both pass a step equally near."""
        tried = []
        for end in (x[:, -1], x[:, -1] + (-2 * x[:, -1]) % self.length):
            legs = x.copy()
            legs[:, -1] = end
            for k in range(x.shape[1] - 2, -1, -1):
                after = legs[:, k + 1]
                legs[:, k] = np.maximum(after - (after - x[:, k]) % self.length,
                                        after - (after + x[:, k]) % self.length)
            tried.append(legs)
        first, second = (legs[:, -1:] - legs[:, :1] for legs in tried)
        return np.where(first <= second, tried[0], tried[1])


def settle(dense: Dense, channel: int, crank_rad: Floats, target: Complexes,
           room_rad: Floats | float) -> Floats:
    """The instants (M, K) near `crank_rad`, no further than `room_rad`, at which a point is
    nearest to `target` (K,) or (M, K): Newton's method between the steps, to the end for
    one mechanism, and for many as far as it then takes no time to go on."""
    start, crank = crank_rad, crank_rad
    for _ in range(6 if dense.count == 1 else 3):
        value, slope, bend = dense.at(channel, crank)
        off = value - target
        pull = (slope.conj() * off).real
        speed = np.abs(slope) ** 2
        stiff = np.maximum(speed + (bend.conj() * off).real, 0.3 * speed)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.where(stiff > 0.0, pull / stiff, 0.0)
        moved = start + np.clip(crank - np.nan_to_num(step) - start, -room_rad, room_rad)
        if not dense.cycle_rad:
            moved = np.clip(moved, dense.crank_rad[0], dense.crank_rad[-1])
        settled = np.abs(moved - crank).max(initial=0.0) < 1e-6  # and its square comes next
        crank = moved
        if settled:
            break
    astray = np.isnan(dense.at(channel, crank)[0])
    return np.where(astray, start, crank)
