"""Findings about motion: each provoked by a small sketch and cured by its mend."""

from __future__ import annotations

import math

import pytest
from faulty import codes, four_bar, mended, only, part, slider_crank
from msgspec.structs import replace

from core.findings.crank import assembled, crank_length, longest_crank, with_crank
from core.model import Drive, Mesh, Pin, TorsionSpring
from core.motion import solve_turn
from core.study import study


def test_a_sound_four_bar_has_no_findings_but_notes() -> None:
    assert {one.grade for one in study(four_bar()).findings} <= {"note"}


def test_a_sketch_without_a_crank_is_told_so_and_offered_the_pins_on_the_frame() -> None:
    sketch = replace(four_bar(), drive=None)
    done = study(sketch)
    found = only(done, "no-drive")
    assert found.grade == "warning"
    assert done.turn is None
    assert [edit.label for edit in found.edits] == ["Crank crank about O",
                                                    "Crank rocker about Q"]
    cured = study(found.edits[0].apply(sketch))
    assert cured.turn is not None
    assert "no-drive" not in codes(cured)
    assert cured.sketch.drive.drawn_deg == pytest.approx(40.0)


def test_a_crank_that_locks_is_a_fault_with_the_exact_angle_and_the_parts_that_bind() -> None:
    # cos θ = (d² + a² − (b + c)²) / 2ad where coupler and rocker stretch (textbook).
    done = study(four_bar((100, 70, 60, 60), 20.0))
    found = only(done, "crank-locks")
    exact = math.degrees(math.acos((100**2 + 70**2 - 120**2) / (2 * 100 * 70)))
    assert min(found.crank_deg, 360 - found.crank_deg) == pytest.approx(exact, abs=1e-6)
    assert found.value == found.crank_deg
    assert found.grade == "fault"
    assert set(found.parts) == {"coupler", "rocker"}
    # Both ways round it is the same links.
    assert f"at {exact:.2f}° turning counter-clockwise" in found.text
    assert f"at {360 - exact:.2f}° turning clockwise" in found.text
    # 100 + 60 > 70 + 60.
    assert "None of the four links" in found.text


@pytest.mark.parametrize(("lengths", "drawn"), [
    ((100, 70, 60, 60), 20.0), ((60, 90, 50, 70), 70.0), ((100, 60, 80, 70), 30.0)])
def test_a_locking_crank_is_cured_by_the_longest_that_goes_round(lengths, drawn) -> None:
    sketch = four_bar(lengths, drawn)
    done = mended(sketch, "crank-locks")
    assert "crank-locks" not in codes(done)
    assert done.turn.reached.all()
    d, _, b, c = lengths
    # Grashof (1883): the crank goes round when a ≤ b + c − d and a ≤ d − |b − c|.
    longest = min(b + c - d, d - abs(b - c))
    assert 0.95 * longest < crank_length(done.sketch) < longest
    # Every other length is kept.
    for name, length in (("coupler", b), ("rocker", c)):
        p, q = done.sketch.part(name).points
        assert math.hypot(p.x - q.x, p.y - q.y) == pytest.approx(length, abs=1e-9)
    base = done.sketch.part("base")
    assert base == sketch.part("base")


def test_no_shorter_crank_is_offered_when_none_goes_round() -> None:
    # Coupler and rocker differ by more than the ground: no crank goes round.
    sketch = four_bar((50, 40, 120, 60), 150.0)
    assert longest_crank(sketch) is None
    done = study(sketch)
    faults = [one for one in done.findings if one.code == "crank-locks"]
    assert faults
    assert all(one.edits == () and one.mend for one in faults)


def test_a_double_rocker_is_told_that_only_its_shortest_link_goes_round() -> None:
    # Coupler 30 is the shortest: 30 + 100 < 80 + 70, a double rocker by Grashof's rule.
    sketch = four_bar((80, 70, 30, 100), 70.0)
    faults = [one for one in study(sketch).findings if one.code == "crank-locks"]
    assert faults
    assert all("only the shortest link" in one.text for one in faults)


