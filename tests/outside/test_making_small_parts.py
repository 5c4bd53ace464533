"""What goes into the small-parts cylinder.

Source: 16 CFR 1501.4 (as read in a copy; the inches govern): 1.25 in wide, its bottom sloping
from 1 to 2.25 in deep: 31.75 mm, 25.4 to 57.15 mm. Sizes of coins: United States Mint, European
Central Bank (from memory). What fits is worked out here by laying it in; the program errs on
the safe side by half a millimetre.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from core.model import Bar, Disc, Part, Point, Polygon
from core.space.outlines import solid_of
from core.space.small_parts import (
    DEEP_MM,
    SHALLOW_MM,
    SLACK_MM,
    WIDE_MM,
    is_small,
    is_small_round,
)


def test_the_cylinder_is_that_of_the_rule() -> None:
    sizes = (WIDE_MM, SHALLOW_MM, DEEP_MM)
    assert sizes == pytest.approx((31.75, 25.4, 57.15))


@pytest.mark.parametrize(("wide", "thick", "small"), [
    (17.91, 1.35, True), (21.21, 1.95, True), (24.26, 1.75, True), (30.61, 2.15, True),
    (38.1, 2.58, False), (16.25, 1.67, True), (23.25, 2.33, True), (25.75, 2.20, True)])
def test_euros_and_coins_up_to_the_half_dollar_are_small_and_the_silver_dollar_is_not(
    wide: float, thick: float, small: bool
) -> None:
    assert is_small_round(wide, thick) == small


def test_a_needle_is_small_up_to_the_diagonal_from_the_deep_corner_to_the_rim() -> None:
    """√(31.75² + 57.15²) = 65.4 mm, less where it is thick."""
    diagonal = math.hypot(31.75, 57.15)
    assert diagonal == pytest.approx(65.38, abs=0.01)
    assert is_small_round(0.5, diagonal - 1.0)
    assert not is_small_round(0.5, diagonal + 2 * SLACK_MM)


def test_what_stands_upright_goes_in_as_deep_as_the_slope_is_under_all_of_it() -> None:
    # A tight fit of a rod as wide as the cylinder stands on the high side of the slope.
    assert is_small_round(31.7, 25.0)
    assert not is_small_round(31.7, 27.0)


def test_no_ball_stand_in_larger_than_the_cylinder_is_small() -> None:
    """A ball of 1.75 in (44.4 mm) is the least for the smallest children, 16 CFR 1500.18
    (from memory)."""
    assert not is_small_round(44.4, 44.4)


@pytest.mark.parametrize(("long", "wide", "thick", "small"), [
    (10.0, 10.0, 10.0, True), (20.0, 20.0, 20.0, True),
    (22.0, 22.0, 22.0, True),  # a cube: diagonal within 31.75 and height within 25.4
    (33.0, 33.0, 1.0, False), (20.0, 20.0, 6.0, True), (50.0, 10.0, 3.0, True),
    (66.0, 5.0, 3.0, False)])
def test_plates_and_cubes(long: float, wide: float, thick: float, small: bool) -> None:
    assert plate_is_small(long, wide, thick) is small


def plate_is_small(long: float, wide: float, thick: float) -> bool:
    outline = Polygon(outer=((0, 0), (long, 0), (long, wide), (0, wide)))
    return is_small(solid_of(Part(id="p", outline=outline)), thick)


def test_a_part_counts_as_it_is_whether_bar_or_disc() -> None:
    places = (Point(id="a", x=0, y=0), Point(id="b", x=30, y=0))
    bar = Part(id="p", points=places, outline=Bar(width_mm=12))
    assert is_small(solid_of(bar), 6.0)
    longer = replace(bar, points=(places[0], Point(id="b", x=60, y=0)))
    assert not is_small(solid_of(longer), 6.0)


@pytest.mark.parametrize("seed", range(4))
def test_what_a_random_position_lets_in_is_told_as_small(seed: int) -> None:
    """Corners of a plate in random positions: within the cylinder and above its slope."""
    rng = np.random.default_rng(seed)
    inside = 0
    for _ in range(12):
        long, wide, thick = rng.uniform(15, 60), rng.uniform(6, 34), rng.uniform(2, 12)
        goes = any_position(rng, long, wide, thick)
        assert plate_is_small(long, wide, thick) or not goes, (long, wide, thick)
        inside += goes
    assert inside >= 2


def any_position(rng: np.random.Generator, long: float, wide: float, thick: float) -> bool:
    """Whether one of 4000 random positions has all corners of a plate in the cylinder."""
    box = np.array([[x, y, z] for x in (-long / 2, long / 2) for y in (-wide / 2, wide / 2)
                    for z in (-thick / 2, thick / 2)])
    turn = np.linalg.qr(rng.normal(size=(4000, 3, 3)))[0]
    at = np.einsum("nij,kj->nki", turn, box)
    # The corners' mean stays on the axis or goes a random way aside.
    at[:, :, :2] += rng.uniform(-6, 6, (4000, 1, 2)) * (rng.random((4000, 1, 1)) < 0.7)
    inside = (np.hypot(at[:, :, 0], at[:, :, 1]) <= WIDE_MM / 2).all(axis=1)
    below = at[:, :, 2].max(axis=1, keepdims=True) - at[:, :, 2]
    deep = SHALLOW_MM + (DEEP_MM - SHALLOW_MM) * (at[:, :, 0] / WIDE_MM + 0.5)
    return bool((inside & (below <= deep).all(axis=1)).any())


@pytest.mark.parametrize(("radius", "thick"), [(20.0, 6.0), (17.0, 9.0), (14.0, 45.0)])
def test_what_is_too_wide_or_too_thick_is_not_small(radius: float, thick: float) -> None:
    disc = Part(id="disc", thickness_mm=thick, outline=Disc(radius_mm=radius, centre="A"),
                points=(Point(id="A", x=0.0, y=0.0),))
    assert not is_small(solid_of(disc), thick)
