"""Slides, slots and rolling gears with exact closed motions.

Source: closed formulae of any kinematics textbook, from memory: the yoke's harmonic
motion, the trammel's ellipse, the quick return's ratio, Cardano's circles, Willis's
formula for planetary gears.
"""

from __future__ import annotations

import numpy as np
import pytest
from linkages import linkage

from core.model import Mesh, PinInSlot, Slide
from core.motion import dead_centres, rates, solve_turn, structure


def test_a_slotted_yoke_moves_harmonically() -> None:
    r = 30.0
    sketch = linkage(
        {"frame": {"O": 0j, "S": -100 + 0j, "E": 100 + 0j}, "crank": {"O": 0j, "A": r + 0j},
         "yoke": {"G": r + 0j, "T": complex(r, 50), "B": complex(r, -50)}},
        ["frame.O crank.O"], slides=[Slide(id="way", point="yoke.G",
                                           along=("frame.S", "frame.E"))],
        slots=[PinInSlot(id="slot", point="crank.A", slot=("yoke.B", "yoke.T"))])
    turn = solve_turn(sketch)
    x, phi = turn.path("yoke.G"), turn.crank_rad
    assert np.abs(x[:, 0] - r * np.cos(phi)).max() < 1e-12
    assert np.abs(x[:, 1]).max() < 1e-12
    first, second = rates(turn).slope("yoke.G")
    assert np.abs(first + r * np.sin(phi)).max() < 1e-11
    assert np.abs(second + r * np.cos(phi)).max() < 1e-11
    assert np.degrees(dead_centres(turn, "yoke")) == pytest.approx([0, 180], abs=1e-7)


@pytest.mark.parametrize("drawn", [20.0, 130.0, 0.0])
def test_a_trammel_draws_an_ellipse(drawn: float) -> None:
    """A bar with its ends in two slots at right angles and its middle on a crank of half
    its length; one slot is one joint more than needed, and fits."""
    half, far = 40.0, 25.0
    u = np.exp(1j * np.radians(drawn))
    middle, end_x, end_y = half * u, 2 * half * u.real + 0j, 2j * half * u.imag
    beyond = end_x + (end_x - end_y) / (2 * half) * far
    sketch = linkage(
        {"frame": {"O": 0j, "W": -100 + 0j, "E": 100 + 0j, "S": -100j, "N": 100j},
         "crank": {"O": 0j, "M": middle},
         "bar": {"M": middle, "X": end_x, "Y": end_y, "P": beyond}},
        ["frame.O crank.O", "crank.M bar.M"], drawn_deg=drawn,
        slots=[PinInSlot(id="level", point="bar.X", slot=("frame.W", "frame.E")),
               PinInSlot(id="upright", point="bar.Y", slot=("frame.S", "frame.N"))])
    built = structure(sketch)
    assert (built.mobility, built.redundant, built.trouble) == (1, ("upright",), "")
    turn = solve_turn(sketch)
    assert turn.reached.all()
    x, y = turn.path("bar.P").T
    assert np.abs((x / (2 * half + far)) ** 2 + (y / far) ** 2 - 1).max() < 1e-12
    assert np.abs(rates(turn).spin[turn.row("bar")] + 1).max() < 1e-7


@pytest.mark.parametrize(("r", "d"), [(40.0, 100.0), (25.0, 50.0)])
def test_a_quick_return_lever_takes_its_time_as_calculated(r: float, d: float) -> None:
    """Half-swing α with sin α = r/d; time ratio (180° + 2α) : (180° − 2α)."""
    lever = linkage(
        {"frame": {"O": 0j, "Q": -1j * d}, "crank": {"O": 0j, "A": r + 0j},
         "lever": {"Q": -1j * d, "E": (r + 1j * d) * 2 - 1j * d}},
        ["frame.O crank.O", "frame.Q lever.Q"],
        slots=[PinInSlot(id="k", point="crank.A", slot=("lever.Q", "lever.E"))])
    turn = solve_turn(lever)
    alpha = np.arcsin(r / d)
    assert np.ptp(turn.angle_rad[:, turn.row("lever")]) == pytest.approx(2 * alpha, abs=1e-4)
    one, two = dead_centres(turn, "lever")
    slow = max(two - one, 2 * np.pi - two + one)
    assert slow / (2 * np.pi - slow) == pytest.approx((np.pi + 2 * alpha)
                                                      / (np.pi - 2 * alpha), abs=1e-8)


def test_a_gear_rolling_inside_a_ring_twice_its_size_draws_a_line() -> None:
    r = 20.0
    sketch = linkage(
        {"frame": {"O": 0j}, "crank": {"O": 0j, "C": r + 0j},
         "planet": {"C": r + 0j, "P": 2 * r + 0j, "D": r + 0.5j * r}},
        ["frame.O crank.O", "crank.C planet.C"],
        meshes=(Mesh(id="m", a="frame.O", b="planet.C", teeth_a=40, teeth_b=20,
                     internal=True),))
    turn = solve_turn(sketch)
    assert turn.crank_turns == 1
    path, phi = turn.path("planet.P"), turn.crank_rad
    assert np.abs(path[:, 0] - 2 * r * np.cos(phi)).max() < 1e-12
    assert np.abs(path[:, 1]).max() < 1e-12


@pytest.mark.parametrize(("sun", "ring"), [(20, 60), (24, 48), (18, 72)])
def test_willis_formula_gives_the_carriers_turn(sun: int, ring: int) -> None:
    """Sun driven, ring on the frame: the carrier turns sun / (sun + ring)."""
    planet = (ring - sun) // 2
    reach = float(sun + planet)
    sketch = linkage(
        {"frame": {"O": 0j}, "crank": {"O": 0j, "A": 10 + 0j},
         "planet": {"C": reach + 0j}, "carrier": {"O": 0j, "C": reach + 0j}},
        ["frame.O crank.O carrier.O", "carrier.C planet.C"],
        meshes=(Mesh(id="in", a="crank.O", b="planet.C", teeth_a=sun, teeth_b=planet),
                Mesh(id="out", a="frame.O", b="planet.C", teeth_a=ring, teeth_b=planet,
                     internal=True)))
    turn = solve_turn(sketch)
    spin = rates(turn).spin
    assert spin[turn.row("carrier")] == pytest.approx(sun / (sun + ring), abs=1e-12)
    # Against the carrier the sun drives the planet by −sun/planet.
    carrier = sun / (sun + ring)
    assert spin[turn.row("planet")] == pytest.approx(
        carrier - sun / planet * (1 - carrier), abs=1e-12)
