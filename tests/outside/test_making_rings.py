"""Retaining rings against tables and a printed load.

Sources: DIN 6799 E-clips (a maker's table, read): groove, range of rods, width of the groove,
least rod beyond it, load at one rod. DIN 471 shaft rings (a table on the web, read); their
groove loads at 200 MPa from memory. Inch rings: P = Cf · B · t · Ys · π / K with the ring
T5304-018 of a maker's page (read): rod 3/16, groove 0.148 by 0.029, depth 0.020, Cf 0.5, Ys
45 ksi, K 2: 132 lbf printed, 132.9 worked out.
"""

from __future__ import annotations

import pytest

from core.making.rings import Ring, groove_load_n, inch_groove_load_n, rings_for

INCH, LBF, KSI = 25.4, 0.45359237 * 9.80665, 6.894757


def ring(rod: float, standard: str, groove: float) -> Ring:
    (found,) = (one for one in rings_for(rod)
                if one.standard == standard and one.groove_mm == groove)
    return found


@pytest.mark.parametrize(("groove", "thin", "thick", "width", "end", "kn", "at"), [
    (1.9, 2.5, 3, .54, 1.0, .10, 2.5), (2.3, 3, 4, .64, 1.0, .15, 3),
    (3.2, 4, 5, .64, 1.0, .22, 4), (4.0, 5, 7, .74, 1.2, .25, 5), (5.0, 6, 8, .74, 1.2, .90, 7),
    (6.0, 7, 9, .74, 1.2, 1.10, 8), (7.0, 8, 11, .94, 1.5, 1.25, 9),
    (8.0, 9, 12, 1.05, 1.8, 1.42, 10)])
def test_e_clips_are_those_of_the_table(
    groove: float, thin: float, thick: float, width: float, end: float, kn: float, at: float
) -> None:
    for rod in (thin, at, thick):
        found = ring(rod, "DIN 6799", groove)
        assert (found.width_mm, found.end_mm) == (width, end)
        assert found.load_n.high <= 1000 * kn + 1e-9
    assert ring(at, "DIN 6799", groove).load_n.low == pytest.approx(1000 * kn)
    for rod in (thin - 0.1, thick + 0.1):
        assert groove not in {one.groove_mm for one in rings_for(rod)
                              if one.standard == "DIN 6799"}


def test_a_quarter_inch_rod_takes_the_clip_of_five_or_four() -> None:
    clips = [one.groove_mm for one in rings_for(6.35) if one.standard == "DIN 6799"]
    assert clips == [5.0, 4.0]


@pytest.mark.parametrize(("rod", "groove", "width", "thick", "end", "kn"), [
    (3, 2.8, .5, .4, .3, .15), (4, 3.8, .5, .4, .3, .20), (5, 4.8, .7, .6, .3, .26),
    (6, 5.7, .8, .7, .5, .46), (7, 6.7, .9, .8, .5, .54), (8, 7.6, .9, .8, .6, .81),
    (9, 8.6, 1.1, 1.0, .6, .92), (10, 9.6, 1.1, 1.0, .6, 1.01)])
def test_shaft_rings_are_those_of_the_table(
    rod: float, groove: float, width: float, thick: float, end: float, kn: float
) -> None:
    found = ring(float(rod), "DIN 471", groove)
    assert (found.width_mm, found.thick_mm, found.end_mm) == (width, thick, end)
    assert groove_load_n(rod, groove) == pytest.approx(1000 * kn, rel=0.03)


def test_the_printed_load_of_an_inch_ring() -> None:
    load = inch_groove_load_n(3 / 16 * INCH, 0.020 * INCH, 45 * KSI)
    assert load / LBF == pytest.approx(132.5, abs=0.6)


def test_inch_rings_for_two_rods() -> None:
    """Grooves 0.148 × 0.029 (read) and 0.207 × 0.029 inches (from memory)."""
    for inches, groove in ((0.1875, 0.148), (0.25, 0.207)):
        (found,) = (one for one in rings_for(inches * INCH) if one.standard == "inch")
        assert found.groove_mm == pytest.approx(groove * INCH)
        assert found.width_mm == pytest.approx(0.029 * INCH)
