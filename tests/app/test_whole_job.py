"""The whole job in the whole window, by mouse: from empty paper to the printed sheets,
and all the way back."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from app.canvas.camera import Camera
from app.window import MainWindow
from core.model import Sketch
from core.motion import solve_turn
from core.motion.redimension import drag_point

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


class Mouse:
    """The left button on the widgets of a window; places are complex mm on the canvas."""

    def __init__(self, window: MainWindow) -> None:
        self.window = window
        self.canvas = window.canvas

    def pixel(self, place: complex) -> QPoint:
        return self.canvas.camera.to_screen(place).toPoint()

    def push(self, button: QWidget) -> None:
        """Click a button in its middle."""
        QTest.mouseClick(button, LEFT, NONE, button.rect().center())

    def take(self, tool: str) -> None:
        self.push(self.window.bench.buttons[tool])

    def click(self, place: complex) -> None:
        QTest.mouseMove(self.canvas, self.pixel(place))
        QTest.mouseClick(self.canvas, LEFT, NONE, self.pixel(place))

    def double(self, place: complex) -> None:
        self.click(place)
        QTest.mouseDClick(self.canvas, LEFT, NONE, self.pixel(place))

    def press(self, place: complex) -> None:
        QTest.mouseMove(self.canvas, self.pixel(place))
        QTest.mousePress(self.canvas, LEFT, NONE, self.pixel(place))

    def move(self, place: complex) -> None:
        QTest.mouseMove(self.canvas, self.pixel(place))

    def release(self, place: complex) -> None:
        QTest.mouseRelease(self.canvas, LEFT, NONE, self.pixel(place))


@pytest.fixture
def empty(window: MainWindow) -> MainWindow:
    window.session.adopt_file(Sketch(), None)
    window.canvas.set_camera(Camera(3.0, 10 + 20j, float(window.canvas.width()),
                                    float(window.canvas.height())))
    return window


def draw_four_bar(mouse: Mouse) -> str:
    """Four bars and a traced coupler point, each by clicks; the traced point."""
    mouse.take("part")
    mouse.double(-50 - 15j)
    mouse.click(-40 + 5j)
    mouse.click(50 + 40j)
    mouse.double(65 - 15j)
    mouse.take("trace")
    mouse.click(5 + 22.5j)
    traced = [f"{part.id}.{point.id}" for part in mouse.window.session.sketch.parts
              for point in part.points if point.trace]
    assert len(traced) == 1
    return traced[0]


def top_of_path(sketch: Sketch, traced: str, pivot: complex, moved: complex) -> complex:
    """The highest place of the traced path if the fixed pivot stood elsewhere."""
    frame = next(part for part in sketch.parts if part.fixed)
    point = next(p.id for p in frame.points if abs(complex(p.x, p.y) - pivot) < 1e-6)
    edited = drag_point(sketch, f"{frame.id}.{point}", moved.real, moved.imag)
    path = solve_turn(edited).path(traced)
    return complex(*path[np.argmax(path[:, 1])])


def test_from_empty_paper_to_sheets_and_back_by_mouse(
    qtbot: QtBot, empty: MainWindow, tmp_path: Path
) -> None:
    mouse, session = Mouse(empty), empty.session
    start = session.committed

    # Draw.
    traced = draw_four_bar(mouse)
    sketch = session.sketch
    assert len([part for part in sketch.parts if not part.fixed]) == 3
    assert len(sketch.pins) == 4
    assert sketch.drive is not None
    assert session.turn.reached.all()

    # Drag the far fixed pivot until the traced path passes a target.
    pivot, wanted = 65 - 15j, 45 - 25j
    target = top_of_path(session.sketch, traced, pivot, wanted)

    def miss() -> float:
        path = session.turn.path(traced)
        return float(np.nanmin(np.abs(path @ [1, 1j] - target)))

    assert miss() > 1.0
    mouse.take("arrange")
    mouse.press(pivot)
    for share in np.linspace(0.0, 1.3, 60):
        place = pivot + share * (wanted - pivot)
        mouse.move(place)
        if miss() < 0.3:
            break
    mouse.release(place)
    assert miss() < 0.3
    assert session.turn.reached.all()
    assert session.sketch is session.committed

    # Scrub.
    qtbot.waitUntil(lambda: session.study_is_current, timeout=20_000)
    plot = empty.strip.lanes["torque"].plot
    where = [plot.mapFromScene(plot.box.mapViewToScene(QPointF(deg, 0.0)))
             for deg in (60.0, 200.0)]
    QTest.mousePress(plot.viewport(), LEFT, NONE, where[0])
    QTest.mouseMove(plot.viewport(), where[1])
    QTest.mouseRelease(plot.viewport(), LEFT, NONE, where[1])
    assert math.degrees(session.crank_rad) == pytest.approx(200.0, abs=1.0)

    # Print.
    empty.action("sheets").trigger()
    mouse.push(empty.making.dialog.go)
    chooser = empty.findChild(QFileDialog)
    assert chooser is not None
    chooser.setDirectory(str(tmp_path))
    chooser.selectFile("sheets.pdf")
    save = next(button for button in chooser.findChildren(QPushButton)
                if button.isDefault())
    mouse.push(save)
    written = PdfReader(tmp_path / "sheets.pdf")
    text = " ".join(word for page in written.pages for word in page.extract_text().split())
    assert "100 mm" in text
    empty.making.dialog.reject()

    # Undo all.
    steps = session.undo_stack.count()
    assert steps == 3
    for _ in range(steps):
        empty.action("undo").trigger()
    assert session.sketch is start
    assert not session.undo_stack.canUndo()
