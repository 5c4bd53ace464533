"""A real canvas on a session."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from mousework import Hand, four_bar_sketch
from PySide6.QtCore import QSettings

from app.canvas import Canvas
from app.canvas.camera import Camera
from app.look import Look
from app.session import Session
from core.model import Sketch


@pytest.fixture
def session(qapp, tmp_path) -> Iterator[Session]:
    settings = QSettings(str(tmp_path / "look.ini"), QSettings.Format.IniFormat)
    session = Session(Look(settings))
    session.look.set_mode("light")
    yield session
    session.close()


@pytest.fixture
def canvas(qtbot, session: Session) -> Canvas:
    canvas = Canvas(session)
    qtbot.addWidget(canvas)
    canvas.resize(1000, 700)
    canvas.show()
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    canvas.setFocus()
    return canvas


@pytest.fixture
def hand(canvas: Canvas) -> Hand:
    return Hand(canvas)


@pytest.fixture
def four_bar(canvas: Canvas) -> Sketch:
    """The canvas' session, with a four-bar in it."""
    sketch = four_bar_sketch()
    canvas.session.adopt_file(sketch, None)
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    return sketch
