"""The direction of the grain, and the narrow places where it matters."""

from __future__ import annotations

import cmath
import math
from itertools import product

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.errors import SketchError
from core.model import Bar, Disc, Part, Pin, Plate, Point, Polygon, Sketch, edits
from core.space.grain import grain_of, longest_direction
from core.space.necks import Neck, bores_of, necks
from core.space.rays import edges_of, first_hits

TURNS = [0.0, 7.0, 45.0, 90.0, 133.0, 180.0]


def part(*at: complex, outline=None, **more) -> Part:
    points = tuple(Point(id="ABCDEFGH"[i], x=z.real, y=z.imag) for i, z in enumerate(at))
    return Part(id="leaf", points=points, outline=outline, **more)


def polygon(shape: shapely.Polygon) -> Polygon:
    return Polygon(outer=tuple(shape.exterior.coords[:-1]),
                   holes=tuple(tuple(ring.coords[:-1]) for ring in shape.interiors))


def turned(given: Part, deg: float) -> Part:
    """The same part drawn turned about the origin."""
    sketch = Sketch(parts=(given,))
    carry = edits.Carry(turn=cmath.rect(1.0, math.radians(deg)))
    return edits.carry_part(sketch.parts[0], carry)


def same_line(one: float, other: float) -> bool:
    return abs(math.remainder(one - other, math.pi)) < 1e-9


DUMBBELL = shapely.union_all([shapely.Point(0, 0).buffer(20, 32),
                              shapely.Point(80, 0).buffer(20, 32), shapely.box(0, -5, 80, 5)])


@pytest.mark.parametrize(("given", "deg"), [
    (part(0j, 60 + 30j), math.degrees(math.atan2(30, 60))),
    (part(0j, 60 + 30j, 80 + 40j, outline=Bar(width_mm=9)), math.degrees(math.atan2(30, 60))),
    (part(outline=Polygon(outer=((0, 0), (90, 0), (90, 20), (0, 20)))), 0.0),
    (part(outline=Polygon(outer=((0, 0), (20, 0), (20, 90), (0, 90)))), 90.0),
    # Along the longest side of a triangle its strip is narrowest.
    (part(0j, 80 + 0j, 30 + 20j, outline=Plate(margin_mm=5)), 0.0),
    (part(5j, outline=Disc(radius_mm=30)), 0.0),
    (part(0j, 10 + 10j, outline=Disc(radius_mm=30)), 45.0),
    (part(0j, 60 + 30j, grain_deg=100.0), 100.0),
    (part(0j, 60 + 30j, grain_deg=-260.0), 100.0),
])
def test_grain_runs_along_the_part_or_as_it_says(given: Part, deg: float) -> None:
    assert same_line(grain_of(given), math.radians(deg))
    assert -math.pi / 2 < grain_of(given) <= math.pi / 2


@pytest.mark.parametrize("deg", TURNS)
@pytest.mark.parametrize("given", [
    part(0j, 60 + 30j), part(0j, 60 + 0j, 60 + 70j, outline=Bar(width_mm=14)),
    part(0j, 40 + 0j, 40 + 40j, 40j, outline=Plate(margin_mm=6)),
    part(outline=Polygon(outer=((0, 0), (40, 0), (40, 40), (0, 40)))),
    part(0j, 30 + 0j, grain_deg=25.0), part(0j, 9 + 9j, outline=polygon(DUMBBELL)),
    part(0j, 60 + 0j, 20 + 52j, outline=Disc(radius_mm=70)),
])
def test_grain_turns_with_the_part(given: Part, deg: float) -> None:
    """A square too: what is even there is told apart by the order of drawing."""
    assert same_line(grain_of(turned(given, deg)), grain_of(given) + math.radians(deg))


