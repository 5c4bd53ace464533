"""Single mechanisms, each with something special about its turn."""

from __future__ import annotations

import numpy as np
import pytest
from linkages import eight_bar, four_bar, linkage, parallelogram, slider_crank, triad
from msgspec.structs import replace

from core.errors import MotionError, SketchError
from core.model import Drive, Lock, Part, Pin, PinInSlot, Point, Sketch, Slide
from core.motion import (
    crank_motion,
    dead_centres,
    flip,
    pose_at,
    rates,
    solve_turn,
    structure,
    travel,
)


@pytest.mark.parametrize("drawn", [0.0, 40.0, 33.3, 90.0, 180.0, 359.0])
@pytest.mark.parametrize("third", [False, True])
def test_a_parallelogram_stays_one_through_its_change_points(drawn: float, third: bool) -> None:
    turn = solve_turn(parallelogram(drawn, third=third))
    assert turn.reached.all()
    assert turn.residual_mm < 1e-9 * 100
    assert np.abs(turn.rotation[turn.row("coupler")] - 1).max() < 1e-9
    motion = rates(turn)
    assert np.abs(motion.spin[turn.row("coupler")]).max() < 1e-7
    assert np.abs(motion.spin[turn.row("rocker")] - 1).max() < 1e-7
    assert np.abs(motion.spin2[turn.row("rocker")]).max() < 1e-4
    assert turn.crank_turns == 1


def test_the_third_crank_of_a_parallelogram_is_redundant_but_fits() -> None:
    built = structure(parallelogram(40, third=True))
    assert built.mobility == 1
    assert built.redundant == ("C",)
    assert built.trouble == ""
    assert "could be left out" in built.messages[0]


def test_a_third_crank_that_does_not_fit_is_one_joint_too_many() -> None:
    sketch = parallelogram(40, third=True)

    def shifted(part: Part) -> Part:
        return replace(part, points=tuple(
            replace(point, x=point.x + 3) if point.id == "R" else point
            for point in part.points))

    wrong = replace(sketch, parts=tuple(map(shifted, sketch.parts)))
    built = structure(wrong)
    assert built.mobility == 0
    assert built.redundant == ()
    assert "one joint too many" in built.trouble
    turn = solve_turn(wrong)
    assert not turn.reached.any()
    assert [limit.crank_rad for limit in turn.limits] == pytest.approx([np.radians(40)] * 2)


def test_a_kite_comes_back_after_two_turns() -> None:
    """Crank as long as the frame: the coupler folds over once a turn."""
    turn = solve_turn(four_bar(40, 40, 100, 100, 50))
    assert turn.crank_turns == 2
    assert turn.repeats
    assert turn.reached.all()
    assert len(turn.crank_rad) == 1440
    path = turn.path("coupler.B")
    assert np.abs(path[:720] - path[720:]).max() > 50
    jumps = np.hypot(*np.diff(np.vstack([path, path[:1]]), axis=0).T)
    assert jumps.max() < 3
    assert turn.residual_mm < 1e-9 * 100


def test_loose_parts_stay_as_drawn_and_the_rest_turns() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    lamp = Part(id="lamp", points=(Point(id="a", x=5, y=6), Point(id="b", x=25, y=6)))
    arm = Part(id="arm", points=(Point(id="a", x=5, y=6),))
    sketch = replace(sketch, parts=(*sketch.parts, lamp, arm),
                     pins=(*sketch.pins, Pin(id="lamp-pin", at=("lamp.a", "arm.a"))))
    built, turn = structure(sketch), solve_turn(sketch)
    assert built.loose == ("lamp", "arm")
    assert built.mobility == 1 + 4
    assert "lamp and arm" in built.messages[0]
    assert turn.reached.all()
    assert np.abs(turn.rotation[turn.row("lamp")] - 1).max() == 0
    alone = solve_turn(four_bar(100, 40, 120, 80, 40))
    assert np.array_equal(turn.path("coupler.B"), alone.path("coupler.B"))


@pytest.mark.parametrize(("change", "says"), [
    (dict(drive=None), "there is no crank"),
    (dict(drive=Drive(pin="O", part="nobody")), "does not exist"),
    (dict(drive=Drive(pin="nowhere", part="crank")), "does not exist"),
    (dict(drive=Drive(pin="B", part="rocker")), "does not join"),
    (dict(drive=Drive(pin="O", part="frame")), "fast to the frame")])
