"""Counterweights and springs together: what one leaves over, the other may take away.

For given hooks, weights and springs are one linear programme, whose dual prices also tell
what bounds all hooks of the grid. Hooks are found twice, for the torque as it is and for
what the best weights leave of it, and once more beside the weights of the programme. What
is wound is then fixed, the weights are found anew as pieces that exist, and the springs get
their last small moves beside them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.model import Sketch
from core.motion.turn import Floats
from core.pleasant.anchors import Stretch
from core.pleasant.fitting import fitted
from core.pleasant.ground import Ground
from core.pleasant.model import Model, Placed, weighted
from core.pleasant.options import Aim, Options, SpringRules, WeightRules
from core.pleasant.outer import outer_offers
from core.pleasant.places import Site
from core.pleasant.programme import Offer, Optimum, solve
from core.pleasant.springs import (
    Hook,
    best_hook,
    grid_bound,
    pairs_of,
    rated,
    refined_hook,
    spring_offers,
)
from core.pleasant.weights import LEAST_KG, ideal_of, offers_of, sites_of, weigh
from core.pleasant.winding import Made, finished, sprung, wind

GoOn = Callable[[float], bool]
#: Rounds of hooks beside weights and weights beside hooks.
_ROUNDS = 2


@dataclass(frozen=True)
class Joint:
    """Weights (mass and place for a part) and springs by one programme; no so many weights
    with springs between hooks of the grid get below `bound` (N·mm, without friction)."""

    optimum: Optimum
    weights: tuple[Placed, ...]
    hooks: tuple[Hook, ...]
    bound: float


@dataclass(frozen=True)
class Combined:
    """Weights and springs as they can be made."""

    joint: Joint
    placed: tuple[Placed, ...]
    made: tuple[Made, ...]

    def into(self, sketch: Sketch) -> Sketch:
        """The sketch with all of them."""
        return sprung(weighted(sketch, self.placed), self.made)


@dataclass(frozen=True)
class _Case:
    """What may be used on a ground with few steps: at most `most` pieces altogether."""

    ground: Ground
    aim: Aim
    sites: list[Site]
    offers: list[Offer]
    pairs: list[Stretch]
    springs: SpringRules
    weights: WeightRules
    most: int
    go_on: GoOn

    @property
    def base(self) -> Floats:
        return self.ground.before.plain_nmm

    def together(self, hooks: list[Hook]) -> Optimum:
        """The programme of all weights and some springs."""
        offers = [*self.offers, *spring_offers(self.ground, hooks, self.springs)]
        most = min(self.most, min(self.weights.most, len(self.offers)) + len(hooks))

        def fine(picked: Sequence[int]) -> bool:
            return sum(k < len(self.offers) for k in picked) <= self.weights.most

        return solve(self.base, offers, self.aim, most=most, fine=fine)


def joint(ground: Ground, options: Options, go_on: GoOn) -> Joint | None:
    """The programme's weights and springs, at least one of each; None when it wants only
    one kind, or there is no room for the other.

    Altogether there are no more pieces than the larger of ``weights.most`` and
    ``springs.most``, and of each kind no more than its own.
    """
    aim, rules, coarse = options.wanted, fitted(ground, options.weights), ground.coarse
    most = max(rules.most, options.springs.most)
    springs = replace(options.springs, most=min(options.springs.most, most - 1))
    every = sites_of(coarse, rules, go_on, rules.reach_mm is None or rules.reach_mm > 0.0)
    sites, offers = offers_of(coarse, every, rules)
    pairs = pairs_of(coarse, springs)
    if springs.most < 1 or not offers or not pairs or not go_on(0.05):
        return None
    case = _Case(coarse, aim, sites, offers, pairs, springs, rules, most, go_on)
    few = min(rules.most, most - 1)
    left = solve(case.base, offers, aim, most=few).torque
    best: tuple[Optimum, list[Hook]] | None = None
    for start in (case.base, left):
        hooks = _hooks(case, start)
        for _ in range(_ROUNDS):
            if not hooks or not go_on(0.1):
                break
            found = case.together(hooks)
            if best is not None and found.value >= best[0].value * (1.0 - 1e-4):
                break
            best = (found, hooks)
            hooks = _beside(case, found, hooks)
    if best is None:
        return None
    optimum, hooks = best
    weights = tuple(ideal_of(where, mine) for where, mine in zip(
        sites, optimum.amounts, strict=False) if mine.sum() >= LEAST_KG)
    hooks = rated(coarse, hooks, optimum.amounts[len(sites):], springs)
    if not weights or not hooks or not go_on(0.3):
        return None
    outer = outer_offers(Model.of(coarse), every, rules)
    whole = Offer("weights", np.vstack([each.lanes for each in outer]),
                  np.concatenate([each.share for each in outer]) / rules.most,
                  np.concatenate([each.cost for each in outer]))
    bound = grid_bound(coarse, pairs, case.base, aim, springs, go_on, [whole])
    return Joint(optimum, weights, tuple(hooks), min(bound, optimum.value))


def _hooks(case: _Case, torque: Floats) -> list[Hook]:
    """Springs one after the other on top of a torque."""
    found: list[Hook] = []
    while len(found) < case.springs.most:
        hook = best_hook(case.ground, case.pairs, torque, case.aim, case.springs, case.go_on,
                         0)
        if hook is None:
            break
        found.append(hook)
        torque = torque + hook.lane(case.ground)
    return found


def _beside(case: _Case, optimum: Optimum, hooks: list[Hook]) -> list[Hook]:
    """The springs hooked in elsewhere, where that is better beside what else there is."""
    moved = []
    for hook, mine in zip(hooks, optimum.amounts[len(case.offers):], strict=True):
        own = mine @ spring_offers(case.ground, [hook], case.springs)[0].lanes
        moved.append(refined_hook(case.ground, (np.inf, hook), optimum.torque - own, case.aim,
                                  case.springs, case.go_on)[1])
    return moved


def combine(ground: Ground, options: Options, go_on: GoOn) -> Combined | None:
    """Weights and springs as they can be made; None when there is no such pair of them.

    Raises SketchError for an unknown material.
    """
    found = joint(ground, options, go_on)
    if found is None or not go_on(0.4):
        return None
    aim, rules = options.wanted, fitted(ground, options.weights)
    beside = ground.loaded(weighted(ground.sketch, found.weights))
    made = wind(beside, found.hooks, aim, options.springs, go_on)
    if not made or not go_on(0.5):
        return None
    most = max(rules.most, options.springs.most) - len(made)
    hung = ground.loaded(sprung(ground.sketch, made))
    weighed = weigh(hung, aim, replace(
        rules, most=min(most, rules.most),
        parts=tuple(each.site.part.id for each in found.weights)),
        tails=rules.reach_mm is None or rules.reach_mm > 0.0, go_on=go_on, prove=False)
    if weighed is None:
        return None
    beside = ground.loaded(weighted(ground.sketch, weighed.placed))
    last = finished(beside, made, aim, options.springs, go_on)
    coarse = beside.coarse
    made = min((made, last),
               key=lambda some: coarse.lanes(sprung(coarse.sketch, some)).value(aim))
    return Combined(found, weighed.placed, made)
