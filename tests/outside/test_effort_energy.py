"""Energy over a closed turn: what the hand puts in is what friction takes, and nothing else.

Source: conservation of energy. Gravity, springs and masses that come back to where they were,
as fast as they were, give back what they took (a steady crank, over a whole cycle); so the
mean torque is 0 without friction, and with it the work of friction, which is worked out here
from the forces in the joints, joint by joint: μ r |F| |turning| at a pin, force along the guide
times sliding at a slide.
"""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace
from weighted import (
    four_bar,
    geared_pair,
    locked_shaft,
    plate_on_three,
    slider_crank,
    slotted_lever,
    swinging_block,
    walking_leg,
)

from core.effort import effort, friction_band
from core.model import Spring, Torque, Weight, part_of
from core.motion import Turn, rates, solve_turn

RANGE = (0.1, 0.3)
CLOSED = [four_bar, slider_crank, geared_pair, locked_shaft, plate_on_three, swinging_block,
          walking_leg]
#: Those whose pins join two parts each, so that it is plain what rubs on what.
TWO_BY_TWO = [four_bar, slider_crank, geared_pair, plate_on_three, swinging_block]


def closed_turn(make: object, rpm: float = 90.0) -> Turn:
    sketch = make(rpm=rpm, forces=(), torques=())
    turn = solve_turn(sketch, steps=1440)
    assert turn.reached.all()
    return turn


@pytest.mark.parametrize("make", [*CLOSED, slotted_lever], ids=lambda make: make.__name__)
@pytest.mark.parametrize("rpm", [90.0, -240.0])
def test_without_friction_the_work_of_a_turn_is_nothing(make: object, rpm: float) -> None:
    turn = closed_turn(make, rpm)
    found = effort(turn)
    for lane in (found.torque_nmm, found.virtual_power_nmm, *found.shares.values()):
        assert abs(lane.mean()) <= 1e-7 * np.abs(found.torque_nmm).max()
    assert np.abs(found.torque_nmm).max() > 1.0


def test_weights_and_springs_of_a_part_take_no_work_either() -> None:
    sketch = four_bar(rpm=120.0)
    heavy = tuple(replace(p, weights=(Weight(mass_kg=0.3, x=90.0, y=60.0, diameter_mm=30.0),))
                  if p.id == "rocker" else p for p in sketch.parts)
    more = (*sketch.springs, Spring(id="more", a="rocker.B", b="frame.S", rate_n_per_mm=0.3,
                                    free_length_mm=15.0, initial_tension_n=1.0))
    turn = solve_turn(replace(sketch, parts=heavy, springs=more), steps=1440)
    found = effort(turn)
    assert abs(found.torque_nmm.mean()) <= 1e-7 * np.abs(found.torque_nmm).max()


def friction_power(turn: Turn, load: dict, mu: float, sense: float) -> np.ndarray:
    """(N,) N·mm per radian of the crank, cranked in that sense, that friction takes."""
    speed, sketch = rates(turn), turn.sketch
    lost = np.zeros(turn.crank_rad.size)
    for pin in sketch.pins:
        one, two = (turn.row(part_of(ref)) for ref in pin.at)
        turning = np.abs(speed.spin[one] - speed.spin[two])
        lost += mu * pin.diameter_mm / 2 * np.abs(load[pin.id].force[:, 0]) * turning
    for slide in sketch.slides:
        rider, guide = turn.row(part_of(slide.point)), turn.row(part_of(slide.along[0]))
        at = turn.path(slide.point) @ np.array([1, 1j])
        velocity = [1j * speed.spin[row] * (at - turn.shift[row]) + speed.shift1[row]
                    for row in (rider, guide)]
        force = load[slide.id].force[:, 0]
        lost -= sense * (force.conj() * (velocity[0] - velocity[1])).real
    return lost


@pytest.mark.parametrize("backwards", [False, True], ids=["forwards", "backwards"])
@pytest.mark.parametrize("make", TWO_BY_TWO, ids=lambda make: make.__name__)
def test_with_friction_the_work_of_a_turn_is_that_of_friction(
    make: object, backwards: bool
) -> None:
    turn = closed_turn(make)
    turn = solve_turn(replace(turn.sketch, friction=RANGE), steps=1440)
    band = friction_band(turn, backwards=backwards, tolerance=1e-10)
    for mu, torque, load in ((RANGE[0], band.low_nmm, band.low),
                             (RANGE[1], band.high_nmm, band.high)):
        assert np.isfinite(torque).all()
        lost = friction_power(turn, load, mu, -1.0 if backwards else 1.0)
        assert lost.mean() > 0.01 * np.abs(torque).max()
        # Both jump where a pin's turning changes sense; what is left over is smooth, and the
        # mean of a smooth periodic lane is exact.
        assert abs((torque - lost).mean()) <= 2e-6 * np.abs(torque).max()


def test_the_means_are_more_with_more_friction_and_the_same_both_ways_round() -> None:
    """With little friction and no inertia, twice the coefficient takes twice the work, and
    both ways round take about as much."""
    sketch = replace(four_bar(rpm=0.001), friction=(0.02, 0.04))
    turn = solve_turn(sketch, steps=720)
    forth, back = friction_band(turn), friction_band(turn, backwards=True)
    assert 0 < forth.low_nmm.mean() < forth.high_nmm.mean()
    assert forth.high_nmm.mean() == pytest.approx(2 * forth.low_nmm.mean(), rel=0.02)
    assert back.high_nmm.mean() == pytest.approx(forth.high_nmm.mean(), rel=0.05)


@pytest.mark.parametrize("backwards", [False, True], ids=["forwards", "backwards"])
def test_a_brake_takes_its_torque_times_all_the_turning_of_its_part(backwards: bool) -> None:
    """A leather washer of 30 N·mm on the rocker, which swings to and fro: 30 N·mm times twice
    its swing, in a turn, whichever way the crank goes."""
    sketch = replace(four_bar(rpm=30.0, friction=(0.0, 0.0)), torques=(
        Torque(id="leather", part="rocker", torque_nmm=30.0, brakes=True),))
    turn = solve_turn(sketch, steps=1440)
    band = friction_band(turn, backwards=backwards)
    swing = float(np.ptp(turn.angle_rad[:, turn.row("rocker")]))
    assert 2 * np.pi * band.low_nmm.mean() == pytest.approx(30.0 * 2 * swing, rel=2e-3)
