"""How fast the window is: from a mouse move to the painted frame, starting, opening,
printing. Windows are drawn without a screen, by the same painting code."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import perf_counter

import numpy as np
from PySide6.QtCore import QEvent, QEventLoop, QPointF, QSettings, Qt, QTimer
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication, QWidget

from app.bench.clock import Row, seconds
from app.bench.leg import many_parts, walking_legs
from app.panels import hint
from app.pdf import write_sheets
from app.window import MainWindow, application
from core.files import load, save
from core.model import Sketch
from core.study import study

MOVES, STARTS = 240, 3
#: A screen of this size, the window filling it.
WIDE_PX, HIGH_PX = 1600, 1000


def showing_rows() -> Iterator[Row]:
    """All rows that need Qt."""
    app = application()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        yield from _drag_rows(app, folder)
        yield from _start_rows(folder)
        yield from _file_rows(folder)


@contextmanager
def _window(folder: Path, sketch: Sketch) -> Iterator[MainWindow]:
    """A shown window on a sketch, closed afterwards whatever happens."""
    settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
    settings.setValue(hint.KEY, True)
    window = MainWindow(settings, folder / "unsaved")
    window.resize(WIDE_PX, HIGH_PX)
    try:
        window.session.adopt_file(sketch, None)
        window.show()
        _wait_for_study(window)
        window.canvas.fit()
        _rest(200)
        yield window
    finally:
        window.session.undo_stack.setClean()
        window.close()


def _wait_for_study(window: MainWindow) -> None:
    if not window.session.study_is_current:
        loop = QEventLoop()
        window.session.study_changed.connect(loop.quit)
        QTimer.singleShot(60_000, loop.quit)
        loop.exec()


def _rest(ms: int) -> None:
    loop = QEventLoop()
    QTimer.singleShot(ms, loop.quit)
    loop.exec()


def _drag_rows(app: QApplication, folder: Path) -> Iterator[Row]:
    """Drag the top joint of the walking leg round a small circle, every lane shown."""
    with _window(folder, walking_legs()) as window:
        taken = _dragged(app, window)
    middle, high = np.percentile(np.array(taken[20:]) * 1e3, [50, 95])
    yield Row("mouse move to painted frame, leg, all lanes: median", float(middle), "ms", 16.7)
    yield Row("mouse move to painted frame, leg, all lanes: 95 %", float(high), "ms", 33.0)


def _dragged(app: QApplication, window: MainWindow) -> list[float]:
    """Time of every mouse move of a drag until all that it asked for is painted, s."""
    canvas = window.canvas
    place = canvas.frame().screen("top link 0.top")
    _mouse(app, canvas, QEvent.Type.MouseButtonPress, place)
    taken = []
    for step in range(MOVES):
        turn = 2 * np.pi * step / 60
        spot = place + QPointF(6 + 5 * np.cos(turn), 5 * np.sin(turn))
        start = perf_counter()
        _mouse(app, canvas, QEvent.Type.MouseMove, spot)
        # What the move asked to be painted, and answers of the worker meanwhile.
        app.processEvents(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents)
        taken.append(perf_counter() - start)
        _rest(4)
    _mouse(app, canvas, QEvent.Type.MouseButtonRelease, place)
    if not window.session.unsaved:
        raise RuntimeError("the drag moved nothing, so its times say nothing")
    _rest(100)
    return taken


def _mouse(app: QApplication, widget: QWidget, kind: QEvent.Type, spot: QPointF) -> None:
    left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    moving, over = kind == QEvent.Type.MouseMove, kind == QEvent.Type.MouseButtonRelease
    app.sendEvent(widget, QMouseEvent(
        kind, spot, widget.mapToGlobal(spot), none if moving else left, none if over else left,
        Qt.KeyboardModifier.NoModifier))


_START = """
import sys
from app.window import MainWindow, application
from PySide6.QtCore import QSettings, QTimer
from pathlib import Path
app = application()
window = MainWindow(QSettings(sys.argv[2], QSettings.Format.IniFormat), Path(sys.argv[3]))
window.show()
window.begin(Path(sys.argv[1]))
QTimer.singleShot(0, app.quit)
app.exec()
window.grab()
print("usable", flush=True)
window.close()
"""


def _start_rows(folder: Path) -> Iterator[Row]:
    """A new process until the window has painted a solved sketch."""
    file = folder / "leg.json"
    save(walking_legs(), file)
    taken = []
    for start_no in range(STARTS + 1):
        start = perf_counter()
        with subprocess.Popen(
            [sys.executable, "-c", _START, str(file), str(folder / "start.ini"),
             str(folder / f"unsaved {start_no}")],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        ) as process:
            assert process.stdout is not None
            said = process.stdout.readline()
            taken.append(perf_counter() - start)
        if said.strip() != "usable":
            raise RuntimeError("the window did not start")
    yield Row("start to usable window", float(np.median(taken[1:])), "s", 1.5)


def _file_rows(folder: Path) -> Iterator[Row]:
    many = folder / "many.json"
    save(many_parts(200), many)
    count = len(load(many).parts)
    yield Row(f"reading a file of {count} parts", seconds(lambda: load(many)), "s")
    with _window(folder, Sketch()) as window:
        opened = seconds(lambda: (window.session.open(many), window.canvas.repaint()), least=3)
    yield Row(f"opening a file of {count} parts in the window, first turn shown", opened,
              "s", 0.3)
    known = study(walking_legs())
    sheets = folder / "sheets.pdf"
    yield Row("layout sheets of the leg as PDF", seconds(
        lambda: write_sheets(known, sheets), span_s=1.0, least=3), "s", 1.5)
