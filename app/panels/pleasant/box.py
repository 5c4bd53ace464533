"""A box for one quantity that keeps the last value that could be read."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from app.panels.quantities import Quantity
from core.errors import CrankwrightError


class Box(QLineEdit):
    """Reads what is typed when it is left or Enter is pressed; what cannot be read is marked
    and the reason is its tip."""

    def __init__(self, quantity: Quantity, value: Any, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._quantity, self._units = quantity, "mm"
        self.value = value
        self.trouble = ""
        self._tip: str | None = None
        self.setText(quantity.show(value, self._units))
        self.editingFinished.connect(self.read)

    def set_units(self, units: str) -> None:
        """Show the value in the units of a sketch."""
        if units != self._units:
            self._units = units
            self.set_value(self.value)

    def set_value(self, value: Any) -> None:
        """Show another value."""
        self.value = value
        self.setText(self._quantity.show(value, self._units))
        self._mark("")

    @Slot()
    def read(self) -> Any:
        """The value typed; None, with `trouble` said, when it cannot be read."""
        if self.text() == self._quantity.show(self.value, self._units):
            self._mark("")
            return self.value
        try:
            value = self._quantity.parse(self.text(), self._units)
        except CrankwrightError as trouble:
            self._mark(str(trouble))
            return None
        self.set_value(value)
        return value

    def keyPressEvent(self, event: QKeyEvent) -> None:
        shown = self._quantity.show(self.value, self._units)
        if event.key() == Qt.Key.Key_Escape and self.text() != shown:
            self.setText(shown)
            self._mark("")
            self.editingFinished.emit()
            event.accept()
        else:
            super().keyPressEvent(event)

    def _mark(self, trouble: str) -> None:
        if self._tip is None:
            self._tip = self.toolTip()
        self.trouble = trouble
        self.setToolTip(trouble or self._tip)
        if bool(self.property("wrong")) != bool(trouble):
            self.setProperty("wrong", bool(trouble))
            self.style().unpolish(self)
            self.style().polish(self)
