"""The smallest gap between steps, on turns that are really solved."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from faulty import four_bar, part
from msgspec.structs import replace

from core.model import Bar, Disc, Drive, Part, Pin, Plate, Polygon, Sketch
from core.model.edits import Carry, carry_part
from core.motion import Turn, pose_at, solve_turn
from core.space import gaps
from core.space.outlines import named_outline


def post(at: complex, radius_mm: float = 4.0, layer: int = 1) -> Part:
    """A round post standing on the frame."""
    return part("post", layer, fixed=True, outline=Disc(radius_mm=radius_mm), c=at)


def arm(length: float = 40.0, *others: Part, outline=None) -> Sketch:
    """A crank about the origin, drawn along x, among other parts."""
    base = part("base", 0, fixed=True, outline=Disc(radius_mm=6), o=0j)
    crank = part("crank", 1, outline=outline or Bar(width_mm=10), o=0j, a=length + 0j)
    return Sketch(parts=(base, crank, *others), pins=(Pin(id="O", at=("base.o", "crank.o")),),
                  drive=Drive(pin="O", part="crank"))


def dense(turn: Turn, rounds: int = 40) -> dict[tuple[str, str], float]:
    """Smallest gaps at 1440 poses to each degree of the turn, by brute force."""
    fine = np.linspace(0.0, 2 * np.pi, 360 * 1440, endpoint=False)
    least: dict[tuple[str, str], float] = {}
    for some in np.array_split(fine, rounds):
        for gap in gaps(pose_at(turn, some), refine=False).pairs:
            key = gap.a, gap.b
            least[key] = min(least.get(key, np.inf), gap.smallest_mm)
    return least


@pytest.mark.parametrize("degrees", [0.0, 37.123, 200.31, 359.83])
def test_a_post_beside_the_circle_of_a_crank_is_missed_by_the_known_gap(degrees: float) -> None:
    at = 60 * cmath.exp(1j * math.radians(degrees))
    (gap,) = gaps(solve_turn(arm(40.0, post(at)))).pairs
    assert (gap.a, gap.b) == ("crank", "post")
    assert gap.smallest_mm == pytest.approx(60 - 40 - 5 - 4, abs=1e-7)
    # The gap is flat at its smallest, so its angle is known only to a few 1e-5 rad.
    off = (math.degrees(gap.crank_rad) - degrees + 180) % 360 - 180
    assert abs(off) < 0.01
    assert 0 <= gap.crank_rad < 2 * math.pi


def test_a_corner_that_passes_an_edge_between_steps_is_found_at_the_kink() -> None:
    # The square's corner reaches 50·√2 at 45° + 0.1234°; the gap to a wide wall has a kink
    # nowhere near a step. The wall stands 80 from the origin, square to that direction.
    turned = cmath.exp(1j * math.radians(0.1234))
    square = tuple((z.real, z.imag) for z in (50 * turned * k for k in
                                              (1 + 1j, -1 + 1j, -1 - 1j, 1 - 1j)))
    face = cmath.exp(1j * math.radians(20.2))
    wall = part("wall", 1, fixed=True, outline=Bar(width_mm=10), a=face * (80 + 90j),
                b=face * (80 - 90j))
    found = gaps(solve_turn(arm(40.0, wall, outline=Polygon(outer=square)))).pairs
    assert found[0].smallest_mm == pytest.approx(80 - 5 - 50 * math.sqrt(2), abs=1e-6)


def test_a_bar_that_swings_through_a_post_overlaps_by_all_of_both() -> None:
    # A kink again: the depth falls off on both sides of the crank lying over the post.
    at = 30 * cmath.exp(1j * math.radians(77.77))
    found = gaps(solve_turn(arm(40.0, post(at)))).pairs
    assert found[0].smallest_mm == pytest.approx(-9, abs=1e-6)
    assert math.degrees(found[0].crank_rad) == pytest.approx(77.77, abs=1e-5)


def test_refined_gaps_are_never_above_those_of_very_many_poses() -> None:
    sketch = four_bar((100, 40, 120, 80), 15.0, layers=(0, 1, 1, 2))
    turn = solve_turn(sketch, steps=180)
    fine = dense(turn)
    coarse = {(gap.a, gap.b): gap.smallest_mm for gap in gaps(turn, refine=False).pairs}
    found = gaps(turn).pairs
    assert len(found) >= 3
    for gap in found:
        assert gap.smallest_mm <= coarse[gap.a, gap.b]
        # Where the gap has a kink even these poses miss it by up to half a step's rise.
        assert fine[gap.a, gap.b] - 1e-3 < gap.smallest_mm <= fine[gap.a, gap.b] + 1e-7
        there = gaps(pose_at(turn, np.array([gap.crank_rad])), refine=False).pairs
        here = {(one.a, one.b): one.smallest_mm for one in there}
        assert here[gap.a, gap.b] == pytest.approx(gap.smallest_mm, abs=1e-9)


def test_the_gap_at_a_lock_is_found_right_up_to_the_lock() -> None:
    # Ground 100, crank 70, coupler and rocker 60: locks where coupler and rocker stretch.
    sketch = four_bar((100, 70, 60, 60), 20.0, layers=(0, 1, 2, 3))
    turn = solve_turn(sketch)
    (limit,) = [limit.crank_rad for limit in turn.limits if limit.side > 0]
    cosine = (100**2 + 70**2 - 120**2) / (2 * 100 * 70)
    assert limit == pytest.approx(math.acos(cosine), abs=1e-8)
    # Posts all around the stretched coupler and rocker: some are nearest just at the lock,
    # where the links move ever faster, as the square root of the angle left.
    lock = pose_at(turn, np.array([limit - 1e-13]))
    middle = (lock.place("coupler", complex(sketch.point("coupler.a").x,
                                            sketch.point("coupler.a").y))[0] + 100) / 2
    fine = np.concatenate([limit - np.geomspace(1e-12, 1e-3, 4000),
                           np.linspace(-limit, limit, 40000)])
    at_lock = 0
    for k in range(12):
        c = middle + 30 * cmath.exp(1j * math.pi * k / 6)
        posted = replace(sketch, parts=(*sketch.parts, post(c, 3.0, 2)))
        solved = solve_turn(posted)
        want = {(gap.a, gap.b): gap.smallest_mm
                for gap in gaps(pose_at(solved, np.mod(fine, 2 * np.pi)), refine=False).pairs}
        for gap in gaps(solved).pairs:
            if "post" in (gap.a, gap.b):
                assert want[gap.a, gap.b] - 1e-3 < gap.smallest_mm < want[gap.a, gap.b] + 2e-6
                at_lock += gap.crank_rad == pytest.approx(limit, abs=1e-9)
    assert at_lock


@pytest.mark.parametrize("carry", [
    Carry(turn=cmath.exp(0.7j), shift=300 - 40j), Carry(turn=1j, mirrored=True),
    Carry(turn=3 * cmath.exp(-2j), shift=-10 + 5j)])
def test_gaps_move_and_scale_with_the_sketch(carry: Carry) -> None:
    sketch = four_bar((100, 40, 120, 80), 15.0, layers=(0, 1, 1, 2))
    pins = tuple(replace(pin, diameter_mm=pin.diameter_mm * carry.scale)
                 for pin in sketch.pins)
    parts = tuple(carry_part(replace(each, outline=named_outline(each)), carry)
                  for each in sketch.parts)
    moved = gaps(solve_turn(replace(sketch, parts=parts, pins=pins))).pairs
    here = {(gap.a, gap.b): gap.smallest_mm for gap in gaps(solve_turn(sketch)).pairs}
    assert len(moved) >= 2
    # Scaled up, pairs that are never near are listed no longer; none is new.
    for gap in moved:
        assert gap.smallest_mm == pytest.approx(carry.scale * here[gap.a, gap.b], abs=1e-5)


def test_a_gap_that_never_changes_is_found_at_once() -> None:
    sketch = arm(0.0, post(60 + 0j), outline=Disc(radius_mm=40, centre="o"))
    (gap,) = gaps(solve_turn(sketch)).pairs
    assert gap.smallest_mm == pytest.approx(60 - 40 - 4, abs=1e-9)


def test_a_rocking_drive_is_searched_to_both_its_ends() -> None:
    at = 60 * cmath.exp(1j * math.radians(50))
    sketch = replace(arm(40.0, post(at)), drive=Drive(pin="O", part="crank", kind="rock",
                                                  from_deg=-20.0, to_deg=33.3))
    (gap,) = gaps(solve_turn(sketch)).pairs
    assert math.degrees(gap.crank_rad) == pytest.approx(33.3, abs=1e-9)
    tip = 40 * cmath.exp(1j * math.radians(33.3))
    assert gap.smallest_mm == pytest.approx(
        abs(tip - at) - 9, abs=1e-9)


def test_plates_and_free_polygons_are_refined_like_bars() -> None:
    ring = [50 * cmath.exp(2j * math.pi * k / 24) for k in range(24)]
    outer = tuple((z.real + 118.0, z.imag + 3.0) for z in ring)
    wall = Part(id="wall", layer=1, fixed=True, outline=Polygon(outer=outer))
    crank = arm(40.0, wall, outline=Plate(margin_mm=6))
    turn = solve_turn(crank)
    (gap,) = gaps(turn).pairs
    angles = gap.crank_rad + np.linspace(-0.01, 0.01, 4001)
    near = gaps(pose_at(turn, np.mod(angles, 2 * np.pi)), refine=False).pairs[0]
    assert gap.smallest_mm == pytest.approx(near.smallest_mm, abs=1e-6)
    assert gap.smallest_mm <= near.smallest_mm + 1e-9
