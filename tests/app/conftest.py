"""A window with settings and journal of its own for every test, and a four-bar to edit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QSettings

from app.session import Session
from core.model import Drive, Part, Pin, Point, Sketch

if TYPE_CHECKING:
    from app.panels.gallery import Gallery


@pytest.fixture
def four_bar() -> Sketch:
    """Crank 30, coupler 103, rocker 81, frame 100 mm: goes all round."""
    def point(name: str, x: float, y: float, trace: bool = False) -> Point:
        return Point(id=name, x=x, y=y, trace=trace)

    return Sketch(
        title="four-bar",
        parts=(
            Part(id="frame", fixed=True, layer=0,
                 points=(point("A", 0, 0), point("D", 100, 0))),
            Part(id="crank", layer=1, points=(point("A", 0, 0), point("B", 0, 30))),
            Part(id="coupler", layer=2, points=(point("B", 0, 30), point("C", 90, 80),
                                                point("E", 50, 90, trace=True))),
            Part(id="rocker", layer=1, points=(point("D", 100, 0), point("C", 90, 80))),
        ),
        pins=(Pin(id="a", at=("frame.A", "crank.A")), Pin(id="b", at=("crank.B", "coupler.B")),
              Pin(id="c", at=("coupler.C", "rocker.C")),
              Pin(id="d", at=("frame.D", "rocker.D"))),
        drive=Drive(pin="a", part="crank", drawn_deg=90.0),
    )


@pytest.fixture
def settings(tmp_path: Path) -> QSettings:
    """Settings that nobody else uses."""
    return QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)


@pytest.fixture
def session(qapp: object, four_bar: Sketch) -> Iterator[Session]:
    """A session with the four-bar in hand."""
    made = Session()
    made.adopt_file(four_bar, None)
    yield made
    made.close()


@pytest.fixture
def window(qtbot, settings: QSettings, tmp_path: Path, four_bar: Sketch) -> Iterator[object]:
    """The whole window with the four-bar, shown."""
    from app.window import MainWindow, application

    application()
    made = MainWindow(settings, tmp_path / "unsaved")
    made.resize(1280, 800)
    made.show()
    made.session.adopt_file(four_bar, None)
    yield made
    made._leaving = True
    made.close()
    made.deleteLater()
    # Without a running event loop nothing else would delete it before the next test.
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def look(qtbot, window) -> Callable[..., Gallery]:
    """Opens the gallery on a sketch and waits for what is found."""
    from gallery_hands import opened

    return partial(opened, qtbot, window)


@pytest.fixture
def nearby(monkeypatch: pytest.MonkeyPatch) -> None:
    """Searches of windows run on a thread: the process is tested by itself, and takes a
    second to begin."""
    from searches import Nearby

    monkeypatch.setattr("app.seeking.seeker.begin_helper", Nearby)
