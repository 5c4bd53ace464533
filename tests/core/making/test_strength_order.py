"""What a part bears does not depend on how the sketch is listed, turned or shifted."""

from __future__ import annotations

import cmath
import math

import pytest
from faulty import four_bar
from msgspec.structs import replace

from core.effort import effort
from core.making.strength import strength
from core.model import Lock, Plate, Point, Sketch
from core.motion import solve_turn

LINKS = ("link-stress", "link-buckling")


def borne(sketch: Sketch) -> dict[tuple[str, str], float]:
    turn = solve_turn(sketch, steps=72)
    found = strength(turn, effort(turn)).checks
    return {(one.kind, one.thing): one.value for one in found if one.kind in LINKS}


def turned(sketch: Sketch, by_deg: float, shift: complex) -> Sketch:
    """The sketch turned about its origin, gravity with it, and shifted."""
    way = cmath.exp(1j * math.radians(by_deg))

    def put(point: Point) -> Point:
        at = way * point.place + shift
        return replace(point, x=at.real, y=at.imag)

    down = sketch.gravity.direction_deg + by_deg
    return replace(sketch, gravity=replace(sketch.gravity, direction_deg=down),
                   parts=tuple(replace(part, points=tuple(map(put, part.points)))
                               for part in sketch.parts))


@pytest.mark.parametrize("plates", [False, True])
def test_links_bear_the_same_whatever_the_order_of_pins(plates: bool) -> None:
    sketch = four_bar()
    if plates:
        sketch = replace(sketch, parts=tuple(replace(part, outline=Plate(margin_mm=8.0))
                                             for part in sketch.parts))
    first = borne(sketch)
    assert len(first) >= 4
    assert borne(replace(sketch, pins=sketch.pins[::-1])) == pytest.approx(first, rel=1e-6)


@pytest.mark.parametrize("by_deg", [90.0, -143.0])
def test_links_bear_the_same_wherever_and_however_the_sketch_lies(by_deg: float) -> None:
    sketch = four_bar(locks=(Lock(id="fast", parts=("rocker",), pin="Q"),))
    first = borne(sketch)
    assert ("link-stress", "rocker") in first
    moved = borne(turned(sketch, by_deg, 200 - 70j))
    assert moved == pytest.approx(first, rel=1e-2)


def test_of_two_bores_alike_the_same_is_named_whatever_comes_first() -> None:
    def named(sketch: Sketch) -> set[tuple[str, tuple[str, ...]]]:
        turn = solve_turn(sketch, steps=72)
        return {(one.thing, one.joints) for one in strength(turn, effort(turn)).checks
                if one.kind == "wag"}

    sketch = four_bar()
    assert named(sketch)
    assert named(replace(sketch, pins=sketch.pins[::-1])) == named(sketch)
