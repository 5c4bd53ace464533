"""The Build menu: what the parts are made of, and what has to hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

if TYPE_CHECKING:
    from app.panels.holding import HoldingWindow
    from app.window import MainWindow


class Building(QObject):
    """Commands about wood, rods and strength. The windows are loaded when first asked for."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window, self._session = window, window.session
        self.holding: HoldingWindow | None = None

    def sheet_thickness(self) -> None:
        """The measured thickness of the selected part's sheet, for all parts cut from it."""
        from app.dialogs.sheet_thickness import SheetThicknessDialog

        parts = self._session.selected("part")
        if not parts:
            self._session.told.emit("Select a part of the sheet first.")
            return
        SheetThicknessDialog(self._session, parts[0], self._window).open()

    def what_holds(self) -> None:
        """Every rod, bore, part and tooth against what it bears."""
        if self.holding is None:
            from app.panels.holding import HoldingWindow

            self.holding = HoldingWindow(self._session, self._window.settings, self._window)
        self.holding.look()
