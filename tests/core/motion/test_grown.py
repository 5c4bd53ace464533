"""Random sketches of every joint kind: joints met everywhere, one method against another."""

from __future__ import annotations

import numpy as np
import pytest
from grown import KINDS, grown, moved
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from core.errors import MotionError
from core.model import Sketch
from core.motion import Turn, flip, planner, pose_at, rates, solve, solve_turn, structure
from core.motion.plan import Block
from core.motion.solve import plan_of

STEPS = 90
kinds = st.lists(st.sampled_from(KINDS), min_size=1, max_size=5)
seeds = st.integers(0, 2**31)


def size_of(sketch: Sketch) -> float:
    places = np.array([complex(point.x, point.y) for part in sketch.parts
                       for point in part.points])
    return float(max(np.ptp(places.real), np.ptp(places.imag)))


def away_from_limits(turn: Turn, off: float = 0.05) -> np.ndarray:
    """Reached steps not close to a lock, where rates grow without bound."""
    good = turn.reached.copy()
    period = 2 * np.pi * turn.crank_turns
    for limit in turn.limits:
        gap = turn.crank_rad - limit.crank_rad
        good &= np.abs(gap - period * np.round(gap / period)) > off
    return good


def same(one: np.ndarray, two: np.ndarray, within: float) -> bool:
    return bool((np.isnan(one) == np.isnan(two)).all()
                and np.nanmax(np.abs(one - two), initial=0.0) <= within)


@given(kinds, seeds)
@settings(max_examples=150)
def test_every_joint_is_met_wherever_the_crank_comes(groups: list[str], seed: int) -> None:
    sketch = grown(groups, seed)
    turn = solve_turn(sketch, STEPS)
    assert structure(sketch).mobility == 1
    assert not plan_of(sketch).loose
    assert turn.residual_mm <= 1e-9 * size_of(sketch)
    for ref in (pin.at for pin in sketch.pins):
        gap = np.abs(turn.path(ref[0]) - turn.path(ref[1]))[turn.reached]
        assert gap.max(initial=0.0) <= 1e-9 * size_of(sketch)
    for line in sketch.slides:
        start, end, point = (turn.path(ref)[turn.reached] for ref in (*line.along, line.point))
        way, off = end - start, point - start
        assert np.abs(way[:, 0] * off[:, 1] - way[:, 1] * off[:, 0]).max(initial=0.0) <= \
            2e-9 * size_of(sketch) * 200
    home = pose_at(turn, np.radians([20.0]))
    assert home.reached.all()
    assert np.abs(home.rotation - 1).max() < 1e-7
    assert np.abs(home.angle_rad).max() < 1e-7


@given(kinds, seeds)
@settings(max_examples=60)
@example(["two sliders"], 1)
@example(["slot on pin"], 24926)
@example(["bar on slider", "gear"], 1106183)
@example(["slot on pin", "gear", "bar and slider"], 0)
@example(["slot on pin", "gear", "pin in slot", "two bars"], 428788)
def test_limits_are_where_the_reach_ends(groups: list[str], seed: int) -> None:
    turn = solve_turn(grown(groups, seed), STEPS)
    assert len(turn.limits) in (0, 2)
    assert turn.reached.all() == (not turn.limits) or turn.limits
    for limit in turn.limits:
        inside, outside = (pose_at(turn, np.array([limit.crank_rad + way * limit.side * 1e-8]))
                           for way in (-1, 1))
        assert inside.reached.all()
        assert not outside.reached.any()
        assert limit.parts


@given(kinds, seeds)
@settings(max_examples=60)
def test_poses_at_the_same_angles_are_the_same(groups: list[str], seed: int) -> None:
    turn = solve_turn(grown(groups, seed), STEPS)
    again = pose_at(turn, turn.crank_rad)
    assert same(again.rotation, turn.rotation, 1e-6)
    assert same(again.shift, turn.shift, 1e-4)
    assert same(again.angle_rad, turn.angle_rad, 1e-6)
    assert (again.reached == turn.reached).all()


@given(kinds, seeds)
@settings(max_examples=80)
def test_rates_equal_finite_differences(groups: list[str], seed: int) -> None:
    turn = solve_turn(grown(groups, seed), STEPS)
    good, step = away_from_limits(turn), 1e-5
    assume(good.any())
    here = rates(turn)
    after, before = (pose_at(turn, turn.crank_rad + way * step) for way in (1, -1))
    fast, slow = rates(after), rates(before)
    with np.errstate(invalid="ignore"):
        found = [((after.rotation - before.rotation) / (1j * turn.rotation)).real,
                 after.shift - before.shift, fast.spin - slow.spin, fast.shift1 - slow.shift1]
    for change, rate in zip(found, (here.spin, here.shift1, here.spin2, here.shift2),
                                strict=True):
        scale = 1 + np.abs(rate[:, good]).max(axis=1, keepdims=True) ** 2
        assert (np.abs(change / (2 * step) - rate)[:, good] / scale).max() < 1e-5


