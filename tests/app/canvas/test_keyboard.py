"""Everything with keys alone."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton

ENTER, SHIFT = Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier


def steps(hand, key: Qt.Key, count: int, keys=Qt.KeyboardModifier.NoModifier) -> None:
    for _ in range(count):
        hand.key(key, keys)


def test_a_crank_and_a_rod_are_drawn_with_keys(hand, session):
    hand.type("p")
    hand.key(Qt.Key.Key_Up)
    hand.key(ENTER)
    hand.key(Qt.Key.Key_G)
    steps(hand, Qt.Key.Key_Right, 4)
    hand.key(ENTER)
    steps(hand, Qt.Key.Key_Up, 8)
    hand.key(Qt.Key.Key_Right, SHIFT)
    hand.key(ENTER)
    hand.key(ENTER)
    sketch = session.committed
    assert [part.id for part in sketch.parts] == ["frame", "bar", "bar 2"]
    grid = sketch.grid_mm
    assert [(p.x, p.y) for p in sketch.part("bar").points] == [(0, 0), (4 * grid, 0)]
    assert sketch.drive.part == "bar"


def test_a_force_is_dragged_with_two_enters(hand, session, four_bar):
    hand.type("w")
    hand.canvas.set_camera(hand.canvas.camera.panned(40, 240))  # coupler.C in the middle
    hand.key(Qt.Key.Key_Up)
    hand.key(ENTER)
    steps(hand, Qt.Key.Key_Up, 4)
    hand.key(ENTER)
    (force,) = session.committed.forces
    assert force.at == "coupler.C"
    assert (force.fx_n, force.fy_n) == pytest.approx((0.0, 2.0))


def test_the_mouse_takes_over_from_the_cross(hand, session):
    hand.type("p")
    hand.key(Qt.Key.Key_Up)
    hand.move(10 + 10j)
    hand.key(ENTER)
    assert not session.committed.parts


def test_escape_lets_go_of_gesture_then_tool_then_selection(hand, session, four_bar):
    session.select((("part", "crank"),))
    hand.type("p")
    hand.click(0j - 40j)
    hand.click(20 - 40j)
    hand.key(Qt.Key.Key_Escape)
    assert hand.canvas.tool_id == "part"
    hand.key(Qt.Key.Key_Escape)
    assert hand.canvas.tool_id == "arrange"
    assert session.selection
    hand.key(Qt.Key.Key_Escape)
    assert not session.selection
    assert session.committed is four_bar


def test_a_box_that_closes_selects_nothing(hand, session, four_bar):
    """What hides with the keyboard in it hands the focus on as Tab does."""
    canvas = hand.canvas
    canvas.entry.ask("Length", QPointF(100, 100), float, lambda _: None)
    canvas.entry.close_entry()
    assert canvas.hasFocus()
    button = QPushButton("Begin", canvas)
    button.show()
    button.setFocus()
    button.hide()
    assert session.selection == frozenset()


def test_tab_in_the_box_leaves_the_drawing_alone(hand, session, four_bar):
    canvas = hand.canvas
    canvas.entry.ask("Length", QPointF(100, 100), float, lambda _: None)
    QTest.keyClick(canvas.entry.box, Qt.Key.Key_Tab)
    assert session.selection == frozenset()
