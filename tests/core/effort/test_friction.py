"""The friction band: closed forms, balance with friction, power, jamming."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable

import msgspec
import numpy as np
import pytest
from linkages import meet
from weighted import (
    MAKES,
    mass,
    part,
    unbalanced,
    walking_leg,
)

from core.effort import JointLoad, effort, friction_band
from core.effort.inside import owners
from core.model import Drive, Force, Gravity, Pin, Polygon, Sketch, Slide, Torque
from core.motion import Turn, rates, solve_turn

Make = Callable[..., Sketch]


def handle(**more: object) -> Sketch:
    """A crank alone with a weight, so slow that nothing but weight counts."""
    return msgspec.structs.replace(Sketch(
        parts=(part("frame", fixed=True, O=0j),
               part("crank", mass(0.5, 30 + 0j, 0.0), O=0j, A=60 + 0j)),
        pins=(Pin(id="o", at=("frame.O", "crank.O"), diameter_mm=8.0,
                  friction=(0.1, 0.5)),),
        drive=Drive(pin="o", part="crank", rpm=1e-6),
    ), **more)


def test_a_pin_resists_with_coefficient_times_radius_times_force() -> None:
    # Bearing torque μ·F·r (any textbook).
    turn = solve_turn(handle(), steps=36)
    found = effort(turn)
    weight = 0.5 * 9.81
    plain = weight * 30 * np.cos(turn.crank_rad)
    assert np.allclose(found.torque_nmm, plain)
    assert np.allclose(found.torque_low_nmm, plain + 0.1 * 4 * weight)
    assert np.allclose(found.torque_high_nmm, plain + 0.5 * 4 * weight)
    back = friction_band(turn, backwards=True)
    assert np.allclose(back.low_nmm, -plain + 0.1 * 4 * weight)
    assert np.allclose(back.high_nmm, -plain + 0.5 * 4 * weight)


def test_the_sense_of_cranking_is_the_sign_of_the_speed() -> None:
    turn = solve_turn(handle(drive=Drive(pin="o", part="crank", rpm=-1e-6)), steps=36)
    found = effort(turn)
    plain = -0.5 * 9.81 * 30 * np.cos(turn.crank_rad)
    assert np.allclose(found.torque_nmm, plain)
    assert np.allclose(found.torque_high_nmm, plain + 0.5 * 4 * 0.5 * 9.81)


def power(turn: Turn, loads: dict[str, JointLoad]) -> np.ndarray:
    """Work (N,) per radian of the crank that all joints do on their parts, N·mm."""
    speed, total = rates(turn), np.zeros(turn.crank_rad.size)
    for joint, names in owners(turn.sketch).items():
        load = loads[joint]
        for k, name in enumerate(names):
            row = turn.row(name)
            arm = load.place[:, k] - turn.shift[row]
            rate = 1j * speed.spin[row] * arm + speed.shift1[row]
            total += ((load.force[:, k].conj() * rate).real
                      + load.moment[:, k] * speed.spin[row])
    return total


@pytest.mark.parametrize("make", MAKES, ids=lambda make: make.__name__)
@pytest.mark.parametrize("backwards", [False, True])
def test_with_friction_every_part_is_in_balance_and_friction_takes_the_difference(
    make: Make, backwards: bool
) -> None:
    turn = solve_turn(make(), steps=60)
    found = effort(turn)
    band = friction_band(turn, backwards=backwards, tolerance=1e-9)
    sense = -1.0 if backwards else 1.0
    for torque, loads in ((band.low_nmm, band.low), (band.high_nmm, band.high)):
        assert np.isfinite(torque).all()
        scale = np.abs(torque).max()
        every = {name: (load.force, load.moment, load.place) for name, load in loads.items()}
        largest = max(np.abs(load.force).max() for load in loads.values())
        assert unbalanced(turn, every, sense * torque) <= 1e-8 * max(largest, scale / 100)
        # What the hand puts in beyond the frictionless torque, friction takes out; it
        # never gives.
        lost = -sense * power(turn, loads)
        assert np.abs(torque - sense * found.torque_nmm - lost).max() <= 1e-8 * scale
        assert lost.min() >= -1e-8 * scale
    assert (band.high_nmm > band.low_nmm).all()


@pytest.mark.parametrize("make", MAKES, ids=lambda make: make.__name__)
def test_without_coefficient_there_is_no_band(make: Make) -> None:
    found = effort(solve_turn(make(friction=(0.0, 0.0)), steps=24))
    assert np.allclose(found.torque_low_nmm, found.torque_nmm, atol=1e-9)
    assert np.allclose(found.torque_high_nmm, found.torque_nmm, atol=1e-9)


def test_a_looser_tolerance_is_still_close() -> None:
    turn = solve_turn(walking_leg(), steps=180)
    fine, rough = effort(turn, tolerance=1e-12), effort(turn, tolerance=1e-2)
    scale = np.abs(fine.torque_high_nmm).max()
    assert np.abs(rough.torque_high_nmm - fine.torque_high_nmm).max() <= 1e-2 * scale
    usual = effort(turn)
    assert np.abs(usual.torque_high_nmm - fine.torque_high_nmm).max() <= 1e-6 * scale


def drawer(offset: float, friction: tuple[float, float]) -> Sketch:
    """A slider-crank whose rod takes hold of the block to one side of its guide; a force
    on the guide line resists outwards and helps inwards."""
    a = 20 * cmath.exp(1j * math.radians(90))
    grip = complex(math.sqrt(200**2 - (a.imag - offset) ** 2), offset)
    line = complex(grip.real, 0)
    return Sketch(
        parts=(part("frame", fixed=True, O=0j, L=160 + 0j, R=240 + 0j),
               part("crank", mass(0, 0j, 0), O=0j, A=a),
               part("rod", mass(0, 0j, 0), A=a, B=grip),
               msgspec.structs.replace(part("block", mass(0, line, 0), P=line, B=grip),
                                       outline=block_outline(line))),
        pins=(Pin(id="o", at=("frame.O", "crank.O"), friction=(0, 0)),
              Pin(id="a", at=("crank.A", "rod.A"), friction=(0, 0)),
              Pin(id="b", at=("rod.B", "block.B"), friction=(0, 0))),
        slides=(Slide(id="way", point="block.P", along=("frame.L", "frame.R"),
                      friction=friction),),
        forces=(Force(id="load", at="block.P", fx_n=-5.0, fy_n=0.0),),
        gravity=Gravity(g_m_s2=0.0),
        drive=Drive(pin="o", part="crank", rpm=1e-6, drawn_deg=90.0),
    )


def block_outline(at: complex) -> Polygon:
    corners = (at + z for z in (-15 - 8j, 15 - 8j, 15 + 60j, -15 + 60j))
    return Polygon(outer=tuple((z.real, z.imag) for z in corners))


def test_a_drawer_pulled_off_centre_sticks_beyond_the_known_limit() -> None:
    # A drawer of guide length ℓ pulled at a distance a from its guide sticks when
    # 2·μ·a/ℓ ≥ 1 (textbook wedging condition). Here ℓ = 30 mm, a = 60 mm: μ = 0.25.
    turn = solve_turn(drawer(60.0, (0.2, 0.3)), steps=120)
    found = effort(turn)
    speed = rates(turn).shift1[turn.row("block")].real
    outwards, inwards = speed > 8.0, speed < -8.0
    assert outwards.sum() > 20
    assert inwards.sum() > 20
    assert np.isfinite(found.torque_low_nmm[outwards | inwards]).all()
    assert found.jams[outwards].all()
    assert np.isnan(found.torque_high_nmm[outwards]).all()
    assert not found.jams[inwards].any()
    # Outwards the rod's pull R is all that balances load and wedging: R·(1 − 2μa/ℓ) = F
    # but for the rod's small slope.
    wanted = 5.0 * speed / (1 - 2 * 0.2 * 60 / 30)
    close = outwards & (np.abs(np.cos(turn.crank_rad)) < 0.2)
    assert close.any()
    ratio = found.torque_low_nmm[close] / wanted[close]
    assert np.abs(ratio - 1).max() < 0.35


def test_a_slack_drawer_does_not_stick() -> None:
    found = effort(solve_turn(drawer(20.0, (0.2, 0.3)), steps=120))
    assert not found.jams.any()


def stalling() -> Sketch:
    """A crank that cannot go round drives a light rocker against a torque; only the
    rocker's pivot rubs."""
    a = 70 * cmath.exp(0.5j)
    b = meet(a, 100 + 0j, 60, 80)
    return Sketch(
        parts=(part("frame", fixed=True, O=0j, Q=100 + 0j),
               part("crank", mass(0, 0j, 0), O=0j, A=a),
               part("rod", mass(0, 0j, 0), A=a, B=b),
               part("rocker", mass(0, 0j, 0), Q=100 + 0j, B=b)),
        pins=(Pin(id="o", at=("frame.O", "crank.O"), friction=(0, 0)),
              Pin(id="a", at=("crank.A", "rod.A"), friction=(0, 0)),
              Pin(id="b", at=("rod.B", "rocker.B"), friction=(0, 0)),
              Pin(id="q", at=("rocker.Q", "frame.Q"), diameter_mm=40.0,
                  friction=(0.1, 0.5))),
        torques=(Torque(id="load", part="rocker", torque_nmm=-300.0),),
        gravity=Gravity(g_m_s2=0.0),
        drive=Drive(pin="o", part="crank", drawn_deg=math.degrees(0.5)),
    )


