"""Findings about effort: runaway with the weight that balances it, and hard cranking."""

from __future__ import annotations

import math
import re

import pytest
from faulty import codes, four_bar, lone_crank, only
from msgspec.structs import replace

from core.effort import hand as felt_by
from core.effort.push_limits import HARDEST_N
from core.findings.finding import intervals
from core.model import Gravity, Handle, HandStep, Mass, Sketch, Spring, Torque
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
    turn = study(four_bar()).turn
    assert turn is not None
    assert intervals(((2 * math.pi - 1e-9, 2 * math.pi + 1.0),), turn) == (
        "between 0° and 57°")


def test_a_weight_too_heavy_for_a_crank_is_not_suggested() -> None:
    found = only(study(lone_crank(5.0)), "runs-away")
    assert "kg" not in found.mend
    assert "Make the crank pleasant" in found.mend
    assert "common practice" in found.source


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


def loaded(nm: float, handle: Handle | None = None) -> Sketch:
    """A crank that asks for so much torque, and a little friction, all the way round."""
    return lone_crank(0.0001, gravity=Gravity(g_m_s2=0.0), handle=handle or Handle(),
                      torques=(Torque(id="T", part="crank", torque_nmm=-1e3 * nm),))


def test_a_push_above_the_comfortable_limit_is_a_warning_with_its_source() -> None:
    # 22 N on 75 mm are 1.65 N·m (Ivergård and Hunt, as read in a copy).
    assert "stiff-crank" not in codes(study(loaded(1.6)))
    found = only(study(loaded(2.0)), "stiff-crank")
    assert (found.grade, found.unit, found.limit) == ("warning", "N", 22.0)
    assert found.value == pytest.approx(2000 / 75, rel=0.02)
    assert "Ivergård" in found.source
    assert "75 mm" in found.text


def test_the_longer_handle_it_offers_is_the_shortest_that_will_do() -> None:
    sketch = loaded(2.0)
    found = only(study(sketch), "stiff-crank")
    mended = found.edits[0].apply(sketch)
    # 2 N·m at 22 N: 91 mm, friction a little more; handles on whole 5 mm.
    assert mended.handle.radius_mm == 95.0
    assert "stiff-crank" not in codes(study(mended))
    short = replace(sketch, handle=Handle(radius_mm=90.0))
    assert "stiff-crank" in codes(study(short))


def test_no_handle_is_offered_where_none_of_200_mm_will_do() -> None:
    assert len(only(study(loaded(8.9)), "stiff-crank").edits) == 1
    found = only(study(loaded(9.5)), "stiff-crank")
    assert found.edits == ()
    assert "handle of" in found.text


def test_a_child_may_push_less_and_the_users_own_limit_comes_first() -> None:
    child = Handle(who="child")
    assert only(study(loaded(1.0, child)), "stiff-crank").limit == 10.0
    own = only(study(loaded(1.0, Handle(limit_n=5.0))), "stiff-crank")
    assert own.limit == 5.0
    assert own.source == "the user's own limit"
    assert "your limit" in own.text
    assert "stiff-crank" not in codes(study(loaded(1.0, replace(child, limit_n=20.0))))


def test_what_nobody_can_push_is_a_fault() -> None:
    nm = 1.05 * HARDEST_N * 75 / 1e3
    found = only(study(loaded(nm)), "stiff-crank")
    assert (found.grade, found.limit) == ("fault", HARDEST_N)
    assert only(study(loaded(nm * 0.9)), "stiff-crank").grade == "warning"


def test_holding_back_above_the_limit_is_told_as_such() -> None:
    driven = replace(loaded(0.0), torques=(Torque(id="T", part="crank", torque_nmm=3e3),))
    found = only(study(driven), "stiff-crank")
    assert "hold back" in found.text
    assert found.value == pytest.approx(40.0, rel=0.02)
    mended = study(found.edits[0].apply(driven))
    assert "stiff-crank" not in codes(mended)
    assert mended.turn is not None
    assert mended.effort is not None
    assert felt_by(mended.turn, mended.effort).hold_n <= 45.0


