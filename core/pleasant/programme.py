"""The torque as a linear programme: the best amounts of what is offered, proved.

Torque = base + Σ amount · lane at every crank angle, amounts ≥ 0, so that "the peak as
small as possible" is a linear programme (min–max), and so are ripple and running away.
Solved by HiGHS through scipy; its dual bound is the proof that nothing better exists among
what is offered. For "at most k of them" every choice of k is such a programme.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_array

from core.motion.turn import Floats
from core.pleasant.options import Aim

#: How much of the gain may be given away to use less of what costs.
THRIFT = 0.005
#: Free unknowns besides the amounts: peak, upper, lower, depth.
_EXTRA = 4
#: Lanes that column generation begins with and adds at a time, and its rounds.
_FIRST, _ROUNDS = 40, 25
#: These programmes are small and full: there is nothing to simplify beforehand.
#: Where the simplex goes round in circles, an interior point method does not.
_QUICK, _SURE = {"presolve": False, "maxiter": 3000}, {"maxiter": 3000}
#: Choices of a few offers that are all tried, steps looked at meanwhile, and how near (as a
#: share of the torque) to what all offers together reach counts as no worse.
_MOST_CHOICES, _THIN, _NEAR = 60, 72, 0.002
#: So much of the torque a bound over very many lanes may be below the best one.
_LOOSE = 1e-3
#: Steps of the turn that a bound over very many lanes looks at.
_BOUND_STEPS = 120
#: A bound tries all choices up to so many; else it lets all offers share the room.
_MOST_PROVED = 10


@dataclass(frozen=True)
class Offer:
    """Something that may be added: amounts x ≥ 0, with Σ `share`·x ≤ 1.

    `lanes` (V, N) N·mm torque of a unit of each; `share` (V,) positive; `cost` (V,) what a
    unit costs, any unit of its own.
    """

    key: str
    lanes: Floats
    share: Floats
    cost: Floats


@dataclass(frozen=True)
class Optimum:
    """What a programme came to.

    `amounts` one array (V,) for each offer; `value` the aim's, N·mm; `bound` no choice has a
    smaller value; `torque` (N,) N·mm with the amounts.
    """

    amounts: tuple[Floats, ...]
    value: float
    bound: float
    torque: Floats


def value_of(aim: Aim, low: Floats, high: Floats | None = None) -> float:
    """What the aim makes small, N·mm, of torque lanes (N,)."""
    return float(values_of(aim, low, low if high is None else high))


def values_of(aim: Aim, low: Floats, high: Floats) -> Floats:
    """As :func:`value_of` of many lanes (…, N) at once: (…,)."""
    most, least = high.max(axis=-1), low.min(axis=-1)
    return np.asarray(aim.peak * np.maximum(most, -least)
                      + aim.ripple * (most - high.min(axis=-1))
                      + aim.runaway * np.maximum(-least, 0.0))


def solve(base: Floats, offers: Sequence[Offer], aim: Aim, *, most: int | None = None,
          rub_low: Floats | None = None, rub_high: Floats | None = None,
          thrifty: bool = True,
          fine: Callable[[Sequence[int]], bool] = lambda _: True) -> Optimum:
    """The amounts that make the aim's value least.

    Parameters
    ----------
    base : (N,) torque without any of it, N·mm.
    most : at most so many of the offers; None for all. `fine` says of a choice of so many
        (indices) whether it may be; one at least must be.
    rub_low, rub_high : (N,) what friction adds at its least and most, taken as fixed.
    thrifty : afterwards use as little as possible at nearly the same value; `bound` is of
        the value alone.
    """
    zero = np.zeros_like(base)
    low, high = base + (zero if rub_low is None else rub_low), base + (
        zero if rub_high is None else rub_high)
    before = value_of(aim, low, high)
    if not offers:
        return Optimum((), before, before, base)
    table = _Table(low, high, offers, aim)
    picked = list(range(len(offers)))
    bound = -np.inf
    if most is not None and most < len(offers):
        picked, bound = table.choose(most, fine)
    best, exact = table.least(picked)
    bound = max(bound, exact) if len(picked) == len(offers) else min(bound, exact)
    if thrifty and best is not None:
        room = THRIFT * max(before - exact, 0.0)
        sparing, _ = table.least(picked, spare=exact + room + 1e-9 * abs(before))
        best = sparing if sparing is not None else best
    if best is None:
        return Optimum(tuple(np.zeros(o.lanes.shape[0]) for o in offers), before,
                       min(bound, before), base)
    amounts = table.sort(best)
    added = sum((x @ o.lanes for x, o in zip(amounts, offers, strict=True)), zero)
    value = value_of(aim, low + added, high + added)
    return Optimum(amounts, value, min(bound, value), base + added)


class _Table:
    """The programme's matrices: unknowns are scaled amounts, then peak t, upper u, lower l,
    depth d; scaled torque, so that numbers are about one."""

    def __init__(self, low: Floats, high: Floats, offers: Sequence[Offer],
                 aim: Aim) -> None:
        self.offers, self.aim = offers, aim
        lanes = np.vstack([o.lanes for o in offers])
        self.unit = max(float(np.abs(low).max()), float(np.abs(high).max()), 1e-9)
        size = np.abs(lanes).max(axis=1)
        # What does next to nothing (a weight at its pivot) must not be scaled to the skies.
        self.scale = self.unit / np.maximum(size, max(1e-6 * float(size.max()), 1e-12))
        self.lanes = (lanes * self.scale[:, None] / self.unit).T
        self.low, self.high = low / self.unit, high / self.unit
        self.owner = np.repeat(np.arange(len(offers)), [o.lanes.shape[0] for o in offers])
        self.share = np.concatenate([o.share for o in offers]) * self.scale
        self.cost = np.concatenate([o.cost for o in offers]) * self.scale
        self.count = lanes.shape[0]
        self.rows = self._torque_rows()
        self.groups = csr_array((self.share, (self.owner, np.arange(self.count))),
                                shape=(len(offers), self.count))

    def _torque_rows(self) -> tuple[Floats, Floats]:
        """Rows A·x ≤ b that tie t, u, l, d to the torque; only those the aim needs."""
        steps, aim = self.low.size, self.aim
        blocks, right = [], []
        self.signs: list[float] = []

        def add(sign: float, extra: dict[int, float], limit: Floats) -> None:
            tail = np.zeros((steps, _EXTRA))
            for at, value in extra.items():
                tail[:, at] = value
            self.signs.append(sign)
            blocks.append(np.hstack([sign * self.lanes, tail]))
            right.append(limit)

        if aim.peak:
            add(1.0, {0: -1.0}, -self.high)
            add(-1.0, {0: -1.0}, self.low)
        if aim.ripple:
            add(1.0, {1: -1.0}, -self.high)
            add(-1.0, {2: 1.0}, self.high)
        if aim.runaway:
            add(-1.0, {3: -1.0}, self.low)
        return np.vstack(blocks), np.concatenate(right)

    @property
    def goal(self) -> Floats:
        """Cost vector of the aim."""
        aim = self.aim
        return np.concatenate([np.zeros(self.count),
                               [aim.peak, aim.ripple, -aim.ripple, aim.runaway]])

    def _wide(self, block: Floats, extra: int) -> Floats:
        return np.hstack([block, np.zeros((block.shape[0], extra))])

    def least(self, picked: list[int], spare: float | None = None,
              thin: bool = False, most: int | None = None) -> tuple[Floats | None, float]:
        """Scaled amounts with the least value among the picked offers, and the dual bound
        (N·mm); with `spare`, the least cost at a value up to that. `thin` looks at few steps;
        `most` allows all together no more than so many could take."""
        keep = np.isin(self.owner, picked)
        columns = np.append(keep, np.ones(_EXTRA, dtype=bool))
        matrix, right = self.rows
        if thin:
            few = _thinned(right.size, self.low.size)
            matrix, right = matrix[few], right[few]
        rows = [matrix, self._wide(self.groups.toarray(), _EXTRA)]
        rights = [right, np.ones(len(self.offers))]
        goal = self.goal
        if most is not None:  # so many of them have room for so much together
            rows.append(np.append(self.share, np.zeros(_EXTRA))[None])
            rights.append(np.array([float(most)]))
        if spare is not None:
            rows.append(goal[None])
            rights.append(np.array([spare / self.unit]))
            goal = np.append(self.cost, np.zeros(_EXTRA))
        bounds = np.array([(0.0, np.inf)] * self.count + [
            (0.0, np.inf), (-np.inf, np.inf), (-np.inf, np.inf), (0.0, np.inf)])
        found = _solved(goal[columns], np.vstack(rows)[:, columns], np.concatenate(rights),
                        bounds=bounds[columns])
        if found.status != 0:
            return None, -np.inf
        amounts = np.zeros(self.count)
        amounts[keep] = np.maximum(found.x[:int(keep.sum())], 0.0)
        marginal = found.ineqlin.marginals @ np.concatenate(rights)
        return amounts, float(marginal) * self.unit

    def priced(self) -> tuple[float, Floats, float]:
        """Least value (in units of the torque), the price of torque at every step (N,), how
        much less it gets for one more there, and the price of the first offer's room."""
        matrix, right = self.rows
        rows = np.vstack([matrix, self._wide(self.groups.toarray(), _EXTRA)])
        bounds = [(0.0, None)] * self.count + [(0.0, None), (None, None), (None, None),
                                               (0.0, None)]
        found = _solved(self.goal, rows, np.append(right, np.ones(len(self.offers))),
                        bounds=bounds)
        if found.status != 0:
            return -np.inf, np.zeros(self.low.size), 0.0
        duals = found.ineqlin.marginals
        signs = np.concatenate([np.full(self.low.size, sign) for sign in self.signs])
        prices = (signs * duals[:right.size]).reshape(-1, self.low.size).sum(axis=0)
        return float(found.fun), prices, float(-duals[right.size])

    def choose(self, most: int, fine: Callable[[Sequence[int]], bool] = lambda _: True
               ) -> tuple[list[int], float]:
        """Which offers to use, at most so many, and the proved bound (N·mm).

        Every choice is a programme; few steps of the turn are looked at, which relaxes
        them all. It ends early when a choice comes near what all together would reach.
        """
        groups = len(self.offers)
        amounts, together = self._few(list(range(groups)))
        worth = [float((amounts[self.owner == k] * self.share[self.owner == k]).sum())
                 for k in range(groups)] if amounts is not None else [0.0] * groups
        order = sorted(range(groups), key=lambda k: -worth[k])
        if math.comb(groups, most) > _MOST_CHOICES:
            order = order[:_kept(groups, most)]
        best: tuple[float, list[int]] | None = None
        for picked in (few for few in itertools.combinations(order, most) if fine(few)):
            found, value = self._few(list(picked))
            if found is not None and (best is None or value < best[0] - 1e-9):
                best = (value, sorted(picked))
            if best is not None and best[0] <= together + _NEAR * self.unit:
                return best[1], together
        if best is None:
            return sorted(next(few for few in itertools.combinations(range(groups), most)
                               if fine(few))), together
        return best[1], together if len(order) < groups else best[0]

    def _few(self, picked: list[int]) -> tuple[Floats | None, float]:
        """As :meth:`least`, looking at a few steps only."""
        return self.least(picked, thin=True)

    def sort(self, scaled: Floats) -> tuple[Floats, ...]:
        """Amounts of each offer in its own unit."""
        amounts = scaled * self.scale
        return tuple(amounts[self.owner == k] for k in range(len(self.offers)))


