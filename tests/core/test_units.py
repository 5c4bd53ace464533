"""Quantities: what people type is read, what is shown reads back."""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from core.errors import UnitError
from core.units import (
    parse_angle,
    parse_force,
    parse_length,
    parse_mass,
    parse_number,
    parse_torque,
    show_angle,
    show_error,
    show_force,
    show_length,
    show_mass,
    show_torque,
)

LENGTHS = [
    ("6.35", 6.35), ("6 mm", 6.0), ("6mm", 6.0), ("2,5 cm", 25.0), ("0.1 m", 100.0),
    ("1/4 in", 6.35), ("1/4\"", 6.35), ("1 1/2\"", 38.1), ("1-1/2 in", 38.1),
    ("1½\"", 38.1), ("½ in", 12.7), ("⅛″", 3.175), ("1'2\"", 355.6), ("1' 2", 355.6),
    ("2 ft", 609.6), ("1' 2 1/2\"", 368.3), ("3 inches", 76.2), ("1 inch", 25.4),
    ("−3", -3.0), ("-3 mm", -3.0), ("– 1 1/2 in", -38.1), (".5", 0.5), ("5.", 5.0),
    ("1e2", 100.0), ("+4", 4.0), ("1½''", 38.1), ("10 thou", 0.254), ("0", 0.0), ("-0", 0.0),
    ("  7 MM ", 7.0),
]


@pytest.mark.parametrize(("text", "mm"), LENGTHS)
def test_lengths_are_read_as_people_write_them(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, rel=1e-15, abs=0)


def test_a_bare_number_takes_the_default_unit() -> None:
    assert parse_length("1 1/2", default="in") == 38.1
    assert parse_length("6 mm", default="in") == 6.0


@pytest.mark.parametrize("text", [
    "", " ", "abc", "1//2", "1/0", "1 1/0 in", "1,234.5", "nan", "inf", "1e999", "1e99999",
    "3 furlongs", "1 2", "--3", "1 mm 2", "3²", "mm", "\"", "1/2/3", "1" * 200,
    "\x00", "\ud800",
])
def test_nonsense_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_length(text)
    said = str(caught.value)
    assert said.endswith(".")
    assert "\n" not in said
    assert len(said) < 200


def test_other_quantities_are_read() -> None:
    assert parse_angle("12° 30'") == 12.5
    assert parse_angle("1/4 turn") == 90
    assert parse_angle("1 rad") == pytest.approx(math.degrees(1), rel=1e-15)
    assert parse_angle("-45") == -45
    assert parse_number("1 1/2") == 1.5
    assert parse_mass("200 g") == 0.2
    assert parse_force("5 N") == 5.0
    assert parse_torque("0.5 N·m") == 500.0
    assert parse_torque("0.5 N.m") == 500.0
    with pytest.raises(UnitError, match="leave it out"):
        parse_number("3 mm")


def test_conversions_agree_with_published_factors() -> None:
    # NIST Special Publication 811 (2008), appendix B.8: 1 lbf = 4.448222 N,
    # 1 lbf·in = 0.1129848 N·m, 1 oz = 28.34952 g, 1 lb = 0.4535924 kg (from memory).
    assert parse_force("1 lbf") == pytest.approx(4.448222, rel=1e-6)
    assert parse_torque("1 lbf·in") == pytest.approx(112.9848, rel=1e-6)
    assert parse_mass("1 oz") == pytest.approx(0.02834952, rel=1e-6)
    assert parse_mass("1 lb") == pytest.approx(0.4535924, rel=1e-6)


@pytest.mark.parametrize(("mm", "metric", "inch"), [
    (6.35, "6.35 mm", "1/4 in"), (38.1, "38.1 mm", "1 1/2 in"), (3.175, "3.175 mm", "1/8 in"),
    (100.0, "100 mm", "3.937 in"), (0.0, "0 mm", "0 in"),
    (-12.7, "−12.7 mm", "−1/2 in"), (33.333333, "33.33 mm", "1 5/16 in"),
    (25.4, "25.4 mm", "1 in"),
    (-0.0001, "0 mm", "0 in"), (math.nan, "–", "–"), (math.inf, "–", "–"),
])
def test_lengths_are_shown_as_people_write_them(mm: float, metric: str, inch: str) -> None:
    assert show_length(mm) == metric
    assert show_length(mm, "in") == inch


def test_the_unit_can_be_left_out() -> None:
    assert show_length(38.1, "in", unit=False) == "1 1/2"


def test_other_quantities_are_shown() -> None:
    assert show_angle(12.5) == "12.5°"
    assert show_angle(-30) == "−30°"
    assert show_error(0.254, "mm", "in") == show_length(0.254, "in")
    assert show_error(1.5, "deg") == "1.5°"
    assert show_error(0.12345, "") == "0.123"
    assert {show_error(math.inf, unit) for unit in ("mm", "deg", "")} == {"–"}
    assert show_torque(123.456) == "0.123 N·m"
    assert show_torque(112.98483, "in") == "1 lbf·in"
    assert show_force(4.4482216, "in") == "1 lbf"
    assert show_force(-5) == "−5 N"
    assert show_mass(0.2) == "200 g"
    assert show_mass(1.25) == "1.25 kg"
    assert show_mass(0.45359237, "in") == "1 lb"
    assert show_torque(math.nan) == "– N·m"


reasonable = st.floats(-1e5, 1e5, allow_nan=False)


@given(reasonable)
def test_a_shown_length_reads_back(mm: float) -> None:
    assert parse_length(show_length(mm)) == pytest.approx(mm, abs=0.0051)
    assert parse_length(show_length(mm, "in")) == pytest.approx(mm, abs=0.0005001 * 25.4)
    assert parse_length(show_length(mm, "in", unit=False), "in") == pytest.approx(
        mm, abs=0.0005001 * 25.4)


@given(st.integers(-6400, 6400))
def test_every_64th_is_shown_as_a_fraction_and_reads_back_exactly(parts: int) -> None:
    mm = parts * 25.4 / 64
    shown = show_length(mm, "in")
    assert "." not in shown
    assert parse_length(shown) == pytest.approx(mm, rel=1e-15, abs=0)


@given(reasonable)
@example(150.0)  # 5.906 in lies so near 5 29/32 in that it is shown so once it is read
def test_showing_again_what_was_read_settles_at_once(mm: float) -> None:
    for units in ("mm", "in"):
        once = show_length(mm, units)
        again = show_length(parse_length(once), units)
        assert again == once or "/" in again
        assert show_length(parse_length(again), units) == again


@given(reasonable)
def test_other_shown_quantities_read_back_to_three_figures(value: float) -> None:
    assert parse_angle(show_angle(value)) == pytest.approx(value, abs=0.0051)
    for units in ("mm", "in"):
        assert parse_force(show_force(value, units)) == pytest.approx(value, rel=6e-3, abs=1e-8)
        assert parse_torque(show_torque(value, units)) == pytest.approx(
            value, rel=6e-3, abs=1e-5)
        assert parse_mass(show_mass(value, units)) == pytest.approx(value, rel=6e-3, abs=1e-8)


@given(st.text(max_size=40))
def test_any_text_is_a_number_or_a_unit_error(text: str) -> None:
    for parse in (parse_length, parse_angle, parse_number, parse_mass, parse_torque):
        with contextlib.suppress(UnitError):
            assert math.isfinite(parse(text))
