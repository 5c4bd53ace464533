"""How a turn meets its wishes: numbers, lanes and sentences."""

from __future__ import annotations

import math

import numpy as np
import pytest
from linkages import four_bar, linkage
from msgspec.structs import replace

from core.model import (
    Knot,
    Mesh,
    Sketch,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)
from core.model.wanted import WantedMotion
from core.motion import pose_at, solve_turn
from core.wanted.measure import Met, measure, overall

#: R. L. Norton's example linkage (from memory, checked): its rocker swings between
#: 54.90037° and 128.68219°, with a time ratio of 1.355573 (closed form).
SKETCH = four_bar(100, 40, 120, 80, 30, point=60 + 50j)
LINE = ("rocker.Q", "rocker.B")


def met(*wishes: WantedMotion, sketch: Sketch = SKETCH, steps: int = 720) -> Met:
    """How the last of the wishes is met."""
    return measure(solve_turn(replace(sketch, wanted=wishes), steps))[-1]


def own_path(shift: complex = 0j, count: int = 24, **more: object) -> WantedPath:
    crank = np.linspace(0, 2 * np.pi, count, endpoint=False)
    trace = pose_at(solve_turn(SKETCH), crank).path("coupler.P")
    return WantedPath(id="path", point="coupler.P",
                      through=tuple((float(x + shift.real), float(y + shift.imag))
                                    for x, y in trace), **more)  # type: ignore[arg-type]


def own_angle(*crank_deg: float, late_deg: float = 0.0, **more: object) -> WantedAngle:
    turn = pose_at(solve_turn(SKETCH), np.radians(np.array(crank_deg)))
    angle = np.degrees(turn.angle_rad[:, turn.row("rocker")]) + math.degrees(np.angle(
        SKETCH.place(LINE[1]) - SKETCH.place(LINE[0])))
    return WantedAngle(id="angle", part="rocker", knots=tuple(
        Knot(crank_deg=at + late_deg, angle_deg=float(a))
        for at, a in zip(crank_deg, angle, strict=True)), **more)  # type: ignore[arg-type]


def test_a_point_on_its_own_path_is_met() -> None:
    found = met(own_path(count=48))
    assert found.met
    assert found.unit == "mm"
    assert found.worst < 0.05
    assert found.rms <= found.worst
    assert found.lane is not None
    assert found.lane.shape == (720,)
    assert np.nanmax(found.lane) < 0.05
    assert not np.isnan(found.lane).any()
    assert "keeps to its path" in found.text


def test_a_shifted_circle_is_off_by_the_shift_where_that_runs_across() -> None:
    """The crank pin's circle, wished 3 mm to the right: at 0° and 180° it is 3 mm off."""
    at = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    wish = WantedPath(id="w", point="crank.A", through=tuple(
        (3 + 40 * float(np.cos(t)), 40 * float(np.sin(t))) for t in at))
    found = met(wish)
    assert found.worst == pytest.approx(3.0, abs=0.01)
    assert math.degrees(found.crank_rad) % 180 == pytest.approx(0, abs=5) or \
        math.degrees(found.crank_rad) % 180 == pytest.approx(180, abs=5)
    # Off across the circle by 3 |cos θ|: root mean square 3 / √2.
    assert found.rms == pytest.approx(3 / math.sqrt(2), abs=0.05)
    assert found.error == pytest.approx(found.rms)
    assert found.lane is not None
    np.testing.assert_allclose(
        found.lane, np.abs(3 * np.cos(np.linspace(0, 2 * np.pi, 720, endpoint=False))),
        atol=0.15)
    assert not found.met
    assert "leaves its path by 3 mm at" in found.text


def test_the_lane_and_the_worst_error_agree() -> None:
    ticks = (Tick(at=2, crank_deg=33), Tick(at=9, crank_deg=130))
    for wish in (own_path(4 + 2j), own_path(2 - 5j, curve="straight"),
                 own_path(3j, 12, closed=False),
                 own_path(3 + 3j, 24, ticks=ticks)):
        found = met(wish)
        assert found.lane is not None
        assert np.nanmax(found.lane) == pytest.approx(found.worst, rel=0.1)


