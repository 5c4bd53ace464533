"""What the hand feels: handle, steps, limits, play."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from weighted import four_bar, mass, part

from core.effort import LIMITS, Hand, effort, hand
from core.effort.hand import backlash_of, felt
from core.effort.push_limits import limit_of
from core.model import Drive, Gravity, Handle, HandStep, Pin, Sketch, Torque
from core.motion import solve_turn

GEARS = HandStep(driver=12, driven=36, efficiency=(0.8, 0.9), backlash_mm=0.3, module_mm=2.0)
BELT = HandStep(driver=30, driven=45, kind="belt", efficiency=(0.95, 0.97))
CROSSED = replace(BELT, kind="crossed belt")


def weight(friction: tuple[float, float] = (0.0, 0.0), **more: object) -> Sketch:
    """Half a kilogram 60 mm from the crank's pin, so slow that only weight counts."""
    return Sketch(
        parts=(part("frame", fixed=True, O=0j),
               part("crank", mass(0.5, 60 + 0j, 0.0), O=0j, A=60 + 0j)),
        pins=(Pin(id="o", at=("frame.O", "crank.O"), friction=friction),),
        drive=Drive(pin="o", part="crank", rpm=1e-6), **more)


def feel(sketch: Sketch, steps: int = 360) -> Hand:
    turn = solve_turn(sketch, steps=steps)
    return hand(turn, effort(turn))


def test_on_the_cranks_own_shaft_the_push_is_torque_over_radius() -> None:
    turn = solve_turn(four_bar(handle=Handle(radius_mm=90.0)), steps=120)
    strain = effort(turn)
    found = hand(turn, strain)
    assert np.allclose(found.plain_n, strain.torque_nmm / 90.0)
    assert np.allclose(found.force_low_n, strain.torque_low_nmm / 90.0)
    assert np.allclose(found.force_high_n, strain.torque_high_nmm / 90.0)
    assert (found.ratio, found.sense, found.backlash_rad) == (1.0, 1, 0.0)
    assert found.peak_n == pytest.approx(strain.peak_high_nmm / 90.0)
    assert found.peak_rad == strain.peak_high_rad
    assert found.jam_torque_nmm == pytest.approx(22.0 * 90.0)


def test_steps_lose_of_a_push_and_help_to_hold_back() -> None:
    # Power in = power out / efficiency; driven from the other end, the loss helps the hand.
    plain = 0.5 * 9.81 * 60 * np.cos(np.radians(np.arange(360)))
    found = feel(weight(handle=Handle(radius_mm=100.0, steps=(GEARS, BELT))))
    ratio = 3.0 * 1.5
    best, worst = 0.9 * 0.97, 0.8 * 0.95
    assert found.ratio == pytest.approx(ratio)
    assert found.turns == pytest.approx(ratio)
    assert found.rpm == pytest.approx(1e-6 * ratio)
    up, down = plain > 1e-6, plain < -1e-6
    bare = plain / (100.0 * ratio)
    assert np.allclose(found.plain_n, bare)
    assert np.allclose(found.force_high_n[up], (bare / worst)[up])
    assert np.allclose(found.force_low_n[up], (bare / best)[up])
    assert np.allclose(found.force_low_n[down], (bare * best)[down])
    assert np.allclose(found.force_high_n[down], (bare * worst)[down])
    assert found.hold_n == pytest.approx(best * 0.5 * 9.81 * 60 / 100 / ratio)
    assert math.degrees(found.hold_rad) == pytest.approx(180.0)
    assert found.jam_torque_nmm == pytest.approx(22.0 * 100.0 * ratio * best)


def test_power_is_lost_never_won_whatever_the_torque() -> None:
    rng = np.random.default_rng(5)
    low = rng.uniform(-50, 50, 200)
    high = low + rng.uniform(0, 30, 200)
    for steps in ((), (GEARS,), (CROSSED, GEARS, BELT)):
        handle = Handle(radius_mm=80.0, steps=steps)
        push = felt(handle, low, high)
        arm = 80.0 * math.prod(step.ratio for step in steps)
        assert (push.low_n * arm >= low - 1e-9).all()
        assert (push.high_n * arm >= high - 1e-9).all()
        assert (push.low_n <= push.high_n + 1e-9).all()


@pytest.mark.parametrize(("steps", "turned"), [
    ((), 1), ((GEARS,), -1), ((BELT,), 1), ((CROSSED,), -1), ((GEARS, CROSSED), 1),
    ((GEARS, BELT, GEARS, GEARS), -1)])
