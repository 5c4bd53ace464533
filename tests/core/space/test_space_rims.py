"""Distances from places to bodies, and stretches of closing rooms."""

from __future__ import annotations

import cmath

import numpy as np
import pytest
import shapely

from core.space.nips import Rooms, runs_of
from core.space.outlines import Rounded, Solid
from core.space.rims import signed_distances_from


def star(rng: np.random.Generator, corners: int) -> shapely.Polygon:
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, corners))
    ring = rng.uniform(20.0, 60.0, corners) * np.exp(1j * angle)
    hole = 8.0 * np.exp(1j * np.linspace(0.0, 2.0 * np.pi, 13))[:-1]
    outline = shapely.Polygon(list(zip(ring.real, ring.imag, strict=True)))
    return outline.difference(shapely.Polygon(list(zip(hole.real, hole.imag, strict=True))))


def holds(solid: Solid, shape: shapely.Geometry, at: np.ndarray) -> None:
    """Distances as shapely has them, and the way away is that of the nearest place."""
    distance, away = signed_distances_from(solid, at)
    points = shapely.points(at.real, at.imag)
    rim = shapely.distance(shape.boundary, points)
    inside = shapely.contains_xy(shape, at.real, at.imag)
    np.testing.assert_allclose(distance, np.where(inside, -rim, rim), atol=1e-9)
    out = ~inside & (rim > 1e-6)
    foot = at[out] - away[out] * distance[out]
    gone = shapely.distance(shape, shapely.points(foot.real, foot.imag))
    np.testing.assert_allclose(gone, 0.0, atol=1e-9)
    np.testing.assert_allclose(np.abs(away[out]), 1.0)


@pytest.mark.parametrize("seed", range(6))
def test_distances_from_a_free_outline_are_those_of_shapely(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shape = star(rng, int(rng.integers(8, 300)))
    solid = Solid((), shape, 0j, 60.0)
    scattered = rng.uniform(-90, 90, 700) + 1j * rng.uniform(-90, 90, 700)
    along = 70.0 * np.exp(1j * np.linspace(0.0, 6.0, 701)) + 15.0
    for at in (scattered, along, along[:1], along[:0]):
        holds(solid, shape, at)


@pytest.mark.parametrize("corners", [2, 3, 4, 7])
def test_distances_from_convex_pieces_are_those_of_shapely(corners: int) -> None:
    rng = np.random.default_rng(corners)
    at = rng.uniform(-90, 90, 900) + 1j * rng.uniform(-90, 90, 900)
    ring = 40.0 * np.exp(2j * np.pi * np.arange(corners) / corners) * cmath.rect(1.0, 0.3)
    core = (shapely.LineString if corners == 2 else shapely.Polygon)(
        list(zip(ring.real, ring.imag, strict=True)))
    distance, _ = signed_distances_from(Solid((Rounded(ring, 6.0),), None, 0j, 46.0), at)
    apart = shapely.distance(core, shapely.points(at.real, at.imag))
    outside = apart > 0.0
    np.testing.assert_allclose(distance[outside], apart[outside] - 6.0, atol=1e-9)
    assert (distance[~outside] <= -6.0).all()


def rooms(closing: list[int], inside: tuple[int, ...] = ()) -> Rooms:
    steps = len(closing)
    none = np.zeros(steps, dtype=complex)
    deep = np.zeros((1, steps), dtype=bool)
    deep[0, list(inside)] = True
    return Rooms(None, None, none[:1], 100.0 - np.arange(steps)[None, :],  # type: ignore[arg-type]
                 np.array([closing], dtype=np.int8), deep, none, none)


@pytest.mark.parametrize(("closing", "sense", "repeats", "told"), [
    ([1, 1, 0, 0, 1, 1, 0, 1], 1, True, [(7, 1, 2), (4, 5, 6)]),
    ([1, 1, 0, 0, 1, 1, 0, 0], 1, True, [(0, 1, 2), (4, 5, 6)]),  # begins with the turn
    ([0, 0, 0, 0, 0, 0, 1, 1], 1, True, [(6, 7, 0)]),
    ([1, 1, 0, 0, 0, 0, 1, 1], 1, False, [(0, 1, 2), (6, 7, -1)]),
    ([-1, -1, 0, 0, -1, -1, 0, -1], -1, True, [(1, 7, 6), (5, 4, 3)]),
    ([-1, -1, 0, 0, -1, -1, 0, 0], -1, False, [(1, 0, -1), (5, 4, 3)]),
    ([0] * 8, 1, True, []),
])
def test_stretches_go_on_over_the_end_of_a_turn_that_repeats(
        closing: list[int], sense: int, repeats: bool, told: list) -> None:
    runs = runs_of(rooms(closing), sense, repeats)
    found = list(zip(runs.first.tolist(), runs.last.tolist(), runs.beyond.tolist(),
                     strict=True))
    assert sorted(found) == sorted(told)


def test_a_stretch_that_ends_in_the_other_body_leaves_no_room() -> None:
    runs = runs_of(rooms([0, 1, 1, 0, 0], inside=(3,)), 1, True)
    assert runs.smallest_mm.tolist() == [0.0]
    assert runs.widest_mm.tolist() == [99.0]
