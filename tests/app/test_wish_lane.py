"""Wanted angles in the turn strip: knots by mouse and keyboard, one undo each."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest

from app.strip.knots import KnotLane
from core.model import edits
from core.model.edits import angle_wishes
from core.model.wanted import Tick, WantedAngle, WantedPath
from core.wanted.reading import directions

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def wanting(qtbot, window):
    """The window with the rocker's angle wanted as it moves now."""
    window.session.select([("part", "rocker")])
    window.action("angle_now").trigger()
    qtbot.waitUntil(lambda: window.session.study_is_current, timeout=10_000)
    return window


def lane_of(window) -> KnotLane:
    return window.strip.wishes.lanes[0]


def wish_of(window) -> WantedAngle:
    return window.session.sketch.wanted[0]


def place(lane: KnotLane, crank: float, angle: float) -> QPoint:
    return lane.plot.pixel(crank, angle).toPoint()


def knot_place(window, index: int) -> QPoint:
    knot = wish_of(window).knots[index]
    return place(lane_of(window), knot.crank_deg, knot.angle_deg)


def move(lane: KnotLane, at: QPoint, keys=Qt.KeyboardModifier.NoModifier) -> None:
    """A move with the left button down (QTest's own carries no button)."""
    view = lane.plot.viewport()
    event = QMouseEvent(QMouseEvent.Type.MouseMove, QPointF(at),
                        QPointF(view.mapToGlobal(at)), Qt.MouseButton.NoButton, LEFT, keys)
    lane.plot.mouseMoveEvent(event)


def drag(window, index: int, across: int, up: int, *, release: bool = True, **keys) -> None:
    lane, start = lane_of(window), knot_place(window, index)
    QTest.mousePress(lane.plot.viewport(), LEFT, pos=start)
    for part in (0.5, 1.0):
        move(lane, start + QPoint(round(across * part), -round(up * part)), **keys)
    if release:
        QTest.mouseRelease(lane.plot.viewport(), LEFT,
                           pos=start + QPoint(across, -up))


def test_a_wanted_angle_gets_a_lane_and_no_wish_gets_none(window, qtbot) -> None:
    assert not any(lane.isVisible() for lane in window.strip.wishes.lanes)
    assert not window.strip.lanes["miss"].isVisible()
    window.session.select([("part", "rocker")])
    window.action("angle_now").trigger()
    assert [lane.isVisible() for lane in window.strip.wishes.lanes] == [True, False, False]
    assert window.strip.lanes["miss"].isVisible()
    window.session.undo()
    assert not any(lane.isVisible() for lane in window.strip.wishes.lanes)


def test_the_lane_shows_wish_and_motion(wanting) -> None:
    lane, turn = lane_of(wanting), wanting.session.turn
    _x, y = lane.curve.getData()
    wish = wish_of(wanting)
    assert np.allclose(y, directions(turn, "rocker", wish.line))
    _, wished = lane.wished.getData()
    assert np.abs(wished - y).max() <= wish.tolerance_deg / 4 + 0.01
    assert lane.title.text() == "rocker"


def test_dragging_a_knot_is_live_and_one_undo(wanting) -> None:
    session, before = wanting.session, wish_of(wanting)
    steps = session.undo_stack.count()
    drag(wanting, 2, 0, 14, release=False)
    assert session.sketch is not session.committed
    live = wish_of(wanting).knots[2]
    assert live.angle_deg > before.knots[2].angle_deg
    _, wished = lane_of(wanting).wished.getData()
    near = np.argmin(np.abs(np.degrees(session.turn.crank_rad) - live.crank_deg))
    assert wished[near] == pytest.approx(live.angle_deg, abs=0.1)
    drag_end = lane_of(wanting).plot.viewport()
    QTest.mouseRelease(drag_end, LEFT, pos=QPoint(5, 5))
    assert session.undo_stack.count() == steps + 1
    assert session.committed.wanted[0].knots[2] == live
    assert session.selected("wish") == (before.id,)
    session.undo()
    assert wish_of(wanting) == before


def test_a_dragged_knot_lands_on_whole_degrees(wanting) -> None:
    drag(wanting, 2, 9, 7)
    knot, old = wish_of(wanting).knots[2], wish_of(wanting)
    assert knot.crank_deg == round(knot.crank_deg)
    assert knot.angle_deg * 2 == round(knot.angle_deg * 2)
    assert old.knots[1].crank_deg < knot.crank_deg < old.knots[3].crank_deg


