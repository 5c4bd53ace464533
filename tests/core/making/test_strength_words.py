"""Checks in words: units, figures, ranges, headline."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from core.making.ranges import show_load
from core.making.strength import Check, Strength
from core.making.strength.words import details, headline, sentence, show_safety

CHECK = Check("rod-bending", "Rod of shaft", ("crank",), ("shaft",), 50.0, (250.0, 275.0),
              (1.5, 2.0), "MPa", math.pi / 2, "32 · moment", "a book; another", "read")


@pytest.mark.parametrize(("value", "unit", "units", "text"), [
    (311.26, "MPa", "mm", "311 MPa"), (0.11099, "MPa", "mm", "0.111 MPa"),
    (311.26, "MPa", "in", "45100 psi"), (0.0, "MPa", "mm", "0 MPa"),
    (8.0, "N", "mm", "8 N"), (1500.0, "N·mm", "mm", "1.5 N·m"), (2.114, "°", "mm", "2.11°"),
    (6.283, "mm", "mm", "6.28 mm"), (math.nan, "MPa", "mm", "–"), (math.inf, "N", "in", "–")])
def test_loads_have_three_figures_in_the_units_of_the_sketch(value: float, unit: str,
                                                           units: str, text: str) -> None:
    assert show_load(value, unit, units) == text


def test_a_sentence_says_load_place_limit_and_safety() -> None:
    assert sentence(CHECK) == ("Rod of shaft: bent, 50 MPa at 90°; it gives way at 250 MPa to"
                               " 275 MPa, a safety of 5 to 5.5.")
    assert "psi" in sentence(CHECK, "in")
    assert "MPa" not in sentence(CHECK, "in")


def test_a_safety_that_hardly_matters_is_over_a_hundred() -> None:
    assert show_safety(replace(CHECK, value=0.1)) == "over 100"
    assert show_safety(replace(CHECK, value=0.0)) == "over 100"


def test_details_tell_formula_source_trust_and_what_may_be_built_on() -> None:
    told = details(CHECK)
    for words in ("32 · moment", "a book; another", "read in a copy", "125 MPa may be built on",
                  "40 % of that"):
        assert words in told
    wag = replace(CHECK, kind="wag", unit="mm", value=2.0, gives=(1.0, 1.0), needed=(1.0, 1.0),
                  soft=True)
    assert "The gap wanted is 1 mm." in details(wag)
    assert "built on" not in details(wag)


def test_a_headline_counts_each_verdict() -> None:
    assert headline(Strength((CHECK,))) == "1 check: it holds."
    checks = (replace(CHECK, value=300.0), replace(CHECK, value=200.0), CHECK)
    assert headline(Strength(checks)) == "3 checks: 1 gives way, 1 may give way, the rest hold."
    assert headline(Strength(())) == "Nothing was checked."
