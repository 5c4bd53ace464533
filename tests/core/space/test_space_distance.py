"""Signed distances of rounded pieces against shapely (a general-purpose geometry library)
and against the definition of the overlap depth."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from core.space.distance import flatten, pose, signed_distances
from core.space.free import signed_distances_free
from core.space.outlines import Rounded, Solid, convex_hull, figure

STEPS = 40


def piece(rng: np.random.Generator, corners: int) -> Rounded:
    """A disc, bar or convex polygon about 40 mm across."""
    if corners < 3:
        at = rng.normal(size=corners) * 20 + 1j * rng.normal(size=corners) * 20
        return Rounded(at, float(rng.uniform(1, 10)))
    around = np.exp(1j * np.sort(rng.uniform(0, 2 * np.pi, 40))) * rng.uniform(10, 25)
    hull = convex_hull(around[:: 40 // corners][:corners])
    return Rounded(hull, float(rng.uniform(0, 6)))


def poses(rng: np.random.Generator, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Rotations and shifts (2, 1, STEPS) of two bodies."""
    rotation = np.exp(1j * rng.uniform(0, 2 * np.pi, (2, 1, STEPS)))
    shift = rng.normal(size=(2, 1, STEPS)) + 1j * rng.normal(size=(2, 1, STEPS))
    return rotation, shift * reach


def measured(one: Rounded, other: Rounded, rotation: np.ndarray,
             shift: np.ndarray) -> np.ndarray:
    posed = pose(flatten([one, other], [0, 1]), rotation, shift)
    index = np.array([0]), np.array([1]), np.array([0])
    return signed_distances(posed, *index)[0]


def reach_along(piece: Rounded, corners: np.ndarray, way: np.ndarray) -> np.ndarray:
    """How far a posed piece reaches in unit directions (support function)."""
    return (corners[:, None] * way.conj()).real.max(axis=0) + piece.radius_mm


@pytest.mark.parametrize("a", [1, 2, 3, 5])
@pytest.mark.parametrize("b", [1, 2, 4, 6])
def test_apart_it_is_the_distance_shapely_finds_less_the_radii(a: int, b: int) -> None:
    rng = np.random.default_rng(10 * a + b)
    apart = 0
    for _ in range(12):
        one, other = piece(rng, a), piece(rng, b)
        rotation, shift = poses(rng, 40.0)
        found = measured(one, other, rotation, shift)
        for k in range(STEPS):
            cores = [figure(rotation[i, 0, k] * body.corners + shift[i, 0, k])
                     for i, body in enumerate((one, other))]
            if not cores[0].intersects(cores[1]):
                apart += 1
                want = cores[0].distance(cores[1]) - one.radius_mm - other.radius_mm
                assert found[k] == pytest.approx(want, abs=1e-9)
    assert apart > 100


@pytest.mark.parametrize(("a", "b"), [(1, 1), (1, 2), (2, 2), (1, 4), (2, 3), (3, 3), (4, 6)])
def test_overlap_depth_is_the_shortest_shift_that_parts_them(a: int, b: int) -> None:
    # Two convex figures part along a direction after the sum of their reaches; the shortest
    # over all directions is the definition of the depth.
    rng = np.random.default_rng(100 * a + b)
    way = np.exp(1j * np.linspace(0, 2 * np.pi, 7200, endpoint=False))
    deep = 0
    for _ in range(6):
        one, other = piece(rng, a), piece(rng, b)
        rotation, shift = poses(rng, 6.0)
        found = measured(one, other, rotation, shift)
        for k in np.flatnonzero(found < -1e-6):
            deep += 1
            at = [rotation[i, 0, k] * body.corners + shift[i, 0, k]
                  for i, body in enumerate((one, other))]
            overlap = reach_along(one, at[0], way) + reach_along(other, at[1], -way)
            # The nearest of 7200 directions is off by less than 0.03°.
            assert -found[k] <= overlap.min() + 1e-9
            assert -found[k] == pytest.approx(overlap.min(), abs=0.03)
    assert deep > 10


def test_the_distance_does_not_depend_on_which_piece_comes_first() -> None:
    rng = np.random.default_rng(5)
    for a, b in [(1, 3), (2, 2), (3, 2), (5, 4)]:
        one, other = piece(rng, a), piece(rng, b)
        rotation, shift = poses(rng, 15.0)
        forth = measured(one, other, rotation, shift)
        back = measured(other, one, rotation[::-1], shift[::-1])
        np.testing.assert_allclose(forth, back, atol=1e-12)


