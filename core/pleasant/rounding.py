"""Counterweights rounded to what exists: pieces one can buy or cut, places on a grid.

A local search with friction taken as fixed, and the last small moves judged by the whole
effort.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from core.motion.turn import Floats
from core.pleasant.clashes import placed_clear
from core.pleasant.model import ROUNDING_MM, Model, Placed, weighted
from core.pleasant.options import Aim, WeightRules
from core.pleasant.places import LEAST_RADIUS, Site
from core.pleasant.polish import polished
from core.pleasant.stock import pieces

#: The grid of places handed out, mm, and the steps of the search before.
GRID_MM = 0.5
_STEPS = (8.0, 4.0, 2.0, 1.0, 0.5)
#: Rounds of taking friction along.
ROUNDS = 2
#: A piece that stands out of its sheet must be worth this share of the value before.
_STICKS_OUT = 0.004

GoOn = Callable[[float], bool]


def rounded(model: Model, sites: list[Site],
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
    for _ in range(ROUNDS):
        state = _descend(model, state, choices, aim, before, rules)
        if not go_on(0.7):
            break
        model = model.about(weighted(ground.sketch, state))
    snapped = [_snapped(model, state, k, aim) for k in range(len(state))]
    return tuple(_fewest(lambda trial: model.value(aim, trial), snapped))


def finished(model: Model, placed: Sequence[Placed], aim: Aim, rules: WeightRules,
             go_on: GoOn) -> tuple[Placed, ...]:
    """Rounded weights after the last small moves, judged by the whole effort, each clear
    of what moves past it."""
    ground = model.ground

    def moves(each: Placed, step: float) -> list[Placed]:
        tries = _nudged(each, step)
        if step == _STEPS[2]:  # weight presses on bearings: less may be more
            tries = _other_pieces(model, each, rules) + tries
        return [one for one in tries if one.allowed()]

    def value(trial: Sequence[Placed]) -> float:
        return ground.lanes(weighted(ground.sketch, trial)).value(aim)

    last = polished(placed, moves, value, _STEPS[2:], go_on,
                    lambda trial: not placed_clear(ground, trial)[1])
    return tuple(_fewest(value, last) or last)


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


def _fewest(value_of: Callable[[Sequence[Placed]], float],
            state: Sequence[Placed]) -> list[Placed]:
    """Without those that hardly help: few parts beat many."""
    value, nothing = value_of(state), value_of(())
    kept = list(state)
    for each in state:
        fewer = [one for one in kept if one is not each]
        if value_of(fewer) <= value + 0.01 * max(nothing - value, 0.0):
            kept = fewer
            value = value_of(kept)
    return kept
