"""Questions and texts in a box."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QAbstractButton, QMessageBox, QWidget


class Question(QMessageBox):
    """A question with named answers; the answer's function is called when it is chosen.

    Esc and closing choose the last answer. The first is the default.
    """

    def __init__(self, parent: QWidget, text: str, more: str,
                 answers: Sequence[tuple[str, Callable[[], None] | None]]) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Crankwright")
        self.setText(text)
        self.setInformativeText(more)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self._acts: list[tuple[QAbstractButton, Callable[[], None] | None]] = []
        for label, act in answers:
            button = self.addButton(label, QMessageBox.ButtonRole.ActionRole)
            self._acts.append((button, act))
        self.setDefaultButton(self._acts[0][0])  # type: ignore[arg-type]
        self.setEscapeButton(self._acts[-1][0])
        self.buttonClicked.connect(self._chosen)

    @Slot(QAbstractButton)
    def _chosen(self, button: QAbstractButton) -> None:
        act = next((act for known, act in self._acts if known is button), None)
        if act is not None:
            act()

    def answer(self, label: str) -> QAbstractButton:
        """The button of an answer."""
        return next(button for button, _ in self._acts if button.text() == label)


def tell(parent: QWidget, text: str, more: str = "") -> Question:
    """One text and one button."""
    box = Question(parent, text, more, [("Close", None)])
    box.open()
    return box
