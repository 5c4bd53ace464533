"""The dial beside the selected part: shown for wood, turned by its knob in one step."""

from __future__ import annotations

import cmath
import math

import pytest
from mousework import ALT, SHIFT
from PySide6.QtCore import Qt

from app.canvas.paint_grain import dialled, grain_dial
from core.model import edits
from core.space.grain import grain_of


def dial(canvas) -> tuple[complex, complex]:
    frame = canvas.frame()
    part = dialled(frame)
    assert part is not None
    found = grain_dial(frame, part)
    assert found is not None
    return found


def off_deg(canvas, name: str, deg: float) -> float:
    sketch = canvas.session.committed
    return abs(math.degrees(math.remainder(
        grain_of(sketch.part(name)) - math.radians(deg), math.pi)))


@pytest.fixture
def chosen(canvas, four_bar) -> str:
    name = four_bar.parts[-1].id
    canvas.session.select([("part", name)])
    return name


def test_it_is_there_for_one_part_of_wood_alone(canvas, four_bar, chosen) -> None:
    session = canvas.session
    assert dialled(canvas.frame()).id == chosen
    session.select([("part", part.id) for part in four_bar.parts[:2]])
    assert dialled(canvas.frame()) is None
    session.select([("pin", four_bar.pins[0].id)])
    assert dialled(canvas.frame()) is None
    session.commit("steel", edits.change(four_bar, "parts", chosen, material="steel"))
    session.select([("part", chosen)])
    assert dialled(canvas.frame()) is None


def test_its_knob_shows_the_grain_and_its_middle_is_off_the_wood(canvas, chosen) -> None:
    middle, knob = dial(canvas)
    frame = canvas.frame()
    part = frame.sketch.part(chosen)
    assert math.remainder(cmath.phase(knob - middle) - grain_of(part), math.pi) == (
        pytest.approx(0.0, abs=1e-9))
    drawn = frame.pose.drawn(chosen, middle)
    polygon = frame.shapes.of(part).polygon
    from shapely import Point
    assert polygon.distance(Point(drawn.real, drawn.imag)) > 0.0


@pytest.mark.parametrize("deg", [20.0, 100.0, -150.0])
def test_dragging_the_knob_turns_the_grain_in_one_step(hand, canvas, chosen, deg) -> None:
    before = canvas.session.committed
    middle, knob = dial(canvas)
    hand.move(knob)
    hand.drag(knob, middle + cmath.rect(12.0, math.radians(deg)))
    assert off_deg(canvas, chosen, deg) < 2.5  # a pixel at 12 mm
    assert canvas.session.undo_stack.count() == 1
    assert f"Turn the grain of {chosen}" in canvas.session.undo_stack.undoText()
    assert canvas.session.selection == {("part", chosen)}
    moved = canvas.session.committed.part(chosen)
    assert moved.points == before.part(chosen).points
    canvas.session.undo()
    assert canvas.session.committed is before


def test_shift_turns_it_in_steps_of_15_degrees(hand, canvas, chosen) -> None:
    middle, knob = dial(canvas)
    hand.drag(knob, middle + cmath.rect(20.0, math.radians(157.0)), keys=SHIFT)
    assert off_deg(canvas, chosen, 150.0) < 0.01 or off_deg(canvas, chosen, 165.0) < 0.01


def test_near_the_parts_own_direction_it_goes_along_it_again(hand, canvas, chosen) -> None:
    session = canvas.session
    own = grain_of(session.committed.part(chosen))
    session.commit("turn", edits.change(session.committed, "parts", chosen, grain_deg=5.0))
    middle, knob = dial(canvas)
    hand.drag(knob, middle + cmath.rect(30.0, own))
    assert session.committed.part(chosen).grain_deg is None


def test_escape_leaves_the_grain_as_it_was(hand, canvas, chosen) -> None:
    before = canvas.session.committed
    middle, knob = dial(canvas)
    hand.press(knob)
    hand.move(middle + 12j)
    hand.key(Qt.Key.Key_Escape)
    hand.release(middle + 12j)
    assert canvas.session.committed is before


def test_the_knob_follows_the_part_round_the_turn(hand, canvas, four_bar, chosen) -> None:
    """In another pose the grain is turned as it is seen, and kept as it is drawn."""
    canvas.session.set_crank(canvas.session.crank_rad + 1.0)
    frame = canvas.frame()
    rotation = frame.pose.rotation.get(chosen, 1 + 0j)
    middle, knob = dial(canvas)
    seen = math.radians(10.0)
    hand.drag(knob, middle + cmath.rect(30.0, seen))
    drawn = math.degrees(seen - cmath.phase(rotation))
    assert off_deg(canvas, chosen, drawn) < 2.0
    assert canvas.session.committed.drive.drawn_deg == four_bar.drive.drawn_deg


def test_alt_reaches_what_lies_below_the_knob(hand, canvas, chosen) -> None:
    before = canvas.session.committed
    _, knob = dial(canvas)
    hand.click(knob, keys=ALT)
    assert canvas.session.committed is before


def test_delete_after_a_click_on_the_knob_deletes_the_part(hand, canvas, chosen) -> None:
    """Nothing of the dial can be deleted."""
    _, knob = dial(canvas)
    hand.click(knob)
    hand.key(Qt.Key.Key_Delete)
    assert chosen not in {part.id for part in canvas.session.committed.parts}
