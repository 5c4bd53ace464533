"""Counterweights: where and how heavy by linear programme, then as one can buy or cut them.

The torque is exactly linear in the mass moments of a part (see `Ground.moments`), so that
candidate places with masses to be found make a linear programme; a weight of a part is the
centre of mass of what the programme puts on it. Friction is then taken along by solving
again with the friction found (fixed point). What remains is rounding: pieces that exist,
places on a grid, found by a local search and evaluated in full at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.motion.turn import Floats
from core.pleasant.clashes import placed_clear
from core.pleasant.ground import Ground
from core.pleasant.model import Model, Placed, moments_of, weighted
from core.pleasant.options import Aim, WeightRules
from core.pleasant.outer import corners, proved
from core.pleasant.places import Site, site
from core.pleasant.programme import Offer, Optimum, solve
from core.pleasant.rounding import ROUNDS, GoOn, finished, rounded
from core.pleasant.stock import Piece, heaviest
from core.pleasant.taming import harmless, shortened, tamed

#: Weights below this are not worth a bore, kg.
LEAST_KG = 0.0005
#: The widest weight that is thought of, mm.
_WIDEST_MM = 400
#: Second moments that could change the torque by less than this share do not count.
_NO_INERTIA = 0.02
#: Places tried beside the corners where they do.
_MOST_PLACES = 40
#: How often weights that meet something are found anew.
_TRIES = 10
#: So often one part's weights are made smaller before they must stay in the wood, flush.
_TAMES = 3


@dataclass(frozen=True)
class Weighed:
    """Weights found: `ideal` by the programme, `placed` as they can be made."""

    optimum: Optimum
    ideal: tuple[tuple[str, float, complex], ...]
    placed: tuple[Placed, ...]


def weigh(ground: Ground, aim: Aim, rules: WeightRules, *, tails: bool,
          go_on: GoOn, prove: bool = True) -> Weighed | None:
    """The best weights; None when no part has room for one or none helps. Without `prove`
    the bound is that of the candidate places alone.

    A tail or a piece that meets what moves past it is made shorter, narrower or flush, and
    all is found anew. Raises SketchError for an unknown material of sheet or rod.
    """
    every = sites_of(ground, rules, go_on, tails)
    sites, bound = every, -np.inf
    met: list[str] = []
    coarse = Model.of(ground.coarse)
    best: tuple[float, Weighed] | None = None
    for at in range(_TRIES):
        found = _weighed(ground, aim, rules, sites, go_on)
        if found is None:
            break
        if at == 0 and not prove:
            bound = found.optimum.bound
        elif at == 0:
            bound = proved(Model.of(ground), every, aim, rules)
            go_on(0.6)
        placed, bad = placed_clear(ground, found.placed)
        met += bad
        for part_id in bad:
            mine = next(each for each in found.placed if each.site.part.id == part_id)
            k = next(k for k, each in enumerate(sites) if each.part.id == part_id)
            again = at < _TRIES - 2 and met.count(part_id) <= _TAMES
            better, other = tamed(ground, sites[k], mine, rules) if again else (
                harmless(sites[k]), None)
            sites = [*sites[:k], *([better] if better is not None else []), *sites[k + 1:]]
            placed = [each for each in placed if each.site.part.id != part_id]
            placed += [other] if other is not None else []
        # What stands where something met it may be nearly as good, or better, than what
        # is found anew.
        if placed and not placed_clear(ground, placed)[1]:
            value = _worth(coarse, placed, aim)
            if best is None or value < best[0]:
                best = (value, replace(found, placed=tuple(placed)))
        if not bad:
            break
    if best is None:
        return None
    found = best[1]
    last, _ = placed_clear(ground, finished(coarse, found.placed, aim, rules, go_on))
    return replace(found, placed=tuple(last), optimum=replace(
        found.optimum, bound=min(found.optimum.value, bound)))


def _worth(model: Model, placed: Sequence[Placed], aim: Aim) -> float:
    """The aim's value with weights, friction and all."""
    return model.ground.lanes(weighted(model.ground.sketch, placed)).value(aim)


def sites_of(ground: Ground, rules: WeightRules, go_on: GoOn, tails: bool) -> list[Site]:
    """Where the rules allow weights."""
    every = [there for name in (rules.parts or ground.originals())
             if ground.moves(name) and go_on(0.0)
             and (there := site(ground.sketch, name, rules)) is not None]
    if tails:
        return every
    return [short for each in every if (short := shortened(each, 0.0)) is not None]


def offers_of(ground: Ground, sites: list[Site],
              rules: WeightRules) -> tuple[list[Site], list[Offer]]:
    """What a programme over the steps of a ground may choose from: sites with the corners
    of their candidate places, and an offer for each."""
    model = Model.of(ground)
    sites, caps = _worth_trying(model, sites, _caps(ground, sites, rules))
    return sites, [_offer(model, each, cap) for each, cap in zip(sites, caps, strict=True)]


