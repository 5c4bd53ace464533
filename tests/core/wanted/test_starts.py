"""Wishes read off how a sketch moves: they are met at once, and say what is there."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from app import demos
from core.errors import EditError
from core.files import loads
from core.model import Sketch, edits
from core.model.wanted import Knot, WantedAngle, WantedPath
from core.motion import Turn, solve_turn
from core.wanted import starts
from core.wanted.angle_lane import angle_lane
from core.wanted.curves import angle_at
from core.wanted.measure import measure
from core.wanted.reading import directions, read_angle, read_place
from tests.linkages import four_bar

DEMOS = ("rowing-otter", "night-moth", "pier-walker", "lighthouse")


@pytest.fixture(scope="module")
def turn() -> Turn:
    return solve_turn(four_bar(100, 30, 80, 90, 40, point=30 + 20j))


def rocking(sketch: Sketch) -> Sketch:
    assert sketch.drive is not None
    return replace(sketch, drive=replace(sketch.drive, kind="rock", from_deg=20, to_deg=130))


@pytest.mark.parametrize("name", DEMOS)
def test_what_is_read_off_a_demo_is_met_by_it(name: str) -> None:
    sketch = loads(demos.data(name))
    turn = solve_turn(sketch)
    made, refused = [], []
    for part in sketch.parts:
        tries = [(starts.angle_as_it_moves, part.id)]
        if turn.crank_turns == 1:
            tries += [(starts.path_as_it_moves, f"{part.id}.{point.id}")
                      for point in part.points]
        for make, what in tries:
            try:
                made.append(make(turn, what, f"wish {len(made)}"))
            except EditError as trouble:
                refused.append(trouble.what)
    assert len(made) > 5
    assert {"does not move" in why for why in refused} <= {True}
    wanting = replace(sketch, wanted=tuple(made))
    missed = [met.text for met in measure(solve_turn(wanting)) if not met.met]
    assert missed == []


def test_a_curve_that_is_read_off_keeps_within_a_quarter_of_its_tolerance(turn: Turn) -> None:
    for part in ("rocker", "coupler", "crank"):
        wish = starts.angle_as_it_moves(turn, part, "w")
        now = directions(turn, part, wish.line)
        off = angle_at(wish, np.degrees(turn.crank_rad)) - now
        assert np.abs(off).max() <= wish.tolerance_deg / 4 + 0.01
        assert wish.closed
        assert len(wish.knots) <= 16


def test_the_line_of_a_part_goes_from_its_pivot_on_the_frame(turn: Turn) -> None:
    assert starts.line_of(turn.sketch, "rocker") == ("rocker.Q", "rocker.B")
    assert starts.line_of(turn.sketch, "crank") == ("crank.O", "crank.A")


def test_a_swing_that_is_read_off_is_that_of_the_four_bar(turn: Turn) -> None:
    """Ends where crank and coupler lie in one line: by the law of cosines."""
    wish = starts.swing_now(turn, "rocker", "w")

    def end(reach: float) -> float:
        away = (100.0**2 + 90.0**2 - reach**2) / (2 * 100.0 * 90.0)
        return 180.0 - float(np.degrees(np.arccos(away)))

    assert {wish.from_deg, wish.to_deg} == {round(end(50.0)), round(end(110.0))}


def test_the_time_ratio_that_is_read_off_is_that_of_the_four_bar() -> None:
    """(180° + α) / (180° − α), α between the crank's directions at the two ends:
    Norton, *Design of Machinery*, ch. 3 (from memory)."""
    turn = solve_turn(four_bar(100, 30, 80, 60, 40))

    def at(reach: float) -> float:
        return float(np.degrees(np.arccos((100.0**2 + reach**2 - 60.0**2)
                                          / (2 * 100.0 * reach))))

    alpha = abs(at(110.0) - at(50.0))
    wish = starts.ratio_now(turn, "w", part_id="rocker")
    assert wish.ratio == pytest.approx((180 + alpha) / (180 - alpha), abs=0.026)


def test_a_curve_to_and_fro_keeps_the_ends_and_takes_half_a_turn_each_way(turn: Turn) -> None:
    now = directions(turn, "rocker", starts.line_of(turn.sketch, "rocker"))
    wish = starts.angle_to_and_fro(turn, "rocker", "w")
    angles = [knot.angle_deg for knot in wish.knots]
    assert min(angles) == pytest.approx(now.min(), abs=0.01)
    assert max(angles) == pytest.approx(now.max(), abs=0.01)
    apart = wish.knots[int(np.argmax(angles))].crank_deg \
        - wish.knots[int(np.argmin(angles))].crank_deg
    assert abs(apart) == pytest.approx(180.0)


def test_the_quick_way_takes_a_third_of_the_turn(turn: Turn) -> None:
    wish = starts.angle_quick_one_way(turn, "rocker", "w")
    fine = angle_at(wish, np.arange(0.0, 360.0, 0.5))
    rising = int((np.diff(np.append(fine, fine[0])) > 0).sum()) / 2
    assert min(rising, 360 - rising) == pytest.approx(120.0, abs=1.5)


@pytest.mark.parametrize("crank_deg", [0.0, 30.0, 200.0, 350.0])
@pytest.mark.parametrize("part", ["rocker", "crank"])
def test_a_hold_is_level_about_the_crank_angle(turn: Turn, part: str, crank_deg: float) -> None:
    wish = starts.angle_as_it_moves(turn, part, "w")
    here = float(angle_at(wish, crank_deg))
    held = starts.hold(wish, crank_deg)
    within = angle_at(held, crank_deg + np.linspace(-30, 30, 25))
    assert np.abs(within - here).max() < 0.02
    cranks = [knot.crank_deg for knot in held.knots]
    assert cranks == sorted(cranks)
    far = crank_deg + 180.0
    assert float(angle_at(held, far)) == pytest.approx(float(angle_at(wish, far)), abs=2.0)


def test_a_rest_that_is_read_off_is_as_wide_as_the_part_nearly_rests(turn: Turn) -> None:
    wish = starts.rest_now(turn, "w", 244.0, part_id="rocker")
    wide = (wish.to_deg - wish.from_deg) % 360.0
    assert 30.0 <= wide <= 150.0
    made = edits.add(turn.sketch, "wanted", wish)
    assert measure(solve_turn(made))[0].met


def test_a_point_on_an_arc_gets_an_open_path_and_a_loop_a_closed_one(turn: Turn) -> None:
    arc = starts.path_as_it_moves(turn, "rocker.B", "w")
    loop = starts.path_as_it_moves(turn, "coupler.P", "w")
    assert isinstance(arc, WantedPath)
    assert (arc.closed, loop.closed) == (False, True)


def test_a_path_runs_the_way_the_crank_turns(turn: Turn) -> None:
    sketch = turn.sketch
    assert sketch.drive is not None
    back = replace(sketch, drive=replace(sketch.drive, rpm=-abs(sketch.drive.rpm)))

    def area(one: Turn) -> float:
        at = np.array([complex(*p) for p in
                       starts.path_as_it_moves(one, "coupler.P", "w").through])
        return float((at.conj() * np.roll(at, -1)).imag.sum())

    assert area(turn) * area(solve_turn(back)) < 0


def test_a_rocking_crank_gives_open_curves_over_its_range() -> None:
    turn = solve_turn(rocking(four_bar(100, 30, 80, 90, 40)))
    wish = starts.angle_as_it_moves(turn, "rocker", "w")
    assert not wish.closed
    assert wish.knots[0].crank_deg == pytest.approx(20.0)
    assert wish.knots[-1].crank_deg == pytest.approx(130.0)


@pytest.mark.parametrize(("make", "what", "trouble"), [
    (starts.swing_now, "crank", "no two ends"),
    (starts.angle_as_it_moves, "frame", "does not move"),
    (starts.stroke_now, "frame.O", "does not move"),
    (starts.angle_to_and_fro, "crank", "no two ends"),
])
def test_what_cannot_be_read_off_is_said(turn: Turn, make, what: str, trouble: str) -> None:
    with pytest.raises(EditError, match=trouble):
        make(turn, what, "w")


def test_to_and_fro_wants_a_crank_that_goes_round() -> None:
    turn = solve_turn(rocking(four_bar(100, 30, 80, 90, 40)))
    with pytest.raises(EditError, match="goes all round"):
        starts.angle_to_and_fro(turn, "rocker", "w")
    with pytest.raises(EditError, match="goes all round"):
        starts.ratio_now(turn, "w", part_id="rocker")


# -- the lane ------------------------------------------------------------------------


def test_without_a_line_the_lane_lays_the_motion_on_the_wish(turn: Turn) -> None:
    wish = starts.angle_as_it_moves(turn, "rocker", "w")
    lifted = replace(wish, line=(), knots=tuple(
        replace(knot, angle_deg=knot.angle_deg + 77.0) for knot in wish.knots))
    lane = angle_lane(turn, lifted)
    assert np.abs(lane.angle_deg - lane.wished_deg).max() < 0.6


def test_with_a_line_the_lane_differs_by_no_more_than_is_wrong(turn: Turn) -> None:
    wish = starts.angle_as_it_moves(turn, "rocker", "w")
    lifted = replace(wish, knots=tuple(
        replace(knot, angle_deg=knot.angle_deg + 367.0) for knot in wish.knots))
    lane = angle_lane(turn, lifted)
    assert np.median(lane.wished_deg - lane.angle_deg) == pytest.approx(7.0, abs=0.5)


def test_a_lane_of_places_has_dots_and_no_curve(turn: Turn) -> None:
    wish = replace(starts.angle_as_it_moves(turn, "rocker", "w"), curve="places")
    lane = angle_lane(turn, wish)
    assert np.isnan(lane.wished_deg).all()
    assert {knot[0] for knot in lane.knots} == set(range(len(wish.knots)))


def test_the_knots_of_a_closed_curve_are_seen_in_every_turn() -> None:
    sketch = loads(demos.data("lighthouse"))
    turn = solve_turn(sketch)
    assert turn.crank_turns > 1
    wish = starts.angle_to_and_fro(solve_turn(four_bar(100, 30, 80, 90, 40)), "rocker", "w")
    lane = angle_lane(turn, wish)
    assert len(lane.knots) >= turn.crank_turns * len(wish.knots)
    for _, crank, angle in lane.knots:
        assert float(angle_at(wish, crank)) == pytest.approx(angle)


def test_a_lane_of_a_part_that_is_gone_shows_the_wish_alone(turn: Turn) -> None:
    wish = WantedAngle(id="w", knots=starts.angle_as_it_moves(turn, "rocker", "x").knots)
    lane = angle_lane(turn, wish)
    assert np.isnan(lane.angle_deg).all()
    assert np.isfinite(lane.wished_deg).all()


def test_a_crowd_of_knots_is_shown_once() -> None:
    sketch = loads(demos.data("lighthouse"))
    turn = solve_turn(sketch)
    crowd = WantedAngle(id="w", knots=tuple(Knot(crank_deg=k * 0.07, angle_deg=k % 40)
                                            for k in range(5000)))
    assert len(angle_lane(turn, crowd).knots) == 5000


@pytest.mark.parametrize("knots", [(), (Knot(crank_deg=1e6, angle_deg=-1e6),)])
@pytest.mark.parametrize("curve", ["smooth", "straight", "places"])
@pytest.mark.parametrize("closed", [True, False])
def test_a_lane_of_hardly_any_knots_is_drawn(turn: Turn, knots, curve, closed) -> None:
    wish = WantedAngle(id="w", part="rocker", knots=knots, curve=curve, closed=closed)
    lane = angle_lane(turn, wish)
    assert lane.crank_deg.shape == lane.angle_deg.shape == lane.wished_deg.shape


# -- reading -------------------------------------------------------------------------


def test_a_reading_is_no_longer_than_the_motion_takes_to_come_again() -> None:
    turn = solve_turn(loads(demos.data("lighthouse")))
    assert turn.crank_turns == 2
    crank, lamp = read_angle(turn, "crank"), read_angle(turn, "lamp wheel")
    assert (crank.turns, crank.closed) == (1, True)
    assert crank.crank_deg[-1] == 360.0
    assert crank.values[-1] - crank.values[0] == pytest.approx(360.0)
    assert (lamp.turns, lamp.closed) == (2, False)
    assert read_place(turn, "crank.throw").turns == 1
    assert read_place(turn, "beam.ray").turns == 2


def locking() -> Turn:
    """A double rocker, drawn at 0°: its crank goes so far to either side."""
    turn = solve_turn(four_bar(100, 60, 40, 70, 0))
    assert not turn.reached.all()
    assert turn.reached[0]
    assert turn.reached[-1]
    return turn


def test_a_crank_that_locks_is_read_in_one_piece_over_its_zero() -> None:
    turn = locking()
    read = read_angle(turn, "rocker")
    assert np.allclose(np.diff(read.crank_deg), 0.5)
    assert read.crank_deg.size == turn.reached.sum()
    assert np.abs(np.diff(read.values)).max() < 20.0
    assert read.near(10.0) == pytest.approx(370.0)
    assert read.near(350.0) == pytest.approx(350.0)
    assert read.near(180.0) == 180.0


def test_a_wish_of_a_crank_that_locks_is_met_and_shown_on_both_sides_of_zero() -> None:
    turn = locking()
    wish = starts.angle_as_it_moves(turn, "rocker", "w")
    assert not wish.closed
    assert measure(solve_turn(edits.add(turn.sketch, "wanted", wish)))[0].met
    lane = angle_lane(turn, wish)
    reached = np.isfinite(lane.angle_deg)
    off = np.abs(lane.angle_deg - lane.wished_deg)[reached]
    assert np.nanmax(np.minimum(off, 360.0 - off)) <= wish.tolerance_deg
    assert all(0.0 <= crank <= 361.0 for _, crank, _ in lane.knots)
    held = starts.hold(wish, 5.0)
    assert sum(abs(knot.crank_deg - 365.0) <= 30.0 for knot in held.knots) == 2


def test_a_way_that_turns_round_in_between_is_not_one_way() -> None:
    there = np.linspace(0.0, 100.0, 101) + 0j
    again = np.concatenate([there[:60], there[60:30:-1], there[30:]])
    assert starts._one_way(np.concatenate([there, there[::-1]]), True) is not None
    assert starts._one_way(np.concatenate([again, again[::-1]]), True) is None
    loop = 50.0 * np.exp(2j * np.pi * np.arange(201) / 200)
    assert starts._one_way(loop, True) is None
    assert starts._one_way(there, False) is None