def test_gears_bring_a_hard_crank_into_the_hand() -> None:
    geared = loaded(3.0, Handle(steps=(HandStep(driver=12, driven=36, module_mm=2.0),)))
    assert "stiff-crank" not in codes(study(geared))


def test_a_crank_that_sets_off_by_itself_is_a_note_with_the_way_it_goes() -> None:
    found = only(study(lone_crank(0.5)), "would-not-stay")
    assert found.grade == "note"
    # 0.5 kg at 60 mm: 0.294 N·m less a little friction.
    assert found.value == pytest.approx(-0.5 * 9.81 * 0.06, rel=0.05)
    washer = Torque(id="w", part="crank", torque_nmm=400.0, brakes=True)
    assert "would-not-stay" not in codes(study(replace(lone_crank(0.5), torques=(washer,))))
    heavy = only(study(lone_crank(5.0)), "would-not-stay")
    assert heavy.grade == "warning"
    assert "fingers" in heavy.mend


def test_states_are_worked_out_when_the_hand_rests_only() -> None:
    assert study(lone_crank(0.5), refine=False).states is None
    assert "would-not-stay" not in codes(study(lone_crank(0.5), refine=False))


def rubbing(mu: float, torque_nmm: float) -> Sketch:
    """A crank-rocker with a thick rocker pin that rubs, driving or driven."""
    sketch = four_bar(gravity=Gravity(g_m_s2=0.0), torques=(
        Torque(id="load", part="rocker", torque_nmm=torque_nmm),))
    pins = tuple(replace(pin, friction=(0.1, mu) if pin.id == "Q" else (0.0, 0.0),
                         diameter_mm=60.0 if pin.id == "Q" else 6.0) for pin in sketch.pins)
    return replace(sketch, pins=pins, drive=replace(sketch.drive, rpm=0.01))


def test_a_jam_names_the_joint_and_the_coefficient_it_needs() -> None:
    jammed = study(rubbing(2.5, -500.0))
    found = only(jammed, "jams")
    assert found.grade == "warning"
    assert found.joints == ("Q",)
    assert found.value == pytest.approx(2.5)
    assert found.limit is not None
    assert 0.1 < found.limit < 2.5
    dragged = only(study(rubbing(2.5, -500.0), refine=False), "jams")
    assert (dragged.grade, dragged.joints) == ("warning", ())
    sound = study(rubbing(0.98 * found.limit, -500.0))
    assert "jams" not in codes(sound)
    near = only(sound, "friction-lock")
    assert near.grade == "note"
    assert near.value == pytest.approx(found.limit)
    far = study(rubbing(0.6 * found.limit, -500.0))
    assert not {"jams", "friction-lock"} & set(codes(far))


def test_a_jam_even_with_the_smallest_friction_is_a_fault() -> None:
    sketch = rubbing(2.5, -500.0)
    rough = replace(sketch, pins=tuple(
        replace(pin, friction=(2.4, 2.5)) if pin.id == "Q" else pin for pin in sketch.pins))
    assert only(study(rough), "jams").grade == "fault"


def test_the_pace_below_which_inertia_hardly_counts_is_told_of_a_fast_crank() -> None:
    sketch = four_bar(friction=(0.0, 0.0))

    def at(rpm: float):
        return study(replace(sketch, drive=replace(sketch.drive, rpm=rpm)))

    assert "inertia-counts" not in codes(at(1.0))
    found = only(at(1000.0), "inertia-counts")
    assert found.grade == "note"
    assert "greater part" in found.text
    assert found.limit is not None
    assert "inertia-counts" not in codes(at(0.99 * found.limit))
    assert "inertia-counts" in codes(at(1.01 * found.limit))


def test_a_crank_that_rocks_is_hard_on_its_way_back_too() -> None:
    rocking = loaded(0.0)
    rocking = replace(rocking, drive=replace(rocking.drive, kind="rock", rpm=0.01),
                      torques=(Torque(id="T", part="crank", torque_nmm=1900.0),))
    # It drives the hand one way, and has to be pushed back against 1.9 N·m the other.
    found = only(study(rocking), "stiff-crank")
    assert "push with" in found.text
    assert found.value == pytest.approx(1900 / 75, rel=0.02)
    assert found.edits
