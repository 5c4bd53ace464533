"""The widgets of the particulars: each shows one row and says when it was edited."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QSignalBlocker, Qt, Signal, Slot
from PySide6.QtGui import QFocusEvent, QKeyEvent, QWheelEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.rows import Row
from core.errors import CrankwrightError

#: What `show` gets when several things differ.
SEVERAL = object()
SEVERAL_TEXT = "several"


class Field(QWidget):
    """Base: `edited(row, value)` when the user gives a new value; `complain` shows one
    sentence under the widget, `show_value` what the sketch says."""

    edited = Signal(object, object)

    def __init__(self, row: Row, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.row = row
        self.units = "mm"
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(1)
        self._error: QLabel | None = None
        if row.tip:
            self.setToolTip(row.tip)

    def hold(self, widget: QWidget) -> None:
        """Put the widget in."""
        widget.setAccessibleName(self.row.label)
        self._column.addWidget(widget)
        self.setFocusProxy(widget)

    def complain(self, text: str) -> None:
        """One sentence in place; an empty one takes it away."""
        if self._error is None and text:
            self._error = QLabel(self)
            self._error.setProperty("role", "error")
            self._error.setWordWrap(True)
            self._column.addWidget(self._error)
        if self._error is not None:
            self._error.setText(text)
            self._error.setVisible(bool(text))

    @property
    def complaint(self) -> str:
        """The sentence shown."""
        return self._error.text() if self._error is not None else ""

    def show_value(self, value: Any, units: str) -> None:
        """Show a value of the sketch (or SEVERAL)."""
        raise NotImplementedError


class _Box(QLineEdit):
    left = Signal()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()


class BoxField(Field):
    """A box one types a quantity into. Enter or leaving it takes the value, Esc drops it."""

    def __init__(self, row: Row, parent: QWidget | None = None) -> None:
        super().__init__(row, parent)
        self.box = _Box(self)
        self.hold(self.box)
        self._shown = ""
        self.box.returnPressed.connect(self._take)
        self.box.left.connect(self._take)
        self.box.textEdited.connect(self._being_typed)

    def show_value(self, value: Any, units: str) -> None:
        self.units = units
        assert self.row.quantity is not None
        text = "" if value is SEVERAL else self.row.quantity.show(value, units)
        self.box.setPlaceholderText(SEVERAL_TEXT if value is SEVERAL else self.row.empty)
        typing = self.box.hasFocus() and self.box.text() != self._shown
        if not typing and self.box.text() != text:
            self.box.setText(text)
            self.box.setCursorPosition(0)
            self._mark("")
        self._shown = text

    @Slot()
    def _being_typed(self) -> None:
        self._mark("")

    @Slot()
    def _take(self) -> None:
        text = self.box.text()
        if text == self._shown:
            return
        assert self.row.quantity is not None
        try:
            value = self.row.quantity.parse(text, self.units)
        except CrankwrightError as trouble:
            self._mark(str(trouble))
            return
        self._shown = text
        self.edited.emit(self.row, value)

    def refuse(self, text: str) -> None:
        """The value could be read but not used."""
        self._shown = ""
        self._mark(text)

    def complain(self, text: str) -> None:
        super().complain(text)
        self._wrong(bool(text))

    def _mark(self, text: str) -> None:
        self.complain(text)

    def _wrong(self, wrong: bool) -> None:
        if bool(self.box.property("wrong")) != wrong:
            self.box.setProperty("wrong", wrong)
            self.box.style().unpolish(self.box)
            self.box.style().polish(self.box)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.box.text() != self._shown:
            self.box.setText(self._shown)
            self._mark("")
            event.accept()
        else:
            super().keyPressEvent(event)


class _List(QComboBox):
    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel scrolls the panel; it must not change what it passes over."""
        event.ignore()


class ChoiceField(Field):
    """A list one chooses from."""

    def __init__(self, row: Row, parent: QWidget | None = None) -> None:
        super().__init__(row, parent)
        self.box = _List(self)
        self.box.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.box.setMinimumContentsLength(8)
        self.box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        for _, text in row.choices:
            self.box.addItem(text)
        self.hold(self.box)
        self.box.activated.connect(self._chosen)

    def show_value(self, value: Any, units: str) -> None:
        values = [choice for choice, _ in self.row.choices]
        place = -1 if value is SEVERAL or value not in values else values.index(value)
        self.box.setPlaceholderText(SEVERAL_TEXT if value is SEVERAL else str(value))
        if self.box.currentIndex() != place:
            self.box.setCurrentIndex(place)

    @Slot(int)
    def _chosen(self, place: int) -> None:
        self.edited.emit(self.row, self.row.choices[place][0])


class SwitchField(Field):
    """Yes or no, or "several"."""

    def __init__(self, row: Row, parent: QWidget | None = None) -> None:
        super().__init__(row, parent)
        self.box = QCheckBox(row.label, self)
        self.hold(self.box)
        self.box.clicked.connect(self._clicked)

    def show_value(self, value: Any, units: str) -> None:
        self.box.setTristate(value is SEVERAL)
        state = Qt.CheckState.PartiallyChecked if value is SEVERAL else (
            Qt.CheckState.Checked if value else Qt.CheckState.Unchecked)
        if self.box.checkState() != state:
            self.box.setCheckState(state)

    @Slot()
    def _clicked(self) -> None:
        self.edited.emit(self.row, self.box.checkState() != Qt.CheckState.Unchecked)


class _Pad(QPlainTextEdit):
    left = Signal()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()


class TextField(Field):
    """Several lines; taken when left."""

    def __init__(self, row: Row, parent: QWidget | None = None) -> None:
        super().__init__(row, parent)
        self.box = _Pad(self)
        self.box.setTabChangesFocus(True)
        self.box.setFixedHeight(64)
        self.hold(self.box)
        self._shown = ""
        self.box.left.connect(self._take)

    def show_value(self, value: Any, units: str) -> None:
        text = "" if value is SEVERAL else str(value)
        self.box.setPlaceholderText(SEVERAL_TEXT if value is SEVERAL else self.row.label)
        typing = self.box.hasFocus() and self.box.toPlainText() != self._shown
        if not typing and self.box.toPlainText() != text:
            blocked = QSignalBlocker(self.box)
            self.box.setPlainText(text)
            del blocked
        self._shown = text

    @Slot()
    def _take(self) -> None:
        text = self.box.toPlainText()
        if text != self._shown:
            self._shown = text
            self.edited.emit(self.row, text)


class FactField(Field):
    """Shown, not edited."""

    def __init__(self, row: Row, parent: QWidget | None = None) -> None:
        super().__init__(row, parent)
        self.box = QLabel(self)
        self.box.setWordWrap(True)
        self.box.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.hold(self.box)

    def show_value(self, value: Any, units: str) -> None:
        text = SEVERAL_TEXT if value is SEVERAL else str(value)
        if self.box.text() != text:
            self.box.setText(text)


class ButtonField(Field):
    """Something to be done to the thing: no value of its own."""

    def __init__(self, row: Row, parent: QWidget | None = None) -> None:
        super().__init__(row, parent)
        self.box = QPushButton(row.label, self)
        self.hold(self.box)
        self.box.clicked.connect(self._pressed)

    def show_value(self, value: Any, units: str) -> None:
        """It shows none."""

    @Slot()
    def _pressed(self) -> None:
        self.edited.emit(self.row, True)


WIDGETS: dict[str, type[Field]] = {
    "box": BoxField, "choice": ChoiceField, "switch": SwitchField, "text": TextField,
    "fact": FactField, "button": ButtonField,
}
