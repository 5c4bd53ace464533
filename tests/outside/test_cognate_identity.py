"""Cognates: three four-bars, and a geared five-bar, draw one and the same curve.

Sources, with how far the numbers can be trusted: the theorem of Roberts and Chebyshev and
the construction of the cognates are textbook formulae, from memory; the numbers were
calculated from them independently of this program. Hoeken's proportions 1 : 2 : 2.5 and
Chebyshev's 4 : 5 : 2, and that they are cognates: read. That a four-bar's curve is also
drawn by a five-bar with gears of ratio one: from memory (A. S. Hall, *Kinematics and Linkage
Design*, 1961).
"""

from __future__ import annotations

import numpy as np
import pytest
from linkages import four_bar, linkage
from numpy.typing import NDArray

from core.model import Belt, Sketch
from core.motion import solve_turn
from core.wanted.cognates import FourBar, cognates, five_bar, third_pivot

Places = NDArray[np.complex128]


def bar_of(sketch: Sketch) -> FourBar:
    """The places of a four-bar with pins O, A, B, Q and the point P on its coupler."""
    return FourBar(o2=sketch.place("frame.O"), o4=sketch.place("frame.Q"),
                   a=sketch.place("crank.A"), b=sketch.place("coupler.B"),
                   p=sketch.place("coupler.P"))


def sketch_of(bar: FourBar, reading_deg: float) -> Sketch:
    """A four-bar to turn, its crank at O2."""
    return linkage(
        {"frame": {"O": bar.o2, "Q": bar.o4}, "crank": {"O": bar.o2, "A": bar.a},
         "coupler": {"A": bar.a, "B": bar.b, "P": bar.p}, "rocker": {"B": bar.b, "Q": bar.o4}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"],
        drawn_deg=reading_deg)


def drawn(sketch: Sketch, ref: str = "coupler.P") -> Places:
    """The path of a point over the steps reached, complex mm."""
    turn = solve_turn(sketch)
    return np.asarray((turn.path(ref) @ np.array([1, 1j]))[turn.reached])


def lengths(bar: FourBar) -> list[float]:
    return [abs(bar.o4 - bar.o2), abs(bar.a - bar.o2), abs(bar.b - bar.a), abs(bar.b - bar.o4)]


def test_the_cognates_have_the_lengths_calculated() -> None:
    """Ground 100, crank 40, coupler 120, rocker 80, the point at (60, 50) in coupler axes."""
    bar = bar_of(four_bar(100, 40, 120, 80, 70, point=60 + 50j))
    assert third_pivot(bar) == pytest.approx(50 + 41.6667j, abs=4e-5)
    timed, other = cognates(bar)
    # To the calculation's last digit and a half.
    left = [abs(other.o4 - other.o2), abs(other.a - other.o2), abs(other.b - other.o4),
            abs(other.b - other.a)]
    assert left == pytest.approx([65.0854140, 78.1024968, 52.0683313, 26.0341656], abs=2e-7)
    right = [abs(timed.o4 - timed.o2), abs(timed.b - timed.o4), abs(timed.a - timed.o2),
             abs(timed.b - timed.a)]
    assert right == pytest.approx([65.0854140, 78.1024968, 26.0341656, 52.0683313], abs=2e-7)


def test_the_cognate_with_its_crank_at_the_third_pivot_keeps_path_and_timing() -> None:
    base = four_bar(100, 40, 120, 80, 70, point=60 + 50j)
    timed, _ = cognates(bar_of(base))
    path = drawn(base)
    assert path[[0, 180]] == pytest.approx(
        np.array([58.7073208 + 75.8289928j, 40.5833409 + 106.7307458j]), abs=6e-8)
    assert np.abs(drawn(sketch_of(timed, 70)) - path).max() < 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_cognates_of_any_crank_rocker_draw_its_path(seed: int) -> None:
    rng = np.random.default_rng(seed)
    while True:
        ground, crank, coupler, rocker = rng.uniform(20, 120, 4)
        if crank < min(ground, coupler, rocker) and 2 * (
                crank + max(ground, coupler, rocker)) < 0.98 * (
                    ground + crank + coupler + rocker):
            break
    point = complex(*rng.uniform(-100, 100, 2))
    start = float(rng.uniform(0, 360))
    base = four_bar(ground, crank, coupler, rocker, start, bool(rng.integers(2)), point)
    bar = bar_of(base)
    timed, other = cognates(bar)
    path = drawn(base)
    size = np.ptp(path.real) + np.ptp(path.imag) + crank
    assert np.abs(drawn(sketch_of(timed, start)) - path).max() < 1e-9 * size
    # The coupler of a crank-rocker swings, so the third four-bar has no crank: link by link
    # it stands where the theorem puts it at every step all the same.
    turn = solve_turn(base)
    a, b = (turn.path(ref) @ np.array([1, 1j]) for ref in ("crank.A", "coupler.B"))
    k = bar.ratio
    pin, end = bar.o2 + k * (b - a), third_pivot(bar) + k * (b - bar.o4)
    for one, two, length in ((pin, other.o2, abs(other.a - other.o2)),
                             (end, other.o4, abs(other.b - other.o4)),
                             (end, pin, abs(other.b - other.a)),
                             (path, pin, abs(other.p - other.a))):
        assert np.abs(np.abs(one - two) - length).max() < 1e-9 * size


@pytest.mark.parametrize("seed", range(4))
def test_a_five_bar_with_equal_gears_draws_the_four_bar_s_path(seed: int) -> None:
    rng = np.random.default_rng([5, seed])
    point = complex(*rng.uniform(-80, 80, 2))
    base = four_bar(100, 30, 80, 70, 55, point=point)
    five = five_bar(bar_of(base))
    sketch = linkage(
        {"frame": {"O": five.o2, "R": five.o5}, "crank": {"O": five.o2, "A": five.a},
         "wheel": {"R": five.o5, "C": five.c}, "one": {"A": five.a, "P": five.p},
         "two": {"C": five.c, "P": five.p}},
        ["frame.O crank.O", "frame.R wheel.R", "crank.A one.A", "wheel.C two.C",
         "one.P two.P"], drawn_deg=55,
        belts=(Belt(id="cord", a="crank.O", b="wheel.R", diameter_a_mm=20.0,
                    diameter_b_mm=20.0),))
    made, path = solve_turn(sketch).path("one.P"), solve_turn(base).path("coupler.P")
    # Where its two rods come to lie in one line they could go on either way.
    assert np.abs(made - path).max() < 1e-9 * 300


def test_hoekens_and_chebyshevs_linkages_are_cognates() -> None:
    """Crank 1, ground 2, arms 2.5 with the point 2.5 beyond: Hoeken's. Its cognate has ground
    4, arms 5 and coupler 2, the point in its middle: Chebyshev's."""
    hoeken = bar_of(four_bar(2, 1, 2.5, 2.5, 90, point=5 + 0j))
    _, chebyshev = cognates(hoeken)
    assert lengths(chebyshev) == pytest.approx([4, 5, 2, 5], abs=1e-12)
    assert chebyshev.ratio == pytest.approx(0.5, abs=1e-12)
    # Over a stroke of 4 both are straight to .009754 (calculated).
    path = drawn(sketch_of(hoeken, 90))
    flat = path[(np.abs(path.real - 2) <= 2) & (np.abs(path.imag - 4) < .02)]
    assert np.ptp(flat.imag) == pytest.approx(.009753733, abs=1e-6)
