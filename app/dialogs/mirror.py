"""Mirror a selection: the line, and whether the copy is a twin."""

from __future__ import annotations

import cmath
import math

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.session import Session
from core import units
from core.errors import CrankwrightError
from core.model import Sketch, edits
from core.space import outline_of

UPRIGHT, LEVEL, THROUGH = range(3)


class MirrorDialog(QDialog):
    """The copy is shown on the canvas while the dialog is open; Cancel takes it away."""

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Mirror")
        self._session = session
        self._parts = session.selected("part")
        self._points = session.selected("point")
        self._base = session.posed()
        column = QVBoxLayout(self)
        count = len(self._parts)
        column.addWidget(QLabel(f"Mirror {self._parts[0] if count == 1 else f'{count} parts'} "
                                "in a line", self))
        self._lines = QButtonGroup(self)
        self.choices: dict[int, QRadioButton] = {}
        for kind, text in ((UPRIGHT, "upright"), (LEVEL, "level"),
                           (THROUGH, "through the two selected points")):
            button = self.choices[kind] = QRadioButton(text, self)
            self._lines.addButton(button, kind)
            column.addWidget(button)
        self.choices[THROUGH].setVisible(len(self._points) == 2)
        form = QFormLayout()
        self.place = QLineEdit(self)
        self.place_label = QLabel(self)
        form.addRow(self.place_label, self.place)
        column.addLayout(form)
        self.error = QLabel(self)
        self.error.setProperty("role", "error")
        self.error.setWordWrap(True)
        column.addWidget(self.error)
        self.twin = QCheckBox("The copy follows every edit of the original (a twin)", self)
        self.twin.setChecked(True)
        column.addWidget(self.twin)
        self.buttons = QDialogButtonBox(self)
        self.buttons.addButton("Mirror", QDialogButtonBox.ButtonRole.AcceptRole)
        self.buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        column.addWidget(self.buttons)
        self.choices[THROUGH if len(self._points) == 2 else UPRIGHT].setChecked(True)
        self._lines.idClicked.connect(self._kind_chosen)
        self.place.textEdited.connect(self.show_copy)
        self.twin.toggled.connect(self.show_copy)
        self._kind_chosen()

    @Slot()
    def _kind_chosen(self) -> None:
        """A sensible line of the kind: just beside the selection."""
        kind = self._lines.checkedId()
        _, low, right, _ = _extent(self._base, self._parts)
        shown = self._base.units
        room = 10.0
        self.place.setVisible(kind != THROUGH)
        self.place_label.setVisible(kind != THROUGH)
        self.place_label.setText("x of the line" if kind == UPRIGHT else "y of the line")
        place = right + room if kind == UPRIGHT else low - room
        centre = _frame_line(self._base, self._parts, kind)
        self.place.setText(units.show_length(place if centre is None else centre, shown))
        self.show_copy()

    def _line(self) -> tuple[float, float, float]:
        kind = self._lines.checkedId()
        if kind == THROUGH:
            a, b = (self._base.point(ref) for ref in self._points)
            along = complex(b.x - a.x, b.y - a.y)
            return a.x, a.y, math.degrees(cmath.phase(along))
        value = units.parse_length(self.place.text(), self._base.units)
        return (value, 0.0, 90.0) if kind == UPRIGHT else (0.0, value, 0.0)

    def _made(self) -> tuple[Sketch, tuple[str, ...]] | None:
        try:
            made = edits.mirror(self._base, self._parts, *self._line(),
                                twin=self.twin.isChecked())
        except CrankwrightError as trouble:
            self.error.setText(str(trouble))
            return None
        self.error.setText("")
        return made

    @Slot()
    def show_copy(self) -> None:
        """Show the copy on the canvas."""
        made = self._made()
        if made is not None:
            self._session.preview(made[0])

    def accept(self) -> None:
        """Record the copy as one undo step."""
        made = self._made()
        if made is None:
            return
        self._session.commit("Mirror", made[0])
        self._session.select([("part", name) for name in made[1]])
        super().accept()

    def reject(self) -> None:
        """Take the copy away."""
        self._session.cancel()
        super().reject()


def _extent(sketch: Sketch, parts: tuple[str, ...]) -> tuple[float, float, float, float]:
    """Left, low, right, high of the parts' outlines in the drawn pose, mm."""
    boxes = [outline_of(sketch.part(name)).bounds for name in parts]
    lefts, lows, rights, highs = zip(*boxes, strict=True)
    return min(lefts), min(lows), max(rights), max(highs)


def _frame_line(sketch: Sketch, parts: tuple[str, ...], kind: int) -> float | None:
    """The crank's centre, when the parts lie beside it: the natural line of a mechanism
    with two like sides."""
    if sketch.drive is None or sketch.drive.part in parts:
        return None
    pin = next((pin for pin in sketch.pins if pin.id == sketch.drive.pin), None)
    if pin is None:
        return None
    at = sketch.point(pin.at[0])
    return at.x if kind == UPRIGHT else at.y
