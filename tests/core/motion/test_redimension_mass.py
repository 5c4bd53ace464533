"""A typed mass goes along with a part whose shape follows its points."""

from __future__ import annotations

import pytest

from core.model import Bar, Mass, Part, Point, Polygon, Sketch
from core.motion.redimension import drag_point

MASS = Mass(mass_kg=0.2, x=30.0, y=0.0)
ENDS = (Point(id="A", x=0.0, y=0.0), Point(id="B", x=60.0, y=0.0))


@pytest.mark.parametrize("outline", [None, Bar(width_mm=20.0)])
def test_a_typed_mass_half_way_along_stays_half_way(outline: Bar | None) -> None:
    bar = Part(id="bar", outline=outline, mass=MASS, points=ENDS)
    moved = drag_point(Sketch(parts=(bar,)), "bar.B", 0.0, 100.0).part("bar")
    assert moved.mass is not None
    assert (moved.mass.x, moved.mass.y) == pytest.approx((0.0, 50.0), abs=1e-9)
    assert moved.mass.mass_kg == MASS.mass_kg


def test_in_a_free_outline_a_typed_mass_stays_with_the_outline() -> None:
    corners = ((-10.0, -10.0), (70.0, -10.0), (70.0, 10.0), (-10.0, 10.0))
    bar = Part(id="bar", outline=Polygon(outer=corners), mass=MASS, points=ENDS)
    assert drag_point(Sketch(parts=(bar,)), "bar.B", 50.0, 5.0).part("bar").mass == MASS
