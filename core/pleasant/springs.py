"""Extension springs: where to hook them in, how hard, and as one can wind them.

For given anchors the torque is linear in rate and preload as long as the spring is taut: a
linear programme. Anchors are searched from coarse to fine: all pairs of a grid, each with
the best rate for a few preloads (the value is convex in the rate, so a golden section finds
it, all pairs at once), then a descent of the best few by shrinking steps. What is wound is
chosen from a table and judged with its slack, exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.motion.turn import Complexes, Floats
from core.pleasant.anchors import (
    ON_PART,
    Stretch,
    frame_spots,
    may_hook,
    spots_on,
    stretch,
    unit_lanes,
)
from core.pleasant.coils import softest
from core.pleasant.ground import Ground
from core.pleasant.options import Aim, SpringRules
from core.pleasant.programme import Offer, Optimum, lower_bound, solve, value_of, values_of

#: Preloads tried for every pair: where the pull would be nothing, from the shortest length
#: over the turn (0) down to the shortest spring (1).
_PRELOADS = (0.0, 0.4, 0.75, 1.0)
_STEPS = (8.0, 4.0, 2.0, 1.0)
#: Pairs of the grid that are refined.
STARTS = 3
_GOLD = (np.sqrt(5.0) - 1.0) / 2.0

GoOn = Callable[[float], bool]


@dataclass(frozen=True)
class Hook:
    """A spring between `a` on a part and `b` on a fixed part, complex mm, drawn pose.

    Pull = rate · (length − nil_mm) above the length `free_mm`, below it is slack.
    """

    part: str
    frame: str
    a: complex
    b: complex
    rate: float
    nil_mm: float
    free_mm: float

    def stretched(self, ground: Ground) -> Stretch:
        """Its length over the turn."""
        return stretch(ground, self.part, np.array([self.a]), (self.frame,),
                       np.array([self.b]))

    def lane(self, ground: Ground) -> Floats:
        """(N,) N·mm, its torque and its mirror images'."""
        lane: Floats = self.rate * unit_lanes(ground, self.stretched(ground), np.array(
            [self.nil_mm]), np.array([self.free_mm]))[0]
        return lane

    def most_n(self, ground: Ground) -> float:
        """Its hardest pull over the turn."""
        return max(self.rate * (float(self.stretched(ground).most[0]) - self.nil_mm), 0.0)


@dataclass(frozen=True)
class Sprung:
    """Springs by the programme, before they are wound; `grid_bound` holds for any so many
    springs between the anchors of the grid."""

    hooks: tuple[Hook, ...]
    optimum: Optimum
    grid_bound: float


def spring(ground: Ground, aim: Aim, rules: SpringRules, go_on: GoOn,
           skip: int = 0) -> Sprung | None:
    """The best springs, at most `rules.most`; None when none helps. `skip` passes by so many
    of the best places for the first (below `STARTS`).

    The optimum's bound is proved for their anchors: no other rate or preload does better.
    """
    coarse = ground.coarse
    base = coarse.before.plain_nmm
    pairs = pairs_of(coarse, rules)
    if not pairs:
        return None
    hooks: list[Hook] = []
    torque = base
    for turn in range(rules.most):
        best = best_hook(coarse, pairs, torque, aim, rules, go_on, skip if turn == 0 else 0)
        if best is None or not go_on(0.2 + 0.4 * turn / rules.most):
            break
        hooks.append(best)
        torque = torque + best.lane(coarse)
    if not hooks:
        return None
    optimum, hooks = _programme(ground, hooks, aim, rules)
    if not hooks:
        return None
    return Sprung(tuple(hooks), optimum,
                  grid_bound(coarse, pairs, base, aim, rules, go_on))


