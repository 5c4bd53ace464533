"""Transmission angles of all kinds of groups, and how they change."""

from __future__ import annotations

import math

import numpy as np
import pytest
import weighted
from grown import KINDS, grown
from linkages import eight_bar, four_bar, slider_crank, triad, walking_leg
from test_sensitivity import firm, moved, random_move

from core.model import Sketch
from core.motion import (
    four_bars,
    sensitivity,
    solve_turn,
    transmission,
    transmission_slopes,
)
from core.motion.solve import plan_of
from core.motion.transmission import _Matrix

STEPS = 60


def test_a_four_bar_has_the_angle_between_its_coupler_and_rocker() -> None:
    # Norton, Design of Machinery, from memory and checked: extremes 26.38433° and 86.41668°
    # of the crank-rocker 100, 40, 120, 80, at crank angles 0° and 180°.
    turn = solve_turn(four_bar(100, 40, 120, 80, 40), 720)
    (only,) = transmission(turn)
    assert only.parts == ("coupler", "rocker")
    assert math.degrees(only.angle_rad[0]) == pytest.approx(26.38433, abs=1e-5)
    assert math.degrees(only.angle_rad[360]) == pytest.approx(86.41668, abs=1e-5)
    (same,) = four_bars(turn)
    assert np.allclose(only.angle_rad, same.transmission_rad, atol=1e-9)


def test_a_slider_crank_has_the_angle_between_its_rod_and_the_normal_of_the_slide() -> None:
    # Offset slider-crank 40, 120, offset 20: least transmission angle 60° (closed form:
    # the rod leans by asin((40 + 20) / 120) at most).
    (only,) = transmission(solve_turn(slider_crank(40, 120, 20, 30), 720))
    assert math.degrees(np.nanmin(only.angle_rad)) == pytest.approx(60.0, abs=1e-9)


def test_a_pin_in_a_slot_through_the_pivot_is_always_pushed_best() -> None:
    (only,) = transmission(solve_turn(weighted.slotted_lever(), 360))
    assert np.allclose(only.angle_rad, np.pi / 2, atol=1e-6)


@pytest.mark.parametrize("sketch", [
    four_bar(100, 40, 120, 80, 40), slider_crank(40, 120, 20, 30), weighted.slotted_lever(),
    weighted.swinging_block(), weighted.geared_pair(), *(grown([kind], 3) for kind in KINDS)])
def test_the_measure_of_larger_groups_is_the_closed_one_where_there_is_one(
        sketch: Sketch) -> None:
    turn = solve_turn(sketch, STEPS)
    for each in transmission(turn):
        block = plan_of(sketch).blocks[each.number]
        with np.errstate(divide="ignore", invalid="ignore"):  # locked steps
            general, _ = _Matrix(turn.solution.state, block, None).angle()
        good = turn.reached & (each.angle_rad > 1e-3)
        assert np.allclose(general[:STEPS][good], each.angle_rad[good], atol=2e-6)


@pytest.mark.parametrize("sketch", [
    pytest.param(four_bar(100, 40, 120, 80, 40), id="four-bar"),
    pytest.param(walking_leg(70), id="walking leg"),
    pytest.param(triad(), id="triad"), pytest.param(eight_bar(), id="eight-bar"),
    *(pytest.param(make(), id=make.__name__.replace("_", " ")) for make in weighted.MAKES),
    *(pytest.param(grown([kind], 3), id=kind) for kind in KINDS)])
def test_slopes_agree_with_differences(sketch: Sketch) -> None:
    move, by = random_move(sketch, np.random.default_rng(8)), 1e-4
    turn, ahead, behind = (solve_turn(moved(sketch, move, way), STEPS) for way in (0, by, -by))
    sensitive = sensitivity(turn, [move, {}, move])
    good = firm(sketch, turn) & ahead.reached & behind.reached
    for now, more, less in zip(*map(transmission, (turn, ahead, behind)), strict=True):
        slope = transmission_slopes(sensitive, now.number)
        sound = good & (now.angle_rad > 0.02) & (now.angle_rad < np.pi / 2 - 0.02)
        wanted = (more.angle_rad - less.angle_rad)[sound] / (2 * by)
        assert np.allclose(slope[sound, 0], wanted, rtol=1e-4, atol=1e-6)
        assert np.array_equal(slope[sound, 0], slope[sound, 2])
        assert not slope[:, 1].any()
