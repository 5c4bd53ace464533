"""Hand force, crank power and a gear step against published figures.

Sources: The Engineering ToolBox, "Human power" (read in a copy): standing at a crank of 0.4 m,
130 N at 25 to 30 turns a minute, P = F r π n / 30 = 136 W. Ivergård and Hunt, *Handbook of
Control Room Design and Ergonomics* (read in a copy): resistance of small cranks (radius below
80 mm) 9 to 22 N, of large ones (125 to 200 mm) 22 to 45 N. A step of gears: any textbook of
machine elements.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.effort import effort
from core.effort.hand import Hand, hand
from core.model import Drive, Gravity, Handle, HandStep, Mass, Part, Pin, Point, Sketch, Torque
from core.motion import solve_turn


def mill(torque_nmm: float, handle: Handle, rpm: float = 25.0, kg: float = 0.0) -> Hand:
    """A shaft that a constant torque pulls back; `kg` hangs 50 mm from its middle."""
    parts = (Part(id="frame", fixed=True, points=(Point(id="O", x=0.0, y=0.0),)),
             Part(id="drum", points=(Point(id="O", x=0.0, y=0.0),),
                  mass=Mass(mass_kg=kg, x=50.0, y=0.0)))
    sketch = Sketch(parts=parts, pins=(Pin(id="shaft", at=("frame.O", "drum.O")),),
                    drive=Drive(pin="shaft", part="drum", rpm=rpm), handle=handle,
                    torques=(Torque(id="rope", part="drum",
                                    torque_nmm=-math.copysign(torque_nmm, rpm)),),
                    friction=(0.0, 0.0), gravity=Gravity(g_m_s2=9.81))
    turn = solve_turn(sketch, steps=72)
    return hand(turn, effort(turn))


def test_a_man_at_a_large_crank_gives_136_watts() -> None:
    found = mill(130.0 * 400.0, Handle(radius_mm=400.0))
    assert found.peak_n == pytest.approx(130.0)
    assert found.mean_n == pytest.approx(130.0)
    watts = found.mean_n * found.handle.radius_mm / 1000 * math.pi * found.rpm / 30
    assert watts == pytest.approx(136.14, abs=0.01)


@pytest.mark.parametrize(("radius", "newton"), [
    (40.0, 22.0), (75.0, 22.0), (79.0, 22.0), (125.0, 45.0), (150.0, 45.0), (200.0, 45.0)])
def test_limits_of_a_grown_up_are_those_of_the_handbook(radius: float, newton: float) -> None:
    found = mill(100.0, Handle(radius_mm=radius))
    assert found.limit_n == newton
    assert "Control Room" in found.limit_source


def test_a_crank_is_too_stiff_from_the_limit_on() -> None:
    assert mill(21.9 * 75.0, Handle(radius_mm=75.0)).over == ()
    assert mill(22.1 * 75.0, Handle(radius_mm=75.0)).over != ()
    assert mill(22.1 * 75.0, Handle(radius_mm=75.0, limit_n=30.0)).over == ()


STEPS = (HandStep(driver=16, driven=40, efficiency=(0.9, 0.95), module_mm=2.0),
         HandStep(driver=20, driven=30, efficiency=(0.8, 0.92), module_mm=3.0))


def test_two_steps_divide_the_push_by_their_ratios_and_by_what_they_hand_on() -> None:
    """40/16 · 30/20 = 3.75; a push of 100 N at the bare crank falls to 26.67 N, with losses
    to 26.67 / (0.9 · 0.8) = 37.04 N at worst, 26.67 / (0.95 · 0.92) = 30.51 N at best."""
    found = mill(100.0 * 80.0, Handle(radius_mm=80.0, steps=STEPS))
    assert found.ratio == pytest.approx(3.75)
    assert found.plain_n == pytest.approx(np.full(72, 26.667), abs=1e-3)
    assert found.peak_n == pytest.approx(37.037, abs=1e-3)
    assert found.force_low_n.max() == pytest.approx(30.511, abs=1e-3)
    assert found.rpm == pytest.approx(93.75)


@pytest.mark.parametrize("steps", [(), STEPS, STEPS[:1]])
def test_the_hand_puts_in_what_the_crank_takes_and_what_the_steps_lose(steps: tuple) -> None:
    found = mill(5000.0, Handle(radius_mm=90.0, steps=steps), rpm=40.0)
    taken = 5.0 * 2 * math.pi * 40 / 60
    given = found.peak_n * 0.09 * 2 * math.pi * found.rpm / 60
    assert given * math.prod(step.efficiency[0] for step in steps) == pytest.approx(taken)


def test_each_pair_of_gears_turns_the_grip_the_other_way() -> None:
    for steps, sense in (((), 1), (STEPS[:1], -1), (STEPS, 1),
                         ((HandStep(driver=20, driven=60, kind="belt"),), 1),
                         ((HandStep(driver=20, driven=60, kind="crossed belt"),), -1)):
        assert mill(10.0, Handle(steps=steps)).sense == sense
        assert mill(10.0, Handle(steps=steps), rpm=-25.0).sense == -sense


def test_where_a_weight_runs_ahead_losses_help_the_hand_to_hold_it() -> None:
    """A hanging weight alone: it pushes the hand with η / i times its torque."""
    found = mill(0.0, Handle(radius_mm=100.0, steps=STEPS[:1]), kg=1.0)
    pulled = 1.0 * 9.81 * 50.0 / 100.0 / 2.5
    assert found.hold_n == pytest.approx(pulled * 0.95, rel=1e-3)
    assert found.peak_n == pytest.approx(pulled / 0.9, rel=1e-3)


def test_play_of_a_step_is_its_backlash_at_the_radius_of_its_driver() -> None:
    """0.2 mm at 16 mm, and 0.2 mm at 30 mm seen through 2.5 : 1, worked out."""
    found = mill(10.0, Handle(steps=STEPS))
    assert found.backlash_rad == pytest.approx(0.2 / 16.0 + 2.5 * 0.2 / 30.0)


def test_a_blocked_part_feels_the_hands_limit_through_the_steps() -> None:
    found = mill(10.0, Handle(radius_mm=75.0, steps=STEPS[:1]))
    assert found.jam_torque_nmm == pytest.approx(22.0 * 75.0 * 2.5 * 0.95)
