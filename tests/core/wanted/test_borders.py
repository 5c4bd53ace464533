"""Distances from straight pieces and polygons, against shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from core.wanted.borders import inside, nearest_on


def some(count: int, seed: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    return random.uniform(-50, 50, count) + 1j * random.uniform(-50, 50, count)


def pairs(places: np.ndarray) -> np.ndarray:
    return np.stack([places.real, places.imag], axis=-1)


def test_the_nearest_place_of_a_piece_is_as_far_as_shapely_says() -> None:
    places, start, end = (some(200, seed) for seed in range(3))
    share, away = nearest_on(places, start, end)
    lines = shapely.linestrings(pairs(np.stack([start, end], axis=1)))
    assert np.abs(away) == pytest.approx(shapely.distance(lines, shapely.points(pairs(places))))
    assert start + share * (end - start) + away == pytest.approx(places)


def test_of_a_piece_without_length_its_place_counts() -> None:
    share, away = nearest_on(3 + 4j, 1j, 1j)
    assert (share, away) == (0.0, 3 + 3j)


def test_shapes_broadcast_to_every_place_against_every_piece() -> None:
    places, line = some(7, 0), some(5, 1)
    _, away = nearest_on(places[:, None], line[:-1], line[1:])
    assert away.shape == (7, 4)


@pytest.mark.parametrize("corners", [3, 5, 9])
def test_a_star_shaped_polygon_holds_what_shapely_says(corners: int) -> None:
    random = np.random.default_rng(corners)
    turn = 2 * np.pi * (np.arange(corners) + random.uniform(0, 0.4, corners)) / corners
    border = random.uniform(10, 45, corners) * np.exp(1j * turn)
    places = some(400, 4)
    polygon = shapely.Polygon(pairs(border))
    expected = shapely.contains_xy(polygon, places.real, places.imag)
    assert (inside(border, places) == expected).all()
    assert (inside(border[::-1], places) == expected).all()
    assert expected.any()
