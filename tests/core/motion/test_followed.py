"""Groups without a closed form, followed from the drawn pose."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from grown import grown
from linkages import eight_bar, four_bar, parallelogram, triad

from core.model import Sketch
from core.motion import Turn, planner, pose_at, rates, solve, solve_turn, walk
from core.motion.walk import most_poses


def poses(turn: Turn) -> int:
    """The most poses any group had solved one at a time."""
    assert turn.solution is not None
    return max(track.branch.poses for track in turn.solution.grid.tracks if track.branch)


@pytest.mark.parametrize("make", [triad, eight_bar])
def test_few_poses_are_solved_one_at_a_time_however_many_steps(
    make: Callable[[], Sketch]
) -> None:
    few, many = solve_turn(make(), 360), solve_turn(make(), 2880)
    assert poses(few) < 120
    assert poses(many) < 240
    assert np.nanmax(np.abs(many.rotation[:, ::8] - few.rotation)) < 1e-9
    assert (many.reached[::8] == few.reached).all()


@pytest.mark.parametrize("make", [triad, eight_bar])
def test_a_few_steps_show_the_same_branch(make: Callable[[], Sketch]) -> None:
    few, many = solve_turn(make(), 9), solve_turn(make(), 720)
    assert (few.reached == many.reached[::80]).all()
    assert np.nanmax(np.abs(many.rotation[:, ::80] - few.rotation)) < 1e-7


def test_what_is_not_followed_within_the_bound_is_said_to_be_lost(
    monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = solve_turn(eight_bar(), 360)
    assert not any(limit.lost for limit in whole.limits)
    monkeypatch.setattr(walk, "most_poses", lambda span: 12)
    turn = solve_turn(eight_bar(), 360)
    assert {limit.side for limit in turn.limits if limit.lost} == {1, -1}
    assert 0 < turn.reached.sum() < whole.reached.sum()
    assert np.isnan(turn.rotation[-1][~turn.reached]).all()
    assert turn.rotation[:, turn.reached] == pytest.approx(
        whole.rotation[:, turn.reached], abs=1e-9)
    assert poses(turn) <= 12


def test_the_bound_is_as_stated() -> None:
    assert most_poses(2 * np.pi) == 660
    assert most_poses(64 * 2 * np.pi) == 4440


@pytest.fixture
def only_newton(monkeypatch: pytest.MonkeyPatch) -> object:
    """No closed forms."""
    monkeypatch.setattr(planner._Planner, "_closed_forms", lambda self: False)
    for kept in (solve._plan_of, planner.plan):
        kept.cache_clear()
    yield
    for kept in (solve._plan_of, planner.plan):
        kept.cache_clear()


@pytest.mark.parametrize("seed", [8, 12, 45])
def test_a_slider_that_runs_off_to_infinity_is_followed_far(seed: int, only_newton: object
                                                            ) -> None:
    turn = solve_turn(grown(["two sliders"], seed), 90)
    assert poses(turn) < 200
    assert len(turn.limits) == 2
    assert not any(limit.lost for limit in turn.limits)
    near = pose_at(turn, np.array([limit.crank_rad - 1e-3 * limit.side
                                   for limit in turn.limits]))
    assert near.reached.all()
    assert np.abs(near.shift).max() > 1e4


def test_a_group_with_a_belt_is_back_after_three_turns() -> None:
    turn = solve_turn(grown(["fast", "fast", "bar on slider", "belt", "belt"], 6196), 90)
    assert turn.reached.all()
    assert (turn.crank_turns, turn.repeats) == (3, True)
    start, after = (pose_at(turn, np.array([0.7 + turns * 2 * np.pi])) for turns in (0, 3))
    assert after.rotation == pytest.approx(start.rotation, abs=1e-9)
    assert np.abs(pose_at(turn, np.array([0.7 + 2 * np.pi])).rotation
                  - start.rotation).max() > 0.1


@pytest.mark.parametrize("make", [
    lambda: parallelogram(40), lambda: parallelogram(33.3), lambda: parallelogram(271),
    lambda: parallelogram(33, third=True), lambda: four_bar(20, 10, 10, 20, 40),
    lambda: four_bar(10, 10, 20, 20, 40)])
def test_crossing_branches_are_passed_as_the_closed_forms_do(
    make: Callable[[], Sketch], request: pytest.FixtureRequest
) -> None:
    closed = solve_turn(make(), 180)
    closed_rates = rates(closed)
    request.getfixturevalue("only_newton")
    turn = solve_turn(make(), 180)
    assert turn.reached.all()
    assert (turn.limits, turn.crank_turns) == ((), closed.crank_turns)
    assert np.abs(turn.rotation - closed.rotation).max() < 1e-8
    assert rates(turn).spin == pytest.approx(closed_rates.spin, abs=1e-5)


@pytest.mark.parametrize("longer", [1e-3, 1e-6, 1e-9])
def test_two_locks_close_together_are_no_crossing(longer: float, only_newton: object) -> None:
    turn = solve_turn(four_bar(100, 40, 100 + longer, 40, 40), 180)
    assert len(turn.limits) == 2
    assert turn.reached.sum() < 180


def test_a_group_drawn_flat_that_may_go_two_ways_is_said_to_be_lost(only_newton: object
                                                                    ) -> None:
    turn = solve_turn(parallelogram(0), 180)
    assert [limit.lost for limit in turn.limits] == [True, True]
