"""Gears: what they refuse, and laws that hold for every one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import SketchError
from core.making.gear_involute import inverse_involute, involute
from core.making.gears import (
    Gear,
    GearPair,
    centre_for_play,
    least_pinion_teeth,
)

TEETH = st.integers(6, 120)
SHIFT = st.floats(-0.3, 0.6)


@given(st.floats(0.0, 1.5))
def test_the_inverse_of_the_involute_undoes_it(angle: float) -> None:
    again = float(inverse_involute(involute(angle)))
    assert float(involute(again)) == pytest.approx(float(involute(angle)), rel=1e-12, abs=1e-15)
    assert again == pytest.approx(angle, rel=1e-6, abs=1e-6)


def test_no_angle_has_a_negative_involute() -> None:
    assert np.isnan(inverse_involute([-0.1, 0.1])).tolist() == [True, False]


@pytest.mark.parametrize(("wrong", "place"), [
    ({"teeth": 2}, "teeth"), ({"teeth": 12.5}, "teeth"), ({"module_mm": 0.0}, "module_mm"),
    ({"module_mm": math.nan}, "module_mm"), ({"pressure_angle_deg": 50.0}, "pressure_angle"),
    ({"shift": math.inf}, "shift"), ({"teeth": 4, "dedendum": 2.5}, "dedendum")])
def test_a_gear_that_cannot_be_is_refused_with_its_place(wrong: dict, place: str) -> None:
    with pytest.raises(SketchError, match=place):
        Gear(**{"teeth": 20, "module_mm": 2.0, **wrong})


def test_gears_of_different_modules_do_not_mesh() -> None:
    with pytest.raises(SketchError, match="module"):
        GearPair(Gear(20, 2.0), Gear(20, 2.5))


def test_centres_within_the_base_circles_are_refused() -> None:
    with pytest.raises(SketchError, match="too close"):
        GearPair(Gear(20, 2.0), Gear(20, 2.0), 30.0)


def test_teeth_shifted_too_far_inwards_are_refused() -> None:
    with pytest.raises(SketchError, match="shift"):
        GearPair(Gear(10, 2.0, shift=-0.6), Gear(10, 2.0, shift=-0.6))


def test_a_pinion_is_the_smaller_gear() -> None:
    with pytest.raises(SketchError, match="ratio"):
        least_pinion_teeth(0.5)


@given(TEETH, TEETH, SHIFT, SHIFT)
def test_teeth_fill_the_pitch_at_the_tight_centre(
    one: int, two: int, x: float, y: float
) -> None:
    try:
        pair = GearPair(Gear(one, 2.0, shift=x), Gear(two, 2.0, shift=y))
    except SketchError:
        return  # shifted too far inwards
    assert abs(pair.play_mm) < 1e-9
    assert sum(pair.working_mm) == pytest.approx(pair.centre_mm)


@given(TEETH, TEETH, st.floats(0.01, 0.5), st.floats(0.0, 0.3))
def test_the_centre_for_a_play_leaves_that_play(
    one: int, two: int, play: float, thinned: float
) -> None:
    a, b = Gear(one, 2.0, thinned_mm=thinned), Gear(two, 2.0)
    assert GearPair(a, b, centre_for_play(a, b, play)).play_mm == pytest.approx(play, abs=1e-9)


def test_play_cannot_be_negative() -> None:
    with pytest.raises(SketchError, match="play"):
        centre_for_play(Gear(20, 2.0), Gear(20, 2.0), -0.1)


def test_gears_too_far_apart_do_not_touch() -> None:
    a, b = Gear(20, 2.0), Gear(20, 2.0)
    assert GearPair(a, b, 46.0).contact_ratio == 0.0


def test_a_small_wheel_meets_the_mate_in_either_order() -> None:
    a, b = Gear(13, 2.0), Gear(30, 2.0)
    one, other = GearPair(a, b), GearPair(b, a)
    assert one.interferes == (True, False)
    assert other.interferes == (False, True)
    assert one.contact_ratio == pytest.approx(other.contact_ratio)
    assert one.lowest_mm[0] == a.base_mm
    assert one.lowest_mm == other.lowest_mm[::-1]


def test_clearance_is_a_quarter_module_for_standard_teeth() -> None:
    pair = GearPair(Gear(20, 2.0), Gear(31, 2.0))
    assert pair.clearances_mm == pytest.approx((0.5, 0.5))


def test_few_teeth_shifted_out_come_to_a_point() -> None:
    """8 teeth shifted by 0.53 leave 0.042 modules of tip: worked out."""
    gear = Gear(8, 1.0, shift=0.53)
    assert gear.tip_land_mm == pytest.approx(0.042, abs=0.003)
    assert Gear(8, 1.0, shift=0.7).tip_land_mm < 0
