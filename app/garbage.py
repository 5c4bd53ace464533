"""Garbage is collected on the UI thread only.

Python collects cycles on whichever thread happens to allocate. On a worker it could
there delete widgets that are part of a cycle, while the UI thread is using them; and it
chooses its moment, which may be the middle of a drag.
"""

from __future__ import annotations

import gc
import threading

from PySide6.QtCore import QCoreApplication, QObject, Qt, QTimer, Slot
from PySide6.QtGui import QGuiApplication

EVERY_MS = 500
#: While a mouse button is down, a collection is put off until there is this much more.
PATIENCE = 40


class Collector(QObject):
    """Collects when Python would have, from a timer of the thread it lives on."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._limits = gc.get_threshold()
        gc.disable()
        timer = QTimer(self)
        timer.setInterval(EVERY_MS)
        timer.timeout.connect(self.collect_due)
        timer.start()

    @Slot()
    def collect_due(self) -> None:
        """Collect the oldest generation that is due, if any."""
        young = gc.get_count()[0]
        if dragging() and young < PATIENCE * self._limits[0]:
            return
        for generation in (2, 1, 0):
            if gc.get_count()[generation] > self._limits[generation]:
                gc.collect(generation)
                return


def set_aside() -> None:
    """Take what lives now (libraries, the window) out of later collections: they last as
    long as the program, and going through them costs a pause of some 50 ms each time."""
    gc.collect()
    gc.freeze()


def dragging() -> bool:
    """Whether a mouse button is down."""
    return QGuiApplication.mouseButtons() != Qt.MouseButton.NoButton


def collect_here() -> None:
    """From now on collect on this thread only. May be called often; needs a Qt
    application and must be called on its thread (elsewhere it does nothing)."""
    application = QCoreApplication.instance()
    if (application is not None and threading.current_thread() is threading.main_thread()
            and application.findChild(Collector) is None):
        Collector(application)
