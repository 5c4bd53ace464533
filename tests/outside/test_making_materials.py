"""What wood, plywood and metals bear, against published tables.

Sources: USDA Wood Handbook, small clear specimens at 12 % moisture (species tables as copied
on the web, read; walnut across the grain and shear, the slopes of grain: from memory);
National Design Specification for wood, dowel bearing (a copy of its formulas, read; that copy
prints 16 000 for thin dowels, another 16 600, which is right); Hankinson's formula (read);
tolerances of sanded plywood (a maker's table, read); 6061-T6 and A36 (a textbook's appendix,
read). Numbers in MPa worked out from psi by the founders.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.materials import (
    allowable,
    bending_left,
    breaking,
    breaking_over,
    hankinson,
    material,
    ply_tolerance,
    safety_number,
)

QUARTER_INCH = 6.35
PSI = 6.894757e-3
ACROSS = math.pi / 2


@pytest.mark.parametrize(("wood", "gravity", "gpa", "along", "across", "shear", "density"), [
    ("basswood", .37, 10.1, 32.6, 2.6, 6.8, 414),
    ("black-cherry", .50, 10.3, 49.0, 4.8, 11.7, 560),
    ("yellow-birch", .62, 13.9, 56.3, 6.7, 13.0, 694),
    ("paper-birch", .55, 11.0, 39.2, 4.1, 8.3, 616),
    ("sugar-maple", .63, 12.6, 54.0, 10.1, 16.1, 706),
    ("black-walnut", .55, 11.6, 52.3, 7.0, 9.4, 616)])
def test_woods_bear_what_the_handbook_says(
    wood: str, gravity: float, gpa: float, along: float, across: float, shear: float,
    density: float,
) -> None:
    of = material(wood)
    assert of.figures["specific_gravity"].middle == gravity
    assert of.density_kg_m3 == pytest.approx(density, abs=1)
    assert breaking(of, "elastic").low == pytest.approx(1000 * gpa, rel=0.01)
    assert breaking(of, "compression").middle == pytest.approx(along, abs=0.05)
    assert breaking(of, "compression", 6.0, ACROSS).middle == pytest.approx(across, abs=0.05)
    assert breaking(of, "shear").middle == pytest.approx(shear, abs=0.05)


def test_shear_across_the_grain_is_at_most_a_third_of_that_along() -> None:
    """Forest Products Laboratory report 1522, read: a third is the design figure."""
    cherry = material("black-cherry")
    along, across = breaking(cherry, "shear"), breaking(cherry, "shear", 6.0, ACROSS)
    assert across.high == pytest.approx(along.middle / 3, rel=1e-6)
    assert across.low < across.high


@pytest.mark.parametrize(("wood", "along", "across"), [
    ("basswood", 28.6, 19.9), ("black-cherry", 38.6, 30.8), ("black-walnut", 42.5, 35.4),
    ("yellow-birch", 47.9, 42.1), ("sugar-maple", 48.6, 43.0)])
def test_a_quarter_inch_dowel_bears_as_the_design_specification_says(
    wood: str, along: float, across: float
) -> None:
    of = material(wood)
    at = [breaking(of, "bearing", 12.0, angle, QUARTER_INCH).middle for angle in (0.0, ACROSS)]
    assert at == pytest.approx([along, across], abs=0.06)


def test_a_thinner_dowel_bears_alike_in_every_direction() -> None:
    """16 600 G^1.84 psi below 1/4 inch: G = .50 gives 31.97 MPa, worked out."""
    cherry, thin = material("black-cherry"), 16_600 * 0.5**1.84 * PSI
    assert thin == pytest.approx(31.97, abs=0.01)
    for angle in (0.0, 0.7, ACROSS):
        assert breaking(cherry, "bearing", 12.0, angle, 5.0).middle == pytest.approx(
            31.97, abs=0.01)


@pytest.mark.parametrize(("deg", "mpa"), [
    (0, 49.0), (10, 38.35), (20, 23.59), (30, 14.84), (45, 8.74), (90, 4.8)])
def test_cherry_pressed_at_an_angle_follows_hankinson(deg: float, mpa: float) -> None:
    """Table worked out from P = 49.0 and Q = 4.8 MPa."""
    assert float(hankinson(49.0, 4.8, math.radians(deg))) == pytest.approx(mpa, abs=0.01)
    for angle in (deg, -deg, 180 - deg):
        found = breaking(material("black-cherry"), "compression", 6.0, math.radians(angle))
        assert found.middle == pytest.approx(mpa, abs=0.03)


@pytest.mark.parametrize(("run", "left"), [(20, .93), (15, .89), (10, .81), (5, .55)])
def test_bending_strength_left_at_a_slope_of_grain(run: float, left: float) -> None:
    """Wood Handbook, from memory."""
    assert float(bending_left(math.atan(1 / run))) == pytest.approx(left, abs=0.005)


def test_strength_only_falls_as_the_grain_turns_away() -> None:
    angles = np.linspace(0, ACROSS, 400)
    for wood in ("basswood", "sugar-maple", "black-walnut"):
        for kind in ("bending", "tension", "compression", "shear", "bearing"):
            found = breaking_over(material(wood), kind, 9.0, angles, 8.0)
            assert np.all(np.diff(found.low) <= 1e-9)
            assert np.all(found.low > 0)


@pytest.mark.parametrize(("thick", "flat", "flat_across", "gpa", "gpa_across"), [
    (6.5, 50.9, 29.0, 12.7, 4.8), (9, 45.6, 32.1, 11.4, 6.1), (12, 42.9, 33.2, 10.7, 6.8),
    (18, 40.2, 34.1, 10.0, 7.5)])
def test_birch_plywood_bends_as_its_handbook_says(
    thick: float, flat: float, flat_across: float, gpa: float, gpa_across: float
) -> None:
    """Handbook of Finnish Plywood, from memory."""
    ply = material("birch-plywood")
    assert ply.density_kg_m3 == 680
    for angle, strong, stiff in ((0.0, flat, gpa), (ACROSS, flat_across, gpa_across)):
        assert breaking(ply, "bending-flat", thick, angle).middle == pytest.approx(strong)
        assert breaking(ply, "elastic-flat", thick, angle).middle == pytest.approx(1000 * stiff)
    assert breaking(ply, "panel-shear", thick).middle == 9.5
    rolling = breaking(ply, "rolling-shear", thick)
    assert (rolling.low, rolling.high) == (1.8, 3.2)


@pytest.mark.parametrize(("nominal", "thin", "thick"), [
    (4, 3.5, 4.3), (6.5, 6.0, 6.9), (9, 8.5, 9.4), (12, 11.3, 12.5), (15, 14.2, 15.6),
    (18, 17.1, 18.7), (21, 20.0, 21.8), (24, 22.9, 24.9)])
def test_a_sheet_may_be_off_its_nominal_thickness(
    nominal: float, thin: float, thick: float
) -> None:
    assert ply_tolerance(nominal + 0.1) == pytest.approx((nominal, thin, thick))


@pytest.mark.parametrize(("metal", "density", "e", "g", "strong"), [
    ("aluminium-6061", 2710, 68.9, 26.0, 255), ("steel", 7850, 200.0, 75.0, 250)])
def test_metals_are_those_of_the_table(
    metal: str, density: float, e: float, g: float, strong: float
) -> None:
    of = material(metal)
    assert of.density_kg_m3 == density
    assert breaking(of, "elastic").low == pytest.approx(1000 * e)
    assert breaking(of, "shear-modulus").low == pytest.approx(1000 * g)
    assert breaking(of, "tension").low == strong
    # Von Mises: yield in shear is that in tension over √3.
    assert breaking(of, "shear").low == pytest.approx(strong / math.sqrt(3))


def test_naval_brass_of_the_course_table() -> None:
    """60 ksi and 85 ksi, 15 Mpsi, read."""
    brass = material("brass")
    assert breaking(brass, "tension").low == pytest.approx(60e3 * PSI, rel=0.002)
    assert brass.figures["tensile_mpa"].low == pytest.approx(85e3 * PSI, rel=0.002)
    assert breaking(brass, "elastic").low == pytest.approx(15e6 * PSI, rel=0.005)


def test_wood_is_built_on_at_a_third_to_a_quarter_of_its_mean() -> None:
    """Common practice, no source."""
    found = allowable(material("black-cherry"), "compression")
    assert (safety_number("wood").low, safety_number("wood").high) == (3.0, 4.0)
    assert (found.low, found.high) == pytest.approx((49.0 / 4, 49.0 / 3), abs=0.02)
