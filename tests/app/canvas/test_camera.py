"""The view: zoom, pan, fit."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.canvas.camera import GREATEST_SCALE, LEAST_SCALE, Camera
from app.canvas.extent import of_turn
from core.model import Sketch, Underlay
from core.model.edits import change_point


def wheel(canvas, at: QPoint, *, notches: int = 0, fingers: QPoint | None = None) -> None:
    phase = Qt.ScrollPhase.NoScrollPhase if fingers is None else Qt.ScrollPhase.ScrollUpdate
    event = QWheelEvent(QPointF(at), QPointF(canvas.mapToGlobal(at)), fingers or QPoint(),
                        QPoint(0, 120 * notches), Qt.MouseButton.NoButton,
                        Qt.KeyboardModifier.NoModifier, phase, False)
    QApplication.sendEvent(canvas, event)


def test_pixels_and_places_are_each_others_inverse():
    camera = Camera(3.7, 12 - 5j, 801, 603)
    for place in (0j, 100 + 3j, -7 - 250j):
        assert camera.to_plane(camera.to_screen(place)) == pytest.approx(place)
        assert camera.transform().map(QPointF(place.real, place.imag)).x() == pytest.approx(
            camera.to_screen(place).x())
        assert camera.transform().map(QPointF(place.real, place.imag)).y() == pytest.approx(
            camera.to_screen(place).y())


def test_y_points_up():
    camera = Camera()
    assert camera.to_screen(10j).y() < camera.to_screen(0j).y()


@pytest.mark.parametrize("factor", [1.2, 0.5, 1e9, 1e-9])
def test_zooming_keeps_the_place_under_the_cursor(factor):
    camera = Camera(2.0, 5 + 5j, 800, 600)
    pixel = QPointF(123, 456)
    zoomed = camera.zoomed(pixel, factor)
    assert zoomed.to_plane(pixel) == pytest.approx(camera.to_plane(pixel))
    assert LEAST_SCALE <= zoomed.scale <= GREATEST_SCALE


def test_the_wheel_zooms_at_the_cursor(canvas, four_bar):
    pixel = QPoint(700, 200)
    before = canvas.camera.to_plane(QPointF(pixel))
    scale = canvas.camera.scale
    wheel(canvas, pixel, notches=1)
    assert canvas.camera.scale == pytest.approx(scale * 1.2)
    assert canvas.camera.to_plane(QPointF(pixel)) == pytest.approx(before)


def test_two_fingers_move_the_paper(canvas, four_bar):
    pixel = QPoint(700, 200)
    before = canvas.camera.to_plane(QPointF(pixel))
    wheel(canvas, pixel, fingers=QPoint(30, -12))
    assert canvas.camera.to_plane(QPointF(pixel + QPoint(30, -12))) == pytest.approx(before)


def test_the_middle_button_and_space_drag_the_paper(canvas, session, four_bar):
    for space in (False, True):
        button = Qt.MouseButton.LeftButton if space else Qt.MouseButton.MiddleButton
        before = canvas.camera.to_plane(QPointF(500, 350))
        if space:
            QTest.keyPress(canvas, Qt.Key.Key_Space)
        QTest.mousePress(canvas, button, pos=QPoint(500, 350))
        QTest.mouseMove(canvas, QPoint(540, 330))
        QTest.mouseRelease(canvas, button, pos=QPoint(540, 330))
        if space:
            QTest.keyRelease(canvas, Qt.Key.Key_Space)
        assert canvas.camera.to_plane(QPointF(540, 330)) == pytest.approx(before)
    assert session.committed is four_bar


def test_fit_shows_everything_over_the_whole_turn(canvas, session, four_bar):
    canvas.set_camera(Camera(80.0, 900 + 900j, 1000, 700))
    QTest.keyClick(canvas, Qt.Key.Key_F)
    path = session.turn.path("coupler.C")
    for x, y in path:
        pixel = canvas.camera.to_screen(complex(x, y))
        assert canvas.rect().contains(pixel.toPoint())
    low, high = of_turn(session.turn, canvas.shapes)
    assert low.real <= path[:, 0].min()
    assert high.imag >= path[:, 1].max()


def test_a_path_far_off_the_wood_is_fitted_too(canvas, session, four_bar):
    session.commit("Far", change_point(four_bar, "coupler.C", x=-10.0, y=300.0))
    QTest.keyClick(canvas, Qt.Key.Key_F)
    for x, y in session.turn.path("coupler.C"):
        assert canvas.rect().contains(canvas.camera.to_screen(complex(x, y)).toPoint())


def test_a_picture_alone_is_fitted(canvas, session, tmp_path):
    picture = QImage(200, 100, QImage.Format.Format_RGB32)
    picture.save(str(tmp_path / "plan.png"))
    session.commit("Lay", Sketch(underlay=Underlay(
        path=str(tmp_path / "plan.png"), mm_per_px=5.0, x=300.0, angle_deg=90.0)))
    QTest.keyClick(canvas, Qt.Key.Key_F)
    for corner in (300, -200, 300 + 1000j, -200 + 1000j):
        assert canvas.rect().contains(canvas.camera.to_screen(corner).toPoint())
    assert canvas.camera.scale == pytest.approx(0.6, rel=0.3)  # 700 pixels high for 1 m


def test_a_file_opened_is_fitted_and_a_saved_one_is_not(canvas, session, four_bar, tmp_path):
    from mousework import four_bar_sketch

    fitted = canvas.camera
    session.adopt_file(four_bar_sketch(), None)
    canvas.set_camera(fitted)
    session.save(tmp_path / "a.crank")
    assert canvas.camera == fitted


def test_what_was_fitted_stays_fitted_in_another_size(canvas, session, four_bar):
    canvas.fit()
    canvas.resize(500, 420)
    low, high = of_turn(session.turn, canvas.shapes)
    for corner in (low, high):
        assert canvas.rect().contains(canvas.camera.to_screen(corner).toPoint())
    canvas.zoom_in()
    chosen = canvas.camera.scale
    canvas.resize(900, 700)
    assert canvas.camera.scale == chosen


def test_keys_zoom_and_take_tools(canvas, four_bar):
    scale = canvas.camera.scale
    QTest.keyClicks(canvas, "+")
    assert canvas.camera.scale > scale
    QTest.keyClicks(canvas, "-")
    assert canvas.camera.scale == pytest.approx(scale)
    with_signal: list[str] = []
    canvas.tool_changed.connect(with_signal.append)
    QTest.keyClicks(canvas, "phv")
    assert with_signal == ["part", "hand", "arrange"]


def test_an_unknown_tool_is_refused(canvas):
    with pytest.raises(KeyError):
        canvas.set_tool("hammer")
    assert canvas.tool_id == "arrange"
