"""Straight-line linkages, cognates and geared curves against published proportions.

Sources, with how far the numbers can be trusted:

* Hoeken's linkage, all rows of the "optimum straightness" table of R. L. Norton, *Design
  of Machinery*, table 3-1: from memory, and an independent calculation gives every row.
  Of the "minimum velocity error" half of that table only the rows an independent
  calculation confirms, 20° to 80°.
* Evans's linkage: proportions from memory, and how the last is meant is our reading of
  it; the figures calculated. Weak: it shows that nothing changed, hardly more.
* Proportions of Hoeken's 1 : 2 : 2.5 and Chebyshev's 4 : 5 : 2 linkages, and that they are
  cognates: read (the number for their deviation calculated by us).
* Watt's, Roberts's linkages; Peaucellier's cell; cognates after Roberts and Chebyshev;
  curves of geared cranks: closed formulae of any textbook, from memory; the numbers
  calculated from them independently of this program.
"""

from __future__ import annotations

import numpy as np
import pytest
from linkages import four_bar, linkage, meet
from numpy.typing import NDArray

from core.model import Belt, Mesh
from core.motion import pose_at, rates, solve_turn

HOEKEN = [  # β°, L1, Δx, ΔCy %, ΔV %
    (20, 2.975, .601, .00001, .38), (40, 2.950, 1.193, .00004, 1.53),
    (60, 2.900, 1.763, .00027, 3.48), (80, 2.825, 2.299, .001, 6.27),
    (100, 2.725, 2.790, .004, 9.90), (120, 2.625, 3.238, .010, 14.68),
    (140, 2.500, 3.623, .023, 20.48), (160, 2.350, 3.933, .047, 27.15),
    (180, 2.200, 4.181, .096, 35.31)]

STEADY = [  # β°, L1, ΔV %, ΔCy %
    (20, 2.075, .006, .137), (40, 2.050, .038, .274), (60, 2.025, .106, .387),
    (80, 1.975, .340, .503)]


def path(sketch: object, ref: str) -> NDArray[np.complex128]:
    at = solve_turn(sketch).path(ref)  # type: ignore[arg-type]
    return at[:, 0] + 1j * at[:, 1]


@pytest.mark.parametrize(("beta", "ground", "length", "off_percent", "speed_percent"), HOEKEN)
def test_hoekens_line_is_as_straight_as_the_table_says(
    beta: float, ground: float, length: float, off_percent: float, speed_percent: float
) -> None:
    # The exact coupler length is our inference from the table; it fits every row.
    arm = 1.5 * ground - 0.5
    sketch = four_bar(ground, 1, arm, arm, 90, point=2 * arm + 0j)
    turn = pose_at(solve_turn(sketch), np.radians(np.linspace(180 - beta / 2,
                                                              180 + beta / 2, 721)))
    at = turn.path("coupler.P")
    assert np.ptp(at[:, 0]) == pytest.approx(length, abs=6e-4)
    off = 100 * np.ptp(at[:, 1]) / np.ptp(at[:, 0])
    digits = 5e-6 if off_percent < 1e-3 else 5.1e-4
    assert off == pytest.approx(off_percent, abs=digits)
    speed = np.abs(rates(turn).slope("coupler.P")[0].real)
    assert 100 * np.ptp(speed) / speed.mean() == pytest.approx(speed_percent, abs=0.15)


@pytest.mark.parametrize(("beta", "ground", "speed_percent", "off_percent"), STEADY)
def test_hoekens_speed_is_as_steady_as_the_table_says(
    beta: float, ground: float, speed_percent: float, off_percent: float
) -> None:
    arm = 1.5 * ground - 0.5
    sketch = four_bar(ground, 1, arm, arm, 90, point=2 * arm + 0j)
    turn = pose_at(solve_turn(sketch), np.radians(np.linspace(180 - beta / 2,
                                                              180 + beta / 2, 721)))
    speed = np.abs(rates(turn).slope("coupler.P")[0].real)
    assert 100 * np.ptp(speed) / speed.mean() == pytest.approx(speed_percent, abs=5.1e-4)
    at = turn.path("coupler.P")
    assert 100 * np.ptp(at[:, 1]) / np.ptp(at[:, 0]) == pytest.approx(off_percent, abs=5.1e-4)


