"""The linear model behind the programme is the effort itself: exact for every kind of joint,
gravity, inertia and mirror images included."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace
from weighted import MAKES, four_bar

from core.files import load
from core.model import Sketch, Weight
from core.model.edits import follow_twins, put
from core.pleasant import SpringRules
from core.pleasant.anchors import stretch, unit_lanes
from core.pleasant.ground import Ground, ground
from core.pleasant.model import Model
from core.pleasant.springs import Hook
from core.pleasant.torsion import Wrung, _hinges, twisted
from core.pleasant.winding import Made, sprung

MOTH = "assets/demos/night-moth.json"


def with_weight(sketch: Sketch, part_id: str, kg: float, at: complex, wide: float) -> Sketch:
    part = sketch.part(part_id)
    weight = Weight(mass_kg=kg, x=at.real, y=at.imag, diameter_mm=wide)
    return follow_twins(sketch, put(sketch, replace(part, weights=(*part.weights, weight))))


def near(one: np.ndarray, other: np.ndarray, scale: float) -> bool:
    return bool(np.abs(one - other).max() <= 1e-9 * scale)


@pytest.mark.parametrize("make", MAKES)
def test_a_weight_on_any_part_changes_the_torque_as_its_moments_say(make: object) -> None:
    base = ground(make())  # type: ignore[operator]
    model = Model.of(base)
    for name in base.originals():
        at = base.sketch.part(name).points[0].place + 13.0 - 21.0j
        after = base.lanes(with_weight(base.sketch, name, 0.31, at, 40.0)).plain_nmm
        told = model.base + 0.31 * model.lane(name, at, 40.0**2 / 8.0)
        assert near(after, told, np.abs(after).max() + np.abs(model.base).max())


def test_a_weight_on_a_twin_counts_with_its_mirror_image() -> None:
    base = ground(load(MOTH))
    model = Model.of(base)
    assert len(base.images("left forewing")) == 2
    after = base.lanes(with_weight(base.sketch, "left forewing", 0.05, 30 + 80j, 12.0))
    told = model.base + 0.05 * model.lane("left forewing", 30 + 80j, 12.0**2 / 8.0)
    assert near(after.plain_nmm, told, after.peak_nmm)


def made_spring(base: Ground, part: str, frame: str, a: complex, b: complex) -> Made:
    length = stretch(base, part, np.array([a]), (frame,), np.array([b]))
    free = float(length.least[0]) - 3.0
    return Made(Hook(part, frame, a, b, 0.21, free, free), None)


@pytest.mark.parametrize(("sketch", "part", "frame", "a", "b"), [
    (four_bar(springs=()), "coupler", "frame", 70 + 60j, 20 - 30j),
    (load(MOTH), "left wingtip", "body", -110 + 95j, -10 + 118j),
])
def test_a_spring_changes_the_torque_as_its_lane_says(
        sketch: Sketch, part: str, frame: str, a: complex, b: complex) -> None:
    base = ground(sketch)
    made = made_spring(base, part, frame, a, b)
    after = base.lanes(sprung(base.sketch, [made])).plain_nmm
    told = base.before.plain_nmm + made.hook.lane(base)
    assert near(after, told, np.abs(after).max() + np.abs(told).max())


def test_a_slack_spring_is_judged_exactly() -> None:
    base = ground(four_bar(springs=()))
    made = made_spring(base, "coupler", "frame", 70 + 60j, 20 - 30j)
    length = made.hook.stretched(base).length
    middle = float(length.mean())
    slack = Made(replace_free(made.hook, middle), None)
    after = base.lanes(sprung(base.sketch, [slack])).plain_nmm
    assert near(after, base.before.plain_nmm + slack.hook.lane(base), np.abs(after).max())
    lane = unit_lanes(base, slack.hook.stretched(base), np.array([middle]))[0]
    assert (lane == 0.0).sum() > 50


def replace_free(hook: Hook, free: float) -> Hook:
    return Hook(hook.part, hook.frame, hook.a, hook.b, hook.rate, free, free)


@pytest.mark.parametrize("sketch", [four_bar(), load(MOTH)])
def test_a_torsion_spring_changes_the_torque_as_its_lane_says(sketch: Sketch) -> None:
    base = ground(sketch)
    hinges = _hinges(base, SpringRules())
    assert hinges
    for one in hinges:
        free = one.start - 25.0 * one.way
        made = Wrung(one.pin.id, one.a, one.b, 3.7, free, 0.0, None)  # type: ignore[arg-type]
        after = base.lanes(twisted(base.sketch, [made])).plain_nmm
        told = base.before.plain_nmm + 3.7 * one.lane(free)
        assert near(after, told, np.abs(after).max() + np.abs(told).max())
