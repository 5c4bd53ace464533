"""Counterweights: where and how heavy by linear programme, then as one can buy or cut them.

The torque is exactly linear in the mass moments of a part (see `Ground.moments`), so that
candidate places with masses to be found make a linear programme; a weight of a part is the
centre of mass of what the programme puts on it. Friction is then taken along by solving
again with the friction found (fixed point). What remains is rounding: pieces that exist,
places on a grid, found by a local search and evaluated in full at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.motion.turn import Floats
from core.pleasant.clashes import placed_clear
from core.pleasant.ground import Ground
from core.pleasant.model import ROUNDING_MM, Model, Placed, moments_of, weighted
from core.pleasant.options import Aim, WeightRules
from core.pleasant.outer import corners, proved
from core.pleasant.places import LEAST_RADIUS, Site, site
from core.pleasant.polish import polished
from core.pleasant.programme import Offer, Optimum, solve
from core.pleasant.stock import Piece, heaviest, pieces

#: Weights below this are not worth a bore, kg.
LEAST_KG = 0.0005
#: The grid of places handed out, mm, and the steps of the search before.
GRID_MM = 0.5
_STEPS = (8.0, 4.0, 2.0, 1.0, 0.5)
#: The widest weight that is thought of, mm.
_WIDEST_MM = 400
#: Second moments that could change the torque by less than this share do not count.
_NO_INERTIA = 0.02
#: Places tried beside the corners where they do.
_MOST_PLACES = 40
#: How often weights that meet something are found anew.
_TRIES = 10
#: Rounds of taking friction along.
_ROUNDS = 2
#: A piece that stands out of its sheet must be worth this share of the value before.
_STICKS_OUT = 0.004

GoOn = Callable[[float], bool]


@dataclass(frozen=True)
class Weighed:
    """Weights found: `ideal` by the programme, `placed` as they can be made."""

    optimum: Optimum
    ideal: tuple[tuple[str, float, complex], ...]
    placed: tuple[Placed, ...]


def weigh(ground: Ground, aim: Aim, rules: WeightRules, *, tails: bool,
          go_on: GoOn) -> Weighed | None:
    """The best weights; None when no part has room for one or none helps.

    A tail or a piece that meets what moves past it is made shorter or flush, and all is
    found anew. Raises SketchError for an unknown material of sheet or rod.
    """
    every = [there for name in (rules.parts or ground.originals())
             if ground.moves(name) and go_on(0.0)
             and (there := site(ground.sketch, name, rules)) is not None]
    if not tails:
        every = [short for each in every if (short := _shortened(each, 0.0)) is not None]
    sites, bound = every, -np.inf
    met: list[str] = []
    for at in range(_TRIES):
        found = _weighed(ground, aim, rules, sites, go_on)
        if found is None:
            return None
        if at == 0:
            bound = proved(Model.of(ground), every, aim, rules)
            go_on(0.6)
        placed, bad = placed_clear(ground, found.placed)
        if not bad:
            optimum = replace(found.optimum, bound=min(found.optimum.value, bound))
            return replace(found, placed=tuple(placed), optimum=optimum)
        met += bad
        sites = [better for each in sites if (better := _tamed(
            each, found, each.part.id in bad,
            at >= _TRIES - 2 or met.count(each.part.id) > 1)) is not None]
    return None


def _tamed(where: Site, found: Weighed, met: bool, wholly: bool) -> Site | None:
    """A site whose weight `met` something, with a shorter tail or with flush pieces;
    `wholly`: with no tail and flush pieces, which can meet nothing."""
    if wholly:
        short = _shortened(where, 0.0)
        return None if short is None else replace(short, flush=True)
    if not met:
        return where
    mine = next(each for each in found.placed if each.site.part.id == where.part.id)
    if mine.piece.sticks_out_mm > 0.0 or where.pivot is None:
        return replace(where, flush=True)
    return _shortened(where, 0.7 * abs(mine.place - where.pivot))


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
    placed = _rounded(coarse, sites, ideal, amounts, aim, rules, go_on)
    return Weighed(optimum, ideal, placed) if placed else None


def _shortened(whole: Site, reach: float) -> Site | None:
    """The site with tails no longer than `reach`; None when no place is left."""
    keep = whole.on_tail == 0.0
    if whole.pivot is not None:
        keep = keep | (np.abs(whole.places - whole.pivot) <= reach)
    if not keep.any():
        return None
    return replace(whole, places=whole.places[keep], radius_mm=whole.radius_mm[keep],
                   on_tail=whole.on_tail[keep], reach_mm=reach)


def _copies(ground: Ground, where: Site) -> int:
    return len(ground.images(where.part.id))


def _caps(ground: Ground, sites: Sequence[Site], rules: WeightRules) -> list[Floats]:
    """(K,) kg of the heaviest piece at every candidate place of every site."""
    known: dict[tuple[str, float, bool, float, int], float] = {}
    found = []
    for each in sites:
        caps, own = [], rules.of(each.part.id)
        for radius in each.radius_mm:
            wide = min(int(2.0 * radius + 1e-6), _WIDEST_MM)
            key = (each.part.material, each.part.thickness_mm, each.flush, own.most_kg,
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
    for _ in range(_ROUNDS):
        ideal = [_ideal(s, x) for s, x in zip(sites, amounts, strict=True)]
        sketch = weighted(model.ground.sketch, ideal)
        value = model.ground.lanes(sketch).value(aim)
        if best is not None and value >= best[0]:
            break
        best = (value, amounts)
        model = model.about(sketch)
        amounts = list(solve(model.base, offers, aim, rub_low=model.rub_low,
                             rub_high=model.rub_high).amounts)
    return best[1] if best is not None else amounts


def _ideal(where: Site, amounts: Floats) -> Placed:
    kg, place = _merged(where, amounts)
    return Placed(where, Piece(kg, 0.0, 0.0, "", 0.0), place, False)


def _rounded(model: Model, sites: list[Site],
             ideal: tuple[tuple[str, float, complex], ...], amounts: list[Floats], aim: Aim,
             rules: WeightRules, go_on: GoOn) -> tuple[Placed, ...]:
    """The weights as pieces that exist at allowed places: a descent over places and
    pieces in turn, then once more with the friction it causes."""
    ground = model.ground
    choices: list[list[Placed]] = []
    for where, (_, kg, place), mine in zip(sites, ideal, amounts, strict=True):
        starts = _starts(model, where, kg, place, mine, rules)
        if starts:
            choices.append(starts)
    if not choices:
        return ()
    state = [starts[0] for starts in choices]
    model = model.about(weighted(ground.sketch, state))
    before = model.value(aim, ())
    gridded = [next((each for each in starts if each.place == _on_grid(each.place)),
                    starts[0]) for starts in choices]
    state = min((_descend(model, start, choices, aim, before, rules)
                 for start in (state, gridded)),
                key=lambda found: _score(model, aim, found, before))
    model = model.about(weighted(ground.sketch, state))
    for _ in range(_ROUNDS):
        state = _descend(model, state, choices, aim, before, rules)
        if not go_on(0.7):
            break
        model = model.about(weighted(ground.sketch, state))
    kept = _fewest(model, [_snapped(model, state, k, aim) for k in range(len(state))], aim)

    def moves(each: Placed, step: float) -> list[Placed]:
        tries = _nudged(each, step)
        if step == _STEPS[2]:  # weight presses on bearings: less may be more
            tries = _other_pieces(model, each, rules) + tries
        return [one for one in tries if one.allowed()]

    return tuple(polished(
        kept, moves,
        lambda trial: ground.lanes(weighted(ground.sketch, trial)).value(aim), _STEPS[2:],
        go_on))


def _starts(model: Model, where: Site, kg: float, place: complex, amounts: Floats,
            rules: WeightRules) -> list[Placed]:
    """Pieces near the mass found, each at the allowed place that fits it best."""
    spots = [(place, False), (place, True)]
    order = np.argsort(-amounts * (where.radius_mm > LEAST_RADIUS), kind="stable")[:4]
    spots += [(complex(where.places[k]), bool(where.on_tail[k])) for k in order]
    near = np.argsort(np.abs(where.places - place), kind="stable")[:6]
    spots += [(complex(where.places[k]), bool(where.on_tail[k])) for k in near]
    found: list[Placed] = []
    # Off the grid too: a bar may have room on its middle line alone.
    for at, on_tail in [(at, on_tail) for spot, on_tail in spots
                        for at in (_on_grid(spot), spot)]:
        room = where.tail_room(at) if on_tail else where.room(at)
        if room < LEAST_RADIUS:
            continue
        for piece in pieces(model.ground.sketch, where.part, rules.of(where.part.id),
                            room + ROUNDING_MM, kg, where.flush)[:6]:
            found.append(Placed(where, piece, at, on_tail))
    found.sort(key=lambda each: (abs(each.place - place) * kg
                                 + abs(each.piece.kg - kg) * 40.0))
    return found[:16]


def _other_pieces(model: Model, each: Placed, rules: WeightRules) -> list[Placed]:
    """Lighter and heavier pieces at the same place."""
    where = each.site
    return [replace(each, piece=piece) for factor in (0.5, 0.75, 0.9, 1.1, 1.3)
            for piece in pieces(model.ground.sketch, where.part, rules.of(where.part.id),
                                _room(each) + ROUNDING_MM, factor * each.piece.kg,
                                where.flush)[:1]]


def _snapped(model: Model, state: list[Placed], k: int, aim: Aim) -> Placed:
    """The k-th weight on the grid, where that costs next to nothing."""
    moved = replace(state[k], place=_on_grid(state[k].place))
    trial = [*state[:k], moved, *state[k + 1:]]
    good = moved.allowed() and model.value(aim, trial) <= model.value(aim, state) * 1.003
    return moved if good else state[k]


def _on_grid(place: complex) -> complex:
    return complex(round(place.real / GRID_MM) * GRID_MM, round(place.imag / GRID_MM) * GRID_MM)


def _score(model: Model, aim: Aim, state: Sequence[Placed], before: float) -> float:
    out = sum(each.piece.sticks_out_mm > 0.0 for each in state)
    return model.value(aim, state) + _STICKS_OUT * before * out


def _descend(model: Model, state: list[Placed], choices: list[list[Placed]], aim: Aim,
             before: float, rules: WeightRules) -> list[Placed]:
    """Coordinate descent: other pieces, then places by shrinking steps."""
    best = _score(model, aim, state, before)
    for step in _STEPS:
        for _ in range(12):
            moved = False
            for k, each in enumerate(state):
                tries = [*_nudged(each, step), *choices[k]]
                if step == _STEPS[0]:
                    where = each.site
                    tries += [replace(each, piece=piece) for piece in pieces(
                        model.ground.sketch, where.part, rules.of(where.part.id),
                        _room(each) + ROUNDING_MM, each.piece.kg * 1.02, where.flush)[:8]]
                for other in tries:
                    trial = [*state[:k], other, *state[k + 1:]]
                    score = _score(model, aim, trial, before)
                    if score < best - 1e-9 * abs(before) and other.allowed():
                        best, state, moved = score, trial, True
            if not moved:
                break
    return state


def _room(each: Placed) -> float:
    return each.site.tail_room(each.place) if each.on_tail else each.site.room(each.place)


def _nudged(each: Placed, step: float) -> list[Placed]:
    """The piece a step away: along the sheet's axes, askew, and along its part."""
    ways = [complex(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1) if x or y]
    spots = [point.place for point in each.site.part.points]
    if len(spots) > 1 and spots[-1] != spots[0]:
        along = (spots[-1] - spots[0]) / abs(spots[-1] - spots[0])
        ways += [along, -along]
    return [replace(each, place=each.place + step * way) for way in ways]


def _fewest(model: Model, state: list[Placed], aim: Aim) -> tuple[Placed, ...]:
    """Without those that hardly help: few parts beat many."""
    value, nothing = model.value(aim, state), model.value(aim, ())
    kept = list(state)
    for each in list(state):
        fewer = [one for one in kept if one is not each]
        if model.value(aim, fewer) <= value + 0.01 * max(nothing - value, 0.0):
            kept = fewer
            value = model.value(aim, kept)
    return tuple(kept)
