"""What goes into the small-parts cylinder.

Source: 16 CFR 1501.4 (as read in a copy; the inches govern): 1.25 in wide, its bottom sloping
from 1 to 2.25 in deep: 31.75 mm, 25.4 to 57.15 mm. Sizes of coins: United States Mint (from
memory). What fits is worked out here by laying it in; the program errs on the safe side by half
a millimetre.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

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
    (38.1, 2.58, False)])
def test_coins_up_to_the_half_dollar_are_small_and_the_silver_dollar_is_not(
    wide: float, thick: float, small: bool
) -> None:
    assert is_small_round(wide, thick) == small


def test_a_needle_is_small_up_to_the_diagonal_from_the_deep_corner_to_the_rim() -> None:
    """√(31.75² + 57.15²) = 65.4 mm, less where it is thick."""
    diagonal = math.hypot(31.75, 57.15)
    assert diagonal == pytest.approx(65.38, abs=0.01)
    assert is_small_round(0.5, diagonal - 1.0)
    assert not is_small_round(0.5, diagonal + 2 * SLACK_MM)


@pytest.mark.parametrize("side", [10.0, 20.0, 22.0])
def test_a_cube_that_stands_in_it_is_small(side: float) -> None:
    """Its diagonal within 31.75 mm and its height within 25.4: up to 22.4 mm."""
    half = side / 2
    square = ((-half, -half), (half, -half), (half, half), (-half, half))
    cube = Part(id="cube", thickness_mm=side, outline=Polygon(outer=square),
                points=(Point(id="A", x=0.0, y=0.0),))
    assert is_small(solid_of(cube), side)


def laid_in(width: float, length: float, thick: float, dice: np.random.Generator) -> bool:
    """Whether a flat bar with square ends goes in, by throwing positions: its corners within
    the cylinder and above the slope."""
    box = np.array([[x, y, z] for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)])
    box = box * [length, width, thick]
    for _ in range(2500):
        tilt = dice.uniform(0, math.pi / 2)
        roll, turn = dice.uniform(-math.pi, math.pi, 2)
        one = np.array([[math.cos(tilt), 0, math.sin(tilt)], [0, 1, 0],
                        [-math.sin(tilt), 0, math.cos(tilt)]])
        two = np.array([[1, 0, 0], [0, math.cos(roll), -math.sin(roll)],
                        [0, math.sin(roll), math.cos(roll)]])
        three = np.array([[math.cos(turn), -math.sin(turn), 0],
                          [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
        corners = box @ (three @ one @ two).T
        corners += [*dice.uniform(-6, 6, 2), -corners[:, 2].max()]
        x, y, z = corners.T
        depth = SHALLOW_MM + (DEEP_MM - SHALLOW_MM) * (x + WIDE_MM / 2) / WIDE_MM
        if np.all(np.hypot(x, y) <= WIDE_MM / 2) and np.all(-z <= depth):
            return True
    return False


def test_what_a_thrown_position_gets_in_is_told_as_small() -> None:
    dice, inside = np.random.default_rng(5), 0
    for _ in range(30):
        width, length = dice.uniform(4, 30), dice.uniform(10, 62)
        thick = dice.choice([3.0, 6.0, 9.0, 12.0])
        if not laid_in(width, length, thick, dice):
            continue
        inside += 1
        reach = max(length - width, 0.1) / 2
        bar = Part(id="bar", thickness_mm=thick, outline=Bar(width_mm=min(width, length)),
                   points=(Point(id="A", x=-reach, y=0.0), Point(id="B", x=reach, y=0.0)))
        assert is_small(solid_of(bar), thick), (width, length, thick)
    assert inside >= 5


@pytest.mark.parametrize(("radius", "thick"), [(20.0, 6.0), (17.0, 9.0), (14.0, 45.0)])
def test_what_is_too_wide_or_too_thick_is_not_small(radius: float, thick: float) -> None:
    disc = Part(id="disc", thickness_mm=thick, outline=Disc(radius_mm=radius, centre="A"),
                points=(Point(id="A", x=0.0, y=0.0),))
    assert not is_small(solid_of(disc), thick)
