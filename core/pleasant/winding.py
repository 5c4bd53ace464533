"""Springs as they can be made: a coil from the table, hooks on a grid, judged exactly."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from msgspec.structs import replace as with_fields

from core.model import Point, Sketch, Spring
from core.model.edits import add, add_point, follow_twins, fresh_id, fresh_point, put
from core.motion.turn import Floats
from core.pleasant.anchors import may_hook
from core.pleasant.coils import Wound, extension_coils
from core.pleasant.ground import Ground
from core.pleasant.model import Model
from core.pleasant.options import Aim, SpringRules
from core.pleasant.polish import polished
from core.pleasant.programme import value_of
from core.pleasant.springs import Hook
from core.space.outlines import named_outline

#: Hooks and free lengths are on this grid, mm; steps of the search before.
GRID_MM = 0.5
_STEPS = (4.0, 2.0, 1.0, 0.5)
#: The rates tried beside the one the programme asks for.
_FACTORS = (1.0, 0.94, 1.06, 0.85, 1.15, 0.7, 1.4)
#: Coils kept for the search, and rounds of taking friction along.
_COILS, _ROUNDS = 14, 2


@dataclass(frozen=True)
class Made:
    """A spring with its coil (None for an ideal one)."""

    hook: Hook
    wound: Wound | None

    @property
    def tension_n(self) -> float:
        """Its initial tension, N."""
        return self.wound.tension_n if self.wound is not None else 0.0

    @property
    def link_mm(self) -> float:
        """The link of wire that makes up its free length, mm."""
        return self.hook.free_mm - self.wound.shortest_mm if self.wound is not None else 0.0


def made_of(hook: Hook, wound: Wound | None) -> Made:
    """A spring as near the one wished as this coil makes it."""
    if wound is None:
        free = max(_grid(hook.nil_mm), 0.0)
        return Made(replace(hook, rate=float(f"{hook.rate:.3g}"), nil_mm=free,
                            free_mm=free), None)
    free = _grid(hook.nil_mm + wound.tension_n / wound.rate_n_per_mm)
    return _freed(Made(replace(hook, rate=wound.rate_n_per_mm), wound), max(
        free, np.ceil(wound.shortest_mm / GRID_MM) * GRID_MM))


def _freed(made: Made, free: float) -> Made:
    """The same with another free length."""
    slack = made.tension_n / made.hook.rate
    return replace(made, hook=replace(made.hook, free_mm=free, nil_mm=free - slack))


def _grid(mm: float) -> float:
    return round(mm / GRID_MM) * GRID_MM


def wind(ground: Ground, hooks: Sequence[Hook], aim: Aim, rules: SpringRules,
         go_on: Callable[[float], bool]) -> tuple[Made, ...]:
    """The springs as they can be made, best for the aim with friction; () when no coil of
    the table will do. A descent over coils, free lengths and hooks in turn."""
    coarse = ground.coarse
    choices: list[list[Made]] = []
    for hook in hooks:
        placed = replace(hook, a=_spot(hook.a), b=_spot(hook.b))
        if not _sound(coarse, placed, rules):
            placed = hook
        choices.append(_coils(coarse, placed, rules))
    if not choices or not all(choices):
        return ()
    state = [found[0] for found in choices]
    for _ in range(_ROUNDS):
        go_on(0.0)
        model = Model.of(coarse).about(sprung(coarse.sketch, state))
        state = _descend(model, state, choices, aim, rules)
    return finished(ground, state, aim, rules, go_on)


def finished(ground: Ground, state: Sequence[Made], aim: Aim, rules: SpringRules,
             go_on: Callable[[float], bool]) -> tuple[Made, ...]:
    """The springs after the last small moves, judged by the whole effort."""
    coarse = ground.coarse

    def moves(each: Made, step: float) -> list[Made]:
        return [one for one in _nudged(each, step)
                if _fits(coarse, one, rules) and _sound(coarse, one.hook, rules)]

    return tuple(polished(
        state, moves, lambda trial: coarse.lanes(sprung(coarse.sketch, trial)).value(aim),
        _STEPS, go_on))


def _spot(place: complex) -> complex:
    return complex(_grid(place.real), _grid(place.imag))


def _coils(ground: Ground, hook: Hook, rules: SpringRules) -> list[Made]:
    if rules.ideal:
        return [made_of(hook, None)]
    found: list[Made] = []
    most = hook.most_n(ground)
    for factor in _FACTORS:
        coils = extension_coils(hook.rate * factor, most * max(factor, 1.0),
                                float(hook.stretched(ground).least[0]), rules.wires_mm)
        found += [made_of(hook, coil) for coil in coils[:5]]
    return found[:_COILS * 2]


def _sound(ground: Ground, hook: Hook, rules: SpringRules) -> bool:
    return (may_hook(ground, hook.part, hook.a, rules)
            and may_hook(ground, hook.frame, hook.b, rules))


def _fits(ground: Ground, made: Made, rules: SpringRules) -> bool:
    """Whether the coil bears its hardest pull and is drawn out, not pushed together."""
    wound, hook = made.wound, made.hook
    most = float(hook.stretched(ground).most[0])
    pull = hook.rate * (most - hook.nil_mm)
    if wound is None:
        return 0.0 <= hook.free_mm <= most and pull <= rules.most_pull_n
    return (wound.shortest_mm <= hook.free_mm <= most
            and pull <= min(wound.most_n, rules.most_pull_n * 1.02))


def _score(model: Model, aim: Aim, state: Sequence[Made]) -> float:
    torque = model.base + sum((each.hook.lane(model.ground) for each in state),
                              np.zeros_like(model.base))
    return value_of(aim, torque + model.rub_low, torque + model.rub_high)


def _descend(model: Model, state: list[Made], choices: list[list[Made]], aim: Aim,
             rules: SpringRules) -> list[Made]:
    ground = model.ground
    lanes: list[Floats] = [each.hook.lane(ground) for each in state]
    sound = all(_fits(ground, each, rules) for each in state)
    best = _score(model, aim, state) if sound else np.inf
    for step in _STEPS:
        for _ in range(10):
            moved = False
            for k, each in enumerate(state):
                rest = model.base + sum(lanes[:k] + lanes[k + 1:], np.zeros_like(model.base))
                tries = _nudged(each, step)
                tries += _recoiled(each, choices[k], step)
                for other in tries:
                    lane = other.hook.lane(ground)
                    torque = rest + lane
                    score = value_of(aim, torque + model.rub_low, torque + model.rub_high)
                    if (score < best * (1.0 - 1e-9) and _fits(ground, other, rules)
                            and _sound(ground, other.hook, rules)):
                        best, state, moved = score, [*state[:k], other, *state[k + 1:]], True
                        lanes = [*lanes[:k], lane, *lanes[k + 1:]]
            if not moved:
                break
    return state


def _nudged(each: Made, step: float) -> list[Made]:
    hook = each.hook
    moves = [step * complex(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1) if x or y]
    found = [replace(each, hook=replace(hook, a=hook.a + move)) for move in moves]
    found += [replace(each, hook=replace(hook, b=hook.b + move)) for move in moves]
    return found + [_freed(each, hook.free_mm + sign * step) for sign in (-1.0, 1.0)]


def _recoiled(each: Made, choices: list[Made], step: float) -> list[Made]:
    """Other coils at the same hooks; of an ideal spring, other rates."""
    if each.wound is None:
        return [replace(each, hook=replace(each.hook, rate=float(
            f"{each.hook.rate * (1.0 + sign * 0.01 * step):.3g}"))) for sign in (-1.0, 1.0)]
    found = []
    for other in choices:
        assert other.wound is not None
        if other.wound != each.wound:
            found.append(made_of(replace(each.hook, nil_mm=each.hook.nil_mm), other.wound))
    return found


def sprung(sketch: Sketch, made: Sequence[Made]) -> Sketch:
    """The sketch with the springs hooked in at new points, twins following."""
    changed = sketch
    for each in made:
        hook = each.hook
        changed, a = _hooked(changed, hook.part, hook.a)
        changed, b = _hooked(changed, hook.frame, hook.b)
        changed = add(changed, "springs", Spring(
            id=fresh_id(changed, "spring"), a=a, b=b, rate_n_per_mm=hook.rate,
            free_length_mm=hook.free_mm, initial_tension_n=each.tension_n,
            coil=each.wound.coil if each.wound is not None else None))
    return follow_twins(sketch, changed)


def _hooked(sketch: Sketch, part_id: str, place: complex) -> tuple[Sketch, str]:
    """A point of the part there, the one it has or a new one; its outline stays."""
    part = sketch.part(part_id)
    for point in part.points:
        if abs(point.place - place) < 1e-6:
            return sketch, f"{part_id}.{point.id}"
    kept = put(sketch, with_fields(part, outline=named_outline(part)))
    name = fresh_point(kept.part(part_id), "hook")
    return add_point(kept, part_id, Point(id=name, x=place.real, y=place.imag)), (
        f"{part_id}.{name}")

