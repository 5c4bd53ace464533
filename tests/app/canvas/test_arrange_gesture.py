"""Selecting and re-dimensioning with the mouse."""

from __future__ import annotations

import math

import numpy as np
import pytest
from mousework import part
from msgspec.structs import replace
from PySide6.QtCore import Qt

from app.gestures.carrying import neighbour
from core.model import Bar, Drive, Pin, PinInSlot, Sketch
from core.model.edits import change, change_point, mirror

ALT = Qt.KeyboardModifier.AltModifier
CTRL = Qt.KeyboardModifier.ControlModifier


def place(sketch, ref: str) -> complex:
    point = sketch.point(ref)
    return complex(point.x, point.y)


def test_a_click_selects_pins_before_points_before_parts(hand, session, four_bar):
    hand.click(-50 + 20j)
    assert session.selection == {("pin", "pin 2")}
    hand.click(-10 + 60j)
    assert session.selection == {("point", "coupler.C")}
    hand.click(-10 + 35j)
    assert session.selection == {("part", "coupler")}
    hand.click(-90 - 60j)
    assert session.selection == frozenset()


def test_alt_click_goes_to_the_next_below(hand, session, four_bar):
    hand.click(-50 + 20j)
    hand.click(-50 + 20j, ALT)
    assert session.selection == {("part", "coupler")}
    hand.click(-50 + 20j, ALT)
    assert session.selection == {("part", "crank")}


def test_control_click_adds_and_takes_away(hand, session, four_bar):
    hand.click(-10 + 35j)
    hand.click(-50 + 20j, CTRL)
    assert session.selection == {("part", "coupler"), ("pin", "pin 2")}
    hand.click(-10 + 35j, CTRL)
    assert session.selection == {("pin", "pin 2")}


def test_a_click_on_one_of_several_selected_selects_it_alone(hand, session, four_bar):
    session.select((("part", "crank"), ("part", "rocker")))
    hand.click(40 + 25j)
    assert session.selection == {("part", "rocker")}


def test_a_box_selects_what_lies_in_it(hand, session, four_bar):
    hand.drag(-70 - 20j, -30 + 30j)
    assert session.selection == {("part", "crank"), ("pin", "pin 1"), ("pin", "pin 2"),
                                 ("point", "frame.A")} - {("point", "frame.A")}


def test_dragging_a_pin_redimensions_the_links_on_it(hand, session, four_bar):
    hand.drag(-50 + 20j, -40 + 25j)
    sketch = session.committed
    assert place(sketch, "crank.B") == place(sketch, "coupler.A") == -40 + 25j
    assert place(sketch, "crank.A") == -50 + 0j
    assert session.undo_stack.count() == 1
    assert session.undo_stack.undoText() == "Move pin 2"
    session.undo()
    assert session.committed is four_bar


def test_dragging_works_at_any_crank_angle_and_nothing_else_jumps(hand, session, four_bar):
    session.set_crank(math.radians(200))
    before = {part.id: list(hand.canvas.pose.points(part)) for part in four_bar.parts}
    pin = hand.canvas.pose.at("coupler.B")
    hand.drag(pin, pin + 6 + 4j, keys=ALT)
    pose = hand.canvas.pose
    assert pose.is_drawn
    for each in session.committed.parts:
        for (ref, was), (_, now) in zip(before[each.id], pose.points(each), strict=True):
            if ref in ("coupler.B", "rocker.B"):
                assert abs(now - (was + 6 + 4j)) < 0.3
            else:
                assert now == pytest.approx(was, abs=1e-6)
    assert session.committed.drive.drawn_deg == pytest.approx(200, abs=1e-6)


def test_a_coupler_point_is_dragged_until_its_path_passes_a_target(hand, session, four_bar):
    target = -25 + 75j

    def miss() -> float:
        path = session.turn.path("coupler.C")
        return float(np.nanmin(np.abs(path[:, 0] + 1j * path[:, 1] - target)))

    assert miss() > 5
    start = hand.canvas.pose.at("coupler.C")
    hand.press(start)
    best = math.inf
    for step in range(1, 60):
        now = start + (target - start) * step / 40
        hand.move(now)
        best = miss()
        if best < 0.5:
            break
    hand.release(now)
    assert best < 0.5
    assert miss() < 0.5
    assert session.undo_stack.count() == 1


