"""Laws that hold for whatever sketch: never worse, never beside the rules, always the same."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from grown import KINDS as JOINTS
from grown import grown
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from pleasing import nodding_heron
from weighted import MAKES, four_bar, slider_crank

from core.effort import effort
from core.errors import CrankwrightError, SketchError
from core.files import dumps, load, loads
from core.model import Sketch
from core.model.edits import follow_twins
from core.model.validate import problems
from core.motion import solve_turn
from core.pleasant import (
    AIMS,
    Aim,
    Options,
    Progress,
    Proposal,
    SpringRules,
    WeightRules,
    advise,
)
from core.pleasant.choosing import best
from core.space import gaps, outline_of

AT_CRANK = ("weights", "springs", "torsion")
DEMOS = ("lighthouse", "night-moth", "pier-walker", "rowing-otter")


def demo(name: str) -> Sketch:
    return load(f"assets/demos/{name}.json")


def sound(before: Sketch, one: Proposal, aim: Aim) -> None:
    """What every proposal keeps: better than before, as its own sketch solved anew says."""
    assert one.value_after < one.value_before
    assert not problems(one.sketch) or len(problems(one.sketch)) <= len(problems(before))
    assert loads(dumps(one.sketch)) == one.sketch
    again = effort(solve_turn(one.sketch, steps=720))
    assert np.allclose(again.torque_nmm, one.after.plain_nmm, rtol=1e-6,
                       atol=1e-6 * one.before.peak_nmm)
    assert follow_twins(one.sketch, one.sketch) == one.sketch
    if np.isfinite(one.bound_nmm):
        slack = 1e-6 * one.before.value(aim, friction=False)
        assert one.bound_nmm <= one.plain_nmm + slack
        if one.kind == "weights":
            assert one.bound_nmm <= one.after.value(aim, friction=False) + slack


@pytest.mark.parametrize("make", MAKES)
def test_what_is_proposed_is_better_and_real(make: object) -> None:
    sketch = make()  # type: ignore[operator]
    for one in advise(sketch, Options(kinds=AT_CRANK)).proposals:
        sound(sketch, one, AIMS["peak"])


@pytest.mark.parametrize("name", DEMOS)
def test_what_is_proposed_for_a_demo_is_better_and_meets_nothing(name: str) -> None:
    sketch = demo(name)
    was = {(gap.a, gap.b) for gap in gaps(solve_turn(sketch)).pairs
           if gap.smallest_mm < sketch.gap_mm}
    for one in advise(sketch, Options(kinds=AT_CRANK)).proposals:
        sound(sketch, one, AIMS["peak"])
        near = {(gap.a, gap.b) for gap in gaps(solve_turn(one.sketch)).pairs
                if gap.smallest_mm < 0.9 * sketch.gap_mm}
        assert near <= was


@given(st.lists(st.sampled_from(JOINTS), min_size=1, max_size=3), st.integers(0, 2**31))
@settings(max_examples=12, deadline=None)
def test_random_mechanisms_get_better_or_are_left_alone(kinds: list[str], seed: int) -> None:
    sketch = replace(grown(kinds, seed), friction=(0.05, 0.2))
    try:
        advice = advise(solve_turn(sketch, steps=180), Options(kinds=AT_CRANK))
    except CrankwrightError:
        assume(False)
    for one in advice.proposals:
        assert one.value_after < one.value_before
        assert not {each.text for each in problems(one.sketch)} - {
            each.text for each in problems(sketch)}


@pytest.mark.parametrize("aim", AIMS)
def test_every_aim_makes_its_own_value_less(aim: str) -> None:
    for one in advise(four_bar(), Options(aim=aim, kinds=("weights", "springs"))).proposals:
        sound(four_bar(), one, AIMS[aim])
        assert one.value_after == pytest.approx(one.after.value(AIMS[aim]))


def test_with_least_ripple_asked_the_ripple_is_less_than_with_least_peak() -> None:
    ripple, peak = (best(advise(slider_crank(friction=(0.0, 0.0)), Options(
        aim=aim, kinds=("weights",))).proposals) for aim in ("ripple", "peak"))
    assert ripple is not None
    assert peak is not None
    assert ripple.after.ripple_nmm <= peak.after.ripple_nmm * 1.02


def test_weights_lie_in_the_wood_clear_of_bores() -> None:
    rules = WeightRules(margin_mm=4.0, reach_mm=0.0)
    for one in advise(demo("rowing-otter"), Options(kinds=("weights",),
                                                    weights=rules)).proposals:
        for part in one.sketch.parts:
            wood = outline_of(part)
            for weight in part.weights:
                disc = shapely.Point(weight.x, weight.y).buffer(weight.diameter_mm / 2)
                assert wood.buffer(-3.99).contains(disc)
                for pin in one.sketch.pins:
                    for ref in pin.at:
                        if ref.startswith(part.id + "."):
                            place = one.sketch.place(ref)
                            assert disc.distance(shapely.Point(place.real, place.imag)) >= (
                                pin.diameter_mm / 2 + 3.98)


def test_only_chosen_parts_bear_weights_and_no_more_than_asked() -> None:
    rules = WeightRules(parts=("crank", "rocker"), most=1, most_kg=0.1)
    for one in advise(four_bar(), Options(kinds=("weights",), weights=rules)).proposals:
        bearing = [part for part in one.sketch.parts if part.weights]
        assert len(bearing) == 1
        assert bearing[0].id in rules.parts
        assert sum(weight.mass_kg for weight in bearing[0].weights) <= 0.1 + 1e-9


def test_more_weights_are_never_proved_worse() -> None:
    bounds = []
    for most in (1, 2, 3):
        made = advise(four_bar(), Options(kinds=("weights",), weights=WeightRules(most=most)))
        bounds.append(min(one.bound_nmm for one in made.proposals))
    assert bounds[0] >= bounds[1] - 1e-6
    assert bounds[1] >= bounds[2] - 1e-6


def test_equal_input_gives_equal_advice() -> None:
    one, two = (advise(four_bar(), Options(kinds=AT_CRANK)) for _ in range(2))
    assert [each.sketch for each in one.proposals] == [each.sketch for each in two.proposals]
    assert [each.words for each in one.proposals] == [each.words for each in two.proposals]


def test_progress_grows_and_a_stop_keeps_what_was_found() -> None:
    told: list[Progress] = []

    def report(progress: Progress) -> bool:
        told.append(progress)
        return not progress.proposals

    advice = advise(four_bar(), report=report)
    done = [one.done for one in told]
    assert done == sorted(done)
    assert done[0] >= 0.0
    assert done[-1] <= 1.0
    assert advice.stopped
    assert advice.proposals
    assert {one.kind for one in advice.proposals} == {"weights"}


def test_a_twin_stays_a_twin_and_both_bear_the_weight() -> None:
    advice = advise(demo("night-moth"), Options(kinds=("weights",)))
    one = advice.proposals[0]
    left, right = (one.sketch.part(name).weights for name in ("left gear", "right gear"))
    assert len(left) == len(right) == 1
    assert left[0].mass_kg == right[0].mass_kg
    assert left[0].x == pytest.approx(-right[0].x)
    assert left[0].y == pytest.approx(right[0].y)
    assert one.added_kg == pytest.approx(2 * left[0].mass_kg)


@pytest.mark.parametrize(("options", "word"), [
    (Options(weights=WeightRules(parts=("nobody",))), "nobody"),
    (Options(springs=SpringRules(parts=("nobody",))), "nobody"),
    (Options(weights=WeightRules(washers=("M7",))), "M7"),
    (Options(weights=WeightRules(sheets=(("cheese", 3.0),))), "cheese"),
    (Options(kinds=("magic",)), "magic"),  # type: ignore[arg-type]
    (Options(aim="magic"), "magic"),  # type: ignore[arg-type]
])
def test_what_does_not_exist_is_said_in_one_sentence(options: Options, word: str) -> None:
    with pytest.raises(SketchError, match=word) as refused:
        advise(four_bar(), options)
    assert refused.value.mend


def test_a_stop_at_once_hands_out_nothing_and_blames_nothing() -> None:
    advice = advise(four_bar(), report=lambda _: False)
    assert advice.stopped
    assert advice.proposals == ()
    assert advice.declined == ()


def test_a_part_may_have_a_reach_and_a_heaviest_weight_of_its_own() -> None:
    rules = WeightRules(most=1, parts=("rocker",), each=(("rocker", 30.0, 0.02),))
    for one in advise(four_bar(), Options(kinds=("weights",), weights=rules)).proposals:
        (weight,) = one.sketch.part("rocker").weights
        assert weight.mass_kg <= 0.02 + 1e-9
        pivot = one.sketch.place("rocker.Q")
        assert abs(weight.place - pivot) <= 30.0 + 1e-6 or shapely.Point(
            weight.x, weight.y).within(outline_of(four_bar().part("rocker")))


def test_a_spring_is_found_for_a_machine_on_which_the_simplex_went_in_circles() -> None:
    one = advise(nodding_heron(), Options(kinds=("springs",))).proposals[0]
    sound(nodding_heron(), one, AIMS["peak"])
    assert one.gain > 0.5