def test_no_rocking_is_offered_where_two_locks_leave_no_room_between_them() -> None:
    # Coupler and rocker stretch at ±1.7°: within 2° of either lock nothing is left.
    tight = four_bar((100, 30, 40, 30.02), 0.0)
    tight = replace(tight, drive=replace(tight.drive, kind="rock", from_deg=-9, to_deg=9))
    assert "crank-locks" in codes(study(tight))
    for one in study(tight).findings:
        for edit in one.edits:
            drive = edit.apply(tight).drive
            assert drive is not None
            assert drive.from_deg < drive.to_deg


def test_a_shorter_crank_carries_gears_and_springs_along() -> None:
    sketch = four_bar()
    gear = part("gear", 4, c=100 + 0j, r=100 - 12j)
    sketch = replace(
        sketch, parts=(*sketch.parts, gear), pins=(*sketch.pins, Pin(id="G", at=("base.q",
                                                                                 "gear.c"))),
        meshes=(Mesh(id="M", a="crank.o", b="gear.c", teeth_a=20, teeth_b=40),),
        torsion_springs=(TorsionSpring(id="T", pin="Q", a="base", b="rocker",
                                       rate_nmm_per_deg=1.0, free_deg=10.0),))
    shorter = with_crank(sketch, 0.8)
    assert crank_length(shorter) == pytest.approx(24.0)
    assert shorter.part("gear") == gear
    turn = solve_turn(shorter)
    assert turn.residual_mm < 1e-9
    p, q = (each.point("rocker.b") for each in (sketch, shorter))
    turned = math.degrees(math.atan2(q.y, q.x - 100) - math.atan2(p.y, p.x - 100))
    assert abs(turned) > 1
    # The torque of the spring goes by the true angle of the rocker, not by the drawing.
    assert shorter.torsion_springs[0].free_deg == pytest.approx(10.0 - turned)


def test_a_sketch_already_together_stays_as_it_is() -> None:
    sketch = slider_crank()
    assert assembled(sketch) == sketch


def test_a_poor_transmission_angle_is_a_warning_with_its_angle() -> None:
    # Transmission angle at crank 0: cos μ = (b² + c² − (d − a)²) / 2bc (textbook).
    lengths = (100.0, 40.0, 120.0, 80.0)
    found = only(study(four_bar(lengths, 40.0)), "poor-transmission")
    d, a, b, c = lengths
    mu = math.degrees(math.acos((b * b + c * c - (d - a) ** 2) / (2 * b * c)))
    assert found.value == pytest.approx(mu, abs=0.01)
    assert mu == pytest.approx(26.38433, abs=1e-5)
    assert found.crank_deg % 360 == pytest.approx(0.0, abs=0.5)
    assert (found.grade, found.limit, found.unit) == ("warning", 40.0, "°")
    assert {"coupler", "rocker"} <= set(found.parts)
    cured = mended(four_bar(lengths, 40.0), "poor-transmission")
    assert "poor-transmission" not in codes(cured)
    # At 39.5° (40 to the whole degree) the crank is d less the side opposite that angle in
    # the triangle of b and c.
    longest = d - math.sqrt(b * b + c * c - 2 * b * c * math.cos(math.radians(39.5)))
    assert 0.96 * longest < crank_length(cured.sketch) < longest


@pytest.mark.parametrize(("least_deg", "found"), [(39.6, False), (39.4, True)])
def test_a_transmission_angle_is_held_against_the_limit_to_the_whole_degree(
        least_deg: float, found: bool) -> None:
    d, b, c = 100.0, 120.0, 80.0
    crank = d - math.sqrt(b * b + c * c - 2 * b * c * math.cos(math.radians(least_deg)))
    shown = codes(study(four_bar((d, crank, b, c), 40.0)))
    assert ("poor-transmission" in shown) is found


def test_a_block_that_runs_past_the_end_of_its_slide_is_told_by_how_much() -> None:
    assert "overrun" not in codes(study(slider_crank()))
    found = only(study(slider_crank((60.0, 120.0))), "overrun")
    assert found.grade == "fault"
    assert found.joints == ("S",)
    assert "S on base runs 10 mm past e at 0°" in found.text
    assert found.value == pytest.approx(10.0, abs=1e-2)
    assert found.crank_deg % 360 == pytest.approx(0.0, abs=1.0)


