"""The View menu: zoom, switches, theme, units, panels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import msgspec
from PySide6.QtCore import QObject

if TYPE_CHECKING:
    from app.window import MainWindow


class Viewing(QObject):
    """How the window shows the sketch."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._look = window.session.look

    def fit(self) -> None:
        """Show the whole sketch."""
        self._window.canvas.fit()

    def closer(self) -> None:
        """Zoom in about the middle."""
        self._window.canvas.zoom_in()

    def further(self) -> None:
        """Zoom out about the middle."""
        self._window.canvas.zoom_out()

    def grid(self, on: bool) -> None:
        """Show the grid or not."""
        self._look.set_shown("grid", on)

    def snap(self, on: bool) -> None:
        """Snap while dragging or not."""
        self._look.set_shown("snap", on)

    def paths(self, on: bool) -> None:
        """Show traced paths or not."""
        self._look.set_shown("paths", on)

    def wishes(self, on: bool) -> None:
        """Show what is wanted or not."""
        self._look.set_shown("wishes", on)

    def labels(self, on: bool) -> None:
        """Show names or not."""
        self._look.set_shown("labels", on)

    def unhide(self) -> None:
        """Show every part."""
        self._look.show_all()

    def light(self) -> None:
        """Light theme."""
        self._look.set_mode("light")

    def dark(self) -> None:
        """Dark theme."""
        self._look.set_mode("dark")

    def auto(self) -> None:
        """The system's theme."""
        self._look.set_mode("auto")

    def millimetres(self) -> None:
        """Show lengths in mm."""
        self._units("mm")

    def inches(self) -> None:
        """Show lengths in inches."""
        self._units("in")

    def _units(self, units: Literal["mm", "in"]) -> None:
        session = self._window.session
        session.commit("Show inches" if units == "in" else "Show millimetres",
                       msgspec.structs.replace(session.committed, units=units))

    def bench(self, on: bool) -> None:
        """Show or hide the bench."""
        self._window.bench.setVisible(on)

    def particulars(self, on: bool) -> None:
        """Show or hide particulars and findings."""
        self._window.right.setVisible(on)

    def strip(self, on: bool) -> None:
        """Show or hide the turn strip."""
        self._window.strip.setVisible(on)
