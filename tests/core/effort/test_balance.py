"""Every part is in balance, and the torque found two ways is one."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from weighted import (
    MAKES,
    four_bar,
    geared_pair,
    locked_shaft,
    mass,
    part,
    slider_crank,
    unbalanced,
)

from core.effort import driving_torque, effort
from core.model import Belt, Drive, Force, Gravity, Lock, Mesh, Pin, Point, Sketch, Spring
from core.motion import Turn, solve_turn

Make = Callable[..., Sketch]


def left_over(turn: Turn) -> float:
    """What no part balances without friction, N."""
    found = effort(turn)
    loads = {name: (force, found.moments[name], found.places[name])
             for name, force in found.reactions.items()}
    return unbalanced(turn, loads, math.copysign(1.0, turn.sketch.drive.rpm)
                      * found.torque_nmm)


@pytest.mark.parametrize("make", MAKES, ids=lambda make: make.__name__)
@pytest.mark.parametrize("rpm", [40.0, -90.0])
def test_every_part_is_in_balance_and_both_torques_agree(make: Make, rpm: float) -> None:
    turn = solve_turn(make(rpm=rpm), steps=48)
    found = effort(turn)
    scale = np.abs(found.torque_nmm).max()
    assert scale > 0.1
    assert np.abs(found.torque_nmm - found.virtual_power_nmm).max() <= 1e-9 * scale
    assert np.allclose(sum(found.shares.values()), found.virtual_power_nmm, atol=1e-12 * scale)
    assert np.array_equal(driving_torque(turn), found.virtual_power_nmm)
    largest = max(np.abs(f).max() for f in found.reactions.values())
    assert left_over(turn) <= 1e-9 * max(largest, scale / 100)


@pytest.mark.parametrize("make", MAKES, ids=lambda make: make.__name__)
def test_the_forces_of_a_joint_cancel(make: Make) -> None:
    found = effort(solve_turn(make(), steps=24))
    for joint, force in found.reactions.items():
        assert np.abs(force.sum(axis=1)).max() <= 1e-12 * (1 + np.abs(force).max()), joint


def moved(sketch: Sketch, scale: float, turned: float, shift: complex) -> Sketch:
    """A sketch scaled, turned about the origin (rad) and shifted."""
    def at(x: float, y: float) -> complex:
        return scale * cmath.exp(1j * turned) * complex(x, y) + shift

    def point(p: Point) -> Point:
        z = at(p.x, p.y)
        return msgspec.structs.replace(p, x=z.real, y=z.imag)

    parts = []
    for each in sketch.parts:
        weighs = each.mass
        if weighs is not None:
            z = at(weighs.x, weighs.y)
            weighs = mass(weighs.mass_kg, z, weighs.inertia_kgmm2 * scale**2)
        parts.append(msgspec.structs.replace(
            each, points=tuple(point(p) for p in each.points), mass=weighs))
    gravity = sketch.gravity
    return msgspec.structs.replace(sketch, parts=tuple(parts), gravity=Gravity(
        g_m_s2=gravity.g_m_s2,
        direction_deg=gravity.direction_deg + math.degrees(turned)))


@given(st.sampled_from([four_bar, slider_crank, geared_pair]), st.floats(-3, 3),
       st.floats(-500, 500), st.floats(-500, 500))
@settings(max_examples=15)
def test_turning_and_shifting_the_sketch_with_its_gravity_changes_no_torque(
    make: Make, turned: float, dx: float, dy: float
) -> None:
    sketch = make()
    before = effort(solve_turn(sketch, steps=24))
    after = effort(solve_turn(moved(sketch, 1.0, turned, complex(dx, dy)), steps=24))
    scale = np.abs(before.torque_nmm).max()
    assert np.abs(after.torque_nmm - before.torque_nmm).max() <= 1e-8 * scale
    for band in ("torque_low_nmm", "torque_high_nmm"):
        assert np.allclose(getattr(after, band), getattr(before, band), atol=1e-7 * scale)


@given(st.sampled_from([slider_crank, geared_pair]), st.floats(0.2, 5), st.floats(0.2, 5))
@settings(max_examples=12)
def test_torque_scales_with_lengths_masses_and_gravity(
    make: Make, scale: float, heavier: float
) -> None:
    before = effort(solve_turn(make(), steps=24))
    grown = moved(make(), scale, 0.0, 0j)
    parts = tuple(msgspec.structs.replace(p, mass=None if p.mass is None else mass(
        p.mass.mass_kg * heavier, complex(p.mass.x, p.mass.y),
        p.mass.inertia_kgmm2 * heavier)) for p in grown.parts)
    # Gravity grows with the lengths too, so that it and inertia scale alike.
    after = effort(solve_turn(msgspec.structs.replace(
        grown, parts=parts, gravity=Gravity(g_m_s2=9.81 * scale)), steps=24))
    wanted = before.torque_nmm * scale**2 * heavier
    assert np.abs(after.torque_nmm - wanted).max() <= 1e-9 * np.abs(wanted).max()
    one, two = before.reactions["a"], after.reactions["a"]
    wanted = one * scale * heavier
    assert np.abs(two - wanted).max() <= 1e-9 * np.abs(wanted).max()


@pytest.mark.parametrize("make", MAKES, ids=lambda make: make.__name__)
def test_a_closed_turn_without_friction_takes_no_energy(make: Make) -> None:
    sketch = make()
    # Only loads with a potential can give back what they take.
    sketch = msgspec.structs.replace(sketch, forces=(), torques=())
    found = effort(solve_turn(sketch, steps=1440))
    mean = found.torque_nmm.mean()
    assert abs(mean) <= 1e-6 * np.abs(found.torque_nmm).max()


def test_a_force_on_a_point_asks_for_its_work_alone() -> None:
    # T = −ΣF·(∂r/∂θ), the static torque (principle of virtual work, any textbook).
    sketch = four_bar(springs=())
    light = tuple(msgspec.structs.replace(p, mass=mass(0.0, 0j, 0.0)) for p in sketch.parts)
    sketch = msgspec.structs.replace(sketch, parts=light, forces=(
        Force(id="f", at="coupler.P", fx_n=1.5, fy_n=-2.0),))
    turn = solve_turn(sketch, steps=720)
    path = turn.path("coupler.P") @ np.array([1, 1j])
    wave = np.fft.fftfreq(720, 1 / 720)
    slope = np.fft.ifft(1j * wave * np.fft.fft(path))  # exact for a smooth closed path
    wanted = -(np.conj(1.5 - 2.0j) * slope).real
    found = effort(turn)
    assert np.abs(found.torque_nmm - wanted).max() <= 1e-9 * np.abs(wanted).max()


def planetary(internal: bool) -> Sketch:
    """An arm carries a planet round a fixed wheel; the planet holds a weight."""
    fixed_teeth, teeth = (60, 20) if internal else (30, 20)
    centre = (fixed_teeth - teeth if internal else fixed_teeth + teeth) * 1.0
    c = centre * cmath.exp(0.4j)
    return Sketch(
        parts=(
            part("frame", fixed=True, O=0j),
            part("arm", mass(0.2, 0.4 * c + 3j, 90.0), O=0j, C=c),
            part("planet", mass(0.3, c + 7 - 4j, 70.0), C=c),
        ),
        pins=(Pin(id="o", at=("frame.O", "arm.O")), Pin(id="c", at=("arm.C", "planet.C"))),
        meshes=(Mesh(id="teeth", a="frame.O", b="planet.C", teeth_a=fixed_teeth,
                     teeth_b=teeth, internal=internal),),
        drive=Drive(pin="o", part="arm", rpm=80.0),
    )


@pytest.mark.parametrize("internal", [False, True])
def test_a_planet_on_an_arm_is_in_balance(internal: bool) -> None:
    turn = solve_turn(planetary(internal), steps=90)
    found = effort(turn)
    scale = np.abs(found.torque_nmm).max()
    assert np.abs(found.torque_nmm - found.virtual_power_nmm).max() <= 1e-9 * scale
    assert left_over(turn) <= 1e-10 * scale


@pytest.mark.parametrize("internal", [False, True])
def test_gear_teeth_push_at_the_pressure_angle(internal: bool) -> None:
    found = effort(solve_turn(planetary(internal), steps=90))
    push, place = found.reactions["teeth"], found.places["teeth"]
    line = place[:, 1] - place[:, 0]
    line /= np.abs(line)
    along, across = ((np.conj(line * turn) * push[:, 1]).real for turn in (1, 1j))
    assert np.abs(across).max() > 1.0
    assert np.allclose(np.abs(along), np.abs(across) * math.tan(math.radians(20)), rtol=1e-12)
    # External teeth push the planet outwards, a ring's teeth push it inwards.
    assert (along[np.abs(across) > 1e-9] > 0).all() != internal


@pytest.mark.parametrize("crossed", [False, True])
def test_a_belt_pulls_along_its_tight_side(crossed: bool) -> None:
    a, b = 0j, 100 + 0j
    sketch = Sketch(
        parts=(part("frame", fixed=True, A=a, B=b),
               part("small", mass(0.1, a, 10.0), A=a),
               part("large", mass(0.5, b + 12j, 200.0), B=b)),
        pins=(Pin(id="a", at=("frame.A", "small.A")), Pin(id="b", at=("frame.B", "large.B"))),
        belts=(Belt(id="cord", a="small.A", b="large.B", diameter_a_mm=20.0,
                    diameter_b_mm=40.0, crossed=crossed),),
        drive=Drive(pin="a", part="small", rpm=10.0),
    )
    turn = solve_turn(sketch, steps=72)
    found = effort(turn)
    assert left_over(turn) <= 1e-11
    tension = found.tension["cord"]
    assert np.allclose(np.abs(found.moments["cord"]), tension[:, None] * [10.0, 20.0])
    assert np.allclose(np.abs(found.reactions["cord"]), tension[:, None])
    # Both wheels are pulled towards each other, at the angle of the tight side.
    reach = (10 + 20 if crossed else 20 - 10) / 100
    pull = found.reactions["cord"][:, 0]
    assert np.allclose(pull.real, tension * math.sqrt(1 - reach**2))
    assert np.allclose(np.abs(pull.imag), tension * reach)


def test_a_lock_carries_what_its_part_cannot_bear_alone() -> None:
    # Disc and arm share shaft o; the disc is driven, so the glue hands on all the torque
    # the arm needs, and the pin's force is shared equally.
    found = effort(solve_turn(locked_shaft(), steps=48))
    pin = found.reactions["o"]
    assert np.allclose(pin[:, 1], pin[:, 2])
    assert np.allclose(found.moments["glue"].sum(axis=1), 0.0, atol=1e-12)
    assert np.abs(found.moments["glue"]).max() > 1.0
    assert np.abs(found.reactions["glue"]).max() > 1e-3


def test_a_lock_of_one_part_acts_at_its_pin_and_carries_nothing() -> None:
    sketch = four_bar(locks=(Lock(id="fast", parts=("rocker",), pin="q"),))
    turn = solve_turn(sketch, steps=48)
    found = effort(turn)
    at = turn.path("rocker.Q") @ np.array([1, 1j])
    np.testing.assert_allclose(found.places["fast"][:, 0], at, atol=1e-9)
    assert not found.reactions["fast"].any()
    assert not found.moments["fast"].any()


def test_a_spring_without_push_is_slack_below_its_free_length() -> None:
    turn = solve_turn(four_bar(gravity=Gravity(g_m_s2=0.0), rpm=1e-6, springs=(
        Spring(id="s", a="coupler.P", b="frame.S", rate_n_per_mm=0.1,
               free_length_mm=100.0),)), steps=360)
    reach = np.abs((turn.path("coupler.P") - turn.path("frame.S")) @ np.array([1, 1j]))
    slack = reach < 100.0
    assert 20 < slack.sum() < 340
    torque = effort(turn).torque_nmm
    assert np.abs(torque[slack]).max() < 1e-9
    assert np.abs(torque[~slack]).max() > 10.0


def test_a_joint_too_many_shares_the_load_evenly_and_says_so() -> None:
    # A parallelogram with a third, parallel arm: one joint more than needed.
    a = 30 * cmath.exp(0.8j)
    arms = {"crank": 0j, "middle": 60 + 0j, "far": 120 + 0j}
    sketch = Sketch(
        parts=(part("frame", fixed=True, **arms),
               *(part(k, mass(0.1, z + 0.5 * a, 10.0), O=z, A=z + a)
                 for k, z in arms.items()),
               part("bar", mass(0.6, 60 + a, 900.0), **{k: z + a for k, z in arms.items()})),
        pins=tuple(pin for k in arms for pin in (
            Pin(id=f"low-{k}", at=(f"frame.{k}", f"{k}.O")),
            Pin(id=f"high-{k}", at=(f"{k}.A", f"bar.{k}")))),
        drive=Drive(pin="low-crank", part="crank", rpm=15.0,
                                               drawn_deg=math.degrees(0.8)),
    )
    turn = solve_turn(sketch, steps=72)
    found = effort(turn)
    assert any("share the load" in note for note in found.notes)
    scale = np.abs(found.torque_nmm).max()
    assert np.abs(found.torque_nmm - found.virtual_power_nmm).max() <= 1e-9 * scale
    assert left_over(turn) <= 1e-9 * scale
    # Where all arms lie on one line no reaction is determined: none is invented.
    sound = np.isfinite(found.reactions["high-middle"]).all(axis=1)
    assert np.flatnonzero(~sound).tolist() == [0, 36]
    # Friction jams it close to there, and nowhere else.
    assert np.abs(np.sin(turn.crank_rad[found.jams])).max(initial=0.0) < 0.2



def test_a_dead_point_has_no_invented_reactions_and_keeps_its_torque() -> None:
    # A parallelogram passes through dead points at 0 and 180 degrees: there no force is
    # determined; the torque still is, by virtual power.
    a = 30 * cmath.exp(0.8j)
    sketch = Sketch(
        parts=(part("frame", fixed=True, O=0j, Q=80 + 0j),
               part("crank", mass(0.1, 0.5 * a, 10.0), O=0j, A=a),
               part("bar", mass(0.4, 40 + a, 300.0), A=a, B=80 + a),
               part("arm", mass(0.1, 80 + 0.5 * a, 10.0), Q=80 + 0j, B=80 + a)),
        pins=(Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "bar.A")),
              Pin(id="b", at=("bar.B", "arm.B")), Pin(id="q", at=("arm.Q", "frame.Q"))),
        drive=Drive(pin="o", part="crank", rpm=15.0, drawn_deg=math.degrees(0.8)),
    )
    turn = solve_turn(sketch, steps=720)
    found = effort(turn)
    assert turn.reached.all()
    sound = np.isfinite(found.reactions["b"]).all(axis=1)
    assert np.flatnonzero(~sound).tolist() == [0, 360]
    weight = 9.81 * (0.1 * 15 + 0.4 * 30 + 0.1 * 15)  # all centres move alike, N·mm
    assert np.allclose(found.torque_nmm, weight * np.cos(turn.crank_rad), atol=1e-6)
    assert not found.jams[~sound].any()


def test_pins_inside_a_rigid_body_bear_their_share() -> None:
    # A plate hung on the rocker by two pins, and fast to it there by nothing else; a lock
    # between plate and a flag, doubled.
    base = four_bar(rpm=3.0, springs=())
    rocker = base.part("rocker")
    x, y = 105 + 20j, 85 + 30j
    more = msgspec.structs.replace(
        base, parts=(*base.parts[:3],
                     msgspec.structs.replace(rocker, points=(
                         *rocker.points, Point(id="X", x=x.real, y=x.imag),
                         Point(id="Y", x=y.real, y=y.imag))),
                     part("plate", mass(0.3, 80 + 60j, 90.0), X=x, Y=y),
                     part("flag", mass(0.1, 70 + 95j, 20.0), Z=72 + 90j)),
        pins=(*base.pins, Pin(id="x", at=("rocker.X", "plate.X")),
              Pin(id="y", at=("plate.Y", "rocker.Y"))),
        locks=(Lock(id="glue", parts=("plate", "flag")),
               Lock(id="screws", parts=("flag", "plate"))))
    turn = solve_turn(more, steps=36)
    found = effort(turn)
    assert left_over(turn) <= 1e-9 * np.abs(found.reactions["b"]).max()
    for pin in ("x", "y"):
        assert np.abs(found.reactions[pin]).min() > 0.1
        assert np.allclose(found.moments[pin], 0.0)
    # The two locks sit at one place or another; between them the flag's weight is shared.
    flag = found.reactions["glue"][:, 1] + found.reactions["screws"][:, 0]
    assert np.abs(flag - 0.1 * 9.81j).max() < 0.01  # turning slowly: inertia is small


def test_a_fixed_plate_on_two_pins_weighs_on_both() -> None:
    base = four_bar(springs=())
    frame = base.part("frame")
    x, y = 20 - 60j, 80 - 60j
    more = msgspec.structs.replace(
        base, parts=(msgspec.structs.replace(frame, points=(
            *frame.points, Point(id="X", x=x.real, y=x.imag),
            Point(id="Y", x=y.real, y=y.imag))), *base.parts[1:],
            part("plate", mass(0.3, 50 - 60j, 100.0), X=x, Y=y)),
        pins=(*base.pins, Pin(id="x", at=("frame.X", "plate.X")),
              Pin(id="y", at=("frame.Y", "plate.Y"))))
    found = effort(solve_turn(more, steps=12))
    for pin in ("x", "y"):
        assert np.allclose(found.reactions[pin], [-0.15 * 9.81j, 0.15 * 9.81j])
