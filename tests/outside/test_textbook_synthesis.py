"""Mechanisms found by textbook synthesis do what they were found for.

Sources, with how far the numbers can be trusted:

* Function generators by Freudenstein's equation, y = 1/x: the problem from memory (J. J.
  Uicker, G. R. Pennock, J. E. Shigley, *Theory of Machines and Mechanisms*), lengths and
  errors calculated independently of this program; y = log10 x is our own choice.
* Three-position motion generation: inputs from memory (R. L. Norton, *Design of
  Machinery*, ch. 5), W = 6.832 there; the rest calculated.
* Four-bar with given angular velocities and accelerations (Bloch's complex synthesis):
  inputs from memory (Uicker et al.), lengths calculated.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from linkages import linkage

from core.model import Sketch
from core.motion import flip, pose_at, rates, solve_turn


def generator(a: float, b: float, c: float, phi: float, psi: float) -> Sketch:
    """A four-bar on unit ground drawn with its links at φ and ψ (degrees)."""
    crank = a * np.exp(1j * math.radians(phi))
    rocker = 1 + c * np.exp(1j * math.radians(psi))
    assert abs(rocker - crank) == pytest.approx(b, abs=2e-6)
    return linkage(
        {"frame": {"O": 0j, "Q": 1 + 0j}, "crank": {"O": 0j, "A": crank},
         "coupler": {"A": crank, "B": rocker}, "rocker": {"B": rocker, "Q": 1 + 0j}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"],
        drawn_deg=phi)


def lengths_of(phi: np.ndarray, psi: np.ndarray) -> tuple[float, float, float]:
    """Crank, coupler and rocker by Freudenstein's equation at three precision points."""
    rows = np.column_stack([np.cos(psi), -np.cos(phi), np.ones(3)])
    k1, k2, k3 = np.linalg.solve(rows, np.cos(phi - psi))
    a, c = 1 / k1, 1 / k2
    return a, math.sqrt(a * a + c * c + 1 - 2 * a * c * k3), c


@pytest.mark.parametrize(("function", "psi", "lengths", "worst"), [
    (lambda x: 1 / x, (240.0, 330.0), (2.4749897, .9120540, -2.4743285), .10608),
    (np.log10, (60.0, 150.0), (3.8105038, 1.4580942, 3.7937936), .42025)])
def test_a_function_generator_errs_as_little_as_calculated(
    function, psi: tuple[float, float], lengths: tuple[float, float, float], worst: float
) -> None:
    # Chebyshev's spacing on 1 … 2, the crank going from 30° to 120°.
    spaced = 1.5 - 0.5 * np.cos(np.pi * np.array([1, 3, 5]) / 6)
    assert spaced == pytest.approx([1.0669873, 1.5, 1.9330127], abs=5e-8)
    ends = function(np.array([1.0, 2.0]))

    def turned(x: np.ndarray) -> np.ndarray:
        share = (function(x) - ends[0]) / (ends[1] - ends[0])
        if ends[1] < ends[0]:
            share = (function(x) - ends.min()) / np.ptp(ends)
            return psi[0] + (psi[1] - psi[0]) * (1 - share)
        return psi[0] + (psi[1] - psi[0]) * share

    found = lengths_of(np.radians(30 + 90 * (spaced - 1)), np.radians(turned(spaced)))
    assert found == pytest.approx(lengths, abs=6e-8)
    a, b, c = found
    start = (30 + 90 * (spaced[1] - 1), float(turned(spaced[1:2])[0]))
    turn = solve_turn(generator(a, b, c, *start))
    x = np.linspace(1, 2, 2001)
    swept = pose_at(turn, np.radians(30 + 90 * (x - 1)))
    assert swept.reached.all()
    made = start[1] + np.degrees(swept.angle_rad[:, swept.row("rocker")])
    error = np.abs(made - turned(x))
    at = [int(np.argmin(np.abs(x - each))) for each in spaced]
    assert error.max() == pytest.approx(worst, abs=6e-6)
    assert error[at].max() < 0.002


