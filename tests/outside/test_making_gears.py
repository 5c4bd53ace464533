"""Involute spur gears against worked examples and tables.

Sources, as second-hand copies of them: J. E. Shigley, *Mechanical Engineering Design*, ex. 13-1
(course note MTE322); D. Wright's gear course, University of Western Australia; R. S. Khurmi and
J. K. Gupta, *Theory of Machines* (a companion's transcript); R. L. Norton, *Machine Design*
(from memory); ISO 21771:2007. "Worked out" is a value calculated by the founders from the
stated formula. Where a source rounds or errs, the exact value is asked for and the trap named.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from core.making.gears import (
    MODULES_FIRST,
    MODULES_SECOND,
    Gear,
    GearPair,
    centre_for_play,
    contact_ratio,
    involute_deg,
    largest_gear_teeth,
    least_pinion_teeth,
    least_shift,
    undercut_teeth,
)

INCH = 25.4


@pytest.mark.parametrize(("deg", "value"), [
    (14.5, 0.0055448), (20.0, 0.0149044), (25.0, 0.0299753)])  # involute tables; worked out
def test_the_involute_function_has_the_values_of_tables(deg: float, value: float) -> None:
    assert involute_deg(deg) == pytest.approx(value, abs=1e-7)


def shigley(centre_in: float | None = None) -> GearPair:
    """Ex. 13-1: 16 and 40 teeth, diametral pitch 2, 20°."""
    module = INCH / 2
    return GearPair(Gear(16, module), Gear(40, module),
                    None if centre_in is None else centre_in * INCH)


def test_shigleys_pair_has_the_printed_sizes() -> None:
    pair = shigley()
    assert pair.a.circular_pitch_mm / INCH == pytest.approx(1.571, rel=1e-3)
    assert pair.centre_mm / INCH == pytest.approx(14.0, rel=1e-9)
    assert pair.a.base_mm / INCH == pytest.approx(3.759, rel=1e-3)
    assert pair.b.base_mm / INCH == pytest.approx(9.397, rel=1e-3)
    assert (pair.a.tip_mm - pair.a.pitch_mm) / INCH == pytest.approx(0.5)
    assert (pair.a.pitch_mm - pair.a.root_mm) / INCH == pytest.approx(0.625)
    assert pair.contact_ratio == pytest.approx(1.606, abs=0.002)  # worked out


def test_shigleys_pair_a_quarter_of_an_inch_farther_apart() -> None:
    """The note prints 22.59°, through a rounded base radius; exactly it is 22.600°."""
    pair = shigley(14.25)
    assert 2 * pair.working_mm[0] / INCH == pytest.approx(8.143, rel=1e-3)
    assert 2 * pair.working_mm[1] / INCH == pytest.approx(20.357, rel=1e-3)
    assert math.degrees(pair.angle_rad) == pytest.approx(22.600, abs=0.001)
    assert pair.contact_ratio == pytest.approx(1.140, abs=0.002)  # worked out


def test_the_shifted_pair_of_the_gear_course() -> None:
    """Teeth 12/18, shifts 0.5/0.4, module 1, centres 15.9 mm. It prints 27.5° for 27.563°,
    and its rule for the centres, m (Σz/2 + Σx), leaves backlash: without, 15.771 mm."""
    a, b = Gear(12, 1.0, shift=0.5), Gear(18, 1.0, shift=0.4)
    pair = GearPair(a, b, 15.9)
    assert [2 * r for r in pair.working_mm] == pytest.approx([12.72, 19.08], rel=1e-3)
    assert [2 * a.tip_mm, 2 * b.tip_mm] == pytest.approx([15.0, 20.8], rel=1e-9)
    assert [2 * a.base_mm, 2 * b.base_mm] == pytest.approx([11.28, 16.92], rel=1e-3)
    assert math.degrees(pair.angle_rad) == pytest.approx(27.563, abs=0.001)
    assert pair.contact_ratio == pytest.approx(1.2334, abs=0.0005)  # its own equation (10)
    tight = GearPair(a, b)
    assert tight.centre_mm == pytest.approx(15.771, abs=0.001)  # worked out
    assert math.degrees(tight.angle_rad) == pytest.approx(26.654, abs=0.001)
    assert tight.contact_ratio == pytest.approx(1.329, abs=0.002)
    assert abs(tight.play_mm) < 1e-12
    assert pair.play_mm > 0.1


def test_khurmi_and_guptas_pair_with_an_addendum_of_its_own() -> None:
    """30/80 teeth, module 12 mm, addendum 10 mm. Printed 52.3, 55.66 mm and 1.5."""
    high = 10 / 12
    pair = GearPair(Gear(30, 12.0, addendum=high), Gear(80, 12.0, addendum=high))
    assert pair.path_mm == pytest.approx(52.258, rel=1e-4)
    assert pair.arc_mm == pytest.approx(55.612, rel=1e-4)
    assert pair.contact_ratio == pytest.approx(1.475, abs=0.001)


def test_nortons_pair_and_its_centres_two_per_cent_apart() -> None:
    """19/37 teeth, diametral pitch 6: 1.62 and 22.89°, from memory."""
    a, b = Gear(19, INCH / 6), Gear(37, INCH / 6)
    assert contact_ratio(a, b) == pytest.approx(1.621, abs=0.001)
    apart = GearPair(a, b, 1.02 * GearPair(a, b).centre_mm)
    assert math.degrees(apart.angle_rad) == pytest.approx(22.888, abs=0.001)
    assert apart.contact_ratio == pytest.approx(1.102, abs=0.001)  # worked out


def test_thickness_of_a_tooth_at_three_radii() -> None:
    gear = Gear(20, 3.0)  # worked out from the formula of ISO 21771
    assert gear.thickness_mm(30.0) == pytest.approx(4.7124, abs=1e-4)
    assert gear.thickness_mm(33.0) == pytest.approx(2.0846, abs=1e-4)
    assert gear.thickness_mm(gear.base_mm) == pytest.approx(5.2685, abs=1e-4)


@pytest.mark.parametrize(("deg", "teeth"), [(20, 17.10), (14.5, 31.90), (25, 11.20)])
def test_teeth_without_undercut(deg: float, teeth: float) -> None:
    """2 / sin² α (lecture of IUG; values worked out)."""
    assert undercut_teeth(deg) == pytest.approx(teeth, abs=0.005)


@pytest.mark.parametrize(("teeth", "shift"), [
    (8, .532), (10, .415), (12, .298), (14, .181), (16, .064)])  # from memory, worked out
def test_shift_that_just_avoids_undercut(teeth: int, shift: float) -> None:
    assert least_shift(teeth) == pytest.approx(shift, abs=0.0005)
    assert Gear(teeth, 2.0).undercut
    assert not Gear(teeth, 2.0, shift=shift + 0.001).undercut


@pytest.mark.parametrize(("ratio", "teeth", "whole"), [
    (1, 12.32, 13), (2, 14.16, 15), (3, 14.98, 15), (4, 15.44, 16)])
def test_least_teeth_of_a_pinion(ratio: float, teeth: float, whole: int) -> None:
    """Shigley ch. 13, from memory. A companion with the addendum in mm gets 18.2 at 3."""
    assert least_pinion_teeth(ratio) == pytest.approx(teeth, abs=0.005)
    assert math.ceil(least_pinion_teeth(ratio)) == whole


@pytest.mark.parametrize(("pinion", "gear"), [
    (13, 16), (14, 26), (15, 45), (16, 101), (17, 1309)])
def test_largest_gear_of_a_pinion(pinion: int, gear: int) -> None:
    """Shigley ch. 13, from memory; the pairs themselves agree on which interfere."""
    assert math.floor(largest_gear_teeth(pinion)) == gear
    assert not any(GearPair(Gear(pinion, 2.0), Gear(gear, 2.0)).interferes)
    assert GearPair(Gear(pinion, 2.0), Gear(gear + 1, 2.0)).interferes == (True, False)


def test_even_a_rack_does_not_interfere_from_eighteen_teeth() -> None:
    assert largest_gear_teeth(18) == math.inf


def test_play_grows_by_twice_the_tangent_as_the_centres_part() -> None:
    """0.15 mm apart give 0.109 mm of play, by j = 2 Δa tan α; exactly a little more."""
    a, b = Gear(20, 2.0), Gear(40, 2.0)
    pair = GearPair(a, b, GearPair(a, b).centre_mm + 0.15)
    assert pair.play_mm == pytest.approx(0.109, abs=0.002)
    assert centre_for_play(a, b, pair.play_mm) == pytest.approx(pair.centre_mm, abs=1e-9)


def test_modules_of_the_standard() -> None:
    """ISO 54, from memory."""
    assert MODULES_FIRST == (1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10)
    assert MODULES_SECOND == (1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5, 6.5, 7, 9)


def test_flanks_generated_by_the_string_construction_are_as_thick_as_the_formula_says() -> None:
    """The definition of an involute, apart from any formula of gears: the free end of a taut
    string off the base circle. The polar angle of where it is at a radius, found by root
    search, gives the thickness."""
    gear = Gear(23, 2.5, shift=0.2)

    def polar(radius: float) -> float:
        def off(roll: float) -> float:
            return abs(complex(1, -roll)) * gear.base_mm - radius
        roll = brentq(off, 0.0, 3.0, xtol=1e-14) if radius > gear.base_mm else 0.0
        end = gear.base_mm * complex(math.cos(roll), math.sin(roll)) * complex(1, -roll)
        return math.atan2(end.imag, end.real)

    at_pitch = gear.thickness_mm(gear.pitch_mm)
    for radius in (gear.base_mm, 28.0, gear.pitch_mm, 30.0, gear.tip_mm):
        half = at_pitch / (2 * gear.pitch_mm) - (polar(radius) - polar(gear.pitch_mm))
        assert gear.thickness_mm(radius) == pytest.approx(2 * radius * half, abs=1e-9)


def test_the_involute_is_the_integral_of_its_slope() -> None:
    area, _ = quad(lambda angle: math.tan(angle) ** 2, 0, math.radians(31))
    assert involute_deg(31) == pytest.approx(area, abs=1e-12)