def test_shift_keeps_the_crank_angle_and_control_the_angle(wanting) -> None:
    before = wish_of(wanting).knots[2]
    drag(wanting, 2, 15, 12, keys=Qt.KeyboardModifier.ShiftModifier)
    after = wish_of(wanting).knots[2]
    assert after.crank_deg == before.crank_deg
    assert after.angle_deg != before.angle_deg
    wanting.session.undo()
    drag(wanting, 2, 15, 12, keys=Qt.KeyboardModifier.ControlModifier)
    after = wish_of(wanting).knots[2]
    assert after.angle_deg == before.angle_deg
    assert after.crank_deg != before.crank_deg


def test_escape_puts_a_dragged_knot_back(wanting) -> None:
    session, before = wanting.session, wish_of(wanting)
    steps = session.undo_stack.count()
    drag(wanting, 2, 0, 14, release=False)
    QTest.keyClick(lane_of(wanting).plot, Qt.Key.Key_Escape)
    assert session.sketch is session.committed
    assert wish_of(wanting) == before
    QTest.mouseRelease(lane_of(wanting).plot.viewport(), LEFT, pos=QPoint(5, 5))
    assert session.undo_stack.count() == steps


def test_a_click_on_a_knot_changes_nothing(wanting) -> None:
    steps = wanting.session.undo_stack.count()
    crank = wanting.session.crank_rad
    drag(wanting, 3, 0, 0)
    assert wanting.session.undo_stack.count() == steps
    assert wanting.session.crank_rad == crank


def test_the_copy_of_a_knot_at_the_end_of_the_turn_drags_the_same_knot(wanting) -> None:
    lane, session = lane_of(wanting), wanting.session
    first = angle_wishes.move_knot(wish_of(wanting), 0, 0.0, 90.0)
    session.commit("To the start", edits.put(session.committed, first))
    before = wish_of(wanting)
    start = place(lane, 360.0, before.knots[0].angle_deg)
    QTest.mousePress(lane.plot.viewport(), LEFT, pos=start)
    for off in (8, 16):
        move(lane, start - QPoint(off, 0))
    QTest.mouseRelease(lane.plot.viewport(), LEFT, pos=start)
    assert -30.0 < wish_of(wanting).knots[0].crank_deg < -1.0


def test_a_double_click_adds_a_knot_and_delete_takes_it_out_again(wanting) -> None:
    session, lane, before = wanting.session, lane_of(wanting), wish_of(wanting)
    one, other = before.knots[3:5]
    middle = (one.crank_deg + other.crank_deg) / 2
    at = place(lane, middle, max(one.angle_deg, other.angle_deg) - 2.0)
    QTest.mouseDClick(lane.plot.viewport(), LEFT, pos=at)
    assert len(wish_of(wanting).knots) == len(before.knots) + 1
    assert wish_of(wanting).knots[4].crank_deg == pytest.approx(middle, abs=2.0)
    lane.plot.setFocus()
    QTest.keyClick(lane.plot, Qt.Key.Key_Delete)
    assert wish_of(wanting) == before
    assert session.has(("wish", before.id))


def test_delete_on_a_chosen_knot_takes_the_knot_and_not_the_wish(wanting, qtbot) -> None:
    """The window's own Delete would remove what is selected: the wish."""
    before = wish_of(wanting)
    drag(wanting, 2, 0, 0)
    lane_of(wanting).plot.setFocus()
    QTest.keyClick(wanting.focusWidget() or lane_of(wanting).plot, Qt.Key.Key_Delete)
    assert [knot for knot in before.knots if knot not in wish_of(wanting).knots] \
        == [before.knots[2]]