def pairs_of(ground: Ground, rules: SpringRules) -> list[Stretch]:
    """All pairs of a grid of anchors, part by part, that are never shorter than a spring."""
    frame = frame_spots(ground, rules)
    if not frame:
        return []
    names = np.array([name for name, _ in frame])
    spots: Complexes = np.array([place for _, place in frame])
    found = []
    for name in rules.parts or ground.originals():
        if not ground.moves(name):
            continue
        mine = spots_on(ground, ground.sketch.part(name), ON_PART)
        if mine.size == 0:
            continue
        a, b = np.repeat(mine, spots.size), np.tile(spots, mine.size)
        whole = stretch(ground, name, a, np.tile(names, mine.size).tolist(), b)
        keep = np.flatnonzero(whole.least >= _shortest(rules))
        if keep.size:
            found.append(Stretch(name, tuple(whole.frame[k] for k in keep), a[keep], b[keep],
                                 whole.length[keep], whole.slope[keep]))
    return found


def _shortest(rules: SpringRules) -> float:
    return 1.0 if rules.ideal else rules.shortest_mm


def _nil(found: Stretch, rules: SpringRules, preload: float) -> Floats:
    """Lengths (A,) at which the pull would be nothing, for a preload from 0 to 1."""
    least = 0.0 if rules.ideal else rules.shortest_mm
    return np.asarray(found.least + preload * (least - found.least))


def _rated(ground: Ground, found: Stretch, base: Floats, aim: Aim, rules: SpringRules,
           nil: Floats) -> tuple[Floats, Floats]:
    """Best value and rate, (A,) each, of every pair for given lengths without pull."""
    lanes = unit_lanes(ground, found, nil)
    high = rules.most_pull_n / np.maximum(found.most - nil, 1e-6)
    low = np.minimum(0.0 if rules.ideal else softest(rules.wires_mm), high)

    def value(rate: Floats) -> Floats:
        torque = base + rate[:, None] * lanes
        return values_of(aim, torque, torque)

    one, two = high - _GOLD * (high - low), low + _GOLD * (high - low)
    at_one, at_two = value(one), value(two)
    for _ in range(26):
        left = at_one < at_two
        high, low = np.where(left, two, high), np.where(left, low, one)
        fresh = np.where(left, high - _GOLD * (high - low), low + _GOLD * (high - low))
        got = value(fresh)
        one, two = np.where(left, fresh, two), np.where(left, one, fresh)
        at_one, at_two = np.where(left, got, at_two), np.where(left, at_one, got)
    rate = (low + high) / 2.0
    return value(rate), rate


def _ranked(ground: Ground, found: Stretch, base: Floats, aim: Aim,
            rules: SpringRules) -> list[tuple[float, Hook]]:
    """The pairs as springs with their best rate and one of the preloads; best first."""
    values, rates, nils = [], [], []
    for preload in _PRELOADS:
        nil = _nil(found, rules, preload)
        value, rate = _rated(ground, found, base, aim, rules, nil)
        values.append(value)
        rates.append(rate)
        nils.append(nil)
    best = np.argmin(np.array(values), axis=0)
    row = np.arange(best.size)
    value, rate, nil = (np.array(each)[best, row] for each in (values, rates, nils))
    order = np.argsort(value, kind="stable")[:8 * STARTS]
    return [(float(value[k]), Hook(found.part, found.frame[k], complex(found.a[k]),
                                   complex(found.b[k]), float(rate[k]), float(nil[k]),
                                   float(nil[k]))) for k in order]


def best_hook(ground: Ground, pairs: list[Stretch], base: Floats, aim: Aim, rules: SpringRules,
          go_on: GoOn, skip: int) -> Hook | None:
    """The best single spring added to a torque: the grid's best few, then refined."""
    ranked = sorted((each for found in pairs if go_on(0.0)
                     for each in _ranked(ground, found, base, aim, rules)),
                    key=lambda each: each[0])
    starts: list[tuple[float, Hook]] = []
    for value, hook in ranked:
        if all(abs(hook.a - old.a) + abs(hook.b - old.b) > 2.0 * _STEPS[0]
               or hook.part != old.part for _, old in starts):
            starts.append((value, hook))
        if len(starts) == STARTS:
            break
    before = value_of(aim, base)
    refined = sorted((refined_hook(ground, start, base, aim, rules, go_on) for start in starts),
                     key=lambda each: each[0])
    found = [hook for value, hook in refined if value < before * (1.0 - 1e-6)]
    return found[skip] if skip < len(found) else None


