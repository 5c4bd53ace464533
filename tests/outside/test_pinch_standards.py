"""Small parts, nips and forces on fingers against published figures.

Sources: 16 CFR 1501.4, the small-parts cylinder (as read in a copy: 1.25 in wide, from 1.00 to
2.25 in deep on a slope, the inches governing). Coins: diameters and thicknesses of the euro
(European Central Bank) and of the US quarter and dollar (US Mint), from memory. A ball of
1.75 in (44.4 mm) is the least for the smallest children, 16 CFR 1500.18 (from memory). Angle
of nip twice the angle of friction: textbooks on roll crushers and mills. ISO/TS 15066: 140 N
on hand and fingers, quasi-static (from memory). ISO 13854 leaves out drawing in (as quoted).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from core.findings.pinch import DRAWN_IN, HURTS_N
from core.model import Bar, Disc, Part, Point, Polygon
from core.space import solid_of
from core.space.finger_rules import FINGER, TOY, TOY_HINGE
from core.space.nips import NIP_RAD
from core.space.small_parts import DEEP_MM, SHALLOW_MM, WIDE_MM, is_small, is_small_round


def rectangle(long: float, wide: float, thick: float) -> bool:
    outline = Polygon(outer=((0, 0), (long, 0), (long, wide), (0, wide)))
    return is_small(solid_of(Part(id="p", outline=outline)), thick)


def test_the_cylinder_is_that_of_the_rule() -> None:
    assert abs(WIDE_MM - 31.7) < 0.06
    assert abs(SHALLOW_MM - 25.4) < 0.01
    assert abs(DEEP_MM - 57.1) < 0.06


@pytest.mark.parametrize(("name", "diameter", "thick", "small"), [
    ("euro cent", 16.25, 1.67, True), ("one euro", 23.25, 2.33, True),
    ("two euro", 25.75, 2.20, True), ("US quarter", 24.26, 1.75, True),
    ("US half dollar", 30.61, 2.15, True), ("US dollar of 1971", 38.1, 2.58, False)])
def test_coins_are_small_up_to_the_half_dollar(name: str, diameter: float, thick: float,
                                               small: bool) -> None:
    assert is_small_round(diameter, thick) is small, name


def test_what_stands_upright_goes_in_as_deep_as_the_slope_is_under_all_of_it() -> None:
    # A tight fit of a rod as wide as the cylinder stands on the high side of the slope.
    assert is_small_round(31.7, 25.0)
    assert not is_small_round(31.7, 27.0)
    # A thin rod in the deepest corner; a little more leaning across.
    assert is_small_round(1.0, 56.0)
    assert not is_small_round(1.0, math.hypot(WIDE_MM, DEEP_MM) + 1.0)


def test_a_plate_wider_than_the_cylinder_both_ways_never_goes_in() -> None:
    assert not rectangle(33.0, 33.0, 1.0)
    assert rectangle(20.0, 20.0, 6.0)  # diagonal 28.3
    assert rectangle(50.0, 10.0, 3.0)
    assert not rectangle(66.0, 5.0, 3.0)


def test_no_ball_stand_in_larger_than_the_cylinder_is_small() -> None:
    assert not is_small_round(44.4, 44.4)


@pytest.mark.parametrize("seed", range(4))
def test_small_plates_fit_by_a_search_of_random_positions_and_large_ones_do_not(
        seed: int) -> None:
    """Corners of a prism in random positions, each pushed down as far as the slope lets it:
    what any position lets in must be small; what is not small no position lets in."""
    rng = np.random.default_rng(seed)
    fits = total = 0
    for _ in range(12):
        long, wide, thick = rng.uniform(15, 60), rng.uniform(6, 34), rng.uniform(2, 12)
        goes = any_position(rng, long, wide, thick)
        small = rectangle(long, wide, thick)
        assert small or not goes, (long, wide, thick)
        fits, total = fits + goes, total + small
    assert fits <= total


def any_position(rng: np.random.Generator, long: float, wide: float, thick: float) -> bool:
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


def test_a_part_counts_as_it_is_whether_bar_disc_or_outline() -> None:
    places = (Point(id="a", x=0, y=0), Point(id="b", x=30, y=0))
    bar = Part(id="p", points=places, outline=Bar(width_mm=12))
    assert is_small(solid_of(bar), 6.0)
    assert not is_small(solid_of(replace(bar, outline=Disc(radius_mm=17))), 6.0)
    longer = replace(bar, points=(places[0], Point(id="b", x=60, y=0)))
    assert not is_small(solid_of(longer), 6.0)


def test_the_angle_of_nip_is_twice_an_angle_of_friction_of_skin() -> None:
    """Skin on smooth dry wood 0.3 to 0.7 (tribology surveys, from memory)."""
    coefficient = math.tan(NIP_RAD / 2)
    assert 0.3 <= coefficient <= 0.7


def test_the_force_and_the_rules_are_those_quoted() -> None:
    assert HURTS_N == 140.0
    assert "13857" in DRAWN_IN
    assert FINGER.admits_mm >= TOY.admits_mm == 5.0
    assert TOY.safe_mm == TOY_HINGE.safe_mm == 12.0 < FINGER.safe_mm
