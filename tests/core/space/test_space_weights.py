"""A weight that stands out over its part's outline takes room there."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.effort import mass_of
from core.model import Bar, Disc, Part, Point, Polygon, Sketch, Weight
from core.motion.turn import Turn
from core.space import gaps, outline_of
from core.space.weights import nearest_inside, room_of

BAR = Part(id="arm", layer=1, outline=Bar(width_mm=10.0),
           points=(Point(id="a", x=0.0, y=0.0), Point(id="b", x=60.0, y=0.0)))
POST = Part(id="post", fixed=True, layer=1, outline=Disc(radius_mm=4.0),
            points=(Point(id="c", x=30.0, y=25.0),))


def weighted(part: Part, *, x: float, y: float, across: float) -> Part:
    return replace(part, weights=(*part.weights, Weight(
        mass_kg=0.05, x=x, y=y, diameter_mm=across, thickness_mm=6.0)))


def still(sketch: Sketch) -> Turn:
    import numpy as np

    count = len(sketch.parts)
    return Turn(sketch=sketch, crank_rad=np.linspace(0.0, 6.0, 8), reached=np.ones(8, bool),
                part_ids=tuple(part.id for part in sketch.parts),
                rotation=np.ones((count, 8), complex), shift=np.zeros((count, 8), complex),
                angle_rad=np.zeros((8, count)), crank_turns=1, repeats=True, limits=(),
                residual_mm=0.0)


def gap_of(arm: Part) -> float:
    (gap,) = gaps(still(Sketch(parts=(POST, arm))), refine=False).pairs
    return gap.smallest_mm


def test_a_weight_within_the_outline_changes_no_gap() -> None:
    assert gap_of(weighted(BAR, x=30.0, y=0.0, across=9.0)) == gap_of(BAR) == 16.0


def test_a_weight_over_the_edge_makes_the_gap_smaller_by_what_stands_out() -> None:
    # Disc of 20 mm at the bar's middle line: its rim is at y = 10, the bar's edge at 5.
    assert gap_of(weighted(BAR, x=30.0, y=0.0, across=20.0)) == pytest.approx(11.0, abs=1e-9)
    assert gap_of(weighted(BAR, x=30.0, y=5.0, across=20.0)) == pytest.approx(6.0, abs=1e-9)


def test_so_it_does_on_a_free_outline() -> None:
    box = Polygon(outer=((-5.0, -5.0), (65.0, -5.0), (65.0, 5.0), (40.0, 4.0), (35.0, 5.0),
                         (20.0, 4.5), (10.0, 5.0), (5.0, 4.0), (0.0, 5.0), (-5.0, 4.0)))
    free = replace(BAR, outline=box)
    assert room_of(free).free is not None
    found = gap_of(weighted(free, x=30.0, y=0.0, across=20.0))
    assert found == pytest.approx(11.0, abs=0.02)


def test_what_has_no_size_takes_no_room() -> None:
    assert gap_of(weighted(BAR, x=30.0, y=10.0, across=0.0)) == 16.0


def test_the_wood_itself_does_not_get_heavier_by_the_room_a_weight_takes() -> None:
    heavy = weighted(BAR, x=30.0, y=0.0, across=20.0)
    assert mass_of(heavy).kg == pytest.approx(mass_of(BAR).kg + 0.05)
    assert outline_of(heavy).equals(outline_of(BAR))


@given(st.floats(-40, 100), st.floats(-40, 40), st.floats(0, 30))
def test_dragged_it_stays_within_its_part_as_near_as_it_can(x: float, y: float,
                                                            across: float) -> None:
    at = nearest_inside(BAR, complex(x, y), across / 2)
    disc = shapely.Point(at.real, at.imag).buffer(max(across / 2 - 0.01, 0.001))
    wood = outline_of(BAR).buffer(0.01)
    if across <= 9.0:
        assert wood.contains(disc)
        # Of a bar: a bar as much narrower, so the way there is known in closed form.
        line = complex(min(max(x, 0.0), 60.0), 0.0)
        away = max(abs(complex(x, y) - line) - (5.0 - across / 2), 0.0)
        assert abs(at - complex(x, y)) == pytest.approx(away, abs=0.01)
    assert wood.contains(shapely.Point(at.real, at.imag))
