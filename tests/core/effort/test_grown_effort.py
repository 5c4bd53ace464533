"""Random mechanisms of every joint kind: in balance, both torques one, friction takes."""

from __future__ import annotations

import msgspec
import numpy as np
from grown import KINDS, grown
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from weighted import unbalanced

from core.effort import effort, friction_band
from core.model import Sketch, Spring
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
