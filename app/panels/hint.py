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
MARGIN_PX = 14
WIDEST_PX = 900


class HintCard(QFrame):
    """A card along the lower edge of its parent, out of the drawing's way; gone for good
    when the box is ticked."""

    def __init__(self, session: Session, settings: QSettings, parent: QWidget) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        self.setObjectName("hint")
        self.setAccessibleName("How to begin")
        row = QHBoxLayout(self)
        row.setContentsMargins(16, 10, 16, 10)
        row.setSpacing(18)
        for place, (head, text) in enumerate(STEPS, start=1):
            line = QLabel(f"<span style='font-weight:600'>{place}&nbsp; {head}.</span>"
                          f"<br>{text}", self)
            line.setWordWrap(True)
            line.setAlignment(Qt.AlignmentFlag.AlignTop)
            row.addWidget(line, 1)
        self.again = QCheckBox("Not again", self)
        self.again.setToolTip("Do not show this at the next start; F1 brings it back")
        self.close_button = QPushButton("Begin", self)
        self.close_button.setCursor(Qt.CursorShape.ArrowCursor)
        column = QVBoxLayout()
        column.addWidget(self.again)
        column.addWidget(self.close_button)
        row.addLayout(column)
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
        parent = self.parentWidget()
        wide = min(parent.width() - 2 * MARGIN_PX, WIDEST_PX)
        tall = self.layout().heightForWidth(wide)
        self.setGeometry((parent.width() - wide) // 2, parent.height() - tall - MARGIN_PX,
                         wide, tall)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize and self.isVisible():
            self._place()
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.dismiss()
        else:
            super().keyPressEvent(event)
