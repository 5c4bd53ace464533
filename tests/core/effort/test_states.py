"""Backwards, let go, and the pace of inertia: closed forms, and by definition."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import replace as altered

import msgspec
import numpy as np
import pytest
from grown import KINDS, grown
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from weighted import MAKES, four_bar, mass, part, walking_leg

from core.effort import effort, friction_band
from core.effort.contacts import Contacts
from core.effort.frames import Frames, sense_of, weights_of
from core.effort.friction import Rubbing, rubbing, settle
from core.effort.reactions import Machine
from core.effort.stages import machine_of
from core.effort.states import States, states
from core.effort.torque import balance
from core.model import Drive, Gravity, Pin, Sketch, Slide, Torque
from core.motion import Turn, rates, solve_turn


def of(sketch: Sketch, steps: int = 360) -> States:
    turn = solve_turn(sketch, steps=steps)
    return states(turn, effort(turn))


def arm(low: float, high: float, rpm: float = 1e-6, radius: float = 20.0) -> Sketch:
    """Half a kilogram 60 mm from a thick pin."""
    return Sketch(
        parts=(part("frame", fixed=True, O=0j),
               part("crank", mass(0.5, 60 + 0j, 0.0), O=0j, A=60 + 0j)),
        pins=(Pin(id="o", at=("frame.O", "crank.O"), diameter_mm=2 * radius,
                  friction=(low, high)),),
        drive=Drive(pin="o", part="crank", rpm=rpm))


@pytest.mark.parametrize("rpm", [1e-6, -1e-6])
def test_a_mass_on_an_arm_stays_where_friction_outweighs_its_moment(rpm: float) -> None:
    # Statics, any textbook: μ·r·N ≥ m·g·l·|cos φ| with N = m·g. Here r/l = 1/3.
    found = of(arm(0.5, 2.0, rpm))
    lever = np.abs(np.cos(found.turn.crank_rad))
    assert np.allclose(found.spare_low_nmm, 0.5 * 9.81 * 60 * (0.5 / 3 - lever))
    assert np.allclose(found.spare_high_nmm, 0.5 * 9.81 * 60 * (2.0 / 3 - lever))
    edge = math.degrees(math.acos(0.5 / 3))
    spans = [tuple(math.degrees(end) for end in span) for span in found.may_leave]
    assert spans[0] == pytest.approx((180 - edge, 180 + edge), abs=0.01)
    assert spans[1] == pytest.approx((360 - edge, 360 + edge), abs=0.01)
    edge = math.degrees(math.acos(2.0 / 3))
    spans = [tuple(math.degrees(end) for end in span) for span in found.surely_leaves]
    assert spans[0] == pytest.approx((180 - edge, 180 + edge), abs=0.01)
    assert not of(arm(3.1, 3.2)).may_leave


def chute(slope_deg: float, mu: float) -> Sketch:
    """A weight on a slope, hung on a crank by a rod; only the slope rubs, and only the
    weight weighs."""
    down = cmath.exp(1j * math.radians(slope_deg))
    a = 20j * down
    grip = math.sqrt(100**2 - 20**2) * down
    return Sketch(
        parts=(part("frame", fixed=True, O=0j, L=60 * down, R=140 * down),
               part("crank", mass(0, 0j, 0), O=0j, A=a),
               part("rod", mass(0, 0j, 0), A=a, B=grip),
               part("block", mass(0.4, grip, 0), B=grip)),
        pins=tuple(Pin(id=name, at=at, friction=(0, 0)) for name, at in (
            ("o", ("frame.O", "crank.O")), ("a", ("crank.A", "rod.A")),
            ("b", ("rod.B", "block.B")))),
        slides=(Slide(id="way", point="block.B", along=("frame.L", "frame.R"),
                      friction=(mu, mu)),),
        drive=Drive(pin="o", part="crank", rpm=1e-6, drawn_deg=90.0 + slope_deg))


@pytest.mark.parametrize(("slope", "mu"), [(20.0, 0.3), (20.0, 0.35), (-20.0, 0.37),
                                           (-30.0, 0.57), (30.0, 0.58), (5.0, 0.1)])
def test_a_weight_on_a_slope_stays_exactly_below_the_angle_of_friction(slope, mu) -> None:
    # tan α ≤ μ (any textbook of statics): let go, the crank pulls at nothing, so it is the
    # slope alone that decides, at every crank angle but where the rod is in line.
    found = of(chute(slope, mu))
    if math.tan(math.radians(abs(slope))) <= mu:
        assert not found.may_leave
    else:
        loose = sum(b - a for a, b in found.surely_leaves)
        assert math.degrees(loose) > 355.0
    assert found.may_leave == found.surely_leaves


@pytest.mark.parametrize("make", MAKES, ids=lambda make: make.__name__)
def test_backwards_is_the_friction_band_backwards(make) -> None:
    turn = solve_turn(make(), steps=48)
    found, band = states(turn, effort(turn)), friction_band(turn, backwards=True)
    assert np.array_equal(found.back_low_nmm, band.low_nmm)
    assert np.array_equal(found.back_high_nmm, band.high_nmm)
    assert not found.back_jams.any()
    arm = turn.sketch.handle.radius_mm
    assert np.allclose(found.back_hand.high_n, band.high_nmm / arm)


@pytest.mark.parametrize("make", MAKES, ids=lambda make: make.__name__)
def test_standing_is_cranking_so_slowly_that_nothing_has_inertia(make) -> None:
    sketch = make()
    slow = msgspec.structs.replace(
        sketch, drive=msgspec.structs.replace(sketch.drive, rpm=1e-5))
    turn = solve_turn(slow, steps=48)
    strain = effort(turn)
    found = of(sketch, 48)
    assert np.allclose(found.on_low_nmm, strain.torque_low_nmm, rtol=1e-5, atol=1e-6)
    assert np.allclose(found.on_high_nmm, strain.torque_high_nmm, rtol=1e-5, atol=1e-6)


def resting(turn: Turn, share: Callable[[int], np.ndarray]) -> np.ndarray:
    """Torque (2, N) that a standing crank takes with the friction of every joint a share,
    between −1 and 1, of what it can be; `share` of how many joints gives them."""
    ready = balance(turn, still=True)
    sense, plan = sense_of(turn), ready.plan
    pins, slides, slots = share(len(plan.ends)), share(len(plan.slides)), share(len(plan.slots))

    def partly(frames: Frames, contacts: Contacts) -> Rubbing:
        rub = rubbing(turn.sketch, plan, frames, contacts, sense)
        return altered(rub, turning=rub.turning * pins[:, None, None],
                       sliding=rub.sliding * slides[:, None, None],
                       slots=np.broadcast_to(rub.slots * slots[:, None, None],
                                             (len(plan.slots), 2, frames.steps)))

    def rest(steps: np.ndarray) -> tuple[Machine, Rubbing]:
        frames = ready.frames.take(steps)
        contacts = Contacts(turn.sketch, plan, frames, weights_of(turn.sketch, plan))
        return machine_of(plan, contacts), partly(frames, contacts)

    plain = ready.machine.solve(ready.force, ready.moment)
    found = settle(ready.machine, partly(ready.frames, ready.contacts), plain, ready.force,
                   ready.moment, 1e-9, rest)
    torque = np.full((2, turn.crank_rad.size), np.nan)
    torque[:, ready.steps] = sense * found.drive
    return torque


groups_ = st.lists(st.sampled_from(KINDS), min_size=1, max_size=4)


@given(groups_, st.integers(0, 2**31))
@settings(max_examples=25)
def test_where_a_random_mechanism_stays_there_is_a_state_of_rest_without_a_hand(
    groups: list[str], seed: int
) -> None:
    """Between about to go on and about to go back lie states of rest, with the friction of
    every joint the same share of its most: one of them needs no torque at the crank."""
    sketch = msgspec.structs.replace(grown(groups, seed), friction=(0.05, 0.3))
    turn = solve_turn(sketch, steps=60)
    assume(turn.reached.all())
    found = states(turn, effort(turn))
    shares = np.linspace(-1, 1, 21)
    torque = np.array([resting(turn, lambda n, s=s: np.full(n, s)) for s in shares])
    for k, spare in enumerate((found.spare_low_nmm, found.spare_high_nmm)):
        solved = np.isfinite(torque[:, k]).all(axis=0) & np.isfinite(spare)
        passes = (torque[:-1, k] * torque[1:, k] <= 0.0).any(axis=0)
        scale = np.nanmax(np.abs(torque[:, k]), initial=0.0)
        clear = solved & (np.abs(spare) > 1e-6 * scale)
        assert (passes == (spare > 0.0))[clear].all()


@given(groups_, st.integers(0, 2**31))
@settings(max_examples=25)
def test_states_of_rest_at_random_lie_in_the_interval_but_for_a_little(
    groups: list[str], seed: int
) -> None:
    """Joints that rub against each other can hold a little more than when about to move:
    of the second order in the coefficient."""
    sketch = msgspec.structs.replace(grown(groups, seed), friction=(0.02, 0.1))
    turn = solve_turn(sketch, steps=60)
    assume(turn.reached.all())
    found, rng = states(turn, effort(turn)), np.random.default_rng(seed)
    scale = float(np.nanmax(np.abs(found.effort.torque_nmm), initial=0.0))
    for _ in range(4):
        low, high = resting(turn, lambda n: rng.uniform(-1, 1, n))
        for torque, on, off in ((low, found.on_low_nmm, found.off_low_nmm),
                                (high, found.on_high_nmm, found.off_high_nmm)):
            fine = np.isfinite(torque) & np.isfinite(on) & np.isfinite(off)
            beyond = np.maximum(torque - on, -off - torque)[fine]
            assert (beyond <= 0.2 * (on + off)[fine] + 1e-6 * scale).all()


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_brake_holds_back_both_ways_and_holds_still_both_ways(sign: float) -> None:
    washer = Torque(id="washer", part="crank", torque_nmm=sign * 100.0, brakes=True)
    for rpm in (1e-6, -1e-6):
        bare, braked = of(arm(0.1, 0.2, rpm)), of(
            msgspec.structs.replace(arm(0.1, 0.2, rpm), torques=(washer,)))
        assert np.allclose(braked.effort.torque_nmm, bare.effort.torque_nmm + 100.0)
        assert np.allclose(braked.back_high_nmm, bare.back_high_nmm + 100.0)
        assert np.allclose(braked.spare_low_nmm, bare.spare_low_nmm + 100.0)
        assert np.allclose(braked.effort.shares["loads"], 100.0)


def test_a_brake_on_a_rocker_follows_its_turning() -> None:
    washer = Torque(id="washer", part="rocker", torque_nmm=30.0, brakes=True)
    plain, braked = solve_turn(four_bar()), solve_turn(four_bar(torques=(washer,)))
    more = effort(braked).torque_nmm - effort(plain).torque_nmm
    spin = rates(plain).spin[plain.row("rocker")]
    assert np.allclose(more, 30.0 * np.abs(spin), atol=1e-6)


def test_a_four_bar_that_jams_only_backwards_is_seen() -> None:
    # The stalling rocker of the friction tests, cranked so that its load helps forwards.
    from test_friction import stalling
    sketch = stalling()
    helped = msgspec.structs.replace(
        sketch, torques=(msgspec.structs.replace(sketch.torques[0], torque_nmm=300.0),))
    found = of(helped, 720)
    forwards = of(sketch, 720)
    assert forwards.effort.jams.any()
    assert found.only_back_jams.any()
    assert (found.only_back_jams <= found.back_jams).all()
    assert not found.back_jams[~found.turn.reached].any()


def test_the_pace_at_which_inertia_equals_the_rest() -> None:
    found = of(four_bar(friction=(0.0, 0.0)))
    (begins, same), (equals, _) = found.pace.begins_rpm, found.pace.equals_rpm
    assert begins == pytest.approx(same)
    assert equals == pytest.approx(begins * math.sqrt(10))
    for rpm, share in ((begins, 0.1), (equals, 1.0)):
        sketch = four_bar(friction=(0.0, 0.0))
        turn = solve_turn(msgspec.structs.replace(
            sketch, drive=msgspec.structs.replace(sketch.drive, rpm=rpm)), steps=360)
        shares = effort(turn).shares
        rest = sum(shares[name] for name in ("gravity", "springs", "loads"))
        assert np.abs(shares["inertia"]).max() == pytest.approx(share * np.abs(rest).max())


def test_more_friction_lets_inertia_count_later() -> None:
    low, high = of(walking_leg()).pace.begins_rpm
    assert 0.0 < low < high
    assert of(arm(0.1, 0.2)).pace.begins_rpm == (math.inf, math.inf)
    flat = of(four_bar(friction=(0.0, 0.0), gravity=Gravity(g_m_s2=0.0)))
    assert flat.pace.begins_rpm[0] >= 0.0
