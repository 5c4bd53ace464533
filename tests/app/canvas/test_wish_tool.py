"""Drawing what is wanted with the mouse."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from mousework import ALT, SHIFT, draw, four_bar_sketch, loop, only_wish, take_pen
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import QToolButton

from app.canvas.camera import Camera
from core.model import Sketch, WantedStroke
from core.model.edits import add, add_path, add_pose, add_tick, add_zone, get
from core.model.validate import problems
from core.wanted.curves import curve_of


def test_a_loop_drawn_by_hand_is_a_closed_path_with_few_handles(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    draw(hand, loop(0j, 40.0))
    wish = only_wish(session)
    assert wish.closed
    assert wish.point == ""
    assert 4 <= len(wish.through) <= 20
    places = curve_of(wish).place(np.linspace(0, len(wish.through), 200))
    assert np.abs(np.abs(places) - 40.0).max() < 1.0
    assert curve_of(wish).length_mm == pytest.approx(2 * math.pi * 40.0, rel=0.03)
    assert session.selection == {("wish", wish.id)}
    assert session.undo_stack.count() == 1
    session.undo()
    assert session.committed is four_bar


def test_the_direction_drawn_is_the_direction_wanted(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    for way in (1, -1):
        draw(hand, loop(0j, 40.0)[::way])
        wish = session.committed.wanted[-1]
        through = np.array([complex(*place) for place in wish.through])
        area = 0.5 * np.sum((through.conjugate() * np.roll(through, -1)).imag)
        assert math.copysign(1, area) == way


def test_a_stroke_that_does_not_come_back_is_open(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    draw(hand, [complex(x, 20 * math.sin(x / 15)) for x in range(-60, 61, 3)])
    wish = only_wish(session)
    assert not wish.closed
    assert complex(*wish.through[0]) == pytest.approx(-60 + 20j * math.sin(-4), abs=0.5)
    assert complex(*wish.through[-1]) == pytest.approx(60 + 20j * math.sin(4), abs=0.5)


def test_a_path_begun_on_a_point_is_asked_of_it(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    draw(hand, [-10 + 60j + 15 * (z - 1) for z in loop(0j, 1.0)])
    assert only_wish(session).point == "coupler.C"


def test_a_path_begun_on_a_pin_is_asked_of_the_part_that_moves(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    draw(hand, [50 + 0j + 15 * (z - 1) for z in loop(0j, 1.0)])
    assert only_wish(session).point == "rocker.A"


def test_a_path_drawn_anywhere_is_asked_of_the_point_selected(hand, session, four_bar):
    session.select((("point", "coupler.C"),))
    hand.canvas.set_tool("wish")
    draw(hand, loop(60 - 50j, 15.0))
    assert only_wish(session).point == "coupler.C"


def test_a_path_whose_point_goes_while_it_is_drawn_is_asked_of_nothing(hand, session, canvas):
    session.commit("Part", four_bar_sketch())
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    canvas.set_tool("wish")
    places = [-10 + 60j + 15 * (z - 1) for z in loop(0j, 1.0)]
    hand.press(places[0])
    for place in places[1:]:
        hand.move(place)
    session.undo()
    hand.release(places[-1])
    assert only_wish(session).point == ""
    assert problems(session.committed) == []


def test_a_ghost_is_given_up_when_its_sketch_goes(hand, session, canvas):
    session.commit("Part", four_bar_sketch())
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    take_pen(hand, "6")
    hand.press(-10 + 35j)
    hand.move(-40 - 15j)
    session.undo()  # the ghost
    session.undo()  # the parts
    hand.move(-40 - 25j)
    hand.release(-40 - 25j)
    assert session.committed == Sketch()


def test_a_press_without_a_stroke_makes_nothing(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    hand.click(10 + 10j)
    assert session.committed is four_bar


def test_escape_gives_a_stroke_up(hand, session, four_bar):
    hand.canvas.set_tool("wish")
    hand.press(0j)
    for place in loop(0j, 20.0):
        hand.move(place)
    hand.key(Qt.Key.Key_Escape)
    hand.release(0j)
    assert session.committed is four_bar
    assert hand.canvas.tool_id == "wish"


def test_clicks_lay_handles_and_the_first_again_closes(hand, session, four_bar):
    take_pen(hand, "2")
    corners = [-80 - 60j, -40 - 60j, -40 - 40j, -80 - 40j]
    for place in (*corners, corners[0]):
        hand.click(place)
    wish = only_wish(session)
    assert wish.closed
    assert wish.curve == "smooth"
    assert [complex(*place) for place in wish.through] == corners


def test_enter_or_a_double_click_ends_an_open_path(hand, session, four_bar):
    take_pen(hand, "3")
    hand.click(-80 - 60j)
    hand.click(-40 - 60j)
    hand.click(-40 - 30j)
    hand.key(Qt.Key.Key_Return)
    wish = only_wish(session)
    assert not wish.closed
    assert wish.curve == "straight"
    assert len(wish.through) == 3
    hand.click(0 - 60j)
    hand.double(40 - 60j)
    assert len(session.committed.wanted[1].through) == 2


def test_backspace_takes_the_last_handle_back(hand, session, four_bar):
    take_pen(hand, "2")
    for place in (-80 - 60j, -40 - 60j, 0 - 30j):
        hand.click(place)
    hand.key(Qt.Key.Key_Backspace)
    hand.click(20 - 60j)
    hand.key(Qt.Key.Key_Return)
    assert [complex(*p) for p in only_wish(session).through] == [-80 - 60j, -40 - 60j, 20 - 60j]


def test_a_drag_makes_a_straight_line(hand, session, four_bar):
    take_pen(hand, "3")
    hand.drag(-80 - 60j, -20 - 60j)
    wish = only_wish(session)
    assert [complex(*place) for place in wish.through] == [-80 - 60j, -20 - 60j]
    assert not wish.closed


def test_a_circle_is_round(hand, session, four_bar):
    take_pen(hand, "4")
    hand.drag(0 - 50j, 20 - 50j)
    wish = only_wish(session)
    places = curve_of(wish).place(np.linspace(0, 8, 400))
    assert np.abs(np.abs(places + 50j) - 20.0).max() < 0.0013 * 20.0


def test_an_ellipse_fills_its_box(hand, session, four_bar):
    take_pen(hand, "5")
    hand.drag(-80 - 60j, -20 - 30j)
    places = curve_of(only_wish(session)).place(np.linspace(0, 8, 400))
    assert (places.real.min(), places.real.max()) == pytest.approx((-80, -20), abs=0.2)
    assert (places.imag.min(), places.imag.max()) == pytest.approx((-60, -30), abs=0.2)


def test_regions_for_the_pivots_and_for_points(hand, session, four_bar):
    corners = [-80 - 60j, -40 - 60j, -40 - 30j]
    hand.canvas.set_tool("region")
    for place in (*corners, corners[0]):
        hand.click(place)
    (zone,) = session.committed.zones
    assert (zone.keep, zone.points, len(zone.corners)) == ("out", (), 3)
    session.select((("point", "coupler.C"),))
    hand.type("2")
    hand.click(20 - 60j)
    hand.double(80 - 60j)
    zone = session.committed.zones[1]
    assert (zone.keep, zone.points, len(zone.corners)) == ("in", ("coupler.C",), 2)


def test_a_region_to_keep_out_of_needs_an_inside(hand, session, four_bar):
    said = []
    session.hint_changed.connect(said.append)
    hand.canvas.set_tool("region")
    hand.click(20 - 60j)
    hand.key(Qt.Key.Key_Return)
    assert session.committed is four_bar
    assert any("three corners" in text for text in said)


@pytest.mark.parametrize("keys", [ALT, SHIFT])
def test_keys_held_do_not_disturb_a_stroke(hand, session, four_bar, keys):
    hand.canvas.set_tool("wish")
    places = loop(0j, 40.0)
    hand.press(places[0], keys)
    for place in places[1:]:
        hand.move(place, keys)
    hand.release(places[-1], keys)
    assert get(session.committed, "path").closed


def test_a_path_and_a_circle_are_drawn_with_keys_alone(hand, session):
    enter = Qt.Key.Key_Return
    hand.type("d")
    hand.type("2")
    for keys in ((Qt.Key.Key_Up,), (Qt.Key.Key_Right,) * 4, (Qt.Key.Key_Up,) * 4):
        for key in keys:
            hand.key(key)
        hand.key(enter)
    hand.key(enter)  # where it is: the path ends
    grid = session.committed.grid_mm
    assert [complex(*p) for p in only_wish(session).through] == pytest.approx(
        [0, 4 * grid, (4 + 4j) * grid])
    hand.type("4")
    hand.key(Qt.Key.Key_Left)
    hand.key(enter)
    for _ in range(3):
        hand.key(Qt.Key.Key_Left)
    hand.key(enter)
    through = np.array([complex(*p) for p in session.committed.wanted[1].through])
    assert np.abs(through - through.mean()) == pytest.approx(3 * grid)


def test_a_stroke_going_on_is_not_disturbed_by_what_it_passes(hand, session, four_bar):
    """Bars, pins and other wishes under the way do not matter to it."""
    hand.canvas.set_tool("wish")
    draw(hand, loop(-50 + 10j, 20.0))
    draw(hand, loop(-44 + 16j, 20.0))
    assert [wish.closed for wish in session.committed.wanted] == [True, True]
    assert session.committed.parts is four_bar.parts


def test_wishes_of_every_kind_are_painted_in_both_themes(hand, session, four_bar):
    """Each adds something to the picture, at one and at two pixels a unit."""
    sketch, _ = add_path(four_bar, loop(0j, 30.0, 8)[:-1])
    steps = [four_bar, sketch, add_tick(sketch, "path", 2.0, 45.0)]
    steps.append(add_path(steps[-1], (-60 - 50j, 0 - 60j, 40 - 50j), curve="places")[0])
    steps.append(add_pose(steps[-1], 60 - 40j, 30.0, 10.0, at="rocker.A", toward="rocker.B")[0])
    steps.append(add_pose(steps[-1], -80 + 60j, 30.0, 10.0)[0])
    for count, keep in ((3, "out"), (3, "in"), (2, "in"), (1, "in")):
        corners = (-100 + 30j, -70 + 30j, -80 + 60j)[:count]
        steps.append(add_zone(steps[-1], corners, keep=keep)[0])
    steps.append(add(steps[-1], "wanted", WantedStroke(id="s", start=(60, 50), end=(90, 60))))
    for mode in ("light", "dark"):
        session.look.set_mode(mode)
        for ratio in (1, 2):
            pictures = []
            for step in steps:
                session.commit("Wish", step)
                session.select(())
                pictures.append(picture(hand.canvas, ratio))
            assert all(a != b for a, b in itertools.pairwise(pictures))
            session.select([*(("wish", wish.id) for wish in steps[-1].wanted),
                            *(("zone", zone.id) for zone in steps[-1].zones)])
            assert picture(hand.canvas, ratio) != pictures[-1]


def test_at_the_crank_angle_of_a_tick_an_arrow_leads_to_where_the_point_is_wanted(
        session, canvas):
    """Only there: a wish of another crank angle adds no arrow."""
    def shown(crank_deg: float) -> QImage:
        sketch, _ = add_path(four_bar_sketch(), (-60 - 50j, 0 - 60j, 40 - 50j),
                             point="coupler.C")
        session.adopt_file(add_tick(sketch, "path", 1.0, crank_deg), None)
        canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
        session.set_crank(math.radians(120))
        return picture(canvas, 1).copy(440, 380, 80, 120)  # between the point and the tick

    assert shown(10.0) == shown(200.0)
    assert shown(120.0) != shown(200.0)


def test_the_choices_of_the_tool_fit_on_a_narrow_canvas(canvas):
    canvas.set_tool("wish")
    bar = canvas.option_bar
    one_row = bar.height()
    for width in (420, 260, 1000):
        canvas.resize(width, 500)
        assert bar.geometry().right() < width
        assert (bar.height() > 1.5 * one_row) == (width < 500)
        boxes = [button.geometry() for button in bar.findChildren(QToolButton)
                 if button.isVisible()]
        assert len(boxes) == 6
        assert not any(a.intersects(b) for a, b in itertools.combinations(boxes, 2))


def picture(canvas, ratio: int) -> QImage:
    made = QPixmap(canvas.size() * ratio)
    made.setDevicePixelRatio(ratio)
    canvas.render(made)
    return made.toImage()


def test_the_words_on_bare_paper_go_as_soon_as_something_is_drawn(hand, session, canvas):
    session.adopt_file(Sketch(), None)
    canvas.set_tool("wish")
    middle = canvas.rect().adjusted(100, 180, -100, -180)
    words = canvas.grab(middle).toImage()
    corner = canvas.camera.to_plane(QPointF(40, 40))
    hand.press(corner)
    hand.move(corner + 1)
    hand.move(corner + 3)
    drawn = canvas.grab(middle).toImage()
    assert drawn != words
    hand.key(Qt.Key.Key_Escape)
    assert canvas.grab(middle).toImage() == words