def test_places_are_measured_exactly_between_the_steps() -> None:
    """Against the exact poses at the very crank angles, not interpolated."""
    sketch = replace(SKETCH, wanted=(own_path(2 + 1j, 13, curve="places"),))
    turn = solve_turn(sketch)
    (found,) = measure(turn)
    assert found.lane is None
    exact = pose_at(turn, found.at_rad).path("coupler.P") @ [1, 1j]
    (wish,) = sketch.wanted
    assert isinstance(wish, WantedPath)
    apart = np.abs(exact - np.array([complex(*place) for place in wish.through]))
    np.testing.assert_allclose(found.errors, apart, atol=1e-9)
    assert found.worst == pytest.approx(apart.max(), abs=1e-9)
    coarse = measure(solve_turn(sketch, steps=90))[0]
    assert coarse.worst == pytest.approx(found.worst, abs=1e-5)


def test_places_in_time_count_at_the_readings_as_they_are() -> None:
    ticks = tuple(Tick(at=k, crank_deg=30.0 * k) for k in range(12))
    timed = own_path(0j, 12, curve="places", ticks=ticks)
    assert met(timed).worst < 1e-9
    late = replace(timed, ticks=tuple(replace(t, crank_deg=t.crank_deg + 10) for t in ticks))
    found = met(late)
    assert found.worst > 5
    np.testing.assert_allclose(np.degrees(found.at_rad),
                               [(30 * k + 10) % 360 for k in range(12)], atol=1e-9)
    assert "misses a place" in found.text


def test_angles_count_with_a_line_and_only_their_changes_without() -> None:
    every = tuple(range(0, 360, 10))
    good = own_angle(*every, line=LINE)
    assert met(good).worst < 0.3  # the curve through the knots, not the motion itself
    lifted = replace(good, knots=tuple(
        replace(k, angle_deg=k.angle_deg + 30) for k in good.knots))
    found = met(lifted)
    assert found.rms == pytest.approx(30, abs=0.3)
    assert found.lane is not None
    np.testing.assert_allclose(found.lane, 30, atol=0.3)
    assert met(replace(lifted, line=())).worst < 0.3
    turned = replace(good, knots=tuple(
        replace(k, angle_deg=k.angle_deg + 720) for k in good.knots))
    assert met(turned).worst < 0.3
    late = met(own_angle(*every, late_deg=20, line=LINE))
    assert late.unit == "deg"
    assert late.worst > 5
    assert "is off its angle" in late.text


def test_an_angle_for_a_while_asks_nothing_of_the_rest() -> None:
    found = met(own_angle(100, 120, 140, 160, closed=False, line=LINE))
    assert found.lane is not None
    asked = ~np.isnan(found.lane)
    crank = np.linspace(0, 360, 720, endpoint=False)
    np.testing.assert_array_equal(asked, (crank >= 100) & (crank <= 160))
    assert found.worst < 0.2


def test_a_swing_is_met_at_the_limits_of_the_rocker() -> None:
    exact = WantedSwing(id="w", part="rocker", line=LINE, from_deg=54.90037, to_deg=128.68219)
    found = met(exact)
    assert found.worst < 1e-5
    assert np.nanmax(found.lane) < 1e-5  # type: ignore[arg-type]
    short = met(replace(exact, to_deg=120))
    assert short.worst == pytest.approx(8.68219, abs=1e-5)
    assert np.nanmax(short.lane) == pytest.approx(8.68219, abs=1e-3)  # type: ignore[arg-type]
    size = met(WantedSwing(id="w", part="rocker", from_deg=0, to_deg=73.78182))
    assert size.worst < 1e-5
    # A part that goes all round does not swing through 90°.
    assert met(WantedSwing(id="w", part="crank", from_deg=0, to_deg=90)).worst > 100


def test_a_time_ratio_is_that_of_the_dead_centres() -> None:
    found = met(WantedRatio(id="w", part="rocker", ratio=1.355573))
    assert found.worst < 1e-5
    assert found.unit == ""
    assert met(WantedRatio(id="w", part="rocker", ratio=2.0)).worst == pytest.approx(
        2 - 1.355573, abs=1e-5)
    # The pin on the rocker goes to and fro on a circle: its longest way has its dead centres.
    assert met(WantedRatio(id="w", point="rocker.B", ratio=1.355573)).worst < 1e-4


