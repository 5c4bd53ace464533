"""Dragging: each turn solved from the last one is the turn solved from nothing."""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest
from linkages import eight_bar, four_bar, parallelogram, triad
from msgspec.structs import replace

from core.model import Part, Sketch
from core.motion import solve_turn


def dragged(sketch: Sketch, chance: random.Random, most: float) -> Sketch:
    """Every pin pulled a little, its points together."""
    by = {ref: pull for pin in sketch.pins
          for pull in [(chance.uniform(-most, most), chance.uniform(-most, most))]
          for ref in pin.at}

    def part(one: Part) -> Part:
        return replace(one, points=tuple(
            replace(point, x=point.x + by.get(f"{one.id}.{point.id}", (0, 0))[0],
                    y=point.y + by.get(f"{one.id}.{point.id}", (0, 0))[1])
            for point in one.points))

    return replace(sketch, parts=tuple(map(part, sketch.parts)))


@pytest.mark.parametrize(("make", "most"), [
    (lambda: four_bar(9, 7, 11, 8, 90), 0.3), (lambda: four_bar(20, 10, 10, 10, 10), 0.3),
    (lambda: parallelogram(40), 2.0), (triad, 1.0), (eight_bar, 1.0)])
def test_a_drag_ends_where_a_fresh_start_would(make: Callable[[], Sketch], most: float) -> None:
    chance, sketch = random.Random(7), make()
    last = solve_turn(sketch, 180)
    for _ in range(6):
        sketch = dragged(sketch, chance, most)
        cold, warm = solve_turn(sketch, 180), solve_turn(sketch, 180, warm=last)
        assert (cold.reached == warm.reached).all()
        assert np.nanmax(np.abs(cold.rotation - warm.rotation)) < 1e-7
        assert np.nanmax(np.abs(cold.angle_rad - warm.angle_rad)) < 1e-7
        assert [limit.crank_rad for limit in cold.limits] == pytest.approx(
            [limit.crank_rad for limit in warm.limits], abs=1e-9)
        last = warm
