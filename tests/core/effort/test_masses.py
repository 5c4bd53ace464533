"""Masses of parts against shapely (general-purpose reference) and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.effort import mass_of
from core.effort.masses import together
from core.errors import SketchError
from core.materials import FRICTION, MATERIALS, material
from core.model import Bar, Disc, Mass, Part, Plate, Point, Polygon
from core.space import outline_of

BIRCH = 680e-9  # kg/mm³


def sheet(outline: object, *places: tuple[float, float], **more: object) -> Part:
    points = tuple(Point(id=f"p{k}", x=x, y=y) for k, (x, y) in enumerate(places))
    return Part(id="it", points=points, outline=outline, **more)


def moment_by_triangles(shape: shapely.Polygon, about: complex) -> float:
    """Polar second moment from a constrained triangulation: three mid-edge places carry
    a quadratic exactly (textbook quadrature)."""
    total = 0.0
    for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(shape)):
        xy = shapely.get_coordinates(triangle)[:3]
        z = xy[:, 0] + 1j * xy[:, 1]
        middle = (z + np.roll(z, 1)) / 2
        total += triangle.area / 3 * float(np.sum(np.abs(middle - about) ** 2))
    return total


places = st.tuples(st.integers(-90, 90), st.integers(-90, 90))


@given(st.lists(places, min_size=2, max_size=7, unique=True), st.integers(4, 30))
def test_plates_and_bars_weigh_what_their_outline_weighs(
    corners: list[tuple[int, int]], radius: int
) -> None:
    shape = Plate(margin_mm=radius) if len(corners) > 2 else Bar(width_mm=2 * radius)
    part = sheet(shape, *corners)
    found, outline = mass_of(part), outline_of(part)
    assert found.kg == pytest.approx(outline.area * 6 * BIRCH, rel=1e-3)
    centre = complex(outline.centroid.x, outline.centroid.y)
    assert abs(found.centre - centre) < 0.02
    polar = moment_by_triangles(outline, centre) * 6 * BIRCH
    assert found.inertia_kgmm2 == pytest.approx(polar, rel=3e-3)


def test_a_disc_and_a_round_ended_bar_are_exact() -> None:
    disc = mass_of(sheet(Disc(radius_mm=30.0), (5, 6), thickness_mm=4.0))
    assert disc.kg == pytest.approx(math.pi * 900 * 4 * BIRCH, rel=1e-14)
    assert disc.inertia_kgmm2 == pytest.approx(disc.kg * 900 / 2, rel=1e-14)
    assert disc.centre == 5 + 6j
    # A rectangle and two half discs (textbook: centroid of a half disc at 4r/3π).
    bar = mass_of(sheet(Bar(width_mm=20.0), (0, 0), (0, 70)))
    area = 70 * 20 + math.pi * 100
    half, off = math.pi * 50, 40 / (3 * math.pi)
    polar = (1400 * (70**2 + 20**2) / 12
             + 2 * (half * 50 - half * off**2 + half * (35 + off) ** 2))
    assert bar.kg == pytest.approx(area * 6 * BIRCH, rel=1e-13)
    assert bar.inertia_kgmm2 == pytest.approx(polar * 6 * BIRCH, rel=1e-13)
    assert abs(bar.centre - 35j) < 1e-12


def test_holes_of_a_free_outline_take_mass_away_whatever_way_round_they_are_drawn() -> None:
    square = ((1000, 1000), (1060, 1000), (1060, 1060), (1000, 1060))
    hole = ((1010, 1010), (1030, 1010), (1030, 1030), (1010, 1030))
    one = mass_of(sheet(Polygon(outer=square, holes=(hole,))))
    two = mass_of(sheet(Polygon(outer=square[::-1], holes=(hole[::-1],))))
    area = 3600 - 400
    centre = (3600 * 1030 - 400 * 1020) / area
    polar = (3600 * (2 * 3600) / 12 + 3600 * 2 * (1030 - centre) ** 2
             - 400 * (2 * 400) / 12 - 400 * 2 * (1020 - centre) ** 2)
    for found in (one, two):
        assert found.kg == pytest.approx(area * 6 * BIRCH, rel=1e-12)
        assert abs(found.centre - complex(centre, centre)) < 1e-9
        assert found.inertia_kgmm2 == pytest.approx(polar * 6 * BIRCH, rel=1e-9)


def test_a_bent_bar_weighs_what_its_outline_weighs() -> None:
    part = sheet(Bar(width_mm=16.0), (0, 0), (80, 0), (110, 50), material="steel")
    outline = outline_of(part)
    assert mass_of(part).kg == pytest.approx(outline.area * 6 * 7850e-9, rel=1e-12)


def test_a_typed_mass_replaces_the_sheet() -> None:
    part = sheet(None, (0, 0), (9, 0), mass=Mass(mass_kg=2, x=3, y=4, inertia_kgmm2=5))
    assert (mass_of(part).kg, mass_of(part).centre, mass_of(part).inertia_kgmm2) == (
        2, 3 + 4j, 5)


def test_parts_made_fast_add_by_the_parallel_axis_theorem() -> None:
    left = mass_of(sheet(Disc(radius_mm=10.0), (0, 0)))
    right = mass_of(sheet(Disc(radius_mm=10.0), (40, 0)))
    both = together([left, right])
    assert both.centre == 20
    assert both.inertia_kgmm2 == pytest.approx(2 * left.kg * (50 + 400), rel=1e-14)


@pytest.mark.parametrize(("changed", "words"), [
    ({"mass": Mass(mass_kg=-1, x=0, y=0)}, "mass of -1"),
    ({"mass": Mass(mass_kg=1, x=0, y=0, inertia_kgmm2=float("nan"))}, "moment of inertia"),
    ({"thickness_mm": -2.0}, "thickness of -2"),
    ({"material": "unobtainium"}, "unknown material"),
])
def test_a_mass_that_cannot_be_is_refused_in_words(
    changed: dict[str, object], words: str
) -> None:
    with pytest.raises(SketchError, match=words):
        mass_of(sheet(Disc(radius_mm=5.0), (0, 0), **changed))


def test_every_material_has_a_density_with_source_and_trust() -> None:
    assert material("birch-plywood").density_kg_m3 == 680
    for id_, each in MATERIALS.items():
        assert each.id == id_ == id_.lower().replace(" ", "-")
        assert 300 < each.density_kg_m3 < 9000
        assert each.source
        assert all(f.low <= f.high and f.source for f in each.figures.values())
    # Densities of woods at 12 % moisture (calculated from the published specific gravity).
    woods = {"basswood": 414, "black-cherry": 560, "yellow-birch": 694,
             "paper-birch": 616, "sugar-maple": 706, "black-walnut": 616}
    assert {name: material(name).density_kg_m3 for name in woods} == woods
    assert all(0 < pair.low <= pair.high for pair in FRICTION)