def test_hoekens_and_chebyshevs_linkages_draw_the_same_line() -> None:
    hoeken = path(four_bar(2, 1, 2.5, 2.5, 90, point=5 + 0j), "coupler.P")
    flat = hoeken[(np.abs(hoeken.real - 2) <= 2) & (np.abs(hoeken.imag - 4) < .02)]
    assert len(flat) > 200
    assert np.ptp(flat.imag) == pytest.approx(.009753733, abs=1e-6)
    # Chebyshev's: ground 4, arms 5 crossed, coupler 2, its middle. Driven by an arm it
    # does not go round; the flat part is within reach.
    a = complex(5 * np.exp(1j * np.radians(53.0)))
    sketch = four_bar(4, 5, 2, 5, float(np.degrees(np.angle(a))), left=False, point=1 + 0j)
    turn = solve_turn(sketch)
    at = turn.path("coupler.P")[turn.reached]
    flat = at[(np.abs(at[:, 0] - 2) <= 2) & (np.abs(at[:, 1] - 4) < .02)]
    assert len(flat) > 50
    assert np.ptp(flat[:, 1]) == pytest.approx(.009753733, abs=4e-6)
    assert flat[:, 1].min() == pytest.approx(4, abs=1e-5)


@pytest.mark.parametrize(("arms", "coupler", "travel", "most"), [
    (3, 2, 1, 1.4887e-4), (3, 2, 2, 5.2454e-3), (2, 1, 1, 1.04578e-3)])
