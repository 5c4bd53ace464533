"""Balance by weights and springs against formulas that need no program.

Sources: the spring that balances at every angle, k = m g r / (a b), with its ends straight
above the pivot and along the arm and its pull counted from length nothing (from memory; it
follows from k a b sin θ = m g r sin θ); counterweight m_c r_c = m r (common practice); rate of
a coil spring k = G d⁴ / 8 D³ N (a spring maker's page, read), its worked example after J. E.
Shigley, *Mechanical Engineering Design* (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from core.effort import effort
from core.model import Drive, Gravity, Mass, Part, Pin, Point, Sketch, Spring, Weight
from core.motion import solve_turn
from core.pleasant.coils import extension_rate

KG, R, A, B, G = 0.5, 100.0, 80.0, 60.0, 9.81
#: m g r / (a b): 102.19 N/m, worked out.
RATE = KG * G * R / (A * B)


def arm(spring: Spring | None = None, weights: tuple[Weight, ...] = ()) -> np.ndarray:
    """Torque over the turn of a weighted arm, with a spring from its point B to the frame's
    point A straight above the pivot."""
    parts = (Part(id="frame", fixed=True, points=(Point(id="O", x=0.0, y=0.0),
                                                  Point(id="A", x=0.0, y=A))),
             Part(id="arm", points=(Point(id="O", x=0.0, y=0.0), Point(id="B", x=B, y=0.0)),
                  mass=Mass(mass_kg=KG, x=R, y=0.0), weights=weights))
    sketch = Sketch(parts=parts, pins=(Pin(id="pivot", at=("frame.O", "arm.O")),),
                    drive=Drive(pin="pivot", part="arm", rpm=1e-3),
                    springs=() if spring is None else (spring,),
                    gravity=Gravity(g_m_s2=G))
    return effort(solve_turn(sketch, steps=90)).torque_nmm


def test_the_check_number_of_the_spring_balance() -> None:
    per_metre = 1000 * RATE
    assert per_metre == pytest.approx(102.19, abs=0.005)


def test_bare_the_arm_asks_for_its_moment() -> None:
    torque = arm()
    assert np.abs(torque).max() == pytest.approx(KG * G * R, rel=1e-3)


def test_a_spring_of_no_free_length_balances_the_arm_at_every_angle() -> None:
    torque = arm(Spring(id="s", a="arm.B", b="frame.A", rate_n_per_mm=RATE,
                        free_length_mm=0.0, pushes=True))
    assert np.abs(torque).max() < 1e-9 * KG * G * R


@pytest.mark.parametrize("free", [5.0, 15.0])
def test_so_does_a_wound_one_whose_initial_tension_is_rate_times_free_length(
    free: float
) -> None:
    torque = arm(Spring(id="s", a="arm.B", b="frame.A", rate_n_per_mm=RATE,
                        free_length_mm=free, initial_tension_n=RATE * free, pushes=True))
    assert np.abs(torque).max() < 1e-9 * KG * G * R


@pytest.mark.parametrize(("free", "tension"), [(15.0, 0.0), (10.0, 0.4)])
def test_any_other_leaves_the_torque_of_the_difference(free: float, tension: float) -> None:
    """Left over: (F_i − k L₀) a b sin θ / L, θ from straight up, worked out."""
    torque = arm(Spring(id="s", a="arm.B", b="frame.A", rate_n_per_mm=RATE,
                        free_length_mm=free, initial_tension_n=tension, pushes=True))
    crank = 2 * np.pi * np.arange(90) / 90
    length = np.abs(B * np.exp(1j * crank) - 1j * A)
    left = -(tension - RATE * free) * A * B * np.cos(crank) / length
    assert torque == pytest.approx(left, abs=1e-9 * KG * G * R)


def test_a_counterweight_of_the_same_moment_balances_the_arm() -> None:
    for kg, away in ((0.5, 100.0), (1.0, 50.0), (2.0, 25.0)):
        assert np.abs(arm(weights=(Weight(mass_kg=kg, x=-away, y=0.0),))).max() < 1e-9
    # A tenth too light leaves a tenth.
    left = np.abs(arm(weights=(Weight(mass_kg=0.45, x=-R, y=0.0),))).max()
    assert left == pytest.approx(0.1 * KG * G * R, rel=1e-3)


def test_rate_of_shigleys_extension_spring() -> None:
    """Wire .035 in, outside .248 in, 12.17 turns of the body and G/E for the hooks (11.6 and
    28.7 Mpsi): 17.91 lbf/in. A maker's page says outside for mean diameter: 11.35, wrong."""
    inch, per_inch = 25.4, 0.45359237 * 9.80665 / 25.4
    turns = 12.17 + 11.6 / 28.7
    assert turns == pytest.approx(12.57, abs=0.005)
    rate = extension_rate(0.035 * inch, (0.248 - 0.035) * inch, turns) / per_inch
    assert rate == pytest.approx(17.91, abs=0.02)
    wrong = extension_rate(0.035 * inch, 0.248 * inch, turns) / per_inch
    assert wrong == pytest.approx(11.35, abs=0.02)
