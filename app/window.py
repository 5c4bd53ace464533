"""The main window."""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QWidget

from app import theme
from app.look import Look
from app.session import Session


class MainWindow(QMainWindow):
    """Canvas in the middle; bench, strip, particulars and findings around it."""

    def __init__(self, settings: QSettings | None = None) -> None:
        super().__init__()
        self.session = Session(Look(settings, self), self)
        self.setWindowTitle("Crankwright")
        try:
            from app.canvas import Canvas
            self.canvas = Canvas(self.session)
        except ImportError:
            self.canvas = QWidget(self)
        self.setCentralWidget(self.canvas)
        self.resize(1280, 800)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.session.close()
        super().closeEvent(event)


def run(path: Path | None = None) -> int:
    """Open the window (on a file, if given) and run until it is closed."""
    application = QApplication.instance() or QApplication(sys.argv[:1])
    application.setFont(theme.font())
    window = MainWindow(QSettings("Crankwright", "Crankwright"))
    look = window.session.look
    application.setPalette(theme.palette(look.theme))
    application.setStyleSheet(theme.stylesheet(look.theme))
    if path is not None:
        window.session.open(path)
    window.show()
    return application.exec()
