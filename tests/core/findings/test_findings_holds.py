"""Findings of what gives way: their grades, their numbers, and mends that mend."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from core.findings import Finding
from core.findings.holds import hold_findings, next_rod_mm
from core.making.strength import Check, Strength
from core.model import Bar, Drive, Force, Gravity, Part, Pin, Point, Sketch
from core.study import report, study


def part(name: str, layer: int, width: float, thick: float, **points: complex) -> Part:
    return Part(id=name, layer=layer, thickness_mm=thick, outline=Bar(width_mm=width),
                fixed=name == "frame", points=tuple(
                    Point(id=key, x=at.real, y=at.imag) for key, at in points.items()))


def loaded(force_n: float, rod_mm: float = 8.0, width: float = 24.0, thick: float = 9.0,
           units: str = "mm", **pin: object) -> Sketch:
    """A crank that lifts a load at its end: bent at its bore, its shaft bent and twisted."""
    return Sketch(
        units=units,
        parts=(part("frame", 0, 60.0, 18.0, o=0j, x=100 + 0j),
               part("crank", 1, width, thick, o=0j, a=60 + 0j)),
        pins=(Pin(id="shaft", at=("frame.o", "crank.o"), diameter_mm=rod_mm, **pin),),
        forces=(Force(id="load", at="crank.a", fx_n=0.0, fy_n=-force_n),),
        gravity=Gravity(g_m_s2=0.0), drive=Drive(pin="shaft", part="crank", rpm=1e-6))


def found(sketch: Sketch, code: str) -> list[Finding]:
    return [one for one in study(sketch).findings if one.code == code]


def test_what_holds_is_not_told() -> None:
    codes = {one.code for one in study(loaded(0.5)).findings}
    assert not codes & {"rod-too-weak", "bore-gives", "tears-out", "part-too-weak", "buckles",
                        "wags", "rod-winds-up"}


@pytest.mark.parametrize(("units", "rod"), [("mm", 4.0), ("in", 25.4 / 8)])
def test_a_weak_rod_is_told_and_the_next_rod_that_is_sold_mends_it(units: str,
                                                                  rod: float) -> None:
    """Every mend offered must lead to a sketch in which that rod holds."""
    sketch = loaded(40.0, rod, units=units)
    weak = found(sketch, "rod-too-weak")
    assert weak
    worst = weak[0]
    assert worst.grade in ("fault", "warning")
    assert worst.value is not None
    assert worst.limit is not None
    assert worst.value > worst.limit
    assert worst.joints == ("shaft",)
    assert "shaft" in worst.edits[0].label
    bent = [one for one in weak if ": bent" in one.text]
    assert all("on both sides" in one.mend for one in bent)
    for _ in range(5):
        weak = found(sketch, "rod-too-weak")
        if not weak:
            break
        sketch = weak[0].edits[0].apply(sketch)
    assert not found(sketch, "rod-too-weak")
    assert sketch.pins[0].diameter_mm < 20.0


def test_a_weak_bar_is_told_with_the_width_that_holds() -> None:
    sketch = loaded(40.0, 8.0, width=14.0, thick=3.0)
    weak = found(sketch, "part-too-weak")
    assert weak[0].parts == ("crank",)
    mended = weak[0].edits[0].apply(sketch)
    assert not found(mended, "part-too-weak")
    shape = mended.part("crank").outline
    assert isinstance(shape, Bar)
    assert shape.width_mm > 14.0
    assert f"{shape.width_mm:g} mm" in weak[0].mend


def test_a_jam_that_would_twist_the_rod_is_a_warning_at_most() -> None:
    sketch = loaded(0.0, 2.0)
    jam = found(sketch, "rod-too-weak")
    assert [one.grade for one in jam] == ["warning"]
    assert "jam" in jam[0].text


def test_play_is_told_only_where_it_was_given() -> None:
    light = loaded(0.5)
    assert not found(light, "wags")
    sloppy = found(loaded(0.5, clearance_mm=1.0), "wags")
    assert sloppy[0].grade == "warning"
    # a crank fast on a shaft that tilts in a bearing of 18 mm; its end is 72 mm away
    assert sloppy[0].value == pytest.approx(1.0 / 18 * 72, rel=1e-3)


def test_each_thing_is_told_once_for_each_code() -> None:
    told = [(one.code, one.parts, one.joints, one.text.split(":")[0])
            for one in study(loaded(400.0, 3.0, 12.0, 3.0)).findings]
    assert len(told) == len(set(told))


@pytest.mark.parametrize(("value", "grade"), [
    (9.0, None), (11.0, "note"), (21.0, "warning"), (61.0, "fault")])
def test_the_grade_follows_from_what_it_surely_and_maybe_bears(value: float,
                                                             grade: str | None) -> None:
    check = Check("tear-out", "Wood of crank round shaft", ("crank",), ("shaft",), value,
                  (40.0, 60.0), (3.0, 4.0), "MPa", math.pi, "", "a book", "read",
                  size_mm=4.0)
    told = list(hold_findings(loaded(1.0), Strength((check,))))
    assert [one.grade for one in told] == ([] if grade is None else [grade])
    if told:
        assert told[0].limit == pytest.approx(10.0)
        assert told[0].crank_deg == pytest.approx(180.0)
        assert told[0].source == "a book"


def test_no_rod_that_is_sold_may_do() -> None:
    assert next_rod_mm(6.1, "mm") == 8.0
    assert next_rod_mm(6.0, "mm") == 6.0
    assert next_rod_mm(6.0, "in") == pytest.approx(6.35)
    assert next_rod_mm(99.0, "mm") is None
    hopeless = found(loaded(4000.0, 2.0), "rod-too-weak")
    assert hopeless[0].edits == ()
    assert "lessen" in hopeless[0].mend


def test_a_study_while_dragging_does_without_and_check_prints_every_check() -> None:
    sketch = loaded(20.0)
    assert study(sketch, refine=False).strength is None
    done = study(sketch)
    told = report(done)["strength"]
    assert done.strength is not None
    assert len(told) == len(done.strength.checks)
    assert set(told[0]) >= {"kind", "thing", "value", "allowed", "safety", "crank_deg",
                            "source", "trust"}
    assert replace(sketch) == sketch


def test_what_no_sensible_size_mends_is_told_so() -> None:
    """No mend asks for more than four times of what there is."""
    hopeless = found(loaded(20_000.0), "tears-out")
    assert hopeless
    assert all("does not do it" in one.mend for one in hopeless)
    slight = found(loaded(800.0), "tears-out")
    assert slight
    assert all(one.mend.startswith("Leave ") for one in slight)
