"""The Build menu: what the parts are made of, and what has to hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot

from app.shelf import SHELF

if TYPE_CHECKING:
    from app.panels.holding import HoldingWindow
    from app.panels.locks import LockWindow
    from app.window import MainWindow


class Building(QObject):
    """Commands about wood, rods and strength. The windows are loaded when first asked for."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window, self._session = window, window.session
        self._offered: set[str] = set()
        self.holding: HoldingWindow | None = None
        self.locks: LockWindow | None = None
        window.session.file_changed.connect(self._offer_to_keep)

    @Slot()
    def _offer_to_keep(self) -> None:
        """Say once of each material a sketch brings along that it can be kept."""
        own = [each for each in self._session.committed.materials
               if SHELF.of(each.id) is None and each.id not in self._offered]
        fresh = self._session.undo_stack.count() == 0
        if own and fresh and self._session.path is not None:
            self._offered.update(each.id for each in own)
            named = ", ".join(each.name for each in own[:3])
            more = f" and {len(own) - 3} more" if len(own) > 3 else ""
            self._session.told.emit(f"This sketch brings materials of its own: {named}{more}. "
                                    "Build, Materials can keep them for all sketches.")

    def materials(self) -> None:
        """The window of all materials; one that is open comes to the front."""
        from app.dialogs.materials import MaterialsWindow

        shown = self._window.findChild(MaterialsWindow)
        if shown is None:
            shown = MaterialsWindow(self._session, self._window)
            shown.show()
        shown.raise_()
        shown.activateWindow()

    def sheet_thickness(self) -> None:
        """The measured thickness of the selected part's sheet, for all parts cut from it."""
        from app.dialogs.sheet_thickness import SheetThicknessDialog

        parts = self._session.selected("part")
        if not parts:
            self._session.told.emit("Select a part of the sheet first.")
            return
        SheetThicknessDialog(self._session, parts[0], self._window).open()

    def choose_hold(self) -> None:
        """Ways to hold the selected lock, or part, on its shaft."""
        if self.locks is None:
            from app.panels.locks import LockWindow

            self.locks = LockWindow(self._session, self._window.settings, self._window)
        session = self._session
        chosen = session.selected("lock")
        parts = session.selected("part")
        chosen += tuple(lock.id for lock in session.sketch.locks
                        if not set(parts).isdisjoint(lock.parts)) + parts
        pins = session.selected("pin")
        chosen += tuple(lock.id for lock in session.sketch.locks if lock.pin in pins)
        self.locks.look(chosen[0] if chosen else "")

    def close(self) -> None:
        """Wait for what is being worked out: nothing is asked after."""
        if self.locks is not None:
            self.locks.end()

    def what_holds(self) -> None:
        """Every rod, bore, part and tooth against what it bears."""
        if self.holding is None:
            from app.panels.holding import HoldingWindow

            self.holding = HoldingWindow(self._session, self._window.settings, self._window)
        self.holding.look()
