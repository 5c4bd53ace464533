"""What to aim at and what may be used, as the left side of the window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSettings, Qt, Signal, Slot
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QLabel,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.panels.pleasant.bearers import MAYBE_MASS, Bearers
from app.panels.pleasant.box import Box
from app.panels.pleasant.stuff import StuffList
from app.panels.quantities import MAYBE_ROOM, SIZE
from app.session import Session

if TYPE_CHECKING:
    from core.pleasant import AimName, Kind, Options

#: What can be aimed at, and what it means.
AIMS: tuple[tuple[AimName, str, str], ...] = (
    ("peak", "Least push", "The most the hand must push or hold back, anywhere in the turn"),
    ("ripple", "Even torque", "The difference between the most and the least torque"),
    ("steady", "No running away", "First that the crank never pulls the hand along, then "
                                  "the least push"),
    ("weighted", "Some of each", "Push, evenness and running away weighed against each other"),
)
MOST_PIECES = 6


class Asks(QWidget):
    """`changed` when anything of it is changed."""

    changed = Signal()

    def __init__(self, session: Session, settings: QSettings,
                 parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._build(settings)
        for box in (self.weights_box, self.springs_box, self.torsion_box, self.gears_box,
                    self.flywheel_box):
            box.toggled.connect(self._told)
        self.bearers.changed.connect(self._told)
        self.aim_box.currentIndexChanged.connect(self._told)
        self.pieces_box.valueChanged.connect(self._told)
        for line in (self.reach_box, self.heaviest_box, self.wheel_box):
            line.editingFinished.connect(self._told)
        self.stuff.changed.connect(self.changed)
        self.refresh()

    def _build(self, settings: QSettings) -> None:
        self.aim_box = QComboBox(self)
        for name, text, tip in AIMS:
            self.aim_box.addItem(text, name)
            self.aim_box.setItemData(self.aim_box.count() - 1, tip, Qt.ItemDataRole.ToolTipRole)
        self.aim_box.setAccessibleName("Aim")
        self.pieces_box = QSpinBox(self)
        self.pieces_box.setRange(1, MOST_PIECES)
        self.pieces_box.setValue(2)
        self.pieces_box.setToolTip("So many weights, or springs, at most in one proposal")
        self.weights_box = _switch("Weights", "Weights let into parts or bolted on", self)
        self.bearers = Bearers(self)
        self.reach_box = Box(MAYBE_ROOM, None, self)
        self.reach_box.setPlaceholderText("as far as the part")
        self.reach_box.setToolTip("How far from its fixed pivot a weight may be, on a tail "
                                  "added to the part; 0: no tails; empty: as far as the part "
                                  "itself reaches")
        self.heaviest_box = Box(MAYBE_MASS, None, self)
        self.heaviest_box.setPlaceholderText("as suits the machine")
        self.heaviest_box.setToolTip("The heaviest single weight; empty: 250 g, and more for "
                                     "a machine that is heavy to turn")
        self.stuff = StuffList(self._session, settings, self)
        self.springs_box = _switch("Springs from part to frame",
                                   "Extension springs hooked straight in", self)
        self.torsion_box = _switch("Torsion springs at pins", "Wound about a pin that swings",
                                   self)
        self.gears_box = _switch("A gear step at the handle",
                                 "A pair of wheels between handle and crank: easier, with more "
                                 "turns", self)
        self.wheel_box = Box(SIZE, 160.0, self)
        self.wheel_box.setToolTip("Over the tips of its teeth")
        self.flywheel_box = _switch("A flywheel", "Carries the crank over hard places, where "
                                    "that helps at this speed", self)
        column = QVBoxLayout(self)
        column.setContentsMargins(2, 2, 8, 2)
        column.setSpacing(5)
        column.addLayout(_form(("Aim", self.aim_box), ("Pieces at most", self.pieces_box)))
        column.addWidget(self.weights_box)
        column.addWidget(_faint("On these parts", self))
        column.addWidget(self.bearers)
        column.addLayout(_form(("How far out", self.reach_box),
                               ("Heaviest", self.heaviest_box)))
        column.addWidget(_faint("Made of what is at hand", self))
        column.addWidget(self.stuff)
        for widget in (self.springs_box, self.torsion_box, self.gears_box):
            column.addWidget(widget)
        column.addLayout(_form(("Largest wheel", self.wheel_box)))
        column.addWidget(self.flywheel_box)
        column.addStretch(1)

    # -- reading ---------------------------------------------------------------------

    def options(self) -> Options | None:
        """What is asked; None while something typed cannot be read or nothing is allowed,
        which `trouble` then says."""
        from core.pleasant import GearRules, Options, SpringRules, WeightRules

        if self.trouble():
            return None
        parts = tuple(self.bearers.ticked())
        every = list(parts) == self.bearers.parts()
        weights = self.stuff.into(WeightRules(
            parts=() if every else parts, most=self.pieces_box.value(),
            most_kg=self.heaviest_box.value, reach_mm=self.reach_box.value,
            each=self.bearers.each()))
        return Options(
            self.aim_box.currentData(), self.kinds(), weights,
            SpringRules(most=self.pieces_box.value()),
            GearRules(largest_mm=self.wheel_box.value))

    def kinds(self) -> tuple[Kind, ...]:
        """What may be tried."""
        boxes: dict[Kind, QCheckBox] = {
            "weights": self.weights_box, "springs": self.springs_box,
            "torsion": self.torsion_box, "gears": self.gears_box,
            "flywheel": self.flywheel_box}
        return tuple(kind for kind, box in boxes.items() if box.isChecked()
                     and (kind != "weights" or self._bears()))

    def trouble(self) -> str:
        """Why it cannot be asked, in one sentence; "" when it can."""
        for box in (self.reach_box, self.heaviest_box, self.wheel_box):
            box.read()
            if box.trouble:
                return box.trouble
        if self.bearers.trouble:
            return self.bearers.trouble
        if self.weights_box.isChecked() and not self.kinds():
            return "No part may bear a weight: tick one, or allow something else."
        return "" if self.kinds() else "Nothing is allowed: tick something that may be used."

    def _bears(self) -> bool:
        return bool(self.bearers.ticked()) or not self.bearers.parts()

    # -- showing ---------------------------------------------------------------------

    def refresh(self) -> None:
        """Parts and units of the sketch in hand."""
        sketch = self._session.committed
        self.bearers.show_parts(sketch)
        for box in (self.reach_box, self.heaviest_box, self.wheel_box):
            box.set_units(sketch.units)
        self.stuff.refresh()
        self._grey()

    def _grey(self) -> None:
        weights = self.weights_box.isChecked()
        for widget in (self.bearers, self.reach_box, self.heaviest_box, self.stuff):
            widget.setEnabled(weights)
        self.wheel_box.setEnabled(self.gears_box.isChecked())

    @Slot()
    def _told(self) -> None:
        self._grey()
        self.changed.emit()


def _switch(text: str, tip: str, parent: QWidget) -> QCheckBox:
    box = QCheckBox(text, parent)
    box.setToolTip(tip)
    box.setChecked(True)
    return box


def _faint(text: str, parent: QWidget) -> QLabel:
    label = QLabel(text, parent)
    label.setProperty("role", "faint")
    return label


def _form(*rows: tuple[str, QWidget]) -> QFormLayout:
    form = QFormLayout()
    form.setContentsMargins(0, 0, 0, 0)
    form.setVerticalSpacing(4)
    for text, widget in rows:
        label = QLabel(text)
        label.setBuddy(widget)
        widget.setAccessibleName(text)
        form.addRow(label, widget)
    return form
