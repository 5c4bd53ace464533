"""Drawing parts with the mouse."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QToolButton

from core.model import Bar, Disc, Plate


def test_a_four_bar_is_drawn_from_nothing_with_four_clicks(hand, session):
    hand.draw_four_bar()
    sketch = session.committed
    assert [part.id for part in sketch.parts] == ["frame", "bar", "bar 2", "bar 3"]
    assert sketch.part("frame").fixed
    assert len(sketch.pins) == 4
    assert sketch.drive is not None
    assert sketch.drive.part == "bar"
    assert session.trouble == ""
    assert session.turn.reached.all()


def test_a_chain_of_bars_is_one_undo_step(hand, session):
    empty = session.committed
    hand.draw_four_bar()
    assert session.undo_stack.count() == 1
    session.undo()
    assert session.committed is empty
    session.redo()
    assert len(session.committed.parts) == 4


def test_the_first_crank_is_seen_where_it_was_drawn(hand, session):
    hand.draw_four_bar()
    assert math.isclose(math.degrees(session.crank_rad), session.committed.drive.drawn_deg)
    assert hand.canvas.pose.is_drawn


def test_new_bars_lie_in_layers_of_their_own(hand, session):
    hand.draw_four_bar()
    sketch = session.committed
    layers = [sketch.layer_of(name) for name in ("bar", "bar 2", "bar 3")]
    assert layers[0] != layers[1]
    assert layers[1] != layers[2]
    assert 0 not in layers


def test_escape_gives_up_the_whole_chain(hand, session):
    empty = session.sketch
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.click(40 + 0j)
    hand.move(40 + 40j)
    assert len(session.sketch.parts) == 2
    hand.key(Qt.Key.Key_Escape)
    assert session.sketch is empty
    assert session.undo_stack.count() == 0
    assert hand.canvas.tool_id == "part"


def test_backspace_takes_back_the_last_spot(hand, session):
    hand.canvas.set_tool("part")
    for place in (0j, 40 + 0j, 40 + 40j):
        hand.click(place)
    hand.key(Qt.Key.Key_Backspace)
    hand.key(Qt.Key.Key_Return)
    assert [part.id for part in session.committed.parts] == ["bar"]


def test_a_bar_is_drawn_by_dragging_too(hand, session):
    hand.canvas.set_tool("part")
    hand.drag(0j, 50 + 0j)
    hand.key(Qt.Key.Key_Return)
    (bar,) = session.committed.parts
    assert [(p.x, p.y) for p in bar.points] == [(0, 0), (50, 0)]


def test_a_click_on_a_point_joins_it_and_ends_the_chain(hand, session):
    hand.draw_four_bar()
    hand.canvas.set_tool("part")
    hand.click(20 + 80j)
    hand.click(50 + 40j)
    sketch = session.committed
    assert session.undo_stack.count() == 2
    pin = next(pin for pin in sketch.pins if "bar 2.B" in pin.at)
    assert "bar 4.B" in pin.at


def test_a_chain_can_close_on_itself(hand, session):
    hand.canvas.set_tool("part")
    for place in (0j, 60 + 0j, 30 + 50j, 0j):
        hand.click(place)
    sketch = session.committed
    assert [part.id for part in sketch.parts] == ["bar", "bar 2", "bar 3"]
    assert sorted(sorted(pin.at) for pin in sketch.pins) == [
        ["bar 2.A", "bar.B"], ["bar 2.B", "bar 3.A"], ["bar 3.B", "bar.A"]]


def test_a_click_on_a_body_pins_there_and_leaves_its_outline(hand, session):
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.click(60 + 0j)
    hand.key(Qt.Key.Key_Return)
    hand.click(30 + 40j)
    hand.click(30 + 0j)
    bar = session.committed.part("bar")
    assert [p.id for p in bar.points] == ["A", "B", "C"]
    assert bar.outline == Bar(through=("A", "B"))
    assert len(session.committed.pins) == 1


def test_g_makes_the_last_spot_a_fixed_pivot(hand, session):
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.key(Qt.Key.Key_G)
    hand.click(40 + 0j)
    hand.key(Qt.Key.Key_Return)
    assert session.committed.pins[0].at == ("bar.A", "frame.O")


def test_a_typed_length_sets_the_bar(hand, session, qtbot):
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.move(30 + 0j)
    hand.type("4")
    box = hand.canvas.entry.box
    qtbot.keyClicks(box, "2,5 mm")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    hand.key(Qt.Key.Key_Return)
    (bar,) = session.committed.parts
    assert (bar.points[1].x, bar.points[1].y) == (42.5, 0.0)


def test_bars_go_on_after_a_typed_length(hand, session, qtbot):
    """Enter ends the number, not the chain of bars."""
    hand.canvas.set_tool("part")
    hand.double(-40 + 0j)
    hand.move(-30 + 0j)
    hand.type("4")
    qtbot.keyClicks(hand.canvas.entry.box, "0")
    qtbot.keyClick(hand.canvas.entry.box, Qt.Key.Key_Return)
    assert session.undo_stack.count() == 0
    hand.move(0 + 30j)
    hand.type("5")
    qtbot.keyClicks(hand.canvas.entry.box, "0")
    qtbot.keyClick(hand.canvas.entry.box, Qt.Key.Key_Enter)
    hand.key(Qt.Key.Key_Return)
    assert session.undo_stack.count() == 1
    lengths = [math.hypot(a.x - b.x, a.y - b.y) for a, b in
               (part.points for part in session.committed.parts if not part.fixed)]
    assert lengths == pytest.approx([40, 50])


@pytest.mark.parametrize("typed", ["0", "-20 mm"])
def test_a_bar_of_no_length_is_refused_in_the_box(hand, session, qtbot, typed):
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.move(30 + 0j)
    hand.type("1")
    hand.canvas.entry.box.setText(typed)
    qtbot.keyClick(hand.canvas.entry.box, Qt.Key.Key_Return)
    assert hand.canvas.entry.isVisible()
    qtbot.keyClick(hand.canvas.entry.box, Qt.Key.Key_Escape)
    hand.key(Qt.Key.Key_Escape)
    assert session.undo_stack.count() == 0


def test_a_length_that_cannot_be_read_is_said_and_nothing_is_drawn(hand, session, qtbot):
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.move(30 + 0j)
    hand.type("4")
    qtbot.keyClicks(hand.canvas.entry.box, " bananas")
    qtbot.keyClick(hand.canvas.entry.box, Qt.Key.Key_Return)
    assert hand.canvas.entry.isVisible()
    qtbot.keyClick(hand.canvas.entry.box, Qt.Key.Key_Escape)
    assert not hand.canvas.entry.isVisible()
    hand.key(Qt.Key.Key_Escape)
    assert session.undo_stack.count() == 0


def test_bent_bars_plates_and_discs(hand, session):
    hand.canvas.set_tool("part")
    hand.type("2")
    for place in (-100 + 0j, -80 + 20j, -60 + 0j):
        hand.click(place)
    hand.click(-60 + 0j)
    hand.type("3")
    for place in (0j, 30 + 0j, 15 + 25j):
        hand.click(place)
    hand.key(Qt.Key.Key_Return)
    hand.type("4")
    hand.click(80 + 0j)
    hand.click(100 + 0j)
    outlines = [part.outline for part in session.committed.parts]
    assert outlines == [Bar(through=("A", "B", "C")), Plate(around=("A", "B", "C")),
                        Disc(radius_mm=20.0, centre="A")]
    assert session.undo_stack.count() == 3


def test_taking_another_tool_keeps_what_was_drawn(hand, session):
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.click(40 + 0j)
    hand.canvas.set_tool("arrange")
    assert [part.id for part in session.committed.parts] == ["bar"]


def test_undo_during_a_chain_gives_up_the_chain_only(hand, session):
    hand.draw_four_bar()
    whole = session.committed
    hand.canvas.set_tool("part")
    hand.click(0j)
    hand.click(40 + 70j)
    session.undo()
    assert session.sketch is whole
    hand.click(10 + 80j)
    hand.click(30 + 80j)
    hand.key(Qt.Key.Key_Return)
    assert len(session.committed.parts) == 5


def test_the_choices_of_one_tool_give_way_to_those_of_the_next(canvas):
    """From a tool with two choices straight to one with four: all stand there to click."""
    for tool, names in (("belt", 2), ("part", 4), ("belt", 2), ("slide", 2), ("part", 4)):
        canvas.set_tool(tool)
        bar = canvas.option_bar
        shown = [button for button in bar.findChildren(QToolButton) if button.isVisible()]
        assert len(shown) == names == len(canvas.gesture.options)
        assert all(bar.rect().contains(button.geometry()) for button in shown)
        last = max(shown, key=lambda button: button.x())
        QTest.mouseClick(last, Qt.MouseButton.LeftButton)
        assert canvas.gesture.option == names - 1
