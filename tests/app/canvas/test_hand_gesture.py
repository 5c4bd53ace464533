"""Turning the mechanism with the mouse."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import Qt

from app.gestures.turning import Follower
from core.model import Sketch


def test_dragging_the_crank_turns_it_with_the_cursor(hand, session, four_bar):
    hand.canvas.set_tool("hand")
    pivot, arm = -50 + 0j, 20j
    hand.press(pivot + arm)
    for degrees in range(10, 721, 10):
        hand.move(pivot + arm * np.exp(1j * np.radians(degrees)))
    hand.release(pivot + arm)
    assert math.degrees(session.crank_rad) == pytest.approx(90, abs=1.5)
    for degrees in range(10, 61, 10):
        hand.move(pivot + arm * np.exp(1j * np.radians(degrees)))
    assert math.degrees(session.crank_rad) == pytest.approx(90, abs=1.5)
    assert session.undo_stack.count() == 0
    assert session.committed is four_bar


def test_dragging_a_part_brings_the_grabbed_place_to_the_cursor(hand, session, four_bar):
    hand.canvas.set_tool("hand")
    path = session.turn.place("coupler", -10 + 38j)
    start = int(np.argmin(np.abs(path - (-10 + 38j))))
    hand.press(-10 + 38j)
    for step in range(5, 121, 5):
        wanted = path[(start + step) % len(path)]
        hand.move(wanted)
        now = hand.canvas.pose.place("coupler", -10 + 38j)
        assert abs(now - wanted) < 0.5
    hand.release(wanted)
    turned = math.degrees(session.crank_rad) - 90
    assert turned == pytest.approx(60, abs=2)


def test_the_crank_never_jumps_while_a_part_is_dragged_about(hand, session, four_bar):
    hand.canvas.set_tool("hand")
    chance = np.random.default_rng(4)
    last = session.crank_rad
    place = 30 + 50j
    hand.press(place)
    for _ in range(120):
        place += complex(*chance.normal(0, 1.5, 2))
        hand.move(place)
        step = math.remainder(session.crank_rad - last, 2 * math.pi)
        assert abs(step) <= math.radians(75.1)
        last = session.crank_rad
    hand.release(place)


def test_a_rocker_goes_on_through_its_dead_centre(four_bar, session):
    """Pushed to and fro at its ends, a rocker keeps the crank going round."""
    turn = session.turn
    end = turn.place("rocker", 30 + 50j)
    follower = Follower(turn, "rocker", 30 + 50j, session.crank_rad)
    angles = [session.crank_rad]
    steps = range(0, 720, 6)
    start = int(np.argmin(np.abs(turn.crank_rad - session.crank_rad)))
    for step in steps:
        angles.append(follower.to(complex(end[(start + step) % 720]), 0.3))
    assert angles[-1] - angles[0] == pytest.approx(math.radians(357), abs=0.25)


def test_escape_puts_the_crank_back(hand, session, four_bar):
    hand.canvas.set_tool("hand")
    hand.press(-50 + 20j)
    hand.move(-40 + 17j)
    assert session.crank_rad != pytest.approx(math.pi / 2)
    hand.key(Qt.Key.Key_Escape)
    assert session.crank_rad == pytest.approx(math.pi / 2)
    assert hand.canvas.tool_id == "hand"


def test_arrow_keys_turn_by_a_degree_or_ten(hand, session, four_bar):
    hand.canvas.set_tool("hand")
    hand.key(Qt.Key.Key_Right)
    assert math.degrees(session.crank_rad) == pytest.approx(91)
    hand.key(Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    assert math.degrees(session.crank_rad) == pytest.approx(81)


def test_without_a_crank_the_hand_says_what_is_missing(hand, session):
    said: list[str] = []
    session.hint_changed.connect(said.append)
    session.commit("Empty", Sketch(title="x"))
    hand.canvas.set_tool("hand")
    hand.click(0j)
    assert any("crank" in text for text in said)