def test_a_sketch_without_a_crank_says_what_is_missing(change: dict, says: str) -> None:
    sketch = replace(four_bar(100, 40, 120, 80, 40), **change)
    with pytest.raises(MotionError, match=says):
        solve_turn(sketch)
    assert says in structure(sketch).trouble


def test_a_dangling_reference_is_named() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    wrong = replace(sketch, pins=(*sketch.pins, Pin(id="x", at=("crank.A", "moon.B"))))
    with pytest.raises(SketchError, match=r"pin 'x': there is no point 'moon.B'"):
        solve_turn(wrong)


def test_a_crank_pinned_twice_to_the_frame_cannot_move() -> None:
    sketch = linkage({"frame": {"O": 0j, "Q": 50 + 0j}, "crank": {"O": 0j, "Q": 50 + 0j}},
                     ["frame.O crank.O", "frame.Q crank.Q"])
    assert "one joint too many" in structure(sketch).trouble
    assert not solve_turn(sketch).reached.any()


def test_parts_locked_together_move_as_one() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    flag = Part(id="flag", points=(Point(id="t", x=200, y=100),))
    sketch = replace(sketch, parts=(*sketch.parts, flag),
                     locks=(Lock(id="l", parts=("rocker", "flag"), pin="Q"),))
    turn = solve_turn(sketch)
    assert np.array_equal(turn.rotation[turn.row("flag")], turn.rotation[turn.row("rocker")])
    assert ("rocker", "flag") in structure(sketch).bodies


def test_a_rocking_drive_covers_its_swing_with_the_ends() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    drive = replace(sketch.drive, kind="rock", from_deg=100, to_deg=20, rpm=-30)
    turn = solve_turn(replace(sketch, drive=drive), steps=161)
    assert np.degrees(turn.crank_rad[[0, -1]]) == pytest.approx([20, 100])
    assert turn.reached.all()
    assert turn.repeats
    whole = pose_at(solve_turn(sketch), turn.crank_rad)
    assert np.abs(whole.rotation - turn.rotation).max() < 1e-12
    speed, growth = crank_motion(turn)
    assert speed[[0, -1]] == pytest.approx([0, 0], abs=1e-6)
    # Harmonic: half swing times angular frequency in the middle, 30 swings a minute.
    assert speed[80] == pytest.approx(np.radians(40) * np.pi)
    assert growth[0] == pytest.approx(np.radians(40) * np.pi**2)


def test_a_swing_away_from_the_drawn_pose_is_reached_from_it_or_not_at_all() -> None:
    sketch = four_bar(20, 10, 10, 10, 10)  # locks at ±75.5°
    for low, high, all_of_it in ((30, 60, True), (90, 120, False)):
        drive = replace(sketch.drive, kind="rock", from_deg=low, to_deg=high)
        turn = solve_turn(replace(sketch, drive=drive))
        assert turn.reached.all() == all_of_it
        assert turn.reached.any() == all_of_it
        assert len(turn.crank_rad) == 720


def test_turning_clockwise_only_changes_the_speeds() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    back = replace(sketch, drive=replace(sketch.drive, rpm=-20))
    one, two = (rates(solve_turn(each)) for each in (sketch, back))
    assert np.array_equal(one.turn.rotation, two.turn.rotation)
    assert np.array_equal(one.velocity("coupler.B"), -two.velocity("coupler.B"))
    assert np.array_equal(one.acceleration("coupler.B"), two.acceleration("coupler.B"))
    assert one.part_speed("crank")[0] == pytest.approx(20 * 2 * np.pi / 60)


@pytest.mark.parametrize("make", [triad, eight_bar])
def test_groups_of_four_links_are_solved_and_followed(make) -> None:
    sketch = make()
    turn = solve_turn(sketch)
    assert structure(sketch).groups[-1].kind == "newton"
    assert turn.reached.sum() > 200
    assert turn.residual_mm <= 1e-9 * 200
    # A slightly changed sketch solved warm and cold is the same.
    wider = make(crank=float(abs(complex(sketch.point("crank.A").x,
                                         sketch.point("crank.A").y))) * 1.02)
    cold, warm = solve_turn(wider), solve_turn(wider, warm=turn)
    assert (cold.reached == warm.reached).all()
    assert np.nanmax(np.abs(cold.rotation - warm.rotation)) < 1e-9
    for one, two in zip(cold.limits, warm.limits, strict=True):
        assert one.crank_rad == pytest.approx(two.crank_rad, abs=1e-9)


