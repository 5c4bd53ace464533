"""Make the crank pleasant: from the menu to its window, and out of the hand's way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, Slot
from PySide6.QtGui import QKeyEvent

from app.seeking.ease_run import EaseRun

if TYPE_CHECKING:
    from app.panels.pleasant import EaseWindow
    from app.window import MainWindow


#: Findings that ask for it.
EASED = ("runs-away", "stiff-crank", "would-not-stay")


class Easing(QObject):
    """Owns the advisor's run and its window, which is loaded when first asked for."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window, self._session = window, window.session
        self.run = EaseRun(window.session, self)
        self.window: EaseWindow | None = None
        self.run.taking.connect(self._show_taken)
        window.canvas.installEventFilter(self)

    def pleasant(self) -> None:
        """Open the window."""
        self._open().look()

    def best(self) -> None:
        """Open the window and do the best at once."""
        shown = self._open()
        shown.look()
        shown.do_best()

    def close(self) -> None:
        """End what is under way; to be called before the window goes."""
        if self.window is not None:
            self.window.close()
        self.run.close()

    def _open(self) -> EaseWindow:
        if self.window is None:
            from app.panels.pleasant import EaseWindow

            self.window = EaseWindow(self._session, self.run, self._window.settings,
                                     self._window)
        return self.window

    @Slot()
    def _show_taken(self) -> None:
        """What was added may lie outside of what is seen."""
        self._window.canvas.reveal([weight.place for part in self._session.committed.parts
                                    for weight in part.weights])

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Esc on the canvas puts a proposal that is only looked at back."""
        if (self.run.shown is not None and isinstance(event, QKeyEvent)
                and event.type() == QEvent.Type.KeyPress
                and event.key() == Qt.Key.Key_Escape):
            return self.run.put_back()
        return False