def test_the_longest_direction_is_square_to_the_least_width() -> None:
    """Against brute force over a thousand directions of random polygons."""
    chance = np.random.default_rng(4)
    for _ in range(30):
        cloud = shapely.MultiPoint(chance.normal(0, (30, 12), (9, 2))).convex_hull
        given = part(outline=polygon(shapely.affinity.rotate(cloud, chance.uniform(0, 180))))
        corners = np.array(given.outline.outer) @ np.array([1, 1j])
        ways = np.exp(1j * np.linspace(0, np.pi, 1000, endpoint=False))
        widths = np.ptp((corners[:, None] * ways.conj()).imag, axis=0)
        along = cmath.rect(1.0, longest_direction(given))
        least = np.ptp((corners * along.conjugate()).imag)
        assert least <= widths.min() * (1 + 1e-9)


def test_a_part_without_shape_has_no_grain() -> None:
    with pytest.raises(SketchError):
        grain_of(Part(id="ghost"))


# -- necks -------------------------------------------------------------------------


def only(found: tuple[Neck, ...]) -> Neck:
    (neck,) = found
    return neck


def test_a_plain_bar_is_one_neck_as_wide_as_it_is() -> None:
    neck = only(necks(part(0j, 80 + 0j, outline=Bar(width_mm=16))))
    assert neck.width_mm == pytest.approx(16, abs=0.02)
    assert abs(neck.place - 40) < 1.0
    assert same_line(neck.along_rad, 0.0)
    assert neck.to_grain_rad == pytest.approx(0, abs=1e-9)
    assert neck.fibre_mm > 80
    assert not neck.short_grain


def test_a_bore_takes_its_share_of_the_wood() -> None:
    lever = part(0j, 80 + 0j, outline=Bar(width_mm=16))
    ends = [neck for neck in necks(lever, ((0j, 6.0), (80 + 0j, 8.0))) if neck.bore_mm]
    assert [round(neck.width_mm, 1) for neck in ends] == [8.0, 10.0]
    assert [neck.place for neck in ends] == [80, 0]
    assert all(abs(neck.along_rad) < math.radians(1.01) for neck in ends)


@pytest.mark.parametrize("deg", [10.0, 30.0, 45.0, 80.0])
def test_fibres_across_a_bar_are_as_long_as_geometry_says(deg: float) -> None:
    """w / sin θ from edge to edge."""
    lever = part(0j, 200 + 0j, outline=Bar(width_mm=16), grain_deg=deg)
    neck = only(necks(lever))
    assert neck.to_grain_rad == pytest.approx(math.radians(deg), abs=1e-3)
    assert neck.fibre_mm == pytest.approx(16 / math.sin(math.radians(deg)), rel=0.01)
    assert neck.short_grain == (16 / math.sin(math.radians(deg)) < 48)


def test_the_middle_of_a_dumbbell_is_its_neck() -> None:
    neck = only(necks(part(0j, 80 + 0j, outline=polygon(DUMBBELL))))
    assert neck.width_mm == pytest.approx(10, abs=0.03)
    assert abs(neck.place - 40) < 2
    assert not neck.short_grain
    across = only(necks(part(0j, 80 + 0j, outline=polygon(DUMBBELL), grain_deg=90.0)))
    assert across.short_grain
    assert across.fibre_mm == pytest.approx(10, abs=0.1)


def test_two_necks_with_something_wider_between_are_two() -> None:
    beads = shapely.union_all([shapely.Point(x, 0).buffer(15, 32) for x in (0, 60, 120)]
                              + [shapely.box(0, -4, 120, 4)])
    found = necks(part(0j, 120 + 0j, outline=polygon(beads)))
    assert sorted(round(neck.place.real / 30) for neck in found) == [1, 3]


def test_an_ear_that_carries_nothing_has_a_neck_all_the_same() -> None:
    ear = shapely.union_all([shapely.Point(0, 0).buffer(30, 32), shapely.box(-4, 0, 4, 50),
                             shapely.Point(0, 55).buffer(12, 32)])
    neck = necks(part(0j, outline=polygon(ear), grain_deg=0.0))[0]
    assert neck.width_mm == pytest.approx(8, abs=0.03)
    assert neck.short_grain