def test_a_slide_too_short_is_lengthened_by_the_mend_unless_its_end_is_a_pivot() -> None:
    sketch = slider_crank((60.0, 120.0))
    cured = mended(sketch, "overrun")
    assert "overrun" not in codes(cured)
    assert cured.sketch.point("base.e").x == pytest.approx(131.0)
    both = slider_crank((80.0, 120.0))
    assert "e" in only(study(both), "overrun").text
    cured = mended(both, "overrun")
    assert "overrun" not in codes(cured)
    assert [cured.sketch.point(f"base.{end}").x for end in "se"] == pytest.approx([69, 131])
    base = sketch.part("base")
    hung = replace(sketch, parts=(*sketch.parts, part("flag", 5, e=120 + 0j)),
                   pins=(*sketch.pins, Pin(id="F", at=("base.e", "flag.e"))))
    assert only(study(hung), "overrun").edits == ()
    assert hung.part("base") == base


def test_a_rocking_drive_that_meets_a_lock_is_told_how_far_it_may_rock() -> None:
    sketch = four_bar((100, 70, 60, 60), 20.0)
    rocking = replace(sketch, drive=replace(sketch.drive, kind="rock", from_deg=-20.0,
                                            to_deg=120.0))
    found = only(study(rocking), "crank-locks")
    assert found.edits[0].label == "Rock between -20° and 85°"
    cured = study(found.edits[0].apply(rocking))
    assert "crank-locks" not in codes(cured)
    assert cured.turn.reached.all()


def test_parts_the_crank_does_not_move_are_named() -> None:
    sketch = four_bar()
    flag = part("flag", 6, b=sketch.point("rocker.b").x + 1j * sketch.point("rocker.b").y,
                t=200 + 50j)
    pins = tuple(replace(pin, at=(*pin.at, "flag.b")) if pin.id == "B" else pin
                 for pin in sketch.pins)
    done = study(replace(sketch, parts=(*sketch.parts, flag), pins=pins))
    found = only(done, "loose")
    assert found.parts == ("flag",)
    assert [edit.label for edit in found.edits] == ["Lock flag to coupler"]
    assert "loose" not in codes(study(found.edits[0].apply(done.sketch)))
    assert done.turn is not None
    assert done.turn.reached.all()


def test_a_part_that_hangs_on_nothing_is_fixed_to_the_frame_by_the_mend() -> None:
    sketch = four_bar()
    stray = replace(sketch, parts=(*sketch.parts, part("stray", 9, a=-50 - 50j, b=-90 - 50j)))
    assert [edit.label for edit in only(study(stray), "loose").edits] == [
        "Fix stray to the frame"]
    assert "loose" not in codes(mended(stray, "loose"))


def test_a_surplus_parallel_link_is_a_note() -> None:
    # A parallelogram with a third crank: one link more than needed, but it fits.
    up = 30j
    base = part("base", 0, fixed=True, o=0j, p=60 + 0j, q=120 + 0j)
    bar = part("bar", 2, a=up, b=60 + up, c=120 + up)
    cranks = [part(name, layer, o=complex(x), a=x + up)
              for name, layer, x in (("crank", 1, 0), ("middle", 1, 60), ("far", 1, 120))]
    pins = [Pin(id=f"{key}0", at=(f"base.{key}", f"{name}.o")) for key, name in
            (("o", "crank"), ("p", "middle"), ("q", "far"))]
    pins += [Pin(id=f"{key}1", at=(f"{name}.a", f"bar.{key}")) for key, name in
             (("a", "crank"), ("b", "middle"), ("c", "far"))]
    sketch = replace(four_bar(), parts=(base, bar, *cranks), pins=tuple(pins),
                     drive=Drive(pin="o0", part="crank", drawn_deg=90.0))
    done = study(sketch)
    assert done.turn.reached.all()
    assert only(done, "one-too-many").grade == "note"


def test_pin_points_that_do_not_coincide_are_snapped_by_the_mend() -> None:
    sketch = four_bar()
    coupler = sketch.part("coupler")
    off = replace(coupler, points=(replace(coupler.points[0], x=coupler.points[0].x + 0.4),
                                   coupler.points[1]))
    apart = replace(sketch, parts=tuple(off if each.id == "coupler" else each
                                        for each in sketch.parts))
    found = only(study(apart), "apart")
    assert found.grade == "fault"
    assert set(found.parts) == {"crank", "coupler"}
    assert found.joints == ("A",)
    assert "apart" not in codes(mended(apart, "apart"))
