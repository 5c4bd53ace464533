"""Wishes that the turn does not meet are told with where and by how much."""

from __future__ import annotations

import math

import numpy as np
import pytest
from linkages import four_bar
from msgspec.structs import replace

from core.findings.finding import Finding
from core.model import Sketch, Tick, WantedPath, WantedSwing
from core.motion import solve_turn
from core.study import report, study

SKETCH = four_bar(100, 40, 120, 80, 30, point=60 + 50j)


def found(sketch: Sketch) -> list[Finding]:
    return [one for one in study(sketch).findings if one.code.startswith("wish")]


def path(shift: complex = 0j) -> WantedPath:
    """Some of the coupler point's own path, shifted."""
    trace = solve_turn(SKETCH).path("coupler.P")[::60]
    return WantedPath(id="loop", point="coupler.P",
                      through=tuple((float(x + shift.real), float(y + shift.imag))
                                    for x, y in trace))


def test_a_wish_that_is_met_is_no_finding() -> None:
    assert found(replace(SKETCH, wanted=(path(),))) == []


def test_a_missed_wish_says_by_how_much_and_where() -> None:
    sketch = replace(SKETCH, wanted=(path(3 + 0j),))
    (one,) = found(sketch)
    assert one.code == "wish-missed"
    assert one.grade == "warning"
    assert one.parts == ("coupler",)
    assert one.unit == "mm"
    assert one.limit == 1.0
    assert one.value == pytest.approx(3.0, abs=0.1)
    at = math.radians(one.crank_deg or 0.0)
    turn = solve_turn(SKETCH)
    slope = np.gradient(turn.path("coupler.P") @ [1, 1j])
    step = round(at / (2 * math.pi) * 720) % 720
    # Worst where the trace runs across the shift.
    assert abs(slope[step].real / abs(slope[step])) < 0.15
    assert "leaves its path" in one.text


def test_a_wish_out_of_reach_has_no_number() -> None:
    stuck = four_bar(100, 80, 60, 70, 60)
    assert not solve_turn(stuck).reached.all()
    (one,) = found(replace(stuck, wanted=(WantedPath(
        id="p", point="coupler.B", curve="places", through=((0, 0), (10, 0)),
        ticks=(Tick(at=0, crank_deg=60), Tick(at=1, crank_deg=180))),)))
    assert one.value is None
    assert one.crank_deg is None
    assert "does not go" in one.text


def test_a_wish_of_nothing_is_a_note() -> None:
    (one,) = found(replace(SKETCH, wanted=(replace(path(), point=""),)))
    assert one.code == "wish-of-nothing"
    assert one.grade == "note"


def test_the_report_lists_every_wish_that_was_measured() -> None:
    sketch = replace(SKETCH, wanted=(path(), WantedSwing(id="swing", part="rocker",
                                                         from_deg=0, to_deg=20)))
    about = report(study(sketch))
    assert [one["wish"] for one in about["wanted"]] == ["loop", "swing"]
    assert about["wanted"][0]["met"] is True
    assert about["wanted"][1]["met"] is False
    # Its swing is 73.78182° (R. L. Norton's example linkage, closed form).
    assert about["wanted"][1]["worst"] == pytest.approx((73.78182 - 20) / 2, abs=1e-5)
    assert about["error"] > 1