def test_a_rocker_jams_where_the_rod_points_into_the_friction_circle() -> None:
    # Friction circle (any textbook of mechanisms): the rod's force, at the distance h from
    # the rocker's pivot, must turn it against the load and against μ·r of its own.
    turn = solve_turn(stalling(), steps=720)
    found = effort(turn)
    assert 100 < turn.reached.sum() < 620
    assert np.isnan(found.torque_nmm[~turn.reached]).all()
    assert not found.jams[~turn.reached].any()
    a, b, q = (turn.path(ref) @ np.array([1, 1j]) for ref in ("rod.A", "rod.B", "frame.Q"))
    distance = np.abs(((b - a).conj() * (q - a)).imag) / 60
    resists = rates(turn).spin[turn.row("rocker")] > 0
    jammed = False
    for torque, mu in ((found.torque_low_nmm, 0.1), (found.torque_high_nmm, 0.5)):
        rub = mu * 20.0
        sound = turn.reached & ~(resists & (distance <= rub))
        ratio = distance / np.where(resists, distance - rub, distance + rub)
        assert np.allclose(torque[sound], (found.torque_nmm * ratio)[sound], rtol=1e-6)
        stuck = turn.reached & resists & (distance <= rub)
        jammed |= bool(stuck.any())
        assert np.isnan(torque[stuck]).all()
    assert jammed
    assert (found.jams == (turn.reached & resists & (distance <= 10.0))).all()
