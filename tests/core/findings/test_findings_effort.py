"""Findings about effort: runaway with the weight that balances it, and hard cranking."""

from __future__ import annotations

import math
import re

import pytest
from faulty import codes, four_bar, lone_crank, only
from msgspec.structs import replace

from core.findings.effort import EASY_PUSH_N, SMALL_CRANK_MM, _intervals
from core.model import Gravity, Mass, Spring, Torque
from core.study import study


def test_a_weight_on_the_crank_runs_away_as_it_falls() -> None:
    found = only(study(lone_crank(0.5, friction=(0.0, 0.0))), "runs-away")
    # Half a kilogram at 60 mm: T = m·g·r·cos θ, least at 180°.
    assert found.value == pytest.approx(-0.5 * 9.81 * 0.06, rel=1e-9)
    assert found.crank_deg == pytest.approx(180.0, abs=0.5)
    assert "between 90° and 270°" in found.text
    assert found.parts == ("crank",)
    assert (found.limit, found.unit) == (0.0, "N·m")


def test_the_end_of_the_turn_is_told_as_its_beginning() -> None:
    assert _intervals(((2 * math.pi - 1e-9, 2 * math.pi + 1.0),), 360.0) == (
        "between 0° and 57°")


@pytest.mark.parametrize("ahead", [0.0, 35.0, 200.0])
@pytest.mark.parametrize("drawn", [0.0, 70.0])
@pytest.mark.parametrize("rpm", [20.0, -20.0])
@pytest.mark.parametrize("down", [-90.0, 10.0])
def test_the_weight_it_suggests_balances_the_crank(ahead, drawn, rpm, down) -> None:
    sketch = lone_crank(0.5, 60.0, ahead, drawn, gravity=Gravity(direction_deg=down))
    sketch = replace(sketch, drive=replace(sketch.drive, rpm=rpm))
    mend = only(study(sketch), "runs-away").mend
    words = re.search(r"pointing to (\d+)° in the drawn pose, such as (\S+) (g|kg) at (\S+) mm",
                      mend)
    assert words is not None, mend
    direction, kg = math.radians(float(words[1])), float(words[2]) / (1e3 if words[3] == "g"
                                                                      else 1)
    # Drawn onto the crank, the two weights' common centre comes to lie on the pin.
    crank = sketch.part("crank").mass
    reach = float(words[4])
    total = crank.mass_kg + kg
    x = (crank.mass_kg * crank.x + kg * reach * math.cos(direction)) / total
    y = (crank.mass_kg * crank.y + kg * reach * math.sin(direction)) / total
    balanced = replace(sketch, parts=(sketch.parts[0], replace(
        sketch.part("crank"), mass=Mass(mass_kg=total, x=x, y=y))))
    assert math.hypot(x, y) < 1.0
    assert "runs-away" not in codes(study(balanced))


def test_runaway_that_friction_holds_is_a_note_and_one_it_cannot_hold_a_warning() -> None:
    sketch = lone_crank(0.5)
    assert only(study(sketch), "runs-away").grade == "warning"
    fat = replace(sketch, pins=(replace(sketch.pins[0], diameter_mm=60.0),),
                  friction=(0.5, 2.5))
    held = only(study(fat), "runs-away")
    assert held.grade == "note"
    assert "but for the friction" in held.text


def test_a_mechanism_lying_flat_without_loads_does_not_run_away() -> None:
    flat = four_bar(gravity=Gravity(g_m_s2=0.0))
    slow = replace(flat, drive=replace(flat.drive, rpm=0.1))
    assert "runs-away" not in codes(study(slow))


def test_a_spring_that_drives_the_crank_is_named_as_the_cause() -> None:
    sketch = lone_crank(0.0001)
    base = sketch.parts[0]
    anchor = replace(base.points[0], id="s", x=-200.0)
    sketch = replace(sketch, parts=(replace(base, points=(*base.points, anchor)),
                                    sketch.parts[1]),
                     springs=(Spring(id="S", a="base.s", b="crank.a", rate_n_per_mm=0.2,
                                     free_length_mm=100.0),))
    assert "springs" in only(study(sketch), "runs-away").mend


def test_a_crank_too_hard_for_a_small_handle_is_a_warning_and_beyond_any_hand_a_fault() -> None:
    def loaded(nm: float):
        flat = lone_crank(0.0001, gravity=Gravity(g_m_s2=0.0))
        return study(replace(flat, torques=(Torque(id="T", part="crank",
                                                   torque_nmm=-1e3 * nm),)))
    limit = SMALL_CRANK_MM * EASY_PUSH_N / 1e3
    assert "stiff-crank" not in codes(loaded(0.95 * limit))
    found = only(loaded(3.0), "stiff-crank")
    assert (found.grade, found.unit) == ("warning", "N·m")
    assert found.value == pytest.approx(3.0, rel=0.05)
    assert found.limit == pytest.approx(limit)
    # 3 N·m at 22 N is a handle at 136 mm (a little more with friction).
    arm = float(re.search(r"a handle (\d+) mm", found.text)[1])
    assert arm == pytest.approx(found.value * 1e3 / 22, abs=0.5)
    assert only(loaded(12.0), "stiff-crank").grade == "fault"