def test_arrow_keys_nudge_the_chosen_knot(wanting) -> None:
    before = wish_of(wanting).knots[2]
    drag(wanting, 2, 0, 0)
    QTest.keyClick(lane_of(wanting).plot, Qt.Key.Key_Up)
    QTest.keyClick(lane_of(wanting).plot, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    after = wish_of(wanting).knots[2]
    assert after.angle_deg == pytest.approx(before.angle_deg + 0.5)
    assert after.crank_deg == pytest.approx(before.crank_deg + 10.0)


def test_elsewhere_the_lane_turns_the_crank(wanting) -> None:
    lane = lane_of(wanting)
    low, high = lane.plot.box.viewRange()[1]
    top = place(lane, 200.0, low + 0.97 * (high - low))
    assert lane.plot.knot_at(QPointF(top)) is None
    QTest.mousePress(lane.plot.viewport(), LEFT, pos=top)
    QTest.mouseRelease(lane.plot.viewport(), LEFT, pos=top)
    assert math.degrees(wanting.session.crank_rad) == pytest.approx(200.0, abs=2.0)


def test_the_range_rests_while_a_knot_is_dragged(wanting) -> None:
    lane = lane_of(wanting)
    before = lane.plot.box.viewRange()[1]
    drag(wanting, 2, 0, 400, release=False)
    assert lane.plot.box.viewRange()[1] == before
    QTest.mouseRelease(lane.plot.viewport(), LEFT, pos=QPoint(5, 5))
    assert lane.plot.box.viewRange()[1][1] > before[1]


def test_the_miss_lane_says_how_far_off_the_selected_wish_is(wanting, qtbot) -> None:
    session = wanting.session
    drag(wanting, 2, 0, 20)
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    lane = wanting.strip.lanes["miss"]
    _, off = lane.curve.getData()
    met = session.study.wanted[0]
    assert np.allclose(off, met.lane, equal_nan=True)
    assert lane.level.value() == pytest.approx(met.tolerance)
    assert lane.more.text() == met.wish


def test_the_miss_lane_counts_several_wishes_in_tolerances(wanting, qtbot) -> None:
    session = wanting.session
    session.select([("part", "coupler")])
    wanting.action("angle_swing").trigger()
    session.select([])
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    qtbot.waitUntil(lambda: len(session.study.wanted) == 2, timeout=10_000)
    lane = wanting.strip.lanes["miss"]
    _, off = lane.curve.getData()
    both = [met.lane / met.tolerance for met in session.study.wanted]
    assert np.allclose(off, np.fmax(*both), equal_nan=True)
    assert lane.level.value() == 1.0


def test_single_places_are_dashes_in_the_miss_lane(window, qtbot) -> None:
    session = window.session
    wish = WantedPath(id="places", point="coupler.E", curve="places", closed=False,
                      through=((50, 90), (30, 120)),
                      ticks=(Tick(at=0, crank_deg=90), Tick(at=1, crank_deg=200)))
    session.commit("Want", edits.add(session.committed, "wanted", wish))
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    met, lane = session.study.wanted[0], window.strip.lanes["miss"]
    assert met.lane is None
    deg, off = lane.curve.getData()
    for crank, error in zip((90.0, 200.0), met.errors, strict=True):
        here = np.abs(deg - crank) < 1.4
        assert off[here] == pytest.approx(float(error))
    assert np.isnan(off[np.abs(deg - 150.0) < 30.0]).all()


def test_lanes_are_switched_off_and_stay_off(wanting) -> None:
    wanting.strip.switches["angles"].setChecked(False)
    assert not lane_of(wanting).isVisible()
    wanting.session.select([("part", "coupler")])
    wanting.action("angle_now").trigger()
    assert not lane_of(wanting).isVisible()
    wanting.strip.switches["angles"].setChecked(True)
    assert lane_of(wanting).isVisible()


def test_of_many_wanted_angles_the_selected_ones_are_shown(wanting) -> None:
    import msgspec

    session = wanting.session
    one = wish_of(wanting)
    many = tuple(msgspec.structs.replace(one, id=f"w{k}") for k in range(6))
    session.commit("Many", msgspec.structs.replace(session.committed, wanted=many))
    session.select([("wish", "w5")])
    assert [name for _, name in wanting.strip.wishes.shown()] == ["w0", "w1", "w5"]


def test_lanes_lie_below_each_other_and_within_the_strip(wanting) -> None:
    wanting.session.select([("part", "coupler")])
    wanting.action("angle_now").trigger()
    QTest.qWait(50)
    strip = wanting.strip
    seen = [lane for lane in strip._every_lane() if lane.isVisible()]
    for above, below in itertools.pairwise(seen):
        assert above.geometry().bottom() < below.geometry().top()
    assert seen[-1].geometry().bottom() < strip.axis.geometry().top()
    assert strip.axis.geometry().bottom() <= strip.height()