@given(kinds, seeds, st.floats(0.1, 10), st.floats(-3, 3), st.integers(-500, 500))
@settings(max_examples=50)
def test_turning_shifting_and_scaling_the_sketch_does_it_to_the_motion(
    groups: list[str], seed: int, scale: float, angle: float, shift: int
) -> None:
    sketch = grown(groups, seed)
    turn, by = solve_turn(sketch, STEPS), scale * np.exp(1j * angle)
    other = solve_turn(moved(sketch, complex(by), complex(shift, -shift)), STEPS)
    good = away_from_limits(turn, 0.02)
    assume(good.any())
    assert np.abs(other.rotation - turn.rotation)[:, good].max() < 1e-7
    for ref in (pin.at[0] for pin in sketch.pins):
        one, two = (each.path(ref)[good] @ (1, 1j) for each in (turn, other))
        assert np.abs(two - (by * one + complex(shift, -shift))).max() < 1e-6 * scale * 200


@given(kinds, seeds)
@settings(max_examples=60)
def test_flipping_deforms_nothing_and_flipping_again_brings_it_back(
    groups: list[str], seed: int
) -> None:
    sketch = grown(groups, seed)
    part = sketch.parts[seed % len(sketch.parts)].id
    try:
        flipped = flip(sketch, [part])
    except MotionError:
        return
    for one, two in zip(sketch.parts, flipped.parts, strict=True):
        places = [np.array([complex(point.x, point.y) for point in each.points])
                  for each in (one, two)]
        spread = [np.abs(at[:, None] - at) for at in places]
        assert np.abs(spread[0] - spread[1]).max(initial=0.0) < 1e-9 * size_of(sketch)
    turn = solve_turn(flipped, STEPS)
    assert turn.residual_mm <= 1e-9 * size_of(flipped)
    assert np.abs(pose_at(turn, np.radians([20.0])).rotation - 1).max() < 1e-6
    kind = next(step.kind for step in plan_of(sketch).blocks
                if part in plan_of(sketch).network.parts_of(step.moved))
    if kind != "newton":
        again = flip(flipped, [part])
        for one, two in zip(sketch.parts, again.parts, strict=True):
            for a, b in zip(one.points, two.points, strict=True):
                assert abs(complex(a.x - b.x, a.y - b.y)) < 1e-7 * size_of(flipped)


#: Kinds whose place runs off to infinity, where Newton's method stops following earlier,
#: and kinds of turns only, which are no groups, left out.
COMPARED = ("two bars", "bar and slider", "bar on slider", "pin in slot", "slot on pin")


@given(st.lists(st.sampled_from(COMPARED), min_size=1, max_size=2), seeds)
@settings(max_examples=20)
@example(["two bars"], 1)
@example(["two bars", "two bars"], 1807)
@example(["bar on slider", "two bars"], 3)
def test_closed_forms_agree_with_newtons_method(groups: list[str], seed: int) -> None:
    sketch = grown(groups, seed)
    closed = solve_turn(sketch, STEPS)
    # Drawn next to a lock, everything runs off with the root of the crank's turn.
    assume(all(abs(limit.crank_rad - np.radians(20)) > 0.05 for limit in closed.limits))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(planner._Planner, "_closed_forms", lambda self: False)
        solve._plan_of.cache_clear()
        planner.plan.cache_clear()
        generic = solve_turn(sketch, STEPS)
        steps = plan_of(sketch).steps
    solve._plan_of.cache_clear()
    planner.plan.cache_clear()
    assert {step.kind for step in steps if isinstance(step, Block)} <= {"newton"}
    good = away_from_limits(closed, 0.02)
    assert (closed.reached == generic.reached)[good].all()
    assert np.abs(generic.rotation - closed.rotation)[:, good].max(initial=0.0) < 1e-6
    found = [(limit.crank_rad, limit.side) for limit in generic.limits]
    wanted = [(limit.crank_rad, limit.side) for limit in closed.limits]
    assert np.array(found) == pytest.approx(np.array(wanted), abs=1e-8)


def test_a_dead_zone_narrower_than_a_step_is_found_where_a_slot_swings_fast() -> None:
    sketch = grown(["slider in slot", "slot on pin", "two sliders", "slot on pin",
                    "bar on slider"], 17)
    few, many = ([(limit.crank_rad, limit.side) for limit in solve_turn(sketch, steps).limits]
                 for steps in (90, 1440))
    assert np.array(few) == pytest.approx(np.array(many), abs=1e-8)