def test_rates_of_groups_of_four_links_equal_finite_differences() -> None:
    turn = solve_turn(eight_bar(6.0))
    motion, step = rates(turn), 1e-5
    good = turn.reached.copy()
    for limit in turn.limits:
        good &= np.abs(turn.crank_rad - limit.crank_rad) > 0.1
    after, before = (pose_at(turn, turn.crank_rad + way * step) for way in (1, -1))
    spin = (after.angle_rad - before.angle_rad).T / (2 * step)
    assert np.abs(spin - motion.spin)[:, good].max() < 1e-6
    spin2 = (rates(after).spin - rates(before).spin) / (2 * step)
    assert np.abs(spin2 - motion.spin2)[:, good].max() < 1e-5


def test_flipping_mirrors_a_pair_and_flipping_again_brings_it_back() -> None:
    sketch, crossed = (four_bar(100, 40, 120, 80, 40, left) for left in (True, False))
    flipped = flip(sketch, ["rocker"])
    for ref in ("coupler.A", "coupler.B", "rocker.B", "rocker.Q"):
        one, two = flipped.point(ref), crossed.point(ref)
        assert (one.x, one.y) == pytest.approx((two.x, two.y), abs=1e-9)
    again = flip(flipped, ["coupler", "rocker"])
    assert again.point("coupler.B").y == pytest.approx(sketch.point("coupler.B").y, abs=1e-9)
    sliding = flip(slider_crank(40, 120, 10, 60), ["rod"])
    assert sliding.point("ram.B").x < 0
    with pytest.raises(MotionError, match="one way only"):
        flip(sketch, ["crank"])


def test_flipping_a_group_of_four_links_gives_another_way_of_putting_it_together() -> None:
    sketch = triad()
    flipped = flip(sketch, ["plate"])
    at, to = (complex(each.point("plate.P").x, each.point("plate.P").y)
              for each in (sketch, flipped))
    assert abs(at - to) > 1
    sides = [("T", "U"), ("U", "V"), ("T", "V")]
    for one, two in sides:
        lengths = [abs(complex(each.point(f"plate.{one}").x - each.point(f"plate.{two}").x,
                               each.point(f"plate.{one}").y - each.point(f"plate.{two}").y))
                   for each in (sketch, flipped)]
        assert lengths[0] == pytest.approx(lengths[1], abs=1e-9)
    assert solve_turn(flipped).residual_mm < 1e-9 * 200


def test_slots_and_slides_too_short_are_told_how_much() -> None:
    short = slider_crank(40, 120, 0, 90, travel=130)
    # The ram goes from 80 to 160; the way ends at 130.
    over, = travel(solve_turn(short))
    assert (over.joint, over.end) == ("way", 1)
    assert over.mm == pytest.approx(30)
    assert over.crank_rad == pytest.approx(0)
    lever = linkage(
        {"frame": {"O": 0j, "Q": -100j}, "crank": {"O": 0j, "A": 40 + 0j},
         "lever": {"Q": -100j, "S": (40 + 100j) * 0.4 - 100j, "E": (40 + 100j) * 1.2 - 100j}},
        ["frame.O crank.O", "frame.Q lever.Q"],
        slots=[PinInSlot(id="k", point="crank.A", slot=("lever.S", "lever.E"))])
    overs = travel(solve_turn(lever))
    # The pin is between 60 and 140 from the lever's pivot, the slot from 43.1 to 129.2.
    assert [over.end for over in overs] == [1]
    assert overs[0].mm == pytest.approx(140 - 1.2 * abs(40 + 100j), abs=1e-9)


def test_a_quick_return_lever_turns_back_where_the_crank_is_tangent() -> None:
    lever = linkage(
        {"frame": {"O": 0j, "Q": -100j}, "crank": {"O": 0j, "A": 40 + 0j},
         "lever": {"Q": -100j, "E": (40 + 100j) * 1.5 - 100j}},
        ["frame.O crank.O", "frame.Q lever.Q"],
        slots=[PinInSlot(id="k", point="crank.A", slot=("lever.Q", "lever.E"))])
    # The crank stands square to the lever: sin of its height angle is −40/100.
    low = np.degrees(np.arcsin(-0.4))
    assert np.degrees(dead_centres(solve_turn(lever), "lever")) == \
        pytest.approx(sorted([180 - low, 360 + low]), abs=1e-7)


