"""Pictures of the real windows at work, without a screen."""

from __future__ import annotations

import math
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from core.model import Sketch

if TYPE_CHECKING:
    from app.window import MainWindow

#: The wish in the pictures, and the crank angles they are taken at.
_LOOP_DEG, _GALLERY_RAD = 60.0, 1.0
_WIDE_PX, _HIGH_PX = 1280, 800
_PATIENCE_MS = 600_000


def write_windows(folder: Path) -> None:
    """The gallery on a loop drawn by hand, and the window with one of its mechanisms in."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from app.bench.wanting import drawn_loop

    with _window() as window:
        seeking = window.seeking
        window.session.adopt_file(Sketch(title="a loop", wanted=(drawn_loop(),)), None)
        window.action("find").trigger()
        _until(lambda: not seeking.find_run.running)
        gallery = seeking.gallery
        assert gallery is not None
        _rest(300)
        gallery.painter_of_cards.begin_frame(_GALLERY_RAD)
        gallery.grab().save(str(folder / "gallery.png"), "PNG")
        free = next((row for row, entry in enumerate(gallery.cards.entries)
                     if not entry.proposal.meets), 0)
        gallery.list.setCurrentIndex(gallery.cards.index(free))
        gallery.use()
        gallery.close()
        window.canvas.fit()
        window.session.set_crank(math.radians(_LOOP_DEG))
        window.session.select([])
        _rest(1500)
        window.grab().save(str(folder / "chosen.png"), "PNG")


def write_pleasant(folder: Path) -> None:
    """The advisor on the heron, the proposal that takes most off chosen."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from app.figures.effort import heron

    with _window() as window:
        window.session.adopt_file(heron(), None)
        window.canvas.fit()
        window.action("pleasant").trigger()
        shown = window.easing.window
        assert shown is not None
        shown.asks.heaviest_box.set_value(2.0)
        shown.ask_button.click()
        _until(lambda: not shown.run.running and bool(shown.run.proposals))
        rows = range(len(shown.cards.proposals))
        best = max(rows, key=lambda row: shown.cards.proposals[row].gain)
        shown.list.setCurrentIndex(shown.cards.index(best))
        _rest(500)
        shown.grab().save(str(folder / "pleasant.png"), "PNG")
        shown.close()


def write_locks(folder: Path) -> None:
    """The window that helps to choose a hold, on the lock of the pier walker."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from app import demos
    from core.files import loads

    with _window() as window:
        window.session.adopt_file(loads(demos.data("pier-walker")), None)
        window.session.select([("lock", "cranks")])
        window.action("choose_hold").trigger()
        shown = window.building.locks
        assert shown is not None
        _until(lambda: bool(shown.options.things))
        _rest(500)
        shown.grab().save(str(folder / "locks.png"), "PNG")
        shown.close()


@contextmanager
def _window() -> Iterator[MainWindow]:
    """A shown window with settings of its own, closed afterwards."""
    from PySide6.QtCore import QSettings

    from app.panels import hint
    from app.window import MainWindow, application

    application()
    with tempfile.TemporaryDirectory() as name:
        settings = QSettings(str(Path(name) / "settings.ini"), QSettings.Format.IniFormat)
        settings.setValue(hint.KEY, True)
        window = MainWindow(settings, Path(name) / "unsaved")
        window.resize(_WIDE_PX, _HIGH_PX)
        window.session.look.set_mode("light")
        window.show()
        try:
            yield window
        finally:
            window.session.undo_stack.setClean()
            window.close()


def _rest(ms: int) -> None:
    from PySide6.QtCore import QEventLoop, QTimer

    loop = QEventLoop()
    QTimer.singleShot(ms, loop.quit)
    loop.exec()


def _until(done: Callable[[], bool]) -> None:
    """Wait until `done` holds."""
    waited = 0
    while not done() and waited < _PATIENCE_MS:
        _rest(100)
        waited += 100
