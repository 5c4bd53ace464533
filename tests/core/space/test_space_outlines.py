"""Outlines: what a part looks like, and which outlines no sheet can have."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from core.errors import SketchError
from core.model import Bar, Disc, Part, Plate, Point, Polygon
from core.space import outline_of, solid_of
from core.space.outlines import convex_hull, named_outline

SQUARE = ((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0))


def part(*at: tuple[float, float], outline=None) -> Part:
    points = tuple(Point(id="ABCDEFGHIJKL"[i], x=x, y=y) for i, (x, y) in enumerate(at))
    return Part(id="leaf", points=points, outline=outline)


@pytest.mark.parametrize(("given", "area"), [
    (part((5, 5)), math.pi * 10**2),
    (part((0, 0), (100, 0)), 16 * 100 + math.pi * 8**2),
    (part((0, 0), (60, 0), (0, 80)), 2400 + 8 * 240 + math.pi * 8**2),
    (part((0, 0), (100, 0), outline=Bar(width_mm=10)), 1000 + math.pi * 5**2),
    (part((0, 0), (50, 0), (99, 9), outline=Bar(through=("A", "B"))), 800 + math.pi * 8**2),
    (part((0, 0), (9, 0), outline=Disc(radius_mm=30, centre="B")), math.pi * 30**2),
    (part((0, 0), outline=Plate(margin_mm=7)), math.pi * 7**2),
    (part(outline=Polygon(outer=SQUARE)), 1200),
    (part(outline=Polygon(outer=SQUARE[::-1])), 1200),
    (part(outline=Polygon(outer=SQUARE, holes=(((5, 5), (15, 5), (15, 15)),))), 1150),
])
def test_areas_are_those_of_the_figures(given: Part, area: float) -> None:
    # Chords of arcs leave out 4e-4 of a disc's area at most.
    assert outline_of(given).area == pytest.approx(area, rel=5e-4)


def test_a_disc_is_about_its_own_centre() -> None:
    shape = outline_of(part((0, 0), (9, 4), outline=Disc(radius_mm=30, centre="B")))
    assert shape.centroid.coords[0] == pytest.approx((9, 4))


def test_a_bent_bar_follows_its_points_in_the_order_named() -> None:
    bent = part((0, 0), (50, 0), (50, 40), outline=Bar(width_mm=10, through=("C", "B", "A")))
    want = shapely.LineString([(0, 0), (50, 0), (50, 40)]).buffer(5, quad_segs=32)
    assert outline_of(bent).symmetric_difference(want).area < 0.01
    assert len(solid_of(bent).pieces) == 2


def test_every_place_of_the_outline_is_within_the_circle_around_it() -> None:
    for given in (part((0, 0), (60, 0), (0, 80)), part((3, 4)),
                  part((0, 0), (50, 0), (50, 40), outline=Bar()),
                  part(outline=Polygon(outer=SQUARE))):
        solid = solid_of(given)
        rim = shapely.get_coordinates(outline_of(given)) @ np.array([1, 1j])
        assert np.abs(rim - solid.centre).max() <= solid.reach_mm + 1e-9


def test_a_plate_around_many_points_keeps_its_outline() -> None:
    ring = [(50 * math.cos(a), 50 * math.sin(a)) for a in np.linspace(0, 6, 12)]
    given = part(*ring, outline=Plate(margin_mm=5))
    assert solid_of(given).free is not None
    want = shapely.MultiPoint(ring).convex_hull.buffer(5, quad_segs=32)
    assert outline_of(given).symmetric_difference(want).area < 1e-6


def test_the_convex_hull_is_that_of_shapely() -> None:
    rng = np.random.default_rng(1)
    for count in (3, 4, 7, 30):
        places = rng.normal(size=count) + 1j * rng.normal(size=count)
        hull = convex_hull(places)
        want = shapely.MultiPoint(np.column_stack([places.real, places.imag])).convex_hull
        got = shapely.Polygon(np.column_stack([hull.real, hull.imag]))
        assert got.equals(want)
        assert got.exterior.is_ccw


@pytest.mark.parametrize(("places", "corners"), [
    ([1 + 1j] * 4, 1), ([0j, 2 + 2j, 1 + 1j], 2), ([0j, 1 + 0j, 2 + 0j, 1 + 1j], 3)])
def test_the_convex_hull_leaves_out_places_on_a_line(places: list[complex],
                                                     corners: int) -> None:
    assert convex_hull(np.array(places)).size == corners


def test_naming_the_points_of_an_outline_leaves_it_as_it_is() -> None:
    for given in (part((3, 4)), part((0, 0), (50, 0)), part((0, 0), (50, 0), (9, 9)),
                  part((0, 0), (50, 0), (50, 40), outline=Bar())):
        named = Part(id="leaf", outline=named_outline(given),
                     points=(*given.points, Point(id="new", x=300, y=300)))
        assert outline_of(named).equals(outline_of(given))


@pytest.mark.parametrize(("given", "words"), [
    (part(), "neither points nor an outline"),
    (part(outline=Bar()), "no points"),
    (part((0, 0), outline=Bar(through=("A", "Q"))), "'Q', which is not one of its points"),
    (part((0, 0), outline=Disc(radius_mm=5, centre="Q")), "'Q'"),
    (part((0, 0), (9, 0), outline=Bar(width_mm=0)), "width of 0 mm"),
    (part((0, 0), (9, 0), outline=Bar(width_mm=math.nan)), "width of nan mm"),
    (part((0, 0), outline=Disc(radius_mm=-2)), "radius of -2 mm"),
    (part((0, 0), (9, 0), outline=Plate(margin_mm=-1)), "margin of -1 mm"),
    (part((0, 0), (9, 0), outline=Plate(margin_mm=0)), "without area"),
    (part(outline=Polygon(outer=((0, 0), (1, 1)))), "fewer than three corners"),
    (part(outline=Polygon(outer=SQUARE, holes=(((1, 1), (2, 2)),))), "hole of fewer"),
    (part(outline=Polygon(outer=((0, 0), (9, 9), (9, 0), (0, 9)))), "crosses or touches"),
    (part(outline=Polygon(outer=SQUARE, holes=(((30, 5), (60, 5), (60, 9)),))), "crosses"),
])
def test_outlines_no_sheet_can_have_are_refused_with_a_mend(given: Part, words: str) -> None:
    with pytest.raises(SketchError, match="leaf") as caught:
        outline_of(given)
    assert words in str(caught.value)
    assert caught.value.mend


@pytest.mark.parametrize("radius", [0.001, 3.0, 40.0, 2500.0])
def test_chords_stay_within_five_thousandths_of_the_arc(radius: float) -> None:
    rim = shapely.get_coordinates(outline_of(part((0, 0), outline=Disc(radius_mm=radius))))
    middle = (rim[1:] + rim[:-1]) / 2
    assert np.hypot(*middle.T).min() >= radius - 0.005 - 1e-12
    np.testing.assert_allclose(np.hypot(*rim.T), radius)