def test_escape_puts_back_the_very_same_sketch_and_crank(hand, session, four_bar):
    session.set_crank(math.radians(30))
    pin = hand.canvas.pose.at("coupler.B")
    hand.press(pin)
    hand.move(pin + 10)
    hand.move(pin + 10 + 10j)
    assert session.sketch is not four_bar
    hand.key(Qt.Key.Key_Escape)
    assert session.sketch is four_bar
    assert math.degrees(session.crank_rad) == pytest.approx(30)
    hand.release(pin)
    assert session.undo_stack.count() == 0


def test_a_click_without_a_drag_changes_nothing(hand, session, four_bar):
    hand.click(-50 + 20j)
    hand.press(-50 + 20j)
    hand.move(-50.3 + 20j)
    hand.release(-50.3 + 20j)
    assert session.committed is four_bar


def test_several_parts_move_together(hand, session, four_bar):
    session.select((("part", "crank"), ("part", "coupler")))
    grab = -50 + 10j
    hand.drag(grab, grab + 5 - 10j)
    moved = session.committed
    shift = place(moved, "crank.A") - place(four_bar, "crank.A")
    assert abs(shift) > 5
    for ref in ("crank.B", "coupler.A", "coupler.C"):
        assert place(moved, ref) == pytest.approx(place(four_bar, ref) + shift)
    assert place(moved, "rocker.A") == place(four_bar, "rocker.A")


def test_a_locked_point_is_not_moved_and_the_reason_is_said(hand, session, four_bar, qtbot):
    locked = change_point(four_bar, "crank.A", locked=True)
    session.commit("Lock", locked)
    said: list[str] = []
    session.hint_changed.connect(said.append)
    hand.drag(-50 + 0j, -40 + 0j)
    assert session.committed is locked
    assert any("locked" in text for text in said)


def test_a_locked_length_is_not_told_as_changing(hand, session, four_bar):
    sketch = change(four_bar, "parts", "crank", lengths_locked=True)
    session.commit("Lock lengths", sketch)
    frame = hand.canvas.frame()
    free = frozenset(("crank.B", "coupler.A"))
    assert neighbour(frame, free) is None  # the coupler has three points
    session.undo()
    assert neighbour(hand.canvas.frame(), free) == -50 + 0j


def test_locked_lengths_hold_while_dragging(hand, session, four_bar):
    session.commit("Lock lengths", change(four_bar, "parts", "crank", lengths_locked=True))
    hand.drag(-50 + 20j, -20 + 30j)
    sketch = session.committed
    length = abs(place(sketch, "crank.B") - place(sketch, "crank.A"))
    assert length == pytest.approx(20, abs=1e-9)
    assert place(sketch, "crank.B") != -50 + 20j


def test_the_knob_turns_the_crank_and_changes_nothing(hand, session, four_bar):
    from app.canvas.paint_drives import knob_place

    knob = knob_place(hand.canvas.frame())
    assert knob is not None
    around = knob + 50
    hand.press(knob)
    for degrees in range(5, 46, 5):
        hand.move(-50 + around * np.exp(1j * np.radians(degrees)))
    hand.release(-50 + around * np.exp(1j * np.radians(45)))
    assert math.degrees(session.crank_rad) == pytest.approx(135, abs=1.5)
    assert session.undo_stack.count() == 0


