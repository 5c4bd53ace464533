"""Gaps that close on a finger, against figures of standards and a gap known by geometry.

Sources: ISO 13854 minimum gaps (as quoted by AUVA, read): finger 25, hand or fist 100, arm and
foot 120, toes 50, leg 180, head 300, body 500 mm. EN 71-1 4.10, ISO 8124-1: an accessible gap
of a toy that admits a rod of 5 mm must admit one of 12 mm (from memory); EN 71-1 A.13: 12 mm
along a hinge line (read). ISO 13857: fingertips go into slots of 6 mm (from memory); ISO 13854
leaves out drawing in (as quoted). ISO/TS 15066: 140 N on hand and fingers, quasi-static (from
memory). Angle of nip twice the angle of friction: textbooks on roll crushers and mills.
"""

from __future__ import annotations

import math

import pytest

from core.findings.pinch import DRAWN_IN, HURTS_N
from core.model import Disc, Drive, Part, Pin, Point, Sketch
from core.motion import solve_turn
from core.space import gaps
from core.space.nips import NIP_RAD
from core.space.pinch import FINGER, TOY, TOY_HINGE, Pinch, pinches

THROW, ROUND, POST = 20.0, 30.0, 10.0


def eccentric(away: float, children: bool = False, drawn_deg: float = 0.0) -> Sketch:
    """A round plate of 30 mm radius, pinned 20 mm beside its middle, that turns beside a fixed
    round post of 10 mm radius in its layer: the gap between them is known."""
    def disc(name: str, fixed: bool, layer: int, radius: float, **places: float) -> Part:
        first = next(iter(places))
        return Part(id=name, fixed=fixed, layer=layer, outline=Disc(
            radius_mm=radius, centre=first), points=tuple(
                Point(id=key, x=x, y=0.0) for key, x in places.items()))

    return Sketch(
        parts=(disc("back", True, 0, 8.0, O=0.0), disc("post", True, 1, POST, P=away),
               disc("plate", False, 1, ROUND, M=THROW, O=0.0)),
        pins=(Pin(id="shaft", at=("back.O", "plate.O")),),
        drive=Drive(pin="shaft", part="plate", rpm=20.0, drawn_deg=drawn_deg),
        for_children=children)


def found(sketch: Sketch) -> tuple[Pinch, ...]:
    turn = solve_turn(sketch, steps=360)
    return tuple(one for one in pinches(turn, gaps(turn))
                 if {one.a, one.b} == {"plate", "post"})


def test_the_figures_are_those_of_the_standards() -> None:
    assert FINGER.safe_mm == 25.0
    assert FINGER.admits_mm == 6.0
    assert "13854" in FINGER.source
    assert (TOY.admits_mm, TOY.safe_mm) == (5.0, 12.0)
    assert TOY_HINGE.safe_mm == 12.0
    assert HURTS_N == 140.0
    assert "13857" in DRAWN_IN


def test_the_angle_of_nip_is_twice_an_angle_of_friction_of_skin() -> None:
    """Skin on smooth dry wood 0.3 to 0.7 (tribology surveys, from memory)."""
    assert 0.3 <= math.tan(NIP_RAD / 2) <= 0.7


@pytest.mark.parametrize("drawn_deg", [0.0, 77.0])
@pytest.mark.parametrize("least", [2.0, 5.0, 10.0, 15.0, 20.0])
def test_a_gap_that_closes_below_a_fingers_is_told_with_its_least_and_where(
    least: float, drawn_deg: float
) -> None:
    away = least + THROW + ROUND + POST
    (one,) = found(eccentric(away, drawn_deg=drawn_deg))
    assert one.kind == "crush"
    assert one.rule is FINGER
    assert one.smallest_mm == pytest.approx(least, abs=0.05)
    # The plate is nearest as it is drawn.
    assert math.cos(one.shut_rad - math.radians(drawn_deg)) == pytest.approx(1.0, abs=1e-3)
    assert one.place.real == pytest.approx(away - POST - least / 2, abs=least / 2 + 0.5)
    # It closes from at most 2 · 20 mm more.
    assert least < one.widest_mm <= least + 2 * THROW + 0.05


@pytest.mark.parametrize("least", [25.5, 30.0, 60.0])
def test_a_gap_that_keeps_room_for_a_finger_is_not_told(least: float) -> None:
    assert found(eccentric(least + THROW + ROUND + POST)) == ()


def test_a_toys_gap_may_close_to_twelve_millimetres() -> None:
    def told(least: float) -> tuple[Pinch, ...]:
        return found(eccentric(least + THROW + ROUND + POST, children=True))

    assert {one.rule.name for one in told(8.0)} == {"toy"}
    assert [one for one in told(13.0) if one.rule is TOY] == []
