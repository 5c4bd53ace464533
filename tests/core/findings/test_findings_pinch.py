"""Findings about fingers: when they are told, how gravely, and what deciding does."""

from __future__ import annotations

import math
from functools import cache

import pytest
from faulty import codes, four_bar
from msgspec.structs import replace

from core.findings import Finding
from core.findings.pinch import FLAT_MM, HURTS_N, MOST_TOLD
from core.model import (
    Belt,
    Disc,
    Guard,
    Handle,
    HandStep,
    Mesh,
    Part,
    Pin,
    Point,
    Sketch,
    Weight,
)
from core.model.edits.guarding import decide
from core.study import Study, report, study

#: Crank and rocker in one layer with neighbours: four pairs or more that shut.
SHUTS = four_bar((60, 30, 100, 80), 40.0, layers=(0, 1, 1, 2))


@cache
def shut(**more: object) -> Study:
    return study(replace(SHUTS, **more), steps=240)


def told(done: Study, code: str = "pinch") -> list[Finding]:
    return [one for one in done.findings if one.code == code]


def geared(**more: object) -> Sketch:
    def wheel(name: str, x: float, layer: int, **kinds: object) -> Part:
        return Part(id=name, layer=layer, outline=Disc(radius_mm=20), points=(
            Point(id="c", x=x, y=0),), **kinds)

    base = Part(id="base", fixed=True, layer=0, points=(
        Point(id="a", x=0, y=0), Point(id="b", x=40, y=0)))
    return replace(Sketch(
        parts=(base, wheel("sun", 0, 1), wheel("moon", 40, 1)),
        pins=(Pin(id="A", at=("base.a", "sun.c")), Pin(id="B", at=("base.b", "moon.c"))),
        meshes=(Mesh(id="teeth", a="sun.c", b="moon.c", teeth_a=20, teeth_b=20),),
        drive=four_bar().drive), **more)


def turned(sketch: Sketch) -> Sketch:
    return replace(sketch, drive=replace(sketch.drive, pin="A", part="sun"))


def test_every_place_names_parts_angle_value_limit_and_source() -> None:
    places = [one for one in told(shut()) if one.parts]
    assert len(places) >= 4
    for one in places:
        assert one.crank_deg is not None
        assert 0.0 <= one.value < one.limit == 25.0
        assert one.unit == "mm"
        assert "ISO 13854" in one.source
        assert [edit.label for edit in one.edits] == ["A guard keeps fingers off", "Let it be"]


def test_without_a_hand_nothing_presses_and_all_are_notes() -> None:
    light = shut(handle=Handle(radius_mm=20.0, limit_n=1.0))
    assert {one.grade for one in told(light)} == {"note"}


def test_a_hard_press_is_a_warning_and_says_how_hard() -> None:
    strong = shut(handle=Handle(radius_mm=200.0, limit_n=120.0))
    worst = [one for one in told(strong) if one.grade == "warning"]
    assert worst
    for one in worst:
        assert "presses a finger there with about" in one.text
        assert "ISO/TS 15066" in one.source
        pair = next(p for p in strong.pinches if p.parts == one.parts
                    and math.degrees(p.shut_rad) == one.crank_deg)
        assert 200.0 * 120.0 * pair.turn_per_mm >= HURTS_N
        assert pair.smallest_mm < FLAT_MM


@pytest.mark.parametrize("number", [0, 1])
def test_a_decision_takes_the_finding_away(number: int) -> None:
    first = next(one for one in told(shut()) if one.parts)
    after = study(first.edits[number].apply(shut().sketch), steps=240)
    assert first.parts not in [one.parts for one in told(after)]
    (pair,) = [one for one in after.pinches if one.parts == first.parts]
    assert pair.guarded == ("guarded", "accepted")[number]