def refined_hook(ground: Ground, start: tuple[float, Hook], base: Floats, aim: Aim,
             rules: SpringRules, go_on: GoOn) -> tuple[float, Hook]:
    """Anchors moved by shrinking steps, each with its best rate and preload."""
    value, hook = start
    for step in _STEPS:
        for _ in range(8):
            if not go_on(0.0):
                return value, hook
            moves = step * np.array([complex(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)])
            a, b = np.repeat(hook.a + moves, 9), np.tile(hook.b + moves, 9)
            good_a = [may_hook(ground, hook.part, complex(z), rules) for z in hook.a + moves]
            good_b = [may_hook(ground, hook.frame, complex(z), rules) for z in hook.b + moves]
            may = np.repeat(good_a, 9) & np.tile(good_b, 9)
            near = stretch(ground, hook.part, a[may], (hook.frame,) * int(may.sum()), b[may])
            keep = near.least >= _shortest(rules)
            if not keep.any():
                break
            near = Stretch(hook.part, (hook.frame,) * int(keep.sum()), near.a[keep],
                           near.b[keep], near.length[keep], near.slope[keep])
            found = _ranked(ground, near, base, aim, rules)[0]
            if found[0] >= value * (1.0 - 1e-6):
                break
            value, hook = found
    return value, hook


def spring_offers(ground: Ground, hooks: Iterable[Hook], rules: SpringRules) -> list[Offer]:
    """Each spring as rate with no preload and rate with the most preload: between them
    lies everything that stays taut."""
    offers = []
    for hook in hooks:
        found = hook.stretched(ground)
        nils = [_nil(found, rules, 0.0), _nil(found, rules, 1.0)]
        lanes = np.vstack([unit_lanes(ground, found, nil) for nil in nils])
        share = np.array([(found.most[0] - nil[0]) / rules.most_pull_n for nil in nils])
        offers.append(Offer(hook.part, lanes, share, np.maximum(share, 1e-9)))
    return offers


def _programme(ground: Ground, hooks: list[Hook], aim: Aim,
               rules: SpringRules) -> tuple[Optimum, list[Hook]]:
    """Rates and preloads of all springs together, for their anchors; those left idle go."""
    offers = spring_offers(ground, hooks, rules)
    optimum = solve(ground.before.plain_nmm, offers, aim)
    return optimum, rated(ground, hooks, optimum.amounts, rules)


def rated(ground: Ground, hooks: Iterable[Hook], amounts: Iterable[Floats],
          rules: SpringRules) -> list[Hook]:
    """The springs as strong as a programme over :func:`spring_offers` made them; those left
    idle go."""
    kept = []
    for hook, mine in zip(hooks, amounts, strict=True):
        rate = float(mine.sum())
        if rate <= 1e-6:
            continue
        found = hook.stretched(ground)
        ends = [float(_nil(found, rules, preload)[0]) for preload in (0.0, 1.0)]
        nil = float(mine @ np.array(ends)) / rate
        kept.append(replace(hook, rate=rate, nil_mm=nil, free_mm=nil))
    return kept


def grid_bound(ground: Ground, pairs: list[Stretch], base: Floats, aim: Aim,
               rules: SpringRules, go_on: GoOn, beside: Sequence[Offer] = ()) -> float:
    """No springs, at most `rules.most`, between hooks of the grid get below, N·mm, whatever
    of the offers `beside` is taken too."""
    lanes, share = [], []
    for found in pairs:
        for preload in (0.0, 1.0):
            nil = _nil(found, rules, preload)
            lanes.append(unit_lanes(ground, found, nil))
            share.append((found.most - nil) / rules.most_pull_n)
    return lower_bound(base, np.vstack(lanes), np.concatenate(share), aim, rules.most,
                       lambda: go_on(0.0), beside)
