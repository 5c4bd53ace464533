"""Wishes, their handles, ticks and ghosts in the hand of the Arrange tool."""

from __future__ import annotations

import math

import pytest
from mousework import ALT, four_bar_sketch
from PySide6.QtCore import Qt

from app.canvas.camera import Camera
from core.model import Sketch, WantedStroke, WantedSwing
from core.model.edits import add, add_path, add_pose, add_tick, add_zone, get

CTRL = Qt.KeyboardModifier.ControlModifier
SQUARE = (-100 - 70j, -60 - 70j, -60 - 40j, -100 - 40j)


@pytest.fixture
def wished(canvas) -> Sketch:
    """The four-bar with one wish of each kind that has a place."""
    sketch, _ = add_path(four_bar_sketch(), SQUARE, curve="straight", point="coupler.C")
    sketch = add_tick(sketch, "path", 0.5, 90.0)
    sketch, _ = add_pose(sketch, 70 - 60j, 90.0, 30.0, at="coupler.A", toward="coupler.B")
    sketch, _ = add_zone(sketch, (80 + 40j, 110 + 40j, 110 + 70j), keep="out")
    sketch = add(sketch, "wanted", WantedStroke(id="stroke", start=(-20, -60), end=(20, -60)))
    canvas.session.adopt_file(sketch, None)
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    return sketch


def path(session):
    return get(session.sketch, "path")


def test_a_click_selects_path_pose_stroke_and_region(hand, session, wished):
    for place, item in ((-80 - 70j, ("wish", "path")), (70 - 60j, ("wish", "pose")),
                        (0 - 60j, ("wish", "stroke")), (95 + 40j, ("zone", "region"))):
        hand.click(place)
        assert session.selection == {item}
    hand.click(100 + 55j + 1)  # within the region, not on its edge
    assert session.selection == frozenset()


def test_a_path_is_dragged_as_a_whole(hand, session, wished):
    hand.drag(-90 - 70j, -80 - 60j)
    moved = hand.at(-80 - 60j) - hand.at(-90 - 70j)
    assert [complex(*p) for p in path(session).through] == pytest.approx(
        [z + moved for z in SQUARE])
    assert session.undo_stack.undoText() == "Move path"
    session.undo()
    assert session.committed is wished


def test_a_handle_of_the_selected_path_is_dragged(hand, session, wished):
    hand.click(-80 - 70j)
    hand.drag(SQUARE[2], -50 - 20j)
    assert complex(*path(session).through[2]) == pytest.approx(-50 - 20j)
    assert path(session).through[:2] == get(wished, "path").through[:2]
    assert session.undo_stack.count() == 1


def test_escape_puts_a_dragged_handle_back(hand, session, wished):
    hand.click(-80 - 70j)
    hand.press(SQUARE[2])
    hand.move(-50 - 20j)
    assert session.sketch is not wished
    hand.key(Qt.Key.Key_Escape)
    assert session.sketch is session.committed is wished


def test_dragging_a_wish_at_another_crank_angle_redraws_nothing(hand, session, wished):
    session.set_crank(math.radians(200))
    hand.drag(-90 - 70j, -80 - 60j)
    assert session.committed.parts is wished.parts
    assert session.committed.drive is wished.drive
    assert session.crank_rad == pytest.approx(math.radians(200))


def test_a_double_click_on_the_path_makes_a_handle_and_delete_takes_it_away(
        hand, session, wished):
    hand.double(-60 - 55j)
    assert len(path(session).through) == 5
    assert complex(*path(session).through[2]) == pytest.approx(-60 - 55j, abs=0.3)
    assert session.undo_stack.count() == 1
    hand.key(Qt.Key.Key_Delete)
    assert path(session).through == get(wished, "path").through
    assert session.undo_stack.count() == 2


def test_delete_with_a_handle_held_leaves_the_path_and_else_takes_it(hand, session, wished):
    hand.click(-80 - 70j)
    hand.click(SQUARE[1])
    hand.key(Qt.Key.Key_Delete)
    assert len(path(session).through) == 3
    said = []
    session.hint_changed.connect(said.append)
    hand.click(SQUARE[0])
    hand.key(Qt.Key.Key_Delete)
    assert len(path(session).through) == 3
    assert any("handles" in text for text in said)
    hand.click(-80 - 60j, ALT)  # nothing there: no handle is held
    hand.click(-80 - 40j)
    hand.key(Qt.Key.Key_Delete)
    assert all(wish.id != "path" for wish in session.committed.wanted)


def test_a_tick_is_dragged_along_the_path_and_keeps_its_crank_angle(hand, session, wished):
    hand.click(-90 - 70j)
    hand.drag(-80 - 70j, -66 - 69j)
    (tick,) = path(session).ticks
    assert tick.at == pytest.approx(0.85, abs=0.01)
    assert tick.crank_deg == 90.0
    hand.drag(-66 - 70j, -58 - 55j)
    assert path(session).ticks[0].at == pytest.approx(1.5, abs=0.03)