@pytest.mark.parametrize("given", [
    part(0j, outline=Disc(radius_mm=30)),
    part(outline=Polygon(outer=((0, -10), (100, 0), (0, 10)))),  # a tip is no neck
    part(0j, 40 + 0j, 20 + 30j, outline=Plate(margin_mm=8)),
])
def test_what_is_nowhere_narrow_has_no_necks(given: Part) -> None:
    assert necks(given) == ()


@pytest.mark.parametrize("deg", TURNS[1:])
def test_necks_turn_with_the_part(deg: float) -> None:
    bent = part(0j, 60 + 0j, 60 + 70j, outline=Bar(width_mm=14), grain_deg=20.0)
    bores = ((0j, 6.0), (60 + 70j, 6.0))
    spin = cmath.rect(1.0, math.radians(deg))
    before = [n for n in necks(bent, bores) if n.bore_mm]
    after = [n for n in necks(turned(bent, deg), tuple((spin * z, d) for z, d in bores))
             if n.bore_mm]
    assert len(before) == len(after) == 2
    by_place = sorted(after, key=lambda n: abs(n.place / spin))
    for one, other in zip(sorted(before, key=lambda n: abs(n.place)), by_place, strict=True):
        assert abs(other.place - one.place * spin) < 1e-6
        assert other.width_mm == pytest.approx(one.width_mm, abs=0.03)
        assert other.to_grain_rad == pytest.approx(one.to_grain_rad, abs=math.radians(2.1))


def test_a_bore_that_leaves_no_wood_is_told_as_none_left() -> None:
    lever = part(0j, 80 + 0j, outline=Bar(width_mm=16))
    assert all(neck.width_mm >= 0 for neck in necks(lever, ((0j, 15.9), (80 + 0j, 20.0))))


def test_random_outlines_give_sound_necks() -> None:
    chance = np.random.default_rng(11)
    for _ in range(60):
        spots = chance.uniform(-60, 60, (5, 2))
        shape = shapely.union_all([
            shapely.LineString(spots).buffer(chance.uniform(2, 9)),
            *(shapely.Point(x, y).buffer(chance.uniform(3, 15)) for x, y in spots)])
        shape = max(shapely.get_parts(shape), key=lambda piece: piece.area)
        given = part(complex(*spots[0]), complex(*spots[4]), outline=polygon(shape))
        bores = tuple((complex(*spots[i]), float(chance.uniform(2, 8))) for i in (0, 4))
        for neck in necks(given, bores):
            assert 0 <= neck.width_mm < 200
            assert 0 <= neck.to_grain_rad <= math.pi / 2 + 1e-9
            assert 0 <= neck.fibre_mm < 400
            assert shapely.Point(neck.place.real, neck.place.imag).within(
                shape.buffer(1e-6))


def test_bores_are_those_of_the_pins_but_not_of_hinges() -> None:
    arm = part(0j, 50 + 0j)
    sketch = Sketch(parts=(arm, replace(arm, id="other")),
                    pins=(Pin(id="p", at=("leaf.A", "other.A"), diameter_mm=5.0),))
    assert bores_of(sketch) == {"leaf": ((0j, 5.0),), "other": ((0j, 5.0),)}


def test_rays_meet_the_first_edge() -> None:
    starts, ends = edges_of(shapely.box(0, 0, 10, 4))
    for x, y in product((1.0, 5.0, 9.0), (1.0, 3.0)):
        spot = np.array([complex(x, y)] * 4)
        far, edge = first_hits(spot, np.array([1, 1j, -1, -1j]), starts, ends)
        assert far == pytest.approx([10 - x, 4 - y, x, y])
        assert (edge >= 0).all()
    far, edge = first_hits(np.array([20 + 0.5j]), np.array([1 + 0j]), starts, ends)
    assert np.isinf(far[0])
    assert edge[0] == -1
