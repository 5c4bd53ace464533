"""The thickness of a sheet, as measured, for every part cut from it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from app.panels.rows.stuff import thickness_tip
from app.session import Session
from core import units
from core.errors import CrankwrightError
from core.model import edits
from core.model.stuff import materials_of

_MOST_NAMED = 6


class SheetThicknessDialog(QDialog):
    """One box: what the calliper says. All parts of the sheet change in one undo step."""

    def __init__(self, session: Session, part_id: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Thickness of the sheet")
        self._session = session
        sketch = session.committed
        part = sketch.part(part_id)
        self._parts = edits.same_sheet(sketch, part_id)
        known = materials_of(sketch.materials).get(part.material)
        name = known.name if known is not None else part.material
        self.box = QLineEdit(units.show_length(part.thickness_mm, sketch.units), self)
        self.box.selectAll()
        self.error = QLabel(self)
        self.error.setProperty("role", "error")
        buttons = QDialogButtonBox(self)
        buttons.addButton("Set everywhere", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        form = QFormLayout()
        form.addRow("Measured thickness", self.box)
        column = QVBoxLayout(self)
        head = QLabel(f"{name}: {_named(self._parts)}", self)
        advice = QLabel(thickness_tip(sketch, part), self)
        for label in (head, advice, self.error):
            label.setWordWrap(True)
        column.addWidget(head)
        column.addLayout(form)
        for widget in (advice, self.error, buttons):
            column.addWidget(widget)
        self.setMinimumWidth(360)
        self.box.setFocus()

    @Slot()
    def accept(self) -> None:
        """Record it as one undo step; a text that is no length is told under the box."""
        sketch = self._session.committed
        try:
            thickness = units.parse_length(self.box.text(), sketch.units)
            changed = edits.set_sheet_thickness(sketch, self._parts, thickness)
        except CrankwrightError as trouble:
            self.error.setText(str(trouble))
            return
        self._session.commit("Set the thickness of the sheet", changed)
        super().accept()


def _named(parts: tuple[str, ...]) -> str:
    shown = ", ".join(parts[:_MOST_NAMED])
    rest = len(parts) - _MOST_NAMED
    return f"{shown} and {rest} more" if rest > 0 else shown