def test_a_tick_keeps_to_its_stretch_where_the_path_crosses_itself(hand, session, canvas):
    eight = (-40 - 20j, 40 + 20j, 40 - 20j, -40 + 20j)
    sketch, _ = add_path(four_bar_sketch(), eight, curve="straight")
    session.adopt_file(add_tick(sketch, "path", 0.3, 90.0), None)
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    session.select((("wish", "path"),))
    start = 0.7 * eight[0] + 0.3 * eight[1]
    hand.press(start)
    for share in range(1, 21):  # along the other stretch for a while, past the crossing
        hand.move(start + share / 20 * (24 - start) + 1j * (6 if share > 12 else 0))
    hand.release(24 + 6j)
    assert 0.6 < path(session).ticks[0].at < 0.9


def test_a_pose_is_moved_by_its_middle_and_turned_by_its_end(hand, session, wished):
    hand.drag(70 - 60j, 60 - 50j)
    pose = get(session.committed, "pose")
    assert complex(pose.x, pose.y) == pytest.approx(60 - 50j)
    reach = abs(wished.place("coupler.B") - wished.place("coupler.A"))
    hand.drag(complex(pose.x, pose.y) + 1j * reach, complex(pose.x, pose.y) + 30)
    pose = get(session.committed, "pose")
    assert pose.angle_deg == pytest.approx(0.0, abs=0.5)
    assert complex(pose.x, pose.y) == pytest.approx(60 - 50j)


def test_the_ends_of_a_stroke_and_the_corners_of_a_region_are_dragged(hand, session, wished):
    hand.click(0 - 60j)
    hand.drag(20 - 60j, 30 - 50j)
    assert complex(*get(session.committed, "stroke").end) == pytest.approx(30 - 50j)
    hand.click(95 + 40j)
    hand.drag(110 + 70j, 90 + 60j)
    assert complex(*get(session.committed, "region").corners[2]) == pytest.approx(90 + 60j)


def test_a_region_gets_a_corner_where_its_edge_is_double_clicked(hand, session, wished):
    hand.double(95 + 40j)
    corners = get(session.committed, "region").corners
    assert len(corners) == 4
    assert complex(*corners[1]) == pytest.approx(95 + 40j, abs=0.3)


def test_arrow_keys_move_the_wish_or_the_handle_held(hand, session, wished):
    hand.click(-80 - 70j)
    session.select((("wish", "path"),))
    hand.canvas.gesture._grip = None
    hand.key(Qt.Key.Key_Right)
    assert complex(*path(session).through[0]) == pytest.approx(SQUARE[0] + 1)
    hand.click(SQUARE[2] + 1)
    hand.key(Qt.Key.Key_Up)
    assert complex(*path(session).through[2]) == pytest.approx(SQUARE[2] + 1 + 1j)
    assert complex(*path(session).through[1]) == pytest.approx(SQUARE[1] + 1)
    assert session.undo_stack.count() == 2


def test_several_wishes_move_together(hand, session, wished):
    hand.click(-80 - 70j)
    hand.click(0 - 60j, CTRL)
    hand.drag(10 - 60j, 15 - 65j)
    moved = hand.at(15 - 65j) - hand.at(10 - 60j)
    assert complex(*get(session.committed, "stroke").start) == pytest.approx(-20 - 60j + moved)
    assert complex(*path(session).through[0]) == pytest.approx(SQUARE[0] + moved)


def test_a_box_takes_the_wishes_in_it(hand, session, wished):
    hand.drag(-110 - 75j, -50 - 30j)
    assert session.selection == {("wish", "path")}


def test_tab_goes_through_wishes_too(hand, session, wished):
    session.select((("wish", "path"),))
    hand.key(Qt.Key.Key_Tab)
    assert session.selection == {("wish", "pose")}


def test_the_hand_and_other_tools_do_not_take_hold_of_wishes(hand, session, canvas):
    sketch, _ = add_path(four_bar_sketch(), (-60 + 5j, -40 + 15j, -45 + 5j), curve="straight")
    session.adopt_file(sketch, None)
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    canvas.set_tool("hand")
    before = session.crank_rad
    hand.drag(-50 + 10j, -60 + 8j)
    assert session.crank_rad != before
    assert session.committed is sketch


def test_undo_lets_go_of_a_handle(hand, session, wished):
    hand.double(-60 - 55j)
    session.undo()
    hand.key(Qt.Key.Key_Delete)
    assert all(wish.id != "path" for wish in session.committed.wanted)  # the wish itself


def test_a_wish_without_a_place_is_neither_hit_nor_moved(hand, session, wished):
    swing = WantedSwing(id="swing", from_deg=0, to_deg=40, part="rocker")
    sketch = add(wished, "wanted", swing)
    session.adopt_file(sketch, None)
    session.select((("wish", "swing"),))
    hand.key(Qt.Key.Key_Right)
    assert session.committed == sketch
