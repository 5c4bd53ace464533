"""Quantities written in mixed units, and what is shown read back.

Sources: the international yard and pound (1959): 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, both
exact; standard gravity 9.806 65 m/s² (3rd CGPM, 1901); derived factors NIST Special Publication
811 (2008), appendix B.8, from memory: 1 ozf·in = 7.061 552 mN·m, 1 ft·lbf = 1.355 818 N·m,
1 ozf = 0.278 013 9 N, 1 kgf·m = 9.806 65 N·m.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnitError
from core.units import (
    parse_force,
    parse_length,
    parse_mass,
    parse_torque,
    show_force,
    show_length,
    show_mass,
    show_torque,
)

NMM_PER_LBF_IN = 0.45359237 * 9.80665 * 25.4


@pytest.mark.parametrize(("text", "nmm"), [
    ("1 N·m", 1000.0), ("1 N m", 1000.0), ("1 N.m", 1000.0), ("1 N*m", 1000.0),
    ("1 N-m", 1000.0), ("1Nm", 1000.0), ("1 newton metre", 1000.0), ("250 N mm", 250.0),
    ("2 N cm", 20.0), ("1 kgf·m", 9806.65), ("1 kgf cm", 98.0665), ("100 gf cm", 98.0665 / 10),
    ("1 lbf·in", 112.9848), ("1 lbf in", 112.9848), ("1 lb-in", 112.9848),
    ("1 in-lb", 112.9848), ("1 in lbf", 112.9848), ("1 in·lbs", 112.9848),
    ("1 inch pound", 112.9848), ("1 pound-inch", 112.9848), ("12 lbs in", 12 * 112.9848),
    ("1 ozf·in", 7.061552), ("1 ozf in", 7.061552), ("1 oz in", 7.061552),
    ("1 in oz", 7.061552), ("16 oz-in", 112.9848), ("1 ft·lbf", 1355.818),
    ("1 ft lb", 1355.818), ("1 pound foot", 1355.818), ("2 pounds feet", 2 * 1355.818),
    ("1/2 lbf in", 56.4924), ("1 1/2 lbf·in", 169.4772), ("−3 lbf in", -338.9544),
    ("4 lb in 3 oz in", 4 * 112.9848 + 3 * 7.061552), ("1 N·m 5 lbf·in", 1564.924)])
def test_a_torque_in_any_units_is_the_same_torque(text: str, nmm: float) -> None:
    assert parse_torque(text) == pytest.approx(nmm, rel=2e-6)


@pytest.mark.parametrize(("text", "newton"), [
    ("1 ozf", 0.2780139), ("1 oz", 0.2780139), ("16 ounces", 4.448222), ("1 lbf", 4.448222),
    ("2 pounds", 8.896443), ("3 lb 8 oz", 3.5 * 4.448222), ("1 kgf", 9.80665),
    ("100 gf", 0.980665), ("5 newtons", 5.0)])
def test_a_force_in_any_units_is_the_same_force(text: str, newton: float) -> None:
    assert parse_force(text) == pytest.approx(newton, rel=2e-6)


def test_an_ounce_is_a_mass_and_its_weight_a_force() -> None:
    assert parse_mass("1 oz") * 9.80665 == pytest.approx(parse_force("1 oz"), rel=1e-12)
    assert parse_mass("1 lb 3 oz") == pytest.approx(19 / 16 * 0.45359237, rel=1e-12)


def test_a_force_on_an_arm_is_the_torque_of_its_units() -> None:
    """10 oz at 3/4 in is 7.5 oz·in; 2 lbf at 1 ft is 2 ft·lbf; 5 N at 20 cm is 1 N·m."""
    for force, arm, torque in (("10 oz", "3/4 in", "7.5 oz in"), ("2 lbf", "1 ft", "2 ft lbf"),
                               ("5 N", "20 cm", "1 N m"), ("1 lbf", "25.4 mm", "1 lbf·in")):
        assert parse_force(force) * parse_length(arm) == pytest.approx(
            parse_torque(torque), rel=1e-12)


@pytest.mark.parametrize(("text", "parse"), [
    ("4 lbf", parse_torque), ("4 in", parse_torque), ("4 N kg", parse_torque),
    ("4 lbf mm", parse_torque), ("4 lb in oz", parse_torque), ("3 mm", parse_force),
    ("3 oz", parse_length), ("3 N", parse_mass), ("4 N·m", parse_force)])
def test_units_of_another_quantity_are_refused(text: str, parse: object) -> None:
    with pytest.raises(UnitError, match=r"use one of|write it like"):
        parse(text)


def test_a_bare_number_is_taken_in_the_units_of_its_box() -> None:
    assert parse_torque("2", "lbf·in") == pytest.approx(2 * NMM_PER_LBF_IN, rel=1e-12)
    assert parse_torque("2", "N·m") == 2000.0
    assert parse_force("2", "lbf") == pytest.approx(8.896443, rel=1e-6)
    assert parse_mass("2", "oz") == pytest.approx(0.05669905, rel=1e-6)
    # A unit typed comes before the box's.
    assert parse_torque("2 N·m", "lbf·in") == 2000.0
    assert parse_length("6 mm", "in") == 6.0


VALUES = st.floats(1e-3, 1e6, allow_nan=False)


@given(VALUES, st.sampled_from(["mm", "in"]), st.booleans())
def test_what_is_shown_reads_back_to_three_figures(
    value: float, units: str, negative: bool
) -> None:
    value = -value if negative else value
    for show, parse in ((show_torque, parse_torque), (show_force, parse_force),
                        (show_mass, parse_mass)):
        scale = {show_torque: 1.0, show_force: 1e-2, show_mass: 1e-3}[show]
        assert parse(show(scale * value, units)) == pytest.approx(scale * value, rel=5.1e-3)
    assert parse_length(show_length(value, units), units) == pytest.approx(
        value, abs=0.0128 if units == "in" else 0.0051)


def test_one_torque_is_shown_in_the_units_of_the_sketch() -> None:
    assert show_torque(parse_torque("8 oz in"), "in") == "0.5 lbf·in"
    assert show_torque(parse_torque("8 oz in"), "mm") == "0.0565 N·m"
    assert show_force(parse_force("10 N"), "in") == "2.25 lbf"
    assert show_mass(parse_mass("100 g"), "in") == "3.53 oz"
    assert math.isclose(parse_torque("8.85 lbf in"), 1000.0, rel_tol=1e-3)