def _weighed(ground: Ground, aim: Aim, rules: WeightRules, sites: list[Site],
             go_on: GoOn) -> Weighed | None:
    """The best weights on some sites, whatever they meet."""
    whole, coarse = Model.of(ground), Model.of(ground.coarse)
    sites, caps = _worth_trying(whole, sites, _caps(ground, sites, rules))
    offers = [_offer(whole, each, cap) for each, cap in zip(sites, caps, strict=True)]
    if not offers:
        return None
    go_on(0.2)
    optimum = solve(whole.base, offers, aim, most=rules.most)
    used = [k for k, amounts in enumerate(optimum.amounts)
            if amounts.sum() * _copies(ground, sites[k]) >= LEAST_KG]
    if not used or not go_on(0.5):
        return None
    sites, caps = [sites[k] for k in used], [caps[k] for k in used]
    amounts = [optimum.amounts[k] for k in used]
    amounts = _with_friction(coarse, sites, caps, amounts, aim)
    go_on(0.6)
    ideal = tuple((s.part.id, *_merged(s, x)) for s, x in zip(sites, amounts, strict=True))
    placed = rounded(coarse, sites, ideal, amounts, aim, rules, go_on)
    return Weighed(optimum, ideal, placed) if placed else None


def _copies(ground: Ground, where: Site) -> int:
    return len(ground.images(where.part.id))


def _caps(ground: Ground, sites: Sequence[Site], rules: WeightRules) -> list[Floats]:
    """(K,) kg of the heaviest piece at every candidate place of every site."""
    known: dict[tuple[str, float, bool, float, int], float] = {}
    found = []
    for each in sites:
        caps, own = [], rules.of(each.part.id)
        for radius in each.radius_mm:
            wide = min(int(min(2.0 * radius, each.widest_mm) + 1e-6), _WIDEST_MM)
            key = (each.part.material, each.part.thickness_mm, each.flush, own.heaviest_kg,
                   wide)
            if key not in known:
                known[key] = heaviest(ground.sketch, each.part, own, wide / 2.0,
                                      each.flush)
            caps.append(known[key])
        found.append(np.array(caps))
    return found


def _worth_trying(model: Model, sites: Sequence[Site],
                  caps: Sequence[Floats]) -> tuple[list[Site], list[Floats]]:
    """Only candidates at corners of what can be reached: any mass and first moment that the
    others give is a mixture of these. More of them where the second moments m·|p|², which a
    mixture does not give, make a difference at this speed."""
    peak = float(np.abs(model.base).max())
    kept_sites, kept_caps = [], []
    for where, cap in zip(sites, caps, strict=True):
        able = np.flatnonzero(cap > 0.0)
        if able.size == 0:
            continue
        spots, heavy = where.places[able], cap[able] / cap[able].max()
        middle = complex(spots.mean())
        size = max(float(np.abs(spots - middle).max()), 1e-9)
        off = (spots - middle) / size
        reach = np.column_stack([heavy, heavy * off.real, heavy * off.imag])
        rows = np.abs(moments_of(model.ground, where.part.id)).max(axis=1)
        first = max(float(rows[1:3].max()) * size, 1e-12)
        kg = min(float(cap.max()), peak / first)
        slow = rows[3] * kg * size**2 <= _NO_INERTIA * peak
        corner = able[corners(np.vstack([reach, np.zeros(3)]), able.size)]
        if not slow:
            corner = np.union1d(corner, able[::max(1, able.size // _MOST_PLACES)])
        kept_sites.append(replace(where, places=where.places[corner],
                                  radius_mm=where.radius_mm[corner],
                                  on_tail=where.on_tail[corner]))
        kept_caps.append(cap[corner])
    return kept_sites, kept_caps


def _offer(model: Model, where: Site, caps: Floats) -> Offer:
    name = where.part.id
    able = np.flatnonzero(caps > 0.0)
    lanes = np.zeros((where.places.size, model.base.size))
    for k in able:
        lanes[k] = model.lane(name, complex(where.places[k]))
    share = np.full(caps.shape, 1e9)
    share[able] = 1.0 / caps[able]
    cost = np.full(caps.shape, float(_copies(model.ground, where)))
    return Offer(name, lanes, share, cost)


def _merged(where: Site, amounts: Floats) -> tuple[float, complex]:
    """Mass (kg) and centre of mass of what the programme put on a part."""
    kg = float(amounts.sum())
    return kg, complex(amounts @ where.places) / max(kg, 1e-12)


def _with_friction(model: Model, sites: list[Site], caps: list[Floats],
                   amounts: list[Floats], aim: Aim) -> list[Floats]:
    """Amounts found anew with the friction they cause, kept when that is better."""
    offers = [_offer(model, s, c) for s, c in zip(sites, caps, strict=True)]
    best = None
    for _ in range(ROUNDS):
        ideal = [ideal_of(s, x) for s, x in zip(sites, amounts, strict=True)]
        sketch = weighted(model.ground.sketch, ideal)
        value = model.ground.lanes(sketch).value(aim)
        if best is not None and value >= best[0]:
            break
        best = (value, amounts)
        model = model.about(sketch)
        amounts = list(solve(model.base, offers, aim, rub_low=model.rub_low,
                             rub_high=model.rub_high).amounts)
    return best[1] if best is not None else amounts


def ideal_of(where: Site, amounts: Floats) -> Placed:
    """What the programme put on a part, as one weight without size."""
    kg, place = _merged(where, amounts)
    return Placed(where, Piece(kg, 0.0, 0.0, "", 0.0), place, False)
