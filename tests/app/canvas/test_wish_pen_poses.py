"""The pose pen of the Wish tool, and handles dragged with a pen in hand."""

from __future__ import annotations

import cmath
import math

import pytest
from mousework import ALT, draw, loop, only_wish, take_pen
from PySide6.QtCore import Qt

from core.model import Sketch


def test_a_part_clicked_is_wanted_where_it_stands(hand, session, four_bar):
    session.set_crank(math.radians(200))
    on_part = hand.canvas.pose.place("coupler", -10 + 35j)
    take_pen(hand, "6")
    hand.click(on_part)
    wish = only_wish(session)
    assert wish.crank_deg == pytest.approx(200)
    at, toward = hand.canvas.pose.at(wish.at), hand.canvas.pose.at(wish.toward)
    assert complex(wish.x, wish.y) == pytest.approx(at)
    assert wish.angle_deg == pytest.approx(math.degrees(cmath.phase(toward - at)))
    assert session.crank_rad == pytest.approx(math.radians(200))
    assert session.committed.parts is four_bar.parts  # nothing was redrawn


def test_a_ghost_is_put_elsewhere_by_dragging_the_part(hand, session, four_bar):
    take_pen(hand, "6")
    hand.drag(-10 + 35j, -40 - 15j)
    wish = only_wish(session)
    moved = hand.at(-40 - 15j) - hand.at(-10 + 35j)
    assert complex(wish.x, wish.y) == pytest.approx(four_bar.place(wish.at) + moved)
    assert session.undo_stack.count() == 1


def test_a_flag_on_paper_says_place_and_direction_for_no_part_yet(hand, session, four_bar):
    take_pen(hand, "6")
    hand.drag(-80 - 60j, -80 - 40j)
    wish = only_wish(session)
    assert (wish.at, wish.x, wish.y, wish.angle_deg) == ("", -80, -60, pytest.approx(90))


def test_poses_one_after_the_other_are_at_crank_angles_of_their_own(hand, session):
    session.adopt_file(Sketch(), None)
    take_pen(hand, "6")
    for x in (-80, 0, 80):
        hand.drag(complex(x, 0), complex(x, 20))
    assert [pose.crank_deg for pose in session.committed.wanted] == [0, 60, 120]


def test_a_pose_under_way_is_given_up_by_escape(hand, session, four_bar):
    take_pen(hand, "6")
    hand.press(-10 + 35j)
    hand.move(-40 - 15j)
    assert len(session.sketch.wanted) == 1
    hand.key(Qt.Key.Key_Escape)
    assert session.sketch is session.committed is four_bar


def test_a_handle_is_dragged_with_the_pen_in_hand(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    draw(hand, loop(-60j, 40.0))
    drawn = only_wish(session)
    handle = complex(*drawn.through[2])
    hand.drag(handle, handle + 12j)
    assert complex(*only_wish(session).through[2]) == pytest.approx(handle + 12j, abs=2.6)
    assert session.undo_stack.count() == 2
    hand.press(complex(*only_wish(session).through[2]))
    hand.move(0j)
    hand.key(Qt.Key.Key_Escape)
    assert session.undo_stack.count() == 2
    assert session.sketch is session.committed


def test_a_handle_clicked_with_the_pen_in_hand_is_deleted_alone(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    draw(hand, loop(-60j, 40.0))
    count = len(only_wish(session).through)
    hand.click(complex(*only_wish(session).through[2]))
    hand.key(Qt.Key.Key_Delete)
    assert len(only_wish(session).through) == count - 1


def test_with_alt_a_pen_begins_on_a_handle(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    draw(hand, loop(-60j, 40.0))
    start = complex(*only_wish(session).through[2])
    hand.press(start, ALT)
    hand.move(start - 20, ALT)
    hand.move(start - 40, ALT)
    hand.release(start - 40, ALT)
    assert len(session.committed.wanted) == 2
