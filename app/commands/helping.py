"""The Help menu."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from app.dialogs.pages import PageDialog, about_page, cautions_page, keys_page

if TYPE_CHECKING:
    from app.window import MainWindow


class Helping(QObject):
    """Shows hint, keys, cautions and licences."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window

    def hint(self) -> None:
        """The three steps, over the canvas."""
        self._window.hint.show_steps()

    def keys(self) -> None:
        """What keys and mouse do."""
        PageDialog(self._window, "Keys and mouse", keys_page()).open()

    def cautions(self) -> None:
        """Before wood, cutters and fingers meet."""
        PageDialog(self._window, "Cautions", cautions_page(
            self._window.session.sketch, self._window.session.study)).open()

    def about(self) -> None:
        """Version and licences."""
        PageDialog(self._window, "About Crankwright", about_page()).open()
