"""The turn strip: what the lanes show, and turning the crank by mouse and number."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest

from app.strip import TurnStrip
from app.strip.items import nice_range, runs
from core.model import Disc, Drive, Mesh, Part, Pin, Point, Sketch
from core.motion.redimension import drag_point


@pytest.fixture
def strip(qtbot, session):
    made = TurnStrip(session)
    qtbot.addWidget(made)
    made.resize(900, 320)
    made.show()
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    return made


def press_at(strip: TurnStrip, lane: str, deg: float) -> QPoint:
    plot = strip.lanes[lane].plot
    return plot.mapFromScene(plot.box.mapViewToScene(QPointF(deg, 0.0)))


@pytest.mark.parametrize("lane", ["torque", "gap"])
def test_pressing_and_dragging_on_a_lane_turns_the_crank(strip, session, lane) -> None:
    view = strip.lanes[lane].plot.viewport()
    QTest.mousePress(view, Qt.MouseButton.LeftButton, pos=press_at(strip, lane, 120.0))
    assert math.degrees(session.crank_rad) == pytest.approx(120.0, abs=1.0)
    QTest.mouseMove(view, press_at(strip, lane, 250.0))
    assert math.degrees(session.crank_rad) == pytest.approx(250.0, abs=1.0)
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, pos=press_at(strip, lane, 250.0))
    QTest.mouseMove(view, press_at(strip, lane, 10.0))
    assert math.degrees(session.crank_rad) == pytest.approx(250.0, abs=1.0)


def test_pressing_on_the_axis_turns_the_crank(strip, session) -> None:
    x = strip.axis._x(300.0)
    QTest.mouseClick(strip.axis, Qt.MouseButton.LeftButton, pos=QPoint(round(x), 6))
    assert math.degrees(session.crank_rad) == pytest.approx(300.0, abs=1.0)


def test_slider_number_and_hands_follow_the_crank(strip, session) -> None:
    session.set_crank(math.radians(123.4))
    assert strip.transport.number.value() == pytest.approx(123.4, abs=0.05)
    assert strip.transport.slider.value() == 1234
    assert all(lane.hand.value() == pytest.approx(123.4) for lane in strip.lanes.values())
    strip.transport.slider.setValue(450)
    assert math.degrees(session.crank_rad) == pytest.approx(45.0)


def test_a_number_typed_turns_the_crank(strip, session) -> None:
    box = strip.transport.number
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, "77.5")
    QTest.keyClick(box, Qt.Key.Key_Return)
    assert math.degrees(session.crank_rad) == pytest.approx(77.5)


def test_the_torque_lane_shows_the_study(strip, session) -> None:
    lane = strip.lanes["torque"]
    x, y = lane.curve.getData()
    effort = session.study.effort
    assert np.allclose(y * 1000, effort.torque_nmm, equal_nan=True)
    assert x[0] == 0.0
    assert len(lane.flagged.spans) >= len(effort.runaway)
    assert "peak" in lane.more.text()


def test_hatching_over_the_end_of_the_turn_comes_in_again_at_its_beginning(
        qtbot, strip, session) -> None:
    """A weight held out to the left falls through 0°."""
    frame = Part(id="frame", fixed=True, points=(Point(id="A", x=0.0, y=0.0),))
    arm = Part(id="arm", points=(Point(id="A", x=0.0, y=0.0), Point(id="B", x=-50.0, y=0.0)))
    session.adopt_file(Sketch(parts=(frame, arm), pins=(Pin(id="p", at=("frame.A", "arm.A")),),
                              drive=Drive(pin="p", part="arm", drawn_deg=0.0)), None)
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    first, last = strip.lanes["torque"].flagged.spans
    assert first == pytest.approx((0.0, 90.0), abs=0.1)
    assert last == pytest.approx((270.0, 360.0), abs=0.1)


def test_inch_sketches_show_torque_in_pound_inches(qtbot, strip, session) -> None:
    session.commit("Inches", msgspec.structs.replace(session.committed, units="in"))
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    _, y = strip.lanes["torque"].curve.getData()
    # 1 lbf·in = 112.9848… N·mm (NIST SP 811, appendix B.8).
    assert np.allclose(y * 112.98482902761668, session.study.effort.torque_nmm)
    assert "lbf" in strip.lanes["torque"].value.text()


def test_the_force_lane_follows_the_selected_pin(qtbot, strip, session) -> None:
    strip.switches["reaction"].setChecked(True)
    assert "largest" in strip.lanes["reaction"].more.text()
    session.select([("pin", "c")])
    assert strip.lanes["reaction"].more.text() == "c"
    _, y = strip.lanes["reaction"].curve.getData()
    forces = np.abs(session.study.effort.reactions["c"]).max(axis=1)
    assert np.allclose(y, forces)


def test_the_speed_lane_shows_the_selected_point(strip, session) -> None:
    strip.switches["speed"].setChecked(True)
    assert strip.lanes["speed"].more.text() == "coupler.E"
    session.select([("point", "crank.B")])
    _, y = strip.lanes["speed"].curve.getData()
    # The crank pin runs round at r·ω: 30 mm at 20 turns a minute.
    assert np.allclose(y, 30 * 2 * math.pi * 20 / 60)


def test_hidden_lanes_take_no_room_and_the_choice_is_remembered(qtbot, session,
                                                                settings) -> None:
    made = TurnStrip(session, settings)
    qtbot.addWidget(made)
    made.show()
    made.switches["torque"].setChecked(False)
    made.switches["speed"].setChecked(True)
    assert not made.lanes["torque"].isVisible()
    again = TurnStrip(session, settings)
    qtbot.addWidget(again)
    again.show()
    assert not again.lanes["torque"].isVisible()
    assert again.lanes["speed"].isVisible()


def test_angles_out_of_reach_are_hatched_and_limits_marked(strip, session) -> None:
    session.commit("Shorten", drag_point(session.committed, "rocker.C", 100.0, 12.0))
    spans = strip.lanes["torque"].locked.spans
    share = sum(b - a for a, b in spans) / 360.0
    assert share == pytest.approx(1.0 - session.turn.reached.mean(), abs=0.01)
    assert len(strip.axis._limits) == 2
    assert all(0.0 <= deg < 360.0 for deg, _ in strip.axis._limits)


def test_the_strip_reaches_over_a_rocking_drive_only(strip, session) -> None:
    drive = Drive(pin="a", part="crank", kind="rock", drawn_deg=90, from_deg=60, to_deg=130)
    session.commit("Rock", msgspec.structs.replace(session.committed, drive=drive))
    view = strip.lanes["torque"].plot.box.viewRange()[0]
    assert view == pytest.approx([60.0, 130.0])
    assert strip.transport.number.minimum() == pytest.approx(60.0)


def test_an_empty_sketch_shows_empty_lanes(qtbot, strip, session) -> None:
    session.new()
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    assert strip.lanes["torque"].value.text() == "–"


def test_a_new_sketch_keeps_no_hatching_of_the_last(qtbot, strip, session) -> None:
    assert strip.lanes["torque"].flagged.spans, "the fixture runs away somewhere"
    session.new()
    qtbot.waitUntil(lambda: not strip.lanes["torque"].flagged.spans)


def test_runs_finds_every_stretch() -> None:
    mask = np.array([True, True, False, True, False, False, True])
    assert runs(mask) == [(0, 2), (3, 4), (6, 7)]
    assert runs(~np.ones(4, dtype=bool)) == []


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-3.2, 7.9), (0.0, 0.0),
                                           (1e-6, 2e-6), (-1e5, 3e5), (5.0, 5.0)])
def test_a_nice_range_holds_what_it_must(low: float, high: float) -> None:
    a, b = nice_range(low, high)
    assert a <= low
    assert b >= high
    assert a < b


def test_a_motion_of_several_turns_has_its_whole_cycle_on_the_axis(strip, session) -> None:
    """Gears of 10 and 20 teeth: everything returns after two turns of the small one."""
    wheel = Part(id="wheel", points=(Point(id="O", x=60, y=0), Point(id="P", x=60, y=20)),
                 layer=3, outline=Disc(radius_mm=40))
    base = session.committed
    frame = msgspec.structs.replace(
        base.part("frame"), points=(*base.part("frame").points, Point(id="O", x=60, y=0)))
    geared = msgspec.structs.replace(
        base, parts=(frame, *base.parts[1:], wheel),
        pins=(*base.pins, Pin(id="o", at=("frame.O", "wheel.O"))),
        meshes=(Mesh(id="m", a="crank.A", b="wheel.O", teeth_a=10, teeth_b=20),))
    session.commit("Gear", geared)
    assert session.turn.crank_turns == 2
    assert strip.transport.number.maximum() == pytest.approx(720.0)
    session.set_crank(math.radians(500.0))
    assert strip.transport.number.value() == pytest.approx(500.0)
    assert strip.axis._x(500.0) < strip.axis.width()
    QTest.mouseClick(strip.axis, Qt.MouseButton.LeftButton,
                     pos=QPoint(round(strip.axis._x(600.0)), 6))
    assert math.degrees(session.crank_rad) == pytest.approx(600.0, abs=2.0)


@pytest.mark.parametrize("playing", [False, True])
def test_with_little_room_the_transport_keeps_to_signs_and_cuts_off_no_text(
        strip, session, playing: bool) -> None:
    transport = strip.transport
    session.player.set_playing(playing)
    for width in (900, 440, 330, transport.minimumSizeHint().width(), 900):
        strip.resize(width, 320)
        assert transport.width() == width
        for button in (transport.play, transport.chooser, transport.reverse):
            assert button.width() >= button.sizeHint().width()
        spare = transport.slider.width() if transport.slider.isVisible() else 60
        assert spare >= 60
    session.player.set_playing(False)
    assert transport.play.text() == "▶  Turn"


def test_the_play_button_is_as_wide_playing_as_standing(strip, session) -> None:
    for width in (900, 320):
        strip.resize(width, 320)
        standing = strip.transport.play.width()
        session.player.set_playing(True)
        assert strip.transport.play.width() == standing
        session.player.set_playing(False)


def test_the_window_goes_into_800_by_500_points(window) -> None:
    least = window.minimumSizeHint()
    assert least.width() <= 800
    assert least.height() <= 500
