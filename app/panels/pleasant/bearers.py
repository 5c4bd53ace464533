"""Which parts may bear a weight, and of each how far out and how heavy."""

from __future__ import annotations

from dataclasses import dataclass, replace

from PySide6.QtCore import QSignalBlocker, Qt, Signal, Slot
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.panels.quantities import MASS, MAYBE_ROOM, Quantity
from core.errors import CrankwrightError
from core.model import Sketch

PART, REACH, HEAVIEST = range(3)
_HEADS = ("Part", "Out to", "Heaviest")
_TIPS = ("Ticked: it may bear a weight",
         "How far from its fixed pivot, on a tail added to the part; 0: no tail; empty: as "
         "below for all", "The heaviest weight on it; empty: as below for all")
_ROW_PX, _ROWS = 24, 5


@dataclass(frozen=True)
class _Bearer:
    on: bool = True
    reach_mm: float | None = None
    most_kg: float | None = None


def _maybe_mass(text: str, units: str) -> float | None:
    return MASS.parse(text, units) if text.strip() else None


MAYBE_MASS = Quantity(_maybe_mass, lambda value, units: "" if value is None
                       else MASS.show(value, units))
_KINDS = {REACH: MAYBE_ROOM, HEAVIEST: MAYBE_MASS}


class Bearers(QTableWidget):
    """`changed` when a tick or a number is; `trouble` says what could not be read."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(0, len(_HEADS), parent)
        self._units = "mm"
        self._said: dict[str, _Bearer] = {}
        self.trouble = ""
        self.setHorizontalHeaderLabels(_HEADS)
        for column, tip in enumerate(_TIPS):
            self.horizontalHeaderItem(column).setToolTip(tip)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.setAccessibleName("Parts that may bear a weight")
        header = self.horizontalHeader()
        header.setSectionResizeMode(PART, QHeaderView.ResizeMode.Stretch)
        for column in (REACH, HEAVIEST):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            header.resizeSection(column, 76)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFixedHeight(header.sizeHint().height() + _ROWS * _ROW_PX + 4)
        self.itemChanged.connect(self._edited)

    def show_parts(self, sketch: Sketch) -> None:
        """The moving parts of a sketch; what was said of one of that name stays."""
        moving = [part.id for part in sketch.parts if not part.fixed]
        if moving == self.parts() and sketch.units == self._units:
            return
        self._units = sketch.units
        blocked = QSignalBlocker(self)
        self.setRowCount(len(moving))
        for row, name in enumerate(moving):
            self._write(row, name)
        del blocked

    def parts(self) -> list[str]:
        """Every part listed."""
        return [self.item(row, PART).text() for row in range(self.rowCount())]

    def ticked(self) -> list[str]:
        """Those that may bear a weight."""
        return [name for name in self.parts() if self._of(name).on]

    def tick(self, name: str, on: bool) -> None:
        """Tick a part or not."""
        row = self.parts().index(name)
        self.item(row, PART).setCheckState(Qt.CheckState.Checked if on
                                           else Qt.CheckState.Unchecked)

    def each(self) -> tuple[tuple[str, float | None, float | None], ...]:
        """Reach (mm) and heaviest weight (kg) of the ticked parts that have their own."""
        found = [(name, self._of(name).reach_mm, self._of(name).most_kg)
                 for name in self.ticked()]
        return tuple(one for one in found if one[1:] != (None, None))

    def _of(self, name: str) -> _Bearer:
        return self._said.get(name, _Bearer())

    def _write(self, row: int, name: str) -> None:
        said = self._of(name)
        first = QTableWidgetItem(name)
        first.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
                       | Qt.ItemFlag.ItemIsUserCheckable)
        first.setCheckState(Qt.CheckState.Checked if said.on else Qt.CheckState.Unchecked)
        self.setItem(row, PART, first)
        for column, value in ((REACH, said.reach_mm), (HEAVIEST, said.most_kg)):
            self.setItem(row, column, QTableWidgetItem(
                _KINDS[column].show(value, self._units)))

    @Slot(QTableWidgetItem)
    def _edited(self, item: QTableWidgetItem) -> None:
        name, column = self.item(item.row(), PART).text(), item.column()
        said, self.trouble = self._of(name), ""
        if column == PART:
            said = replace(said, on=item.checkState() == Qt.CheckState.Checked)
        else:
            try:
                value = _KINDS[column].parse(item.text(), self._units)
            except CrankwrightError as trouble:
                self.trouble = f"{name}: {trouble}"
            else:
                said = replace(said, **{"reach_mm" if column == REACH else "most_kg": value})
        self._said[name] = said
        if not self.trouble:
            blocked = QSignalBlocker(self)
            self._write(item.row(), name)
            del blocked
        self.changed.emit()