def bound_of(base: Floats, offers: Sequence[Offer], aim: Aim, most: int) -> float:
    """A value (N·mm) that no use of at most so many of the offers gets below."""
    if not offers:
        return value_of(aim, base)
    table = _Table(base, base, offers, aim)
    if most < len(offers) and math.comb(len(offers), most) <= _MOST_PROVED:
        return max(table.choose(most)[1], 0.0)
    return max(table.least(list(range(len(offers))), thin=True, most=most)[1], 0.0)


def lower_bound(base: Floats, lanes: Floats, share: Floats, aim: Aim, most: float,
                go_on: Callable[[], bool] = lambda: True,
                beside: Sequence[Offer] = ()) -> float:
    """The least value (N·mm) with any amounts x ≥ 0 of many lanes (V, N), Σ `share`·x ≤
    `most`, beside other offers: no choice of at most so many of them gets below.

    By column generation: a programme of few lanes, joined by those its dual prices call
    for, until none does or `go_on` says no; what is left undone is taken off the bound.
    """
    few = np.arange(0, base.size, max(1, base.size // _BOUND_STEPS))
    base, lanes = base[few], lanes[:, few]
    beside = [replace(each, lanes=each.lanes[:, few]) for each in beside]
    unit = max(float(np.abs(base).max()), 1e-9)
    size = np.maximum(np.abs(lanes).max(axis=1), 1e-300)
    scaled, load = lanes / size[:, None], share * unit / size
    chosen = np.zeros(lanes.shape[0], dtype=bool)
    chosen[np.argsort(scaled @ base / np.linalg.norm(scaled, axis=1).clip(1e-12),
                      kind="stable")[:_FIRST]] = True
    bound = 0.0  # every aim's value is at least nothing
    for _ in range(_ROUNDS):
        if not go_on():
            break
        offer = Offer("", lanes[chosen], share[chosen] / most, np.ones(int(chosen.sum())))
        table = _Table(base, base, [offer, *beside], aim)
        value, prices, room = table.priced()
        worth = prices @ scaled.T - room * load / most
        # Σ share·x ≤ most allows amounts up to most/load: so much could each still win.
        missing = float(np.max(np.where(load > 0.0, worth * most / load, 0.0), initial=0.0))
        bound = max(bound, (value - missing) * unit)
        if missing <= _LOOSE:
            break
        order = np.argsort(-worth * most / np.maximum(load, 1e-300), kind="stable")
        fresh = [k for k in order.tolist() if not chosen[k] and worth[k] > 0.0][:_FIRST]
        if not fresh:
            break
        chosen[fresh] = True
    return bound


def _solved(goal: Floats, rows: Floats, right: Floats, bounds: Any) -> Any:
    """scipy's linprog by HiGHS."""
    found = linprog(goal, rows, right, bounds=bounds, method="highs", options=_QUICK)
    return found if found.status == 0 else linprog(
        goal, rows, right, bounds=bounds, method="highs-ipm", options=_SURE)


def _kept(groups: int, most: int) -> int:
    """How many of the offers are tried when all choices would be too many."""
    return max(k for k in range(most, groups + 1)
               if k == most or math.comb(k, most) <= _MOST_CHOICES)


def _thinned(rows: int, steps: int) -> NDArray[np.intp]:
    """Every so many of the rows of each block of steps: fewer rules relax a programme, so
    that its bound stays a bound."""
    every = max(1, steps // _THIN)
    return np.concatenate([np.arange(start, start + steps, every)
                           for start in range(0, rows, steps)])
