"""Three steps to begin with, over the canvas, until they are sent away."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSettings, Qt, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.session import Session
from app.theme import Theme

STEPS = (
    ("Turn it", "Drag the crank, or anywhere on the turn strip below."),
    ("Change it", "Drag a pin, a point or a part: paths, torque and gaps follow at once."),
    ("Make it", "Look through the findings, then File ▸ Sheets to PDF."),
)
KEY = "hint/dismissed"
MARGIN_PX = 16


class HintCard(QFrame):
    """A card in the upper left corner of its parent; it does not cover the drawing's
    middle and is gone for good when the box is ticked."""

    def __init__(self, session: Session, settings: QSettings, parent: QWidget) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        self.setObjectName("hint")
        self.setAccessibleName("How to begin")
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(6)
        for place, (head, text) in enumerate(STEPS, start=1):
            line = QLabel(f"<b>{place}&nbsp; {head}.</b> {text}", self)
            line.setWordWrap(True)
            column.addWidget(line)
        self.again = QCheckBox("Do not show this again", self)
        self.close_button = QPushButton("Begin", self)
        self.close_button.setCursor(Qt.CursorShape.ArrowCursor)
        row = QHBoxLayout()
        row.addWidget(self.again, 1)
        row.addWidget(self.close_button)
        column.addLayout(row)
        self.setFixedWidth(340)
        self.setCursor(Qt.CursorShape.ArrowCursor)
        self.close_button.clicked.connect(self.dismiss)
        session.look.changed.connect(self._themed)
        parent.installEventFilter(self)
        self._themed()
        self.hide()

    @Slot()
    def _themed(self) -> None:
        theme: Theme = self._session.look.theme
        self.setStyleSheet(f"#hint {{ background: {theme.field_hex}; border: 1px solid "
                           f"{theme.rule_hex}; border-radius: 6px; }}")

    def show_if_new(self) -> None:
        """Show unless it was sent away for good."""
        if self._settings.value(KEY, False, type=bool) is not True:
            self.show_steps()

    @Slot()
    def show_steps(self) -> None:
        """Show, whatever was ticked."""
        self.again.setChecked(self._settings.value(KEY, False, type=bool) is True)
        self.adjustSize()
        self._place()
        self.show()
        self.raise_()

    @Slot()
    def dismiss(self) -> None:
        """Send away; for good when the box is ticked."""
        self._settings.setValue(KEY, self.again.isChecked())
        self.hide()
        parent = self.parentWidget()
        if parent is not None:
            parent.setFocus()

    def _place(self) -> None:
        self.move(MARGIN_PX, MARGIN_PX)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize and self.isVisible():
            self._place()
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.dismiss()
        else:
            super().keyPressEvent(event)
