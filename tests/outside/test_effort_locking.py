"""Where friction locks a mechanism, and where it holds one still, by formulas of statics.

Sources: textbook statics (worked out by the founders). A rod that pushes a block along its
guide at the angle β to it pushes with F (cos β − μ sin β): from tan β = 1/μ on, no push moves
the block. A wheel on an axle of radius r with a weight G at the arm a stands still while
a |cos θ| ≤ μ r: friction in its bore is all that holds it.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from msgspec.structs import replace
from weighted import four_bar, slider_crank

from core.effort import effort, friction_band
from core.effort.locking import locking
from core.effort.states import states
from core.model import (
    Drive,
    Force,
    Gravity,
    Mass,
    Part,
    Pin,
    Point,
    Sketch,
    Slide,
)
from core.motion import solve_turn

CRANK, ROD, PUSH = 40.0, 50.0, 10.0


def pusher(mu: float) -> Sketch:
    """A slider-crank in line, without weight; friction at the block alone, which is pushed
    back towards the crank by a constant force. Drawn at 30°."""
    a = CRANK * cmath.exp(1j * math.radians(30))
    b = a.real + math.sqrt(ROD**2 - a.imag**2)

    def part(name: str, fixed: bool = False, **places: complex) -> Part:
        return Part(id=name, fixed=fixed, mass=Mass(mass_kg=0.0, x=0.0, y=0.0),
                    points=tuple(Point(id=k, x=complex(z).real, y=complex(z).imag)
                                 for k, z in places.items()))

    return Sketch(
        parts=(part("frame", True, O=0, L=5, R=120), part("crank", O=0, A=a),
               part("rod", A=a, B=b), part("block", B=b)),
        pins=tuple(Pin(id=k, at=at, friction=(0.0, 0.0)) for k, at in (
            ("o", ("frame.O", "crank.O")), ("a", ("crank.A", "rod.A")),
            ("b", ("rod.B", "block.B")))),
        slides=(Slide(id="way", point="block.B", along=("frame.L", "frame.R"),
                      friction=(mu / 2, mu)),),
        drive=Drive(pin="o", part="crank", rpm=1.0, drawn_deg=30.0),
        forces=(Force(id="load", at="block.B", fx_n=-PUSH, fy_n=0.0),),
        gravity=Gravity(g_m_s2=0.0))


@pytest.mark.parametrize("mu", [0.8, 0.9, 1.2])
def test_a_steep_rod_locks_its_block_from_the_angle_of_friction_on(mu: float) -> None:
    turn = solve_turn(pusher(mu), steps=720)
    found = effort(turn)
    lean = np.arcsin(-CRANK / ROD * np.sin(turn.crank_rad))  # of the rod to its guide
    outwards = np.sin(turn.crank_rad) < -1e-9  # the block goes against its load
    steep = np.abs(np.tan(lean))
    assert found.jams[outwards & (steep > 1 / mu + 0.01)].all()
    assert not found.jams[~outwards | (steep < 1 / mu - 0.01)].any()
    assert found.jams.any() == (math.tan(math.asin(CRANK / ROD)) > 1 / mu)


def test_below_that_angle_the_torque_is_that_of_the_formula() -> None:
    mu = 0.6
    turn = solve_turn(pusher(mu), steps=360)
    found = friction_band(turn, tolerance=1e-10)
    crank = turn.crank_rad
    lean = np.arcsin(CRANK / ROD * np.sin(crank))
    # Speed of the block by that of the crank, mm/rad: −r sin (θ + β) / cos β.
    speed = -CRANK * np.sin(crank + lean) / np.cos(lean)
    # Outwards friction takes from the push, inwards it holds the load up.
    for share, torque in ((0.5, found.low_nmm), (1.0, found.high_nmm)):
        moved = np.sign(speed) * share * mu * np.abs(np.tan(lean))
        expected = PUSH * speed / (1 - moved)
        away = np.abs(speed) > 1e-6
        assert torque[away] == pytest.approx(expected[away], abs=1e-6 * PUSH * CRANK)


@pytest.mark.parametrize("mu", [0.6, 0.9, 1.2])
def test_the_friction_that_locks_the_rod_is_the_cotangent_of_its_angle(mu: float) -> None:
    turn = solve_turn(pusher(mu), steps=240)
    found = locking(turn)
    steep = np.abs(np.tan(np.arcsin(CRANK / ROD * np.sin(turn.crank_rad))))
    outwards = np.sin(turn.crank_rad) < -1e-6
    share = 1 / (mu * np.maximum(steep, 1e-9))
    exact = np.where(outwards & (share < 2.0), share, np.inf)
    sure = np.abs(exact - 2.0) > 0.01  # no farther than twice the friction is looked
    sure &= np.isfinite(found.share)
    assert found.share[sure] == pytest.approx(exact[sure], rel=1e-5)
    assert sure.sum() >= np.isfinite(exact).sum() - 4
    assert found.nearest is not None
    assert found.nearest.joint == "way"
    assert found.nearest.coefficient == pytest.approx(
        1 / math.tan(math.asin(CRANK / ROD)), rel=1e-5)


def wheel(away: float, kg: float = 0.8, mu: tuple[float, float] = (0.3, 0.6)) -> Sketch:
    """A wheel on a rod of 6 mm, its weight `away` from the middle, drawn on the level."""
    def part(name: str, fixed: bool, mass: Mass | None) -> Part:
        return Part(id=name, fixed=fixed, mass=mass, points=(Point(id="O", x=0.0, y=0.0),))

    return Sketch(parts=(part("frame", True, None),
                         part("wheel", False, Mass(mass_kg=kg, x=away, y=0.0))),
                  pins=(Pin(id="axle", at=("frame.O", "wheel.O"), diameter_mm=6.0),),
                  drive=Drive(pin="axle", part="wheel", rpm=0.01), friction=mu,
                  gravity=Gravity(g_m_s2=9.81))


@pytest.mark.parametrize("away", [0.5, 1.2, 2.0, 10.0])
def test_a_wheel_stays_where_its_weight_has_less_arm_than_friction(away: float) -> None:
    """Arms of friction: 0.3 · 3 = 0.9 mm and 0.6 · 3 = 1.8 mm."""
    turn = solve_turn(wheel(away), steps=720)
    found = states(turn, effort(turn))
    arm = away * np.abs(np.cos(turn.crank_rad))
    for friction, leaves, spare in ((0.9, found.may_leave, found.spare_low_nmm),
                                    (1.8, found.surely_leaves, found.spare_high_nmm)):
        assert spare == pytest.approx(0.8 * 9.81 * (friction - arm), abs=1e-6)
        free = sum(end - start for start, end in leaves) / (2 * math.pi)
        exact = 2 / math.pi * math.acos(friction / away) if away > friction else 0.0
        assert free == pytest.approx(exact, abs=2e-4)


def test_the_two_ways_of_a_weighted_wheel_differ_by_twice_its_friction() -> None:
    turn = solve_turn(wheel(20.0), steps=90)
    found, on = states(turn, effort(turn)), friction_band(turn)
    rub = 0.8 * 9.81 * np.array([0.9, 1.8])
    assert on.low_nmm + found.back_low_nmm == pytest.approx(2 * rub[0], rel=1e-7)
    assert on.high_nmm + found.back_high_nmm == pytest.approx(2 * rub[1], rel=1e-7)


def test_inertia_counts_from_where_its_torque_is_a_tenth_of_the_rest() -> None:
    """The pace that is told is put in as the drive's, and the torques looked at again."""
    for make in (four_bar, slider_crank):
        sketch = make(rpm=30.0, friction=(0.0, 0.0), springs=())
        turn = solve_turn(sketch, steps=180)
        pace = states(turn, effort(turn)).pace
        for rpm, share in ((pace.begins_rpm[0], 0.1), (pace.equals_rpm[0], 1.0)):
            quick = effort(solve_turn(replace(sketch, drive=replace(
                sketch.drive, rpm=rpm)), steps=180))
            rest = quick.torque_nmm - quick.shares["inertia"]
            assert np.abs(quick.shares["inertia"]).max() == pytest.approx(
                share * np.abs(rest).max(), rel=1e-6)