def test_a_stroke_is_measured_along_and_beside_its_line() -> None:
    a, b = (100 + 80 * np.exp(1j * np.radians(angle)) for angle in (54.90037, 128.68219))
    wish = WantedStroke(id="w", point="rocker.B", start=(float(a.real), float(a.imag)),
                        end=(float(b.real), float(b.imag)))
    found = met(wish)
    # It goes between its ends on an arc whose rise is r (1 − cos half the swing).
    rise = 80 * (1 - math.cos(math.radians(73.78182 / 2)))
    assert found.worst == pytest.approx(rise, abs=1e-3)
    assert np.nanmax(found.lane) == pytest.approx(rise, abs=1e-3)  # type: ignore[arg-type]


def test_a_dwell_counts_what_moves_while_it_should_rest() -> None:
    found = met(WantedDwell(id="w", part="crank", from_deg=350, to_deg=10))
    assert found.worst == pytest.approx(10.0, abs=1e-9)
    assert found.lane is not None
    assert int((~np.isnan(found.lane)).sum()) == 41
    assert met(WantedDwell(id="w", part="frame", from_deg=0, to_deg=90)).met
    point = met(WantedDwell(id="w", point="crank.A", from_deg=0, to_deg=0.1))
    assert point.met
    assert point.unit == "mm"


def test_a_pose_counts_place_and_direction() -> None:
    turn = pose_at(solve_turn(SKETCH), np.radians([100.0]))
    p, b = (turn.path(ref)[0] @ [1, 1j] for ref in ("coupler.P", "coupler.B"))
    pose = WantedPose(id="w", crank_deg=100, x=float(p.real), y=float(p.imag),
                      angle_deg=math.degrees(np.angle(b - p)), at="coupler.P",
                      toward="coupler.B")
    assert met(pose).error < 1e-9
    moved = met(replace(pose, x=pose.x + 3))
    assert (moved.worst, moved.unit) == (pytest.approx(3), "mm")
    turned = met(replace(pose, angle_deg=pose.angle_deg + 365))
    assert (turned.worst, turned.unit) == (pytest.approx(5), "deg")
    assert turned.error == pytest.approx(2.5)
    assert math.degrees(turned.crank_rad) == pytest.approx(100)


def test_the_direction_of_the_crank_is_that_of_its_drive() -> None:
    assert SKETCH.drive is not None
    back = replace(SKETCH, drive=replace(SKETCH.drive, rpm=-30.0))
    assert met(own_path()).met
    assert not met(own_path(), sketch=back).met
    reversed_path = replace(own_path(), through=own_path().through[::-1])
    assert met(reversed_path, sketch=back).met
    assert met(replace(own_path(), either_way=True), sketch=back).met


def test_a_rocking_crank_is_measured_over_its_swing() -> None:
    assert SKETCH.drive is not None
    rocking = replace(SKETCH, drive=replace(SKETCH.drive, kind="rock", from_deg=20,
                                            to_deg=120))
    through = own_path(count=72).through[6:23]
    wish = WantedPath(id="w", point="coupler.P", through=through, closed=False)
    found = met(wish, sketch=rocking)
    assert found.met
    assert found.lane is not None
    assert np.isnan(found.lane[[0, -1]]).all()
    assert met(replace(wish, through=through[::-1]), sketch=rocking).met
    whole = met(own_path(), sketch=rocking)
    assert not whole.met


def half_speed() -> Sketch:
    """A crank and a wheel of half its speed, which takes two turns of the crank to return."""
    sketch = linkage(
        {"frame": {"O": 0j, "Q": 60 + 0j}, "crank": {"O": 0j, "A": 10 + 0j},
         "wheel": {"Q": 60 + 0j, "B": 70 + 0j}}, ["frame.O crank.O", "frame.Q wheel.Q"])
    return replace(sketch, meshes=(Mesh(id="m", a="crank.O", b="wheel.Q", teeth_a=20,
                                        teeth_b=40),))


