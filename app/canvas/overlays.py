"""The two small widgets on the drawing: a tool's choices, and a box for a number."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QToolButton,
    QWidget,
)

from core.errors import CrankwrightError

_MARGIN_PX = 12


class OptionBar(QFrame):
    """The choices of the tool in the hand, in the upper left corner of the drawing."""

    chosen = Signal(int)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._rows = QGridLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(4)
        self._group = QButtonGroup(self)
        self._group.idClicked.connect(self.chosen)
        self._names: tuple[str, ...] = ()
        self.hide()

    def offer(self, names: tuple[str, ...], current: int) -> None:
        """Show these choices, one of them taken; none hides the bar."""
        if names != self._names:
            self.hide()  # new buttons in a bar that is shown would count for nothing yet
            self._rebuild(names)
        self.setVisible(bool(names))
        if names:
            self._group.button(current).setChecked(True)
            self.settle()

    def _rebuild(self, names: tuple[str, ...]) -> None:
        for button in self._group.buttons():
            self._group.removeButton(button)
            self._rows.removeWidget(button)
            button.hide()
            button.deleteLater()
        for place, name in enumerate(names):
            button = QToolButton(self)
            button.setText(f"{name}  {place + 1}")
            button.setToolTip(f"{name} (key {place + 1})")
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            self._group.addButton(button, place)
            self._rows.addWidget(button, 0, place)
        self._names = names

    def settle(self) -> None:
        """Take the room needed, in the corner; in more rows where one is too wide."""
        buttons = self._group.buttons()
        room = self.parentWidget().width() - 2 * _MARGIN_PX
        widest = max((button.sizeHint().width() for button in buttons), default=1)
        wide = sum(button.sizeHint().width() + self._rows.spacing() for button in buttons)
        a_row = len(buttons)
        if wide > room:
            a_row = max(min(room // (widest + self._rows.spacing()), (a_row + 1) // 2), 1)
        for place, button in enumerate(buttons):
            self._rows.addWidget(button, *divmod(place, max(a_row, 1)))
        self._rows.activate()
        self.adjustSize()
        self.move(_MARGIN_PX, _MARGIN_PX)


class Entry(QFrame):
    """A box near the cursor for one typed quantity.

    `ask` shows it; Enter reads it with `parse` and hands the value on; what cannot be
    read is said in the box's own line; Escape closes it. `refused` says why a value
    that could be read cannot be used.
    """

    refused = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setAutoFillBackground(True)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 4)
        self._label = QLabel(self)
        self.box = QLineEdit(self)
        self.box.setFixedWidth(96)
        self._trouble = QLabel(self)
        self._trouble.setProperty("role", "error")
        for widget in (self._label, self.box, self._trouble):
            row.addWidget(widget)
        self.box.returnPressed.connect(self._entered)
        self._parse: Callable[[str], float] | None = None
        self._then: Callable[[float], None] | None = None
        self.hide()

    def ask(self, label: str, at: QPointF, parse: Callable[[str], float],
            then: Callable[[float], None], text: str = "") -> None:
        """Ask for a quantity beside a pixel."""
        self._label.setText(label)
        self._trouble.hide()
        self._parse, self._then = parse, then
        self.box.setText(text)
        self._settle(at)
        self.show()
        self.raise_()
        self.box.setFocus()

    def _settle(self, at: QPointF) -> None:
        self.adjustSize()
        room = self.parentWidget().rect()
        x = min(max(at.x() + 18, 6), room.width() - self.width() - 6)
        y = min(max(at.y() + 18, 6), room.height() - self.height() - 6)
        self.move(round(x), round(y))

    def _entered(self) -> None:
        if self._parse is None or self._then is None:
            return
        try:
            value = self._parse(self.box.text())
            then = self._then
            self.close_entry()
            then(value)
        except CrankwrightError as trouble:
            if self.isVisible():
                self._trouble.setText(str(trouble))
                self._trouble.show()
                self._settle(QPointF(self.pos()) - QPointF(18, 18))
            else:
                self.refused.emit(str(trouble))

    def close_entry(self) -> None:
        """Close without reading."""
        self._parse = self._then = None
        if self.isVisible():
            self.parentWidget().setFocus()
            self.hide()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close_entry()
        elif event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):  # those the box read
            super().keyPressEvent(event)
