"""Four-bars whose coupler point passes exactly through given places, up to nine.

A four-bar with a coupler point has nine numbers besides where along its way the tracer
starts, so nine places are the most that can be asked for (C. W. Wampler, A. P. Morgan and
A. J. Sommese, "Complete solution of the nine-point path synthesis problem for four-bar
linkages", 1992; the equations below are theirs but for keeping the coupler's turns as
unknowns). The equations do not know in which order or assembly the places are met: what
they give are seeds, to be looked at over the whole turn before anything is offered.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.errors import MotionError

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]

FEWEST, MOST = 3, 9
#: Rounds for all starts, then for the best tenth of them.
ROUNDS, MORE_ROUNDS = 200, 400
#: Residual, in sizes of the figure, at which a solution counts as exact.
EXACT = 1e-11
#: Pivots farther away than this many sizes of the figure are no use in a workshop.
FAR = 50.0


@dataclass(frozen=True)
class Through:
    """Four-bars in the pose at the first place; arrays (S,) complex, in units of places.

    `o2`, `o4` are the fixed pivots, `a`, `b` the pins on the coupler; `turn_rad` (S, K)
    is the coupler's turn at each place from the first on; `misfit` (S,) the largest
    change of a link's length over the places.
    """

    o2: Complexes
    o4: Complexes
    a: Complexes
    b: Complexes
    turn_rad: Floats
    misfit: Floats

    def __len__(self) -> int:
        return len(self.o2)


def four_bars_through(places: ArrayLike, *, seed: int = 0, starts: int = 400) -> Through:
    """Real four-bars through three to nine places, whatever order and assembly.

    Random starts go down by damped Gauss–Newton (Levenberg–Marquardt), all at once. With
    nine places the solutions are isolated, and more starts find more of them; with fewer
    they come in families, and each start finds the member nearest to it.

    Parameters
    ----------
    places : (K,) complex.
    seed, starts : of the random starts; the same seed gives the same four-bars.

    Returns
    -------
    Through, each solution once, the two sides of a four-bar in a fixed order.

    Raises
    ------
    MotionError
        With fewer than three or more than nine places, or all at one spot.
    """
    place = np.asarray(places, dtype=np.complex128)
    if not FEWEST <= len(place) <= MOST:
        raise MotionError(f"{len(place)} places cannot be met exactly by a four-bar",
                          mend=f"give {FEWEST} to {MOST}")
    size = float(np.abs(place - place.mean()).max())
    if size == 0.0:
        raise MotionError("all places are at one spot", mend="move them apart")
    moved = (place[1:] - place[0]) / size
    sides, turns = _descended(moved, *_starts(moved, seed, starts), ROUNDS)
    reached = np.abs(_residuals(moved, sides, turns)).max(axis=1)
    best = np.argsort(reached, kind="stable")[:max(10, starts // 10)]
    sides, turns = _descended(moved, sides[best], turns[best], MORE_ROUNDS)
    misfit = np.abs(_residuals(moved, sides, turns)).max(axis=1)
    pins, pivots = sides[:, :, 0], sides[:, :, 1]
    good = (misfit < EXACT) & (np.abs(sides).max(axis=(1, 2)) < FAR)
    good &= (np.abs(pins - pivots).min(axis=1) > 1e-3)
    good &= np.abs(pins[:, 0] - pins[:, 1]) > 1e-3
    keep = np.flatnonzero(good)
    keep = keep[_once(sides[keep])]
    order = np.argsort(sides[keep, :, 1].real, axis=1)[:, :, None]
    sides = np.take_along_axis(sides[keep], order, axis=1)
    spun = np.concatenate([np.zeros((len(keep), 1)), turns[keep]], axis=1)
    at = place[0] + size * sides
    return Through(at[:, 0, 1], at[:, 1, 1], at[:, 0, 0], at[:, 1, 0],
                   np.angle(np.exp(1j * spun)), size * misfit[keep])


def _starts(moved: Complexes, seed: int, starts: int) -> tuple[Complexes, Floats]:
    """(S, 2, 2): pin and fixed pivot of both sides, from the first place, in sizes; and
    (S, K − 1): turns of the coupler."""
    random = np.random.default_rng(seed)
    centre = moved.mean()
    sides = random.normal(size=(starts, 2, 2)) + 1j * random.normal(size=(starts, 2, 2))
    turns = np.cumsum(random.normal(size=(starts, len(moved))), axis=1)
    return centre + 1.2 * sides, turns


def _residuals(moved: Complexes, sides: Complexes, turns: Floats) -> Floats:
    """(S, 2 (K − 1)): squared lengths of both links at each place less those at the first,
    over twice the length at the first: near a solution the change of length itself."""
    pin, pivot = sides[:, :, 0, None], sides[:, :, 1, None]
    link = moved + np.exp(1j * turns)[:, None, :] * pin - pivot
    change: Floats = (np.abs(link) ** 2 - np.abs(pin - pivot) ** 2) / 2
    return change.reshape(len(sides), -1)


def _deflated(sides: Complexes, value: Floats, slope: Floats) -> tuple[Floats, Floats]:
    """Residuals and slopes times 1 + 1/d², d the distance of the two sides: where both are
    the same link anything fits, and every start would end there (deflation: P. E. Farrell,
    A. Birkisson and S. W. Funke, 2015, from memory)."""
    apart = (sides[:, 0] - sides[:, 1]).reshape(len(sides), -1)
    square = np.maximum((np.abs(apart) ** 2).sum(axis=1), 1e-12)
    factor = 1 + 1 / square
    flat = np.stack([apart.real, apart.imag], axis=-1).reshape(len(sides), -1)
    by = np.zeros((len(sides), slope.shape[2]))
    by[:, :4], by[:, 4:8] = flat, -flat
    by *= (-2 / square ** 2)[:, None]
    return (factor[:, None] * value,
            factor[:, None, None] * slope + value[:, :, None] * by[:, None, :])


def _slopes(moved: Complexes, sides: Complexes, turns: Floats) -> Floats:
    """(S, 2 (K − 1), 8 + K − 1): derivatives of the residuals by the real and imaginary
    parts of pins and pivots, side by side, and by the turns."""
    count, places = turns.shape
    pin, pivot = sides[:, :, 0, None], sides[:, :, 1, None]
    spun = np.exp(1j * turns)[:, None, :]
    link = moved + spun * pin - pivot
    by_pin = np.conj(link) * spun - np.conj(pin - pivot)
    by_pivot = np.conj(pin - pivot) - np.conj(link)
    by_turn = (np.conj(link) * 1j * spun * pin).real
    slope = np.zeros((count, 2, places, 8 + places))
    for side in (0, 1):
        for at, by in ((0, by_pin), (2, by_pivot)):
            slope[:, side, :, 4 * side + at] = by[:, side].real
            slope[:, side, :, 4 * side + at + 1] = -by[:, side].imag
        slope[:, side, np.arange(places), 8 + np.arange(places)] = by_turn[:, side]
    return slope.reshape(count, 2 * places, 8 + places)


def _descended(moved: Complexes, sides: Complexes, turns: Floats,
               rounds: int) -> tuple[Complexes, Floats]:
    """Levenberg–Marquardt (J. J. Moré, 1978) from every start at once."""
    count, places = turns.shape
    damping = np.full(count, 1e-2)
    eye = np.eye(8 + places)
    value, slope = _deflated(sides, _residuals(moved, sides, turns),
                             _slopes(moved, sides, turns))
    cost = (value ** 2).sum(axis=1)
    for _ in range(rounds):
        square = slope.transpose(0, 2, 1) @ slope
        pull = (slope.transpose(0, 2, 1) @ value[..., None])[..., 0]
        with np.errstate(all="ignore"):
            step = -np.linalg.solve(square + damping[:, None, None] * eye, pull[..., None])
        step = np.nan_to_num(step[..., 0], posinf=0.0, neginf=0.0)
        complex_step = step[:, 0:8:2] + 1j * step[:, 1:8:2]
        new_sides = sides + complex_step.reshape(count, 2, 2)
        new_turns = turns + step[:, 8:]
        new_value, new_slope = _deflated(
            new_sides, _residuals(moved, new_sides, new_turns),
            _slopes(moved, new_sides, new_turns))
        new_cost = (new_value ** 2).sum(axis=1)
        better = new_cost < cost
        damping = np.clip(np.where(better, damping * 0.3, damping * 4.0), 1e-15, 1e8)
        sides = np.where(better[:, None, None], new_sides, sides)
        turns = np.where(better[:, None], new_turns, turns)
        value = np.where(better[:, None], new_value, value)
        slope = np.where(better[:, None, None], new_slope, slope)
        cost = np.where(better, new_cost, cost)
    return sides, turns


def _once(sides: Complexes) -> NDArray[np.intp]:
    """Indices of solutions that differ, the two sides of a four-bar being alike."""
    kept: list[int] = []
    for number, one in enumerate(sides):
        near = any(min(np.abs(one - sides[other]).max(),
                       np.abs(one[::-1] - sides[other]).max()) < 1e-6 for other in kept)
        if not near:
            kept.append(number)
    return np.array(kept, dtype=np.intp)