@pytest.mark.parametrize("rpm", [20.0, -20.0])
def test_gears_and_crossed_belts_turn_the_hand_the_other_way(steps, turned, rpm) -> None:
    sketch = four_bar(rpm=rpm, handle=Handle(steps=steps))
    assert feel(sketch, 24).sense == (turned if rpm > 0 else -turned)


def test_play_adds_up_through_the_train_as_the_handle_feels_it() -> None:
    # 0.3 mm on the 12 mm pitch radius of the hand's own wheel: 0.025 rad; that of a second
    # pair shows three times as large at the handle.
    assert backlash_of((GEARS,)) == pytest.approx(0.3 / 12)
    assert backlash_of((GEARS, BELT, GEARS)) == pytest.approx(0.3 / 12 * (1 + 3 * 1.5))
    assert backlash_of((BELT, CROSSED)) == 0.0
    assert backlash_of((GEARS, replace(GEARS, module_mm=None))) is None


def test_it_knocks_where_the_push_changes_its_sign() -> None:
    geared = Handle(steps=(GEARS,))
    found = feel(weight(handle=geared))
    assert np.degrees(found.knocks_rad) == pytest.approx([90.0, 270.0], abs=1e-6)
    assert found.surely_knocks_rad == pytest.approx(found.knocks_rad)
    assert feel(weight()).knocks_rad == ()
    assert feel(weight(handle=Handle(steps=(BELT,)))).knocks_rad == ()
    # With a load that never lets go the teeth stay on one flank.
    held = weight(handle=geared, torques=(Torque(id="t", part="crank", torque_nmm=-400.0),))
    assert feel(held).knocks_rad == ()
    driven = weight(handle=geared, torques=(Torque(id="t", part="crank", torque_nmm=400.0),))
    assert feel(driven).knocks_rad == ()


def test_friction_that_always_bears_keeps_the_teeth_on_one_flank() -> None:
    # 3 mm pin radius: 60 mm of arm need mu = 20 to be always held; 21 to 25 never knocks.
    found = feel(weight((0.1, 25.0), handle=Handle(steps=(GEARS,))))
    assert len(found.knocks_rad) == 2
    assert found.surely_knocks_rad == ()


def test_the_limit_is_the_users_own_else_the_presets() -> None:
    # Ivergård and Hunt, as read in a copy: 9 to 22 N below 80 mm, 22 to 45 N from 125 mm.
    assert limit_of(Handle(radius_mm=75))[0] == 22.0
    assert limit_of(Handle(radius_mm=124.9))[0] == 22.0
    assert limit_of(Handle(radius_mm=125))[0] == 45.0
    assert limit_of(Handle(radius_mm=150, who="child"))[0] == 10.0
    assert limit_of(Handle(who="child", limit_n=7.5)) == (7.5, "the user's own limit")
    assert all(one.source and one.easy_n < one.most_n for one in LIMITS)


def test_stretches_above_the_limit_are_those_of_the_curve() -> None:
    # 294.3 N·mm·cos φ over 75 mm: 3.924 N·cos φ is above 1.962 N within 60° of 0°, and
    # holding back as much within 60° of 180°.
    found = feel(weight(handle=Handle(limit_n=0.5 * 0.5 * 9.81 * 60 / 75)))
    spans = [tuple(round(math.degrees(end), 2) for end in span) for span in found.over]
    assert spans == [(120.0, 240.0), (300.0, 420.0)]
    assert feel(weight()).over == ()


def test_a_mechanism_lying_flat_asks_for_nothing() -> None:
    found = feel(weight(gravity=Gravity(g_m_s2=0.0), handle=Handle(steps=(GEARS,))))
    assert found.knocks_rad == ()
    assert found.over == ()
    assert found.hold_n <= 1e-9
    assert found.mean_n == pytest.approx(0.0, abs=1e-9)


def test_where_the_crank_does_not_come_the_hand_feels_nothing() -> None:
    a = 70 * np.exp(0.5j)
    from linkages import meet
    b = meet(a, 100 + 0j, 60, 80)
    sketch = Sketch(
        parts=(part("frame", fixed=True, O=0j, Q=100 + 0j), part("crank", O=0j, A=a),
               part("rod", A=a, B=b), part("rocker", Q=100 + 0j, B=b)),
        pins=(Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "rod.A")),
              Pin(id="b", at=("rod.B", "rocker.B")), Pin(id="q", at=("rocker.Q", "frame.Q"))),
        drive=Drive(pin="o", part="crank", drawn_deg=math.degrees(0.5)),
        handle=Handle(steps=(GEARS,)))
    turn = solve_turn(sketch, steps=120)
    found = hand(turn, effort(turn))
    assert not turn.reached.all()
    assert np.isnan(found.force_high_n[~turn.reached]).all()
    assert math.isfinite(found.peak_n)
