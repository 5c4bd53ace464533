"""Four-bars and slider-cranks against textbook examples.

Sources, with how far the numbers can be trusted:

* R. L. Norton, *Design of Machinery*, examples 4-1 and 4-2, the velocity and acceleration
  examples of chapters 6 and 7, problems 4-6/4-7 row a. From memory; the remembered inputs
  give the remembered results at printed precision. Values of the crossed circuit's
  velocities and accelerations in the first example were calculated by us.
* In-line slider-crank of 10 in and 20 in: a course worksheet, read (its dimensions garbled
  there; 10 and 20 reproduce all three of its values).
* Grashof's rule, limits and dead centres: closed formulae of any textbook, from memory;
  the numbers calculated from them independently of this program.

Tolerance: half a unit of the last printed digit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from linkages import four_bar, slider_crank

from core.motion import Turn, dead_centres, four_bars, pose_at, rates, solve_turn

NORTON = (100, 40, 120, 80)


def direction_deg(turn: Turn, tail: str, tip: str) -> float:
    at = [turn.path(ref)[0] for ref in (tail, tip)]
    return math.degrees(math.atan2(at[1][1] - at[0][1], at[1][0] - at[0][0]))


def moving(turn: Turn, part: str, omega: float, alpha: float) -> tuple[float, float]:
    """Speed and acceleration of a part at the first step."""
    speed, row = rates(turn), turn.row(part)
    spin, spin2 = speed.spin[row, 0], speed.spin2[row, 0]
    return spin * omega, spin2 * omega**2 + spin * alpha


@pytest.mark.parametrize(("left", "coupler", "rocker"), [
    (True, 20.298, 57.325), (False, -60.978, -98.005)])
def test_four_bar_positions_of_both_circuits(left: bool, coupler: float, rocker: float
                                             ) -> None:
    # Drawn at another angle of the same circuit, asked at 40°.
    turn = pose_at(solve_turn(four_bar(*NORTON, 75, left)), np.radians([40.0]))
    assert direction_deg(turn, "coupler.A", "coupler.B") == pytest.approx(coupler, abs=5e-4)
    assert direction_deg(turn, "rocker.Q", "rocker.B") == pytest.approx(rocker, abs=5e-4)


@pytest.mark.parametrize(("left", "part", "omega", "alpha"), [
    (True, "coupler", -4.121, 296.089), (True, "rocker", 6.998, 470.134),
    (False, "coupler", -9.259, 597.622), (False, "rocker", -20.378, 423.578)])
def test_four_bar_velocities_and_accelerations(left: bool, part: str, omega: float,
                                               alpha: float) -> None:
    turn = pose_at(solve_turn(four_bar(*NORTON, 75, left)), np.radians([40.0]))
    speed, growth = moving(turn, part, 25, 15)
    assert speed == pytest.approx(omega, abs=5.1e-4)
    assert growth == pytest.approx(alpha, abs=5.1e-4)


@pytest.mark.parametrize(("left", "angles", "speeds", "growths"), [
    (True, (88.8, 117.3), (-6.0, -4.0), (26.1, 53.3)),
    (False, (-115.2, -143.6), (-0.66, -2.66), (77.9, 50.7))])
def test_four_bar_problem_row_a(left: bool, angles: tuple[float, float],
                                speeds: tuple[float, float], growths: tuple[float, float]
                                ) -> None:
    turn = pose_at(solve_turn(four_bar(6, 2, 7, 9, 100, left)), np.radians([30.0]))
    assert direction_deg(turn, "coupler.A", "coupler.B") == pytest.approx(angles[0], abs=0.06)
    assert direction_deg(turn, "rocker.Q", "rocker.B") == pytest.approx(angles[1], abs=0.06)
    for part, speed, growth in zip(("coupler", "rocker"), speeds, growths, strict=True):
        found = moving(turn, part, 10, 0)
        # Printed to one decimal (crossed circuit: speeds to two).
        assert found[0] == pytest.approx(speed, abs=0.006 if not left else 0.06)
        assert found[1] == pytest.approx(growth, abs=0.06)


def test_four_bar_in_metres_and_radians() -> None:
    """Inputs read ("Example 5.2" of a course text); results calculated by us."""
    turn = pose_at(solve_turn(four_bar(0.2, 0.1, 0.3, 0.22, 45)), np.radians([45.0]))
    assert math.radians(direction_deg(turn, "coupler.A", "coupler.B")) == \
        pytest.approx(0.272125, abs=5e-7)
    assert math.radians(direction_deg(turn, "rocker.Q", "rocker.B")) == \
        pytest.approx(0.758631, abs=5e-7)
    assert moving(turn, "coupler", 1.5, 0)[0] == pytest.approx(0.028622, abs=5e-7)
    assert moving(turn, "rocker", 1.5, 0)[0] == pytest.approx(0.716076, abs=5e-7)


@pytest.mark.parametrize(("right", "rod", "place", "omega"), [
    (True, 152.913, 126.838, 5.616), (False, 27.087, -86.838, -5.616)])
def test_offset_slider_crank(right: bool, rod: float, place: float, omega: float) -> None:
    """The textbook measures the rod's direction at the slider and the crank's at 60°."""
    turn = pose_at(solve_turn(slider_crank(40, 120, -20, 100, right)), np.radians([60.0]))
    assert turn.path("ram.B")[0, 0] == pytest.approx(place, abs=5e-4)
    assert direction_deg(turn, "rod.B", "rod.A") == pytest.approx(rod, abs=5e-4)
    assert moving(turn, "rod", -30, 0)[0] == pytest.approx(omega, abs=5.1e-4)


def test_in_line_slider_crank_of_a_worksheet() -> None:
    turn = pose_at(solve_turn(slider_crank(10, 20, 0, 30)), np.radians([45.0]))
    assert direction_deg(turn, "rod.B", "rod.A") == pytest.approx(159.295, abs=5e-4)
    assert abs(moving(turn, "rod", 1, 0)[0]) == pytest.approx(0.378, abs=5e-4)
    slope, _ = rates(turn).slope("ram.B")
    assert abs(slope[0]) == pytest.approx(9.744, abs=5e-4)


@pytest.mark.parametrize(("lengths", "drawn", "limits"), [
    ((20, 10, 10, 10), 10, (75.52249, -75.52249)),
    ((9, 7, 11, 8), 90, (16.19512, -16.19512)),
    ((7, 9, 3, 8), 60, (33.55731, 85.90395)),
    ((7, 9, 3, 8), -60, (-33.55731, -85.90395))])
def test_the_driven_link_locks_where_the_formula_says(
    lengths: tuple[int, ...], drawn: float, limits: tuple[float, float]
) -> None:
    turn = solve_turn(four_bar(*lengths, drawn))
    found = sorted(math.degrees(limit.crank_rad) for limit in turn.limits)
    assert found == pytest.approx(sorted(limit % 360 for limit in limits), abs=1e-5)
    ground, crank, coupler, rocker = lengths
    for limit in turn.limits:
        # cos θ = (a² + d² − (b ± c)²) / 2ad, to the 1e-9 promised.
        cosines = [(crank**2 + ground**2 - (coupler + sign * rocker) ** 2)
                   / (2 * crank * ground) for sign in (1, -1)]
        exact = [sign * math.acos(c) for c in cosines if abs(c) <= 1 for sign in (1, -1)]
        assert min(abs(math.remainder(limit.crank_rad - angle, math.tau))
                   for angle in exact) < 1e-9
        assert limit.parts == ("coupler", "rocker")


def test_a_change_point_is_passed_smoothly() -> None:
    """8, 5, 7, 6: shortest and longest together as long as the others; flat at 180°."""
    turn = solve_turn(four_bar(8, 5, 7, 6, 60))
    assert four_bars(turn)[0].kind == "change point"
    assert turn.reached.all()
    assert not turn.limits
    spin = rates(turn).spin[turn.row("rocker")]
    assert np.abs(np.diff(spin)).max() < 0.05


@pytest.mark.parametrize(("lengths", "extended", "folded", "least", "most", "mu"), [
    ((100, 40, 120, 80), 24.14685, 231.31781, 54.90037, 128.68219, (26.38433, 86.41668)),
    ((6, 2, 7, 9), 70.52878, 289.47122, 109.47122, 148.41366, (25.20877, 58.41186)),
    ((4, 1, 3, 3), 44.04863, 226.56746, 112.02431, 151.04498, (60.0, 112.88538))])
def test_crank_rocker_swing_and_transmission_angle(
    lengths: tuple[int, ...], extended: float, folded: float, least: float, most: float,
    mu: tuple[float, float],
) -> None:
    turn = solve_turn(four_bar(*lengths, 120))
    assert np.degrees(dead_centres(turn, "rocker")) == pytest.approx([extended, folded],
                                                                    abs=5e-6)
    ends = pose_at(turn, np.radians([extended, folded]))
    arm = ends.path("rocker.B") - ends.path("rocker.Q")
    swing = sorted(np.degrees(np.arctan2(arm[:, 1], arm[:, 0])))
    assert swing == pytest.approx([least, most], abs=5e-6)
    loop = four_bars(turn)[0]
    assert (loop.kind, loop.grashof) == ("crank and rocker", True)
    folded_mu = [min(angle, 180 - angle) for angle in mu]
    assert np.degrees(loop.transmission_rad[[0, 360]]) == pytest.approx(folded_mu, abs=5e-6)
    imbalance = abs(folded - extended - 180)
    ratio = {100: 1.355573, 6: 1.552150, 4: 1.028384}[lengths[0]]
    assert (180 + imbalance) / (180 - imbalance) == pytest.approx(ratio, abs=5e-7)


@pytest.mark.parametrize(("crank", "rod", "offset", "stroke", "quick", "mu"), [
    (40, 120, 20, 81.2854117, 1.0845005, 60.0),
    (50, 200, 70, 107.3350084, 1.1372334, 53.130102), (30, 90, 0, 60.0, 1.0, None)])
def test_slider_crank_stroke_and_quick_return(
    crank: float, rod: float, offset: float, stroke: float, quick: float, mu: float | None
) -> None:
    turn = solve_turn(slider_crank(crank, rod, offset, 70))
    ends = np.array(dead_centres(turn, "ram"))
    at = pose_at(turn, ends).path("ram.B")[:, 0]
    assert np.ptp(at) == pytest.approx(stroke, abs=6e-8)
    between = np.degrees(ends[1] - ends[0])
    assert max(between, 360 - between) / min(between, 360 - between) == \
        pytest.approx(quick, abs=6e-8)
    if mu is not None:
        # Least where the crank stands across the slide, a step of the turn.
        assert np.degrees(four_bars(turn)[0].worst_rad) == pytest.approx(mu, abs=6e-7)


@pytest.mark.parametrize(("n", "peak", "angle"), [
    (3, 1.0546395, 73.17530), (4, 1.0308827, 76.72098), (5, 1.0198331, 79.10014)])
def test_peak_speed_of_an_in_line_slider_crank(n: int, peak: float, angle: float) -> None:
    turn = solve_turn(slider_crank(10, 10 * n, 0, 30))
    near = pose_at(turn, np.radians(angle + np.linspace(-1, 1, 4001)))
    speed = np.abs(rates(near).slope("ram.B")[0]) / 10
    assert speed.max() == pytest.approx(peak, abs=6e-8)
    assert np.degrees(near.crank_rad[speed.argmax()]) == pytest.approx(angle, abs=6e-4)


def test_harmonics_of_an_in_line_slider_crank() -> None:
    turn = solve_turn(slider_crank(10, 40, 0, 30))
    series = np.fft.rfft(turn.path("ram.B")[:, 0] / 10) / 360
    assert series[[2, 4, 6]].real == pytest.approx([0.06350626, -2.561320e-4, 2.0661e-6],
                                                   abs=6e-9)


@pytest.mark.parametrize("left", [True, False])
def test_freudensteins_equation_holds_all_round(left: bool) -> None:
    """F. Freudenstein, Trans. ASME 77 (1955); from memory."""
    d, a, b, c = NORTON
    turn = solve_turn(four_bar(*NORTON, 40, left))
    phi = turn.crank_rad
    arm = turn.path("rocker.B") - turn.path("rocker.Q")
    psi = np.arctan2(arm[:, 1], arm[:, 0])
    k3 = (a**2 - b**2 + c**2 + d**2) / (2 * a * c)
    error = d / a * np.cos(psi) - d / c * np.cos(phi) + k3 - np.cos(phi - psi)
    assert np.abs(error).max() < 1e-12