def test_an_empty_sketch_has_no_turn_but_a_structure() -> None:
    with pytest.raises(MotionError):
        solve_turn(Sketch())
    assert structure(Sketch()).bodies == ((),)


def test_what_hangs_on_the_frame_alone_stands_still() -> None:
    """A truss on two frame pins: solved, not loose."""
    sketch = linkage(
        {"frame": {"O": 0j, "Q": 60 + 0j, "R": 120 + 0j}, "crank": {"O": 0j, "A": 20 + 0j},
         "left": {"Q": 60 + 0j, "T": 90 + 40j}, "right": {"R": 120 + 0j, "T": 90 + 40j}},
        ["frame.O crank.O", "frame.Q left.Q", "frame.R right.R", "left.T right.T"])
    turn = solve_turn(sketch)
    assert structure(sketch).loose == ()
    assert turn.reached.all()
    assert np.abs(turn.rotation[turn.row("left")] - 1).max() < 1e-12
    assert np.abs(rates(turn).spin[turn.row("left")]).max() == 0


@pytest.mark.parametrize("pinned", [False, True])
def test_two_guide_blocks_on_one_rail_guide_like_one(pinned: bool) -> None:
    """Two slides on one line, or two pins in one straight slot."""
    base = slider_crank(40, 120, 0, 70)
    x = base.point("ram.B").x
    ram = Part(id="ram", points=(Point(id="B", x=x, y=0), Point(id="D", x=x + 50, y=0)))
    parts = tuple(ram if part.id == "ram" else part for part in base.parts)
    rail = ("frame.S", "frame.E")
    if pinned:
        sketch = replace(base, parts=parts, slides=(), slots=(
            PinInSlot(id="near", point="ram.B", slot=rail),
            PinInSlot(id="far", point="ram.D", slot=rail)))
    else:
        sketch = replace(base, parts=parts, slides=(
            *base.slides, Slide(id="far", point="ram.D", along=rail)))
    built, turn = structure(sketch), solve_turn(sketch)
    assert (built.mobility, built.trouble) == (1, "")
    assert built.redundant == (() if pinned else ("far",))
    assert turn.reached.all()
    alone = solve_turn(base)
    assert np.abs(turn.path("ram.B") - alone.path("ram.B")).max() < 1e-9
    assert np.abs(rates(turn).slope("ram.B")[0] - rates(alone).slope("ram.B")[0]).max() < 1e-7


def test_two_slides_across_each_other_are_one_joint_too_many() -> None:
    base = slider_crank(40, 120, 0, 70)
    x = base.point("ram.B").x
    frame = base.part("frame")
    frame = replace(frame, points=(*frame.points, Point(id="U", x=x, y=-50),
                                   Point(id="V", x=x, y=50)))
    sketch = replace(base, parts=(frame, *base.parts[1:]), slides=(
        *base.slides, Slide(id="across", point="ram.B", along=("frame.U", "frame.V"))))
    assert "across is one joint too many" in structure(sketch).trouble
    assert not solve_turn(sketch).reached.any()


def test_a_swing_that_locks_part_way_tells_where() -> None:
    sketch = four_bar(20, 10, 10, 10, 40)
    drive = replace(sketch.drive, kind="rock", from_deg=30, to_deg=120)
    turn = solve_turn(replace(sketch, drive=drive), steps=91)
    assert turn.reached.sum() == 46  # 30° … 75°
    limit, = turn.limits
    assert limit.side == 1
    assert np.degrees(limit.crank_rad) == pytest.approx(75.52249, abs=5e-6)


@pytest.mark.parametrize("steps", [8, 90, 721, 7200])
def test_as_many_steps_are_solved_as_asked_for(steps: int) -> None:
    turn = solve_turn(four_bar(100, 40, 120, 80, 40), steps)
    assert len(turn.crank_rad) == len(turn.reached) == steps
    assert turn.rotation.shape == (4, steps)
    assert turn.angle_rad.shape == (steps, 4)
    assert turn.crank_rad[0] == 0
    assert np.diff(turn.crank_rad) == pytest.approx(2 * np.pi / steps)