def test_what_is_tied_to_the_crank_must_hold_in_every_turn_of_a_geared_cycle() -> None:
    sketch = half_speed()
    assert solve_turn(sketch).crank_turns == 2
    line = ("wheel.Q", "wheel.B")
    straight = WantedAngle(id="w", part="wheel", line=line, curve="straight", knots=(
        Knot(crank_deg=0, angle_deg=0), Knot(crank_deg=359.9, angle_deg=-179.95)))
    # Right in the first turn, half a turn off in the second; on the whole, a quarter.
    assert met(straight, sketch=sketch).worst == pytest.approx(180, abs=1)
    place = WantedPath(id="w", point="wheel.B", curve="places", through=((50, 0),),
                       ticks=(Tick(at=0, crank_deg=360),))
    assert met(place, sketch=sketch).worst == pytest.approx(20)
    pose = WantedPose(id="w", at="wheel.Q", toward="wheel.B", crank_deg=0, x=60, y=0,
                      angle_deg=0)
    assert met(pose, sketch=sketch).worst == pytest.approx(180)
    # Rests are each by themselves: the wheel goes half as far as the crank.
    dwell = met(WantedDwell(id="w", part="wheel", from_deg=350, to_deg=10), sketch=sketch)
    assert dwell.worst == pytest.approx(5)
    assert dwell.lane is not None
    assert int((~np.isnan(dwell.lane)).sum()) == 2 * 41
    assert np.nanmax(dwell.lane) == pytest.approx(5)
    # What goes beyond a turn by itself is asked once.
    longer = replace(place, through=((70, 0), (50, 0), (70, 0)), closed=False, ticks=tuple(
        Tick(at=k, crank_deg=360.0 * k) for k in range(3)))
    assert met(longer, sketch=sketch).met


def test_a_path_gone_along_in_every_turn_of_a_geared_cycle_is_met() -> None:
    sketch = half_speed()
    at = np.linspace(0, 2 * np.pi, 24, endpoint=False)

    def circle(point: str, centre: float) -> WantedPath:
        return WantedPath(id="w", point=point, through=tuple(
            (centre + 10 * float(np.cos(t)), 10 * float(np.sin(t))) for t in at))
    crank = circle("crank.A", 0.0)
    piece = replace(crank, closed=False, through=crank.through[3:20])
    wheel = circle("wheel.B", 60.0)
    back = replace(wheel, through=wheel.through[::-1])
    for wish in (crank, piece, back):
        found = met(wish, sketch=sketch)
        assert found.met
        assert found.lane is not None
        asked = ~np.isnan(found.lane)
        assert asked[:720].sum() == asked[720:].sum() or wish is back
        assert asked.all() or wish is piece
    assert not met(wheel, sketch=sketch).met


def test_wishes_of_nothing_or_of_what_is_gone_are_left_out() -> None:
    wishes = (replace(own_path(), id="a", point=""), replace(own_path(), id="b", point="x.y"),
              replace(own_path(), id="c"), WantedSwing(id="d", from_deg=0, to_deg=10))
    found = measure(solve_turn(replace(SKETCH, wanted=wishes)))
    assert [one.wish for one in found] == ["c"]
    assert measure(solve_turn(SKETCH)) == ()
    assert overall((), SKETCH) == 0.0


def test_the_error_over_all_wishes_goes_by_their_weights() -> None:
    light, heavy = (WantedSwing(id=name, part="rocker", from_deg=0, to_deg=to, weight=weight)
                    for name, to, weight in (("light", 50, 1.0), ("heavy", 60, 3.0)))
    sketch = replace(SKETCH, wanted=(light, heavy))
    one, other = measure(solve_turn(sketch))
    assert overall((one, other), sketch) == pytest.approx(
        math.sqrt((one.error**2 + 3 * other.error**2) / 4))
    # A weight changes what counts, not what is measured.
    assert met(replace(light, weight=7.0)).rms == one.rms
    assert met(replace(light, weight=0.0)).rms == one.rms


def test_what_is_out_of_reach_is_infinitely_off() -> None:
    stuck = four_bar(100, 80, 60, 70, 60)
    wish = WantedPath(id="w", point="coupler.B", curve="places", through=((0, 0), (9, 9)),
                      ticks=(Tick(at=0, crank_deg=60), Tick(at=1, crank_deg=180)))
    found = met(wish, sketch=stuck)
    assert math.isinf(found.worst)
    assert math.isinf(found.rms)
    assert not found.met
    assert "does not go" in found.text
    assert math.isinf(overall((found,), replace(stuck, wanted=(wish,))))