def test_a_coupler_is_carried_through_three_positions() -> None:
    moved = [cmath_deg(2.798, -31.19), cmath_deg(3.919, -16.34)]
    alpha, beta, gamma = (-45.0, 9.3), (342.3, 324.8), (30.9, 80.6)

    def dyad(turns: tuple[float, float]) -> tuple[complex, complex]:
        rows = np.array([[cmath_deg(1, one) - 1, cmath_deg(1, two) - 1]
                         for one, two in zip(turns, alpha, strict=True)])
        w, z = np.linalg.solve(rows, np.array(moved))
        return complex(w), complex(z)

    (w, z), (u, s) = dyad(beta), dyad(gamma)
    for vector, size, angle in ((w, 6.832, 89.541), (z, 1.5077, 38.551),
                                (u, 3.1997, -145.217), (s, 1.4908, 94.185),
                                (z - s, 1.3993, -23.018), (w + z - s - u, 9.0298, 63.914)):
        assert abs(vector) == pytest.approx(size, abs=6e-4 if size == 6.832 else 6e-5)
        assert math.degrees(math.atan2(vector.imag, vector.real)) == \
            pytest.approx(angle, abs=6e-4)
    o, a, b, q = -z - w, -z, -s, -s - u
    sketch = linkage(
        {"frame": {"O": o, "Q": q}, "crank": {"O": o, "A": a},
         "coupler": {"A": a, "B": b, "P": 0j}, "rocker": {"B": b, "Q": q}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"])
    # Synthesis does not see which way the links are put together, so each position is
    # met in one way or the other.
    ways = [solve_turn(sketch), solve_turn(flip(sketch, ["coupler"]))]
    for turned, place, tilt in zip(beta, moved, alpha, strict=True):
        off = []
        for way in ways:
            pose = pose_at(way, np.radians([turned]))
            if pose.reached.all():
                coupler = way.sketch.part("coupler")
                at, to = (complex(coupler.point(name).x, coupler.point(name).y)
                          for name in ("A", "B"))
                bar = pose.place("coupler", to) - pose.place("coupler", at)
                there = pose.path("coupler.P")[0] @ (1, 1j)
                off.append(abs(there - place)
                           + abs(complex(bar[0]) - (b - a) * cmath_deg(1, tilt)))
        assert min(off) < 1e-9


def cmath_deg(size: float, angle_deg: float) -> complex:
    """A complex number from its size and direction in degrees."""
    return complex(size * np.exp(1j * math.radians(angle_deg)))


def test_a_four_bar_found_for_given_speeds_has_them() -> None:
    """Speeds 200, 85, 130 rad/s and accelerations 0, −1000, −16000 rad/s² of its links."""
    omega, alpha = np.array([200.0, 85.0, 130.0]), np.array([0.0, -1000.0, -16000.0])
    rows = np.array([[1, 1, 1], 1j * omega, 1j * alpha - omega**2])
    r2, r3, r4 = np.linalg.solve(rows, np.array([-1, 0, 0]))
    for found, published in ((r2, .611794 - .406143j), (r3, -1.937210 - .631777j),
                             (r4, .325416 + 1.037920j)):
        assert found == pytest.approx(published, abs=6e-7)
    o, q = 1 + 0j, 0j  # the chain runs over the ground, then along r2, r3 and r4 back
    a, b = o + complex(r2), o + complex(r2 + r3)
    sketch = linkage(
        {"frame": {"O": o, "Q": q}, "crank": {"O": o, "A": a}, "coupler": {"A": a, "B": b},
         "rocker": {"B": b, "Q": q}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"])
    here = pose_at(solve_turn(sketch), np.zeros(1))
    motion = rates(here)
    for part, speed, growth in zip(("crank", "coupler", "rocker"), omega, alpha, strict=True):
        row = here.row(part)
        assert motion.spin[row, 0] * 200 == pytest.approx(speed, abs=1e-9 * 200)
        assert motion.spin2[row, 0] * 200**2 == pytest.approx(growth, abs=1e-9 * 200**2)
