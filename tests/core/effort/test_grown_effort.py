"""Random mechanisms of every joint kind: in balance, both torques one, friction takes."""

from __future__ import annotations

import cmath
import math

import msgspec
import numpy as np
from grown import KINDS, grown, moved
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from weighted import unbalanced

from core.effort import effort, friction_band
from core.model import Gravity, Mass, Sketch, Spring
from core.motion import solve_turn

kinds = st.lists(st.sampled_from(KINDS), min_size=1, max_size=5)


def loaded(groups: list[str], seed: int) -> Sketch:
    """A random sketch, in plywood, with a spring between its first and last part."""
    sketch = grown(groups, seed)
    last = sketch.parts[-1]
    first = sketch.parts[0].points[0]
    assume(abs(last.points[-1].x - first.x) > 1.0)
    spring = Spring(id="spring", a=f"frame.{first.id}",
                    b=f"{last.id}.{last.points[-1].id}", rate_n_per_mm=0.02,
                    free_length_mm=30.0, pushes=True)
    return msgspec.structs.replace(sketch, springs=(spring,), friction=(0.05, 0.2))


@given(kinds, st.integers(0, 2**31))
@settings(max_examples=40)
def test_every_part_of_a_random_mechanism_is_in_balance(groups: list[str], seed: int) -> None:
    turn = solve_turn(loaded(groups, seed), steps=120)
    assume(turn.reached.any())
    found = effort(turn)
    asked = np.sum(np.abs(list(found.shares.values())), axis=0)
    forces = np.array([np.abs(f).max(axis=1) for f in found.reactions.values()])
    # Where nearly dead, reactions and rates are huge and so is rounding.
    scale = asked + 100.0 * np.nan_to_num(forces).max(axis=0)
    apart = np.abs(found.torque_nmm - found.virtual_power_nmm)
    assert (apart[turn.reached] <= 1e-9 * scale[turn.reached]).all()
    loads = {name: (force, found.moments[name], found.places[name])
             for name, force in found.reactions.items()}
    left = unbalanced(turn, loads, found.torque_nmm)
    assert left <= 1e-9 * np.nanmax(scale)


@given(kinds, st.integers(0, 2**31))
@example(["fast", "pin in slot"], 3524)
@settings(max_examples=30)
def test_friction_of_a_random_mechanism_only_ever_takes(groups: list[str], seed: int) -> None:
    turn = solve_turn(loaded(groups, seed), steps=120)
    assume(turn.reached.any())
    found, band = effort(turn), friction_band(turn, tolerance=1e-9)
    assert not (found.jams & ~turn.reached).any()
    for torque, loads in ((band.low_nmm, band.low), (band.high_nmm, band.high)):
        size = max(float(np.nanmax(np.abs(load.force), initial=0.0))
                   for load in loads.values())
        scale = np.nanmax(np.abs(torque), initial=0.0) + 100.0 * size
        lost = torque - found.torque_nmm
        assert np.nanmin(lost, initial=0.0) >= -1e-8 * scale
        every = {name: (load.force, load.moment, load.place) for name, load in loads.items()}
        if np.isfinite(torque).any():
            # Settled on the torque: where a slide changes the end it rubs on at the last
            # step, single forces may be a little off.
            assert unbalanced(turn, every, torque) <= 1e-6 * scale


def weighted(sketch: Sketch, turn: complex, shift: complex) -> Sketch:
    """The sketch with every place z at turn·z + shift, every part with a typed mass beside
    its first point, gravity and springs turned and scaled with it."""
    parts, scale = [], abs(turn)
    for number, (drawn, now) in enumerate(zip(sketch.parts, moved(sketch, turn, shift).parts,
                                              strict=True)):
        first = drawn.points[0]
        centre = turn * complex(first.x + 7, first.y + 5) + shift
        parts.append(msgspec.structs.replace(now, mass=Mass(
            mass_kg=0.1 + 0.05 * number, x=centre.real, y=centre.imag,
            inertia_kgmm2=(40.0 + number) * scale**2)))
    springs = tuple(msgspec.structs.replace(each, free_length_mm=each.free_length_mm * scale)
                    for each in sketch.springs)
    return msgspec.structs.replace(
        sketch, parts=tuple(parts), springs=springs,
        gravity=Gravity(g_m_s2=9.81 * scale,
                        direction_deg=-90.0 + math.degrees(cmath.phase(turn))))


@given(kinds, st.integers(0, 2**31), st.floats(0.2, 5), st.floats(-3, 3),
       st.integers(-500, 500))
@settings(max_examples=40)
def test_scaling_turning_and_shifting_a_random_mechanism_scales_its_torque(
    groups: list[str], seed: int, scale: float, angle: float, shift: int
) -> None:
    """With lengths, gravity and springs all scaled by s every force grows by s and every
    torque by s²."""
    sketch = loaded(groups, seed)
    by = cmath.rect(scale, angle)
    turn = solve_turn(weighted(sketch, 1 + 0j, 0j), steps=120)
    other = solve_turn(weighted(sketch, by, complex(shift, -shift)), steps=120)
    # Close to a lock rates grow without bound, and rounding with them.
    good = turn.reached & other.reached
    for limit in turn.limits:
        off = turn.crank_rad - limit.crank_rad
        cycle = 2 * math.pi * turn.crank_turns
        good &= np.abs(off - cycle * np.round(off / cycle)) > 0.05
    assume(good.any())
    one, two = effort(turn), effort(other)
    asked = np.sum(np.abs(list(one.shares.values())), axis=0)[good]
    apart = np.abs(two.torque_nmm - scale**2 * one.torque_nmm)[good]
    assert asked.max() > 1.0
    assert (apart <= 1e-6 * scale**2 * (asked + asked.max())).all()
