"""Weights and springs together: never worse than each alone, and held against brute force."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from test_laws import sound
from weighted import geared_pair, mass, part, plate_on_three, slotted_lever

from app.figures.effort import heron
from core.effort import effort
from core.model import Drive, Pin, Sketch, Torque
from core.motion import solve_turn
from core.pleasant import AIMS, Options, OwnMass, SpringRules, WeightRules, advise
from core.pleasant.anchors import stretch, unit_lanes
from core.pleasant.choosing import best
from core.pleasant.combining import joint
from core.pleasant.fitting import fitted
from core.pleasant.ground import ground

BOTH = ("weights", "springs")


def lever() -> Sketch:
    """A heavy arm that turns, against a steady load, with a place for hooks on the frame."""
    return Sketch(
        parts=(part("frame", fixed=True, O=0j, S=0 + 90j),
               part("arm", mass(0.2, 60 + 0j, 100.0), O=0j, A=80 + 0j)),
        pins=(Pin(id="o", at=("frame.O", "arm.O")),), drive=Drive(pin="o", part="arm", rpm=6.0),
        torques=(Torque(id="brake", part="arm", torque_nmm=-20.0),), friction=(0.0, 0.0))


@pytest.mark.parametrize("make", [geared_pair, plate_on_three])
def test_together_is_offered_only_where_it_beats_each_alone(make: object) -> None:
    sketch = make()  # type: ignore[operator]
    advice = advise(sketch, Options(kinds=BOTH))
    alone = [one.value_after for one in advice.proposals if one.kind != "both"]
    for one in advice.proposals:
        if one.kind != "both":
            continue
        sound(sketch, one, AIMS["peak"])
        assert one.value_after <= min(alone) - 0.04 * one.value_before
        assert len(one.sketch.springs) > len(sketch.springs)
        assert any(part.weights for part in one.sketch.parts)
        pieces = sum(len(part.weights) for part in one.sketch.parts) + len(one.sketch.springs)
        assert pieces <= 2
        assert sum("alone leave" in words for words in one.words) == 1


def test_some_machine_wants_both() -> None:
    advice = advise(slotted_lever(), Options(kinds=BOTH))
    assert [one.kind for one in advice.proposals][-1] == "both"
    one = advice.proposals[-1]
    sound(slotted_lever(), one, AIMS["peak"])
    assert one.added_kg > 0.0
    assert "alone leave" in " ".join(one.words)
    assert best(advice.proposals) is one


@pytest.mark.parametrize("kinds", [("weights",), ("springs",)])
def test_together_is_not_tried_unless_both_are_allowed(kinds: tuple[str, ...]) -> None:
    advice = advise(slotted_lever(), Options(kinds=kinds))  # type: ignore[arg-type]
    assert {one.kind for one in advice.proposals} <= set(kinds)


def test_one_piece_is_never_two_kinds() -> None:
    rules = Options(kinds=BOTH, weights=WeightRules(most=1), springs=SpringRules(most=1))
    assert all(one.kind != "both" for one in advise(slotted_lever(), rules).proposals)


def test_no_weight_and_spring_tried_by_brute_force_beat_the_programme() -> None:
    """Every weight on a polar grid over the lever with every rate and preload of a spring
    from its end to a grid of the box: none is better than the programme's bound, and the
    programme, which may choose finer, is as good as the best of them."""
    ball = OwnMass("ball", 0.06, 16.0, 6.0)
    box = (-60.0, 60.0, 60.0, 120.0)
    options = Options(kinds=BOTH, weights=WeightRules(
        most=1, sheets=(), rods=(), washers=(), own=(ball,), reach_mm=60.0),
        springs=SpringRules(ideal=True, box=box, most_pull_n=8.0, most=2))
    base = ground(solve_turn(lever(), steps=120))
    found = joint(base, options, lambda _: True)
    rows = base.moments("arm")
    weights = [np.zeros(120)] + [
        kg * (rows[0] + place.real * rows[1] + place.imag * rows[2])
        for kg in (0.02, 0.04, 0.0595) for place in (
            r * np.exp(2j * np.pi * k / 24) for r in (20.0, 40.0, 60.0) for k in range(24))]
    least = np.inf
    for x, y in itertools.product(np.linspace(-60, 60, 6), np.linspace(60, 120, 6)):
        there = stretch(base, "arm", np.array([80.0 + 0j]), ("frame",), np.array([x + 1j * y]))
        for share in (0.0, 0.5, 1.0):
            nil = there.least * share
            most = 8.0 / float(there.most[0] - nil[0])
            lane = unit_lanes(base, there, nil)[0]
            springs = np.linspace(0.0, most, 9)[:, None] * lane
            for weight in weights:
                worst = np.abs(base.before.plain_nmm + weight + springs).max(axis=1).min()
                least = min(least, float(worst))
    assert least < 0.7 * base.before.peak_nmm
    assert found is not None
    assert found.bound <= least
    assert found.optimum.value <= least * 1.02


def test_a_heavy_machine_may_have_heavy_tall_weights_and_says_what_keeps_it() -> None:
    """1.6 kg on 190 mm need about as much on the other side: by default it is allowed."""
    heavy = fitted(ground(heron()), WeightRules())
    light = fitted(ground(lever()), WeightRules())
    assert heavy.heaviest_kg > 1.0
    assert heavy.height_mm > 40.0
    assert (light.heaviest_kg, light.height_mm) == (0.25, 18.0)
    own = fitted(ground(heron()), WeightRules(most_kg=0.1, tallest_mm=9.0))
    assert (own.heaviest_kg, own.height_mm) == (0.1, 9.0)
    one = advise(heron(), Options(kinds=("weights",))).proposals[0]
    sound(heron(), one, AIMS["peak"])
    assert one.gain > 0.8
    low = advise(heron(), Options(kinds=("weights",), weights=WeightRules(tallest_mm=18.0,
                                                                         most_kg=2.0)))
    assert any("room, not mass" in words for words in low.proposals[0].words)


def test_what_is_proposed_stays_clear_with_two_tails_beside_each_other() -> None:
    again = effort(solve_turn(advise(heron(), Options(kinds=("weights",))).proposals[0].sketch))
    assert not again.jams.any()