def test_of_many_places_one_note_decides_about_all() -> None:
    done = shut()
    together = [one for one in told(done) if not one.parts]
    assert len(together) == (1 if len(done.pinches) > 3 else 0)
    after = study(together[0].edits[1].apply(done.sketch), steps=240)
    assert told(after) == []
    assert {one.guarded for one in after.pinches} == {"accepted"}
    assert len(told(done)) <= MOST_TOLD + 1


def test_for_children_gaps_are_held_against_the_rule_of_toys() -> None:
    done = shut(for_children=True)
    rules = {one.limit for one in told(done) if one.grade == "warning"}
    assert rules == {12.0}
    assert any("EN 71-1" in one.source for one in told(done))


def test_for_children_what_was_let_be_stays_as_a_note_and_what_is_guarded_goes() -> None:
    pair = shut(for_children=True).pinches[0].pair
    kept = {}
    for why in ("accepted", "guarded"):
        done = study(decide(shut(for_children=True).sketch, [pair], why), steps=240)
        kept[why] = [one for one in told(done) if set(pair) <= set(one.parts)]
    assert [one.grade for one in kept["accepted"]] == ["note"]
    assert "let be" in kept["accepted"][0].text
    assert [edit.label for edit in kept["accepted"][0].edits] == ["A guard keeps fingers off"]
    assert kept["guarded"] == []


def test_teeth_belts_and_wheels_at_the_handle_draw_in_until_decided() -> None:
    belt = Belt(id="cord", a="sun.c", b="moon.c", diameter_a_mm=20, diameter_b_mm=20)
    cases = {
        ("moon", "sun"): turned(geared()),
        ("moon", "sun", "belt"): turned(geared(meshes=(), belts=(belt,))),
        ("sun",): turned(geared(meshes=(), handle=Handle(steps=(
            HandStep(driver=12, driven=36),)))),
    }
    for parts, sketch in cases.items():
        (one,) = told(study(sketch, steps=90), "mesh-unguarded")
        assert one.parts == tuple(part for part in parts if part != "belt")
        assert one.grade == "note"
        assert "13854 does not cover" in one.source
        for edit in one.edits:
            assert not told(study(edit.apply(sketch), steps=90), "mesh-unguarded")
        (grave,) = told(study(replace(sketch, for_children=True), steps=90), "mesh-unguarded")
        assert grave.grade == "warning"


def test_small_parts_are_told_of_only_where_children_are() -> None:
    small = Part(id="bead", fixed=True, layer=1, outline=Disc(radius_mm=8), points=(
        Point(id="c", x=300, y=0),), weights=(Weight(mass_kg=0.01, x=300, y=0),))
    sketch = replace(SHUTS, parts=(*SHUTS.parts, small))
    assert "small-part" not in codes(study(sketch, steps=90))
    (one,) = told(study(replace(sketch, for_children=True), steps=90), "small-part")
    assert one.grade == "warning"
    assert one.parts == ("crank", "bead")  # the crank is 46 by 16 mm
    assert set(one.joints) == {"O", "A", "B", "Q"}
    assert "16 CFR 1501" in one.source
    assert one.edits == ()


def test_the_report_lists_every_place_with_what_was_decided() -> None:
    sketch = decide(SHUTS, [shut().pinches[0].pair], "guarded")
    listed = report(study(sketch, steps=240))["pinches"]
    assert len(listed) == len(shut().pinches)
    assert [one["guarded"] for one in listed].count("guarded") == 1
    for one in listed:
        assert 0.0 <= one["smallest_mm"] < one["safe_mm"]
        assert one["source"]


def test_a_guard_is_a_decision_about_a_rod_of_the_part_too() -> None:
    done = shut()
    rods = [one for one in done.pinches if one.a.startswith("pin") or one.b.startswith("pin")]
    for one in rods:
        a, b = one.pair
        again = study(replace(SHUTS, guards=(Guard(id="g", a=a, b=b),)), steps=240)
        assert all(each.guarded for each in again.pinches if each.pair == one.pair)