def test_many_pairs_at_once_give_the_same_as_each_alone() -> None:
    rng = np.random.default_rng(6)
    bodies = [piece(rng, corners) for corners in (1, 2, 3, 2, 1, 5)]
    rotation = np.exp(1j * rng.uniform(0, 6, (6, 1, STEPS)))
    shift = 30 * (rng.normal(size=(6, 1, STEPS)) + 1j * rng.normal(size=(6, 1, STEPS)))
    a, b = np.triu_indices(6, 1)
    posed = pose(flatten(bodies, range(6)), rotation, shift)
    together = signed_distances(posed, a, b, np.zeros(a.size, dtype=np.intp))
    for row, (i, j) in enumerate(zip(a, b, strict=True)):
        alone = measured(bodies[i], bodies[j], rotation[[i, j]], shift[[i, j]])
        np.testing.assert_array_equal(together[row], alone)


def test_bars_lying_along_each_other_overlap_by_their_width() -> None:
    bar = Rounded(np.array([0j, 100 + 0j]), 8.0)
    shift = np.array([[[0j]], [[20 + 0j]]])
    assert measured(bar, bar, np.ones((2, 1, 1), complex), shift)[0] == pytest.approx(-16.0)


def solid(polygon: shapely.Polygon) -> Solid:
    reach = np.hypot(*shapely.get_coordinates(polygon).T).max()
    return Solid((), polygon, 0j, float(reach))


@pytest.fixture
def washer() -> shapely.Polygon:
    """A square of 60 mm with a square hole of 40 mm."""
    return shapely.box(-30, -30, 30, 30) - shapely.box(-20, -20, 20, 20)


def rod(radius_mm: float) -> Solid:
    return Solid((Rounded(np.array([0j]), radius_mm),), None, 0j, radius_mm)


def test_a_rod_in_a_hole_is_as_far_from_its_edge_as_measured_by_hand(washer) -> None:
    at = np.array([0j, 15 + 0j, 22 + 0j, 25 + 0j, 40 + 0j])
    found = signed_distances_free(solid(washer), rod(3.0), np.ones(5, complex), at)
    # Free in the hole: 20 − 3, 5 − 3; in the wood, 2 and 5 from an edge; outside, 10 off.
    np.testing.assert_allclose(found, [17, 2, -5, -8, 7], atol=1e-12)


def test_free_polygons_apart_are_as_shapely_says(washer) -> None:
    rng = np.random.default_rng(8)
    star = shapely.Polygon([(0, 0), (12, 3), (4, 4), (3, 12), (-2, 5)])
    rotation = np.exp(1j * rng.uniform(0, 6, 50))
    shift = rng.uniform(-70, 70, 50) + 1j * rng.uniform(-70, 70, 50)
    found = signed_distances_free(solid(washer), solid(star), rotation, shift)
    back = signed_distances_free(solid(star), solid(washer), rotation.conj(),
                                 -rotation.conj() * shift)
    np.testing.assert_allclose(found[found > 0], back[found > 0], atol=1e-9)
    for turn, move, gap in zip(rotation, shift, found, strict=True):
        there = shapely.affinity.affine_transform(
            star, [turn.real, -turn.imag, turn.imag, turn.real, move.real, move.imag])
        assert (gap > 0) == (washer.intersection(there).area == 0)
        if gap > 0:
            assert gap == pytest.approx(washer.distance(there), abs=1e-9)


def test_depths_measured_at_some_poses_are_joined_by_straight_lines(washer) -> None:
    # A bar slides in through the left side of the washer, across its hole and out again.
    bar = Solid((Rounded(np.array([-8j, 8j]), 3.0),), None, 0j, 11.0)
    at = np.linspace(-40, 40, 801) + 0j
    still = np.ones(at.size, complex)
    exact = signed_distances_free(solid(washer), bar, still, at)
    some = signed_distances_free(solid(washer), bar, still, at, every=20)
    none = signed_distances_free(solid(washer), bar, still, at, every=0)
    np.testing.assert_array_equal(some[exact > 0], exact[exact > 0])
    np.testing.assert_allclose(some, exact, atol=0.6)
    assert some.min() == pytest.approx(-6.0, abs=0.05)
    assert (some[::20] == exact[::20]).mean() > 0.3
    np.testing.assert_array_equal(np.isinf(none), exact <= 0)


def test_a_disc_sunk_into_a_free_edge_overlaps_by_how_far_it_is_sunk(washer) -> None:
    at = np.array([34.0, 33.0, 31.0]) + 0j
    found = signed_distances_free(solid(washer), rod(4.0), np.ones(3, complex), at)
    np.testing.assert_allclose(found, [0.0, -1.0, -3.0], atol=1e-12)


def test_a_bar_pushed_straight_into_a_free_edge_overlaps_by_the_widest_peg(washer) -> None:
    bar = Solid((Rounded(np.array([0j, 50 + 0j]), 4.0),), None, 25 + 0j, 30.0)
    at = np.array([35.0, 32.0]) + 0j
    found = signed_distances_free(solid(washer), bar, np.ones(2, complex), at)
    # 2 mm of the round end is in the wood: the widest peg in that cap is 2 mm across.
    np.testing.assert_allclose(found, [1.0, -2.0], atol=0.02)
