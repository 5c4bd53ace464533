"""The seven-body squeezer: a crank driven by a torque instead of a motion.

Source: Andrews' squeezing mechanism of the Test Set for Initial Value Problem Solvers
(Mazzia, Magherini) after Hairer & Wanner, Solving Ordinary Differential Equations II,
section VI/VII; parameters, start values and the solution at 0.03 s read in published
copies of its source.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from core.effort import free_acceleration
from core.model import Drive, Gravity, Mass, Part, Pin, Point, Sketch, Spring
from core.motion import pose_at, solve_turn

M = (0.04325, 0.00365, 0.02373, 0.00706, 0.0705, 0.00706, 0.05498)
INERTIA = (2.194e-6, 4.41e-7, 5.255e-6, 5.667e-7, 1.169e-5, 5.667e-7, 1.912e-5)
A, B, C = -0.06934 - 0.00227j, -0.03635 + 0.03273j, 0.014 + 0.072j
C0, L0, MOM = 4530.0, 0.07785, 0.033
D, DA, E, EA, RR, RA = 0.028, 0.0115, 0.02, 0.01421, 0.007, 0.00092
SS, SA, SB, SC, SD = 0.035, 0.01874, 0.01043, 0.018, 0.02
TA, TB, U, UA, UB = 0.02308, 0.00916, 0.04, 0.01228, 0.00449
ZF, ZT, FA = 0.02, 0.04, 0.01421
START = (-0.0617138900142765, 0.0, 0.455279819163070, 0.222668390165886,
         0.487364979543843, -0.222668390165886, 1.230547444544982)
END = (15.81077119629904, -15.75637105984298, 0.04082224013073, -0.53473011632269,
       0.52440996588053, 0.53473011632269, 1.04808074104226)


def body(name: str, k: int, centre: complex, **places: complex) -> Part:
    points = tuple(Point(id=i, x=1e3 * z.real, y=1e3 * z.imag) for i, z in places.items())
    return Part(id=name, points=points, mass=Mass(
        mass_kg=M[k], x=1e3 * centre.real, y=1e3 * centre.imag,
        inertia_kgmm2=1e6 * INERTIA[k]))


def squeezer() -> Sketch:
    beta, theta, gamma, phi, delta, omega, epsilon = START
    one, two = cmath.exp(1j * beta), cmath.exp(1j * (beta + theta))
    three, five, seven = (cmath.exp(1j * a) for a in (gamma, delta, epsilon))
    tip = RR * one
    hub = tip - D * two
    elbow, hinge = A + ZT * five, A - 1j * U * seven
    four, six = cmath.exp(1j * (phi + delta)), cmath.exp(1j * (omega + epsilon))
    # The three chains of the published constraints close in the start values.
    assert abs(B - 1j * SS * three - hub) < 1e-12
    assert abs(elbow - 1j * E * four - hub) < 1e-12
    assert abs(hinge + ZF * six - hub) < 1e-12
    eye = B + (SD - 1j * SC) * three
    frame = Part(id="frame", fixed=True, points=tuple(
        Point(id=i, x=1e3 * z.real, y=1e3 * z.imag)
        for i, z in {"O": 0j, "A": A, "B": B, "C": C}.items()))
    parts = (
        frame, body("k1", 0, RA * one, O=0j, T=tip),
        body("k2", 1, tip - DA * two, T=tip, F=hub),
        body("k3", 2, B + (SB - 1j * SA) * three, B=B, F=hub, D=eye),
        body("k4", 3, hub + 1j * EA * four, E=elbow, F=hub),
        body("k5", 4, A + (TA + 1j * TB) * five, A=A, E=elbow),
        body("k6", 5, hub - FA * six, H=hinge, F=hub),
        body("k7", 6, A + (-UB - 1j * UA) * seven, A=A, H=hinge),
    )
    pins = (
        Pin(id="o", at=("frame.O", "k1.O")), Pin(id="t", at=("k1.T", "k2.T")),
        Pin(id="f", at=("k2.F", "k3.F", "k4.F", "k6.F")),
        Pin(id="b", at=("frame.B", "k3.B")), Pin(id="e", at=("k4.E", "k5.E")),
        Pin(id="h", at=("k6.H", "k7.H")), Pin(id="a", at=("frame.A", "k5.A", "k7.A")),
    )
    return Sketch(
        parts=parts, pins=pins, gravity=Gravity(g_m_s2=0.0),
        drive=Drive(pin="o", part="k1", drawn_deg=math.degrees(beta)),
        springs=(Spring(id="spring", a="k3.D", b="frame.C", rate_n_per_mm=C0 / 1e3,
                        free_length_mm=L0 * 1e3, pushes=True),),
    )


def test_initial_accelerations() -> None:
    found = free_acceleration(squeezer(), START[0], MOM * 1e3)
    relative = {"beta": found.spin["k1"], "theta": found.spin["k2"] - found.spin["k1"],
                "gamma": found.spin["k3"], "phi": found.spin["k4"] - found.spin["k5"],
                "delta": found.spin["k5"], "omega": found.spin["k6"] - found.spin["k7"],
                "epsilon": found.spin["k7"]}
    assert found.crank == relative["beta"]
    assert relative["beta"] == pytest.approx(14222.44392, rel=1e-8)
    assert relative["theta"] == pytest.approx(-10666.83294, rel=1e-8)
    for name in ("gamma", "phi", "delta", "omega", "epsilon"):
        assert abs(relative[name]) < 1e-5, name


def test_position_after_three_hundredths_of_a_second() -> None:
    turn = solve_turn(squeezer())

    def speeding(_: float, state: np.ndarray) -> tuple[float, float]:
        angle, speed = state
        return speed, free_acceleration(turn, angle, MOM * 1e3, speed).crank

    done = solve_ivp(speeding, (0.0, 0.03), (START[0], 0.0), method="DOP853", rtol=1e-8,
                     atol=1e-8)
    beta = done.y[0, -1]
    assert beta == pytest.approx(END[0], abs=1e-5)
    last = pose_at(turn, np.array([beta]))
    turned = {name: last.angle_rad[0, last.row(name)] for name in last.part_ids}
    assert START[2] + turned["k3"] == pytest.approx(END[2], abs=1e-5)
    assert START[4] + turned["k5"] == pytest.approx(END[4], abs=1e-5)
    assert START[6] + turned["k7"] == pytest.approx(END[6], abs=1e-5)
    assert START[3] + turned["k4"] - turned["k5"] == pytest.approx(END[3], abs=1e-5)
