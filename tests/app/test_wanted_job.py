"""From a drawn path to a mechanism that follows it, in the whole window, by mouse, with the
real searches: draw a loop, ask for mechanisms, take one, lock a pivot, fit, take it back."""

from __future__ import annotations

import cmath
import math

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.canvas.camera import Camera
from app.window import MainWindow
from core.model import Sketch
from core.motion import solve_turn

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
LONG_MS = 120_000


def _draw_bean(window: MainWindow) -> None:
    """A bean of about 80 × 50 mm, drawn freehand."""
    canvas = window.canvas

    def pixel(place: complex) -> QPoint:
        return canvas.camera.to_screen(place).toPoint()

    places = [40 * math.cos(t) + 1j * (25 * math.sin(t) + 6 * math.cos(2 * t))
              for t in (2 * math.pi * 0.985 * k / 60 for k in range(61))]
    QTest.mouseMove(canvas, pixel(places[0]))
    QTest.mousePress(canvas, LEFT, NONE, pixel(places[0]))
    for place in places[1:]:
        QTest.mouseMove(canvas, pixel(place))
    QTest.mouseRelease(canvas, LEFT, NONE, pixel(places[-1]))


def test_say_it_pick_one_lock_a_pivot_fit_and_take_it_back(qtbot, window: MainWindow) -> None:
    session, seeking = window.session, window.seeking
    empty = Sketch(title="a bean")
    session.adopt_file(empty, None)
    window.canvas.set_camera(Camera(3.0, 0j, window.canvas.width(), window.canvas.height()))

    QTest.mouseClick(window.bench.buttons["wish"], LEFT)
    _draw_bean(window)
    (wish,) = session.committed.wanted
    assert wish.closed
    assert wish.point == ""
    wished = session.committed

    # Ask for mechanisms; the first list is enough.
    window.action("find").trigger()
    gallery = seeking.gallery
    qtbot.waitUntil(lambda: gallery.cards.rowCount() > 0, timeout=LONG_MS)
    QTest.mouseClick(gallery.again_button, LEFT)
    qtbot.waitUntil(lambda: not seeking.find_run.running, timeout=LONG_MS)
    first = gallery.list.visualRect(gallery.cards.index(0)).center()
    proposal = gallery.cards.entries[0].proposal
    QTest.mouseClick(gallery.list.viewport(), LEFT, NONE, first)
    QTest.mouseDClick(gallery.list.viewport(), LEFT, NONE, first)
    assert not gallery.isVisible()
    taken = session.committed
    (wish,) = taken.wanted
    assert wish.point
    turn = solve_turn(taken)
    assert turn.reached.all()
    # It does go where it says: no place of the cycle is farther off than the proposal says.
    from core.wanted.measure import measure
    (met,) = measure(turn)
    assert met.worst <= proposal.worst_mm * 1.05 + 0.01

    # Lock the pivot of the crank, and fit: it stays where it is.
    pin = next(pin for pin in taken.pins if pin.id == taken.drive.pin)
    pivot = next(ref for ref in pin.at if taken.part(ref.rpartition(".")[0]).fixed)
    session.select([("point", pivot)])
    QTest.mouseClick(window.particulars.field("locked").focusProxy(), LEFT, NONE,
                     QPoint(8, window.particulars.field("locked").focusProxy().height() // 2))
    locked = session.committed
    assert locked.point(pivot).locked
    window.action("fit_sketch").trigger()
    qtbot.waitUntil(lambda: seeking.fit_run.trail != [], timeout=LONG_MS)
    assert seeking.panel.isVisible()
    QTest.mouseClick(seeking.panel.start_button, LEFT)  # press stop halfway
    qtbot.waitUntil(lambda: not seeking.fit_run.running, timeout=LONG_MS)
    fitted = session.committed
    assert abs(fitted.place(pivot) - locked.place(pivot)) < 1e-9
    (after,) = measure(solve_turn(fitted))
    assert after.rms <= met.rms * (1 + 1e-6)

    # And all the way back.
    while session.committed != wished:
        assert session.undo_stack.canUndo()
        session.undo()
    session.undo()
    assert session.committed == empty
    assert cmath.isfinite(session.crank_rad)
