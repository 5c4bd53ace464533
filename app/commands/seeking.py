"""Fit and Find: from the menu to the panel and the gallery, and out of the hand's way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Slot
from PySide6.QtGui import QKeyEvent, QMouseEvent

from app.panels.fit import FitPanel
from app.seeking.find_run import FindRun
from app.seeking.fit_run import FitRun

if TYPE_CHECKING:
    from app.panels.gallery import Gallery
    from app.window import MainWindow

#: After the first wish has rested this long, libraries are loaded for what comes next.
WARM_MS = 1500
LIBRARIES = ("core.wanted.find", "core.wanted.fit")
CREW = "app.cores:begin_crew"


class Seeking(QObject):
    """Owns the runs of a window, the fit panel and the gallery."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window, self._session = window, window.session
        self.fit_run = FitRun(window.session, self)
        self.find_run = FindRun(window.session, self)
        self.fit_run.fitted.connect(self._show_fitted)
        self.panel = FitPanel(window.session, self.fit_run, window)
        self.panel.hide()
        self.panel.closed.connect(self._panel_closed)
        below = window.right.indexOf(window.wishes) + 1
        window.right.insertWidget(below, self.panel)
        window.right.setStretchFactor(below, 0)
        window.wishes.give_way_to(self.panel)
        self.gallery: Gallery | None = None
        window.canvas.installEventFilter(self)
        self._warming = QTimer(self)
        self._warming.setSingleShot(True)
        self._warming.setInterval(WARM_MS)
        self._warming.timeout.connect(self._warm)
        self._warmed = False
        window.session.sketch_changed.connect(self._sketch_changed)

    def fit(self) -> None:
        """Show the panel and begin a fit; pressed once more, stop it."""
        self._window.action("particulars").setChecked(True)
        self.panel.show()
        if self.fit_run.running:
            self.fit_run.stop()
        else:
            self.fit_run.start()

    def find(self) -> None:
        """Open the gallery, searching for what is wanted now."""
        if self.gallery is None:
            from app.panels.gallery import Gallery

            self.find_run.used.connect(self._show_new_parts)
            self.gallery = Gallery(self._session, self.find_run, self._window.settings,
                                   self._window)
        self.gallery.look()

    def close(self) -> None:
        """End what is under way; to be called before the window goes."""
        self._warming.stop()
        if self.gallery is not None:
            self.gallery.close()
        self.fit_run.close()
        self.find_run.close()

    @Slot()
    def _show_new_parts(self) -> None:
        """Look at what was put in, with the tool that takes hold of it."""
        self._window.canvas.set_tool("arrange")
        self._window.canvas.fit()

    @Slot()
    def _show_fitted(self) -> None:
        """A fit may lead the mechanism out of sight."""
        self._window.canvas.reveal([point.place for part in self._session.committed.parts
                                    for point in part.points])

    @Slot()
    def _panel_closed(self) -> None:
        self.panel.hide()
        self._window.canvas.setFocus()

    @Slot()
    def _sketch_changed(self) -> None:
        if self._session.committed.wanted and not self._warmed:
            self._warming.start()

    @Slot()
    def _warm(self) -> None:
        self._warmed = True
        self.find_run.seeker.warm(*LIBRARIES, CREW)
        self.fit_run.seeker.warm(*LIBRARIES)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Whoever takes hold of the drawing ends a fit first and has its best in hand; Esc
        puts the sketch back."""
        if not self.fit_run.running:
            return False
        if (isinstance(event, QMouseEvent) and event.button() == Qt.MouseButton.LeftButton
                and event.type() in (QEvent.Type.MouseButtonPress,
                                     QEvent.Type.MouseButtonDblClick)):
            self.fit_run.settle()
        elif (isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress
              and event.key() == Qt.Key.Key_Escape):
            self.fit_run.put_back()
            return True
        return False