def test_arrows_nudge_and_one_press_is_one_undo(hand, session, four_bar):
    session.select((("pin", "pin 3"),))
    hand.key(Qt.Key.Key_Right)
    hand.key(Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert place(session.committed, "coupler.B") == pytest.approx(31 + 60j)
    assert session.undo_stack.count() == 2


def test_a_nudge_is_kept_when_the_keyboard_goes_elsewhere(hand, session, four_bar, qtbot):
    session.select((("pin", "pin 3"),))
    qtbot.keyPress(hand.canvas, Qt.Key.Key_Right)
    assert session.committed is four_bar
    hand.canvas.clearFocus()
    assert session.undo_stack.undoText() == "Nudge"
    assert session.sketch is session.committed


def test_tab_goes_through_the_drawing_and_on(hand, session, four_bar):
    hand.key(Qt.Key.Key_Tab)
    assert session.selection == {("part", "frame")}
    hand.key(Qt.Key.Key_Tab)
    assert session.selection == {("part", "crank")}
    hand.key(Qt.Key.Key_Backtab)
    assert session.selection == {("part", "frame")}
    seen = 0
    session.select((("pin", "pin 4"),))
    assert not hand.canvas.gesture.tab(True)
    assert session.selection == frozenset()
    assert seen == 0


def test_delete_removes_the_selection_and_what_hangs_on_it(hand, session, four_bar):
    session.select((("part", "coupler"),))
    hand.key(Qt.Key.Key_Delete)
    sketch = session.committed
    assert [part.id for part in sketch.parts] == ["frame", "crank", "rocker"]
    assert [pin.id for pin in sketch.pins] == ["pin 1", "pin 4"]
    session.undo()
    assert session.committed is four_bar
    assert session.selection == {("part", "coupler")}


@pytest.mark.parametrize("item", [("slide", "slide"), ("force", "force"),
                                  ("point", "coupler.C"), ("part", "crank")])
def test_arrows_move_whatever_the_mouse_can_drag(hand, session, four_bar, item):
    hand.canvas.set_tool("slide")
    hand.drag(-10 + 60j, 20 + 60j)
    hand.canvas.set_tool("load")
    hand.drag(30 + 50j, 30 + 70j)
    hand.canvas.set_tool("arrange")
    before = session.committed
    session.select((item,))
    hand.key(Qt.Key.Key_Right)
    assert session.committed != before
    session.undo()
    assert session.committed is before


@pytest.mark.parametrize(("degrees", "in_step"), [(90, True), (250, False)])
def test_the_image_of_a_twin_is_dragged_as_seen_in_the_mirror(hand, session, four_bar,
                                                              degrees, in_step):
    # The image has no crank of its own: it stands still, in step only as drawn.
    sketch, images = mirror(four_bar, ("crank", "coupler", "rocker"), 120, 0, 90.0)
    session.commit("Mirror", sketch)
    session.set_crank(math.radians(degrees))
    said: list[str] = []
    session.hint_changed.connect(said.append)
    hand.canvas.set_camera(hand.canvas.camera.panned(-480, 0))
    image = next(name for name in images if name.startswith("coupler"))
    start = hand.canvas.pose.at(f"{image}.B")
    mirrored = 240 - start.conjugate()
    hand.drag(start, start + 5 + 5j, keys=ALT)
    if not in_step:
        assert session.committed is sketch
        assert any("cut the twin loose" in line for line in said)
        return
    assert abs(hand.canvas.pose.at(f"{image}.B") - (start + 5 + 5j)) < 0.3
    assert abs(hand.canvas.pose.at("coupler.B") - (mirrored - 5 + 5j)) < 0.3


def slotted_lever() -> Sketch:
    """A crank of 25 mm whose pin runs in the slot of a lever from below."""
    foot = 0 - 60j
    return Sketch(
        parts=(part("frame", 0j, foot, fixed=True, layer=0),
               part("crank", 0j, 0 + 25j, layer=1),
               part("lever", foot, 0 + 60j, 0 - 45j, 0 + 50j, layer=2,
                    outline=Bar(through=("A", "B")))),
        pins=(Pin(id="o", at=("frame.A", "crank.A")), Pin(id="p", at=("lever.A", "frame.B"))),
        slots=(PinInSlot(id="slot", point="crank.B", slot=("lever.C", "lever.D")),),
        drive=Drive(pin="o", part="crank", drawn_deg=90.0))


def test_a_slotted_lever_swings_when_its_foot_is_dragged(hand, session):
    before = slotted_lever()
    session.commit("Start", before)
    session.set_crank(math.radians(90))
    hand.drag(0 - 60j, 30 - 55j, keys=ALT)
    sketch = session.committed
    foot = place(sketch, "lever.A")
    assert foot == pytest.approx(hand.at(30 - 55j), abs=0.3)
    assert place(sketch, "crank.B") == 0 + 25j
    for name in "BCD":
        there = place(sketch, f"lever.{name}") - foot
        assert abs(there) == pytest.approx(abs(place(before, f"lever.{name}") + 60j))
        assert ((there / (place(sketch, "crank.B") - foot)).imag) == pytest.approx(0, abs=1e-9)
    assert session.trouble == ""
    assert session.turn.reached.all()
    session.undo()
    assert session.committed is before


def test_a_lever_that_drives_something_keeps_its_other_pivots(hand, session):
    start = slotted_lever()
    rod = part("rod", 0 + 60j, 70 + 60j, layer=3)
    session.commit("Start", replace(start, parts=(*start.parts, rod), pins=(
        *start.pins, Pin(id="q", at=("lever.B", "rod.A")))))
    session.set_crank(math.radians(90))
    hand.drag(0 - 60j, 30 - 55j, keys=ALT)
    assert place(session.committed, "lever.B") == 0 + 60j