def test_watts_line(arms: float, coupler: float, travel: float, most: float) -> None:
    """Level arms and an upright coupler in the middle; its midpoint goes up and down."""
    o, q = complex(-arms, coupler / 2), complex(arms, -coupler / 2)
    top, low = complex(0, coupler / 2), complex(0, -coupler / 2)
    sketch = linkage(
        {"frame": {"O": o, "Q": q}, "crank": {"O": o, "A": top},
         "coupler": {"A": top, "B": low, "M": 0j}, "rocker": {"B": low, "Q": q}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"])
    turn = pose_at(solve_turn(sketch), np.radians(np.linspace(-50, 50, 20001)))
    at = turn.path("coupler.M")
    inside = np.abs(at[:, 1]) <= travel / 2
    assert np.abs(at[inside, 0]).max() == pytest.approx(most, rel=2e-3)


@pytest.mark.parametrize(("legs", "off"), [(1.0, .031929), (1.2, .013642)])
def test_roberts_line(legs: float, off: float) -> None:
    """Ground 2, coupler 1, the point under it on the ground line at mid-stroke."""
    height = np.sqrt(legs**2 - .25)
    a, b, p = complex(.5, height), complex(1.5, height), 1 + 0j
    sketch = linkage(
        {"frame": {"O": 0j, "Q": 2 + 0j}, "crank": {"O": 0j, "A": a},
         "coupler": {"A": a, "B": b, "P": p}, "rocker": {"B": b, "Q": 2 + 0j}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"],
        drawn_deg=float(np.degrees(np.angle(a))))
    turn = solve_turn(sketch)
    # Driven by one leg it locks beyond the middle; the other half mirrors this one.
    crank = np.angle(a) - np.radians(np.linspace(0, 90, 20001))
    near = pose_at(turn, crank).path("coupler.P")
    within = np.flatnonzero(near[:, 0] <= 2 + 1e-9)
    near = near[:within[np.argmax(near[within, 0])] + 1]
    assert np.ptp(near[:, 0]) == pytest.approx(1, abs=1e-3)
    assert np.ptp(near[:, 1]) == pytest.approx(off, abs=2e-5)


def test_evanss_linkage_has_its_straightest_60_degrees_where_calculated() -> None:
    """Ground 1.2, crank 1, coupler 1.6, rocker 1.039; the point 2.69 from the crank pin."""
    at = path(four_bar(1.2, 1, 1.6, 1.039, 90, point=2.69 + 0j), "coupler.P")
    windows = [np.roll(at, -start)[:121] for start in range(720)]  # 60° each
    found = []
    for window in windows:
        if np.isfinite(window).all():
            off = window - window.mean()
            off = off * np.exp(-0.5j * np.angle((off**2).sum()))
            found.append((float(np.ptp(off.imag) / np.ptp(off.real)), float(np.ptp(off.real)),
                          float(np.ptp(off.imag))))
    ratio, length, across = min(found)
    assert length == pytest.approx(.682, abs=6e-4)
    assert across == pytest.approx(.0020, abs=6e-5)
    assert ratio == pytest.approx(.0029, abs=6e-5)


@pytest.mark.filterwarnings("error::RuntimeWarning")
@pytest.mark.parametrize("r", [1.75, 2.0, 2.5])
def test_peaucelliers_cell_draws_an_exact_line(r: float) -> None:
    """OP·OQ = L² − l², so a crank circle of radius r through O gives x = (L² − l²)/2r.

    The example usually given, L = 5, l = 2, r = 1.5 and x = 7, cannot be built: its circle
    reaches no farther than L − l, where the cell folds flat.
    """
    long, short = 5.0, 2.0
    o, c = 0j, complex(r)
    inner = complex(c + r * np.exp(0.4j))
    a, b = (meet(o, inner, long, short, side) for side in (True, False))
    outer = a + b - inner
    parts = {"frame": {"O": o, "C": c}, "crank": {"C": c, "I": inner},
             "long-a": {"O": o, "A": a}, "long-b": {"O": o, "B": b},
             "in-a": {"I": inner, "A": a}, "in-b": {"I": inner, "B": b},
             "out-a": {"A": a, "P": outer}, "out-b": {"B": b, "P": outer}}
    sketch = linkage(parts, ["frame.C crank.C", "crank.I in-a.I in-b.I",
                             "frame.O long-a.O long-b.O", "long-a.A in-a.A out-a.A",
                             "long-b.B in-b.B out-b.B", "out-a.P out-b.P"],
                     drawn_deg=float(np.degrees(0.4)))
    turn = solve_turn(sketch)
    line = turn.path("out-a.P")[turn.reached]
    assert 200 < len(line) < 720
    assert np.abs(line[:, 0] - (long**2 - short**2) / (2 * r)).max() <= 2e-12
    assert np.ptp(line[:, 1]) > 5


def test_the_three_cognates_draw_one_curve() -> None:
    """Roberts–Chebyshev theorem on ground 100, crank 40, coupler 120, rocker 80, the point
    at (60, 50) along and left of the coupler."""
    k = (60 + 50j) / 120
    o2, o4 = 0j, 100 + 0j
    o3 = o2 + k * (o4 - o2)
    assert o3 == pytest.approx(50 + 41.6667j, abs=1e-4)
    base = four_bar(100, 40, 120, 80, 70, point=60 + 50j)
    a, b, p = (complex(base.point(ref).x, base.point(ref).y)
               for ref in ("crank.A", "coupler.B", "coupler.P"))
    # A parallelogram at either fixed pivot, a triangle similar to the coupler at P.
    cognates = [(o2, o3, o2 + (p - a), o3 + k * (b - o4)),
                (o4, o3, o4 + (p - b), o3 + (1 - k) * (a - o2))]
    published = [(65.0854140, 78.1024968, 26.0341656, 52.0683313),
                 (65.0854140, 78.1024968, 52.0683313, 26.0341656)]
    turn = solve_turn(base)
    curve, fine = turn.path("coupler.P"), solve_turn(base, 5760).path("coupler.P")
    assert curve[[0, 180]] == pytest.approx(
        np.array([[58.7073208, 75.8289928], [40.5833409, 106.7307458]]), abs=6e-8)
    for (near, far, pin, end), lengths in zip(cognates, published, strict=True):
        found = [abs(far - near), abs(pin - near), abs(end - pin), abs(end - far)]
        assert found == pytest.approx(lengths, abs=2e-7)
        sketch = linkage(
            {"frame": {"O": near, "Q": far}, "crank": {"Q": far, "B": end},
             "coupler": {"A": pin, "B": end, "P": p}, "rocker": {"A": pin, "O": near}},
            ["frame.Q crank.Q", "crank.B coupler.B", "coupler.A rocker.A",
             "rocker.O frame.O"], drawn_deg=float(np.degrees(np.angle(end - far))))
        # Driven by another of its links the cognate may not go round; what it draws is
        # on the curve, to the chords' own deviation.
        drawn = solve_turn(sketch).path("coupler.P")
        drawn = drawn[np.isfinite(drawn[:, 0])]
        assert len(drawn) > 100
        assert _apart(drawn, fine) < 1e-4


def _apart(points: NDArray[np.float64], curve: NDArray[np.float64]) -> float:
    """Largest distance of points from a closed curve's chords."""
    tail, tip = curve, np.roll(curve, -1, axis=0)
    way = tip - tail
    share = ((points[:, None] - tail) * way).sum(-1) / np.maximum((way**2).sum(-1), 1e-30)
    off = points[:, None] - tail - np.clip(share, 0, 1)[..., None] * way
    return float(np.nanmin(np.hypot(off[..., 0], off[..., 1]), axis=1).max())


CURVES = [  # turns of the second crank, arms: circle, ellipse, line, cardioid, nephroid …
    (1, 30.0, 20.0), (-1, 30.0, 20.0), (-1, 25.0, 25.0), (2, 60.0, 30.0), (3, 90.0, 30.0),
    (-2, 60.0, 30.0), (-3, 90.0, 30.0)]


@pytest.mark.parametrize(("n", "a", "d"), CURVES)
def test_geared_cranks_with_a_parallelogram_draw_the_named_curves(
    n: int, a: float, d: float
) -> None:
    """P = a e^{iθ} + d e^{inθ}, two cranks on one axis geared 1 : n over an idler; the
    parallelogram is flat 2·|n − 1| times a turn and must keep its way each time."""
    parts = {
        "frame": {"O": 0j, "R": 50 - 80j}, "crank": {"O": 0j, "A": complex(a)},
        "wheel": {"O": 0j, "B": d * np.exp(0.3j)}, "idler": {"R": 50 - 80j},
        "one": {"A": complex(a), "P": a + d * np.exp(0.3j)},
        "two": {"B": d * np.exp(0.3j), "P": a + d * np.exp(0.3j)}}
    gears = [Mesh(id="first", a="crank.O", b="idler.R", teeth_a=20 * abs(n), teeth_b=30),
             Mesh(id="second", a="idler.R", b="wheel.O", teeth_a=30, teeth_b=20)]
    belts = []
    if n < 0:
        belts = [Belt(id="second", a="idler.R", b="wheel.O", diameter_a_mm=30.0,
                      diameter_b_mm=20.0)]
        gears.pop()
    sketch = linkage(parts, ["frame.O crank.O wheel.O", "frame.R idler.R", "crank.A one.A",
                             "wheel.B two.B", "one.P two.P"], meshes=tuple(gears),
                     belts=tuple(belts))
    turn = solve_turn(sketch)
    theta, x_y = turn.crank_rad, turn.path("one.P")
    at = x_y[:, 0] + 1j * x_y[:, 1]
    off = at - (a * np.exp(1j * theta) + d * np.exp(1j * (n * theta + 0.3)))
    assert np.abs(off).max() < 1e-9 * (a + d)
    if n == -1:
        upright = at * np.exp(-0.15j)
        assert np.ptp(upright.real) / 2 == pytest.approx(a + d, rel=1e-4)
        assert np.ptp(upright.imag) / 2 == pytest.approx(abs(a - d), rel=1e-4, abs=1e-8)
