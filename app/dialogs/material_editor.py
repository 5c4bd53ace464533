"""A material of the user's own: its name, kind, density and figures."""

from __future__ import annotations

import re
from typing import get_args

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from core import units
from core.errors import CrankwrightError, UnitError
from core.materials import MATERIALS, Stuff
from core.materials.names import FIGURE_WORDS, FIGURES_OF, STUFF_WORDS
from core.model import OwnFigure, OwnMaterial

_BETWEEN = re.compile(r"\s*(?:\bto\b|–|…|\.\.|(?<=\d)\s*-)\s*")
_NAME, _VALUE, _UNIT, _EMPTY, _SOURCE = range(5)


class MaterialEditor(QDialog):
    """`finished_with(material, keep)` when it is taken: the material, and whether it is to
    be kept for all sketches. Bad input is told in one sentence and nothing is taken."""

    finished_with = Signal(object, bool)

    def __init__(self, own: OwnMaterial, parent: QWidget, *, new: bool, kept: bool) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("New material" if new else f"Material {own.name}")
        self._own = own
        self._typed = {each.name: each for each in own.figures}
        self.name = QLineEdit(own.name, self)
        self.stuff = QComboBox(self)
        for stuff in get_args(Stuff):
            self.stuff.addItem(STUFF_WORDS[stuff], stuff)
        self.stuff.setCurrentIndex(self.stuff.findData(own.stuff))
        self.like = QComboBox(self)
        self.density = QLineEdit(f"{own.density_kg_m3:g}", self)
        self.density.setToolTip("Weigh a piece and divide by its volume, in kg/m³")
        self.source = QLineEdit(own.source, self)
        self.source.setPlaceholderText("such as: weighed")
        self.figures = QTableWidget(0, 5, self)
        self.figures.setHorizontalHeaderLabels(
            ["Figure", "Value or range", "", "When empty", "Source"])
        self.figures.verticalHeader().hide()
        self.figures.setShowGrid(False)
        self.figures.setTabKeyNavigation(False)
        for column in (_NAME, _UNIT, _EMPTY):
            self.figures.horizontalHeader().setSectionResizeMode(
                column, QHeaderView.ResizeMode.ResizeToContents)
        self.figures.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self.figures.horizontalHeader().setStretchLastSection(True)
        self.note = QLineEdit(own.note, self)
        self.keep = QCheckBox("Keep it for all my sketches", self)
        self.keep.setChecked(kept)
        self.error = QLabel(self)
        self.error.setProperty("role", "error")
        self.error.setWordWrap(True)
        advice = QLabel("Empty figures are taken from the material it is like, or estimated "
                        "from the density. A range such as “50 to 60” is welcome.", self)
        advice.setWordWrap(True)
        advice.setProperty("role", "faint")
        form = QFormLayout()
        for label, widget in (("Name", self.name), ("Kind", self.stuff), ("Like", self.like),
                              ("Density, kg/m³", self.density),
                              ("Density is from", self.source)):
            form.addRow(label, widget)
        buttons = QDialogButtonBox(self)
        buttons.addButton("Take it", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addLayout(form)
        column.addWidget(self.figures, 1)
        column.addWidget(advice)
        foot = QFormLayout()
        foot.addRow("Note", self.note)
        column.addLayout(foot)
        for widget in (self.keep, self.error, buttons):
            column.addWidget(widget)
        self.stuff.currentIndexChanged.connect(self._kind_chosen)
        self.like.currentIndexChanged.connect(self._show_likes)
        self._kind_chosen()
        self.resize(620, 600)
        self.name.selectAll()
        self.name.setFocus()

    # -- what is offered -----------------------------------------------------------

    @Slot()
    def _kind_chosen(self) -> None:
        """Offer the materials and the figures of the kind."""
        self._remember()
        stuff = self.stuff.currentData()
        self.like.blockSignals(True)
        self.like.clear()
        self.like.addItem("nothing in the table", "")
        for each in MATERIALS.values():
            if each.stuff == stuff:
                self.like.addItem(each.name, each.id)
        self.like.setCurrentIndex(max(self.like.findData(self._own.like), 0))
        self.like.blockSignals(False)
        names = list(dict.fromkeys((*FIGURES_OF[stuff], *self._typed)))
        self.figures.setRowCount(len(names))
        for row, name in enumerate(names):
            words, unit = FIGURE_WORDS.get(name, (name, ""))
            typed = self._typed.get(name)
            cells = (words, "" if typed is None else shown_range(typed.low, typed.high), unit,
                     "", "" if typed is None else typed.source)
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                if column in (_NAME, _UNIT, _EMPTY):
                    item.setFlags(Qt.ItemFlag.ItemIsEnabled)
                item.setData(Qt.ItemDataRole.UserRole, name)
                self.figures.setItem(row, column, item)
        self._show_likes()

    @Slot()
    def _show_likes(self) -> None:
        """Say of each figure what it is taken from when it is empty."""
        like = MATERIALS.get(self.like.currentData() or "")
        for row in range(self.figures.rowCount()):
            name = str(self._cell(row, _NAME).data(Qt.ItemDataRole.UserRole))
            taken = None if like is None else like.figures.get(name)
            self._cell(row, _EMPTY).setText(
                "from the density" if name == "specific_gravity" else
                "estimated" if taken is None else shown_range(taken.low, taken.high))

    def _cell(self, row: int, column: int) -> QTableWidgetItem:
        item = self.figures.item(row, column)
        assert item is not None  # every row is filled when it is made
        return item

    def _remember(self) -> None:
        """Hold on to what was typed before other rows are shown; unreadable rows stay for
        the sentence when the dialog is taken."""
        for row in range(self.figures.rowCount()):
            try:
                figure = self._figure(row)
            except UnitError:
                continue
            name = self._cell(row, _NAME).data(Qt.ItemDataRole.UserRole)
            self._typed.pop(name, None)
            if figure is not None:
                self._typed[name] = figure

    # -- what was typed ------------------------------------------------------------

    def _figure(self, row: int) -> OwnFigure | None:
        value = self._cell(row, _VALUE)
        if not value.text().strip():
            return None
        name = value.data(Qt.ItemDataRole.UserRole)
        words = FIGURE_WORDS.get(name, (name, ""))[0]
        low, high = read_range(value.text(), words)
        return OwnFigure(name=name, low=low, high=high,
                         source=self._cell(row, _SOURCE).text().strip())

    def _made(self) -> OwnMaterial:
        name = " ".join(self.name.text().split())
        if not name:
            raise CrankwrightError("the material has no name", mend="type one")
        density, high = read_range(self.density.text(), "density")
        if density <= 0.0 or density != high:
            raise UnitError("the density must be one number above zero",
                            mend="type it in kg/m³, such as 690")
        figures = [self._figure(row) for row in range(self.figures.rowCount())]
        return OwnMaterial(
            id=self._own.id, name=name, density_kg_m3=density, stuff=self.stuff.currentData(),
            like=self.like.currentData() or "", source=self.source.text().strip(),
            figures=tuple(each for each in figures if each is not None),
            note=self.note.text().strip())

    @Slot()
    def accept(self) -> None:
        """Hand the material over, or say in one sentence what is wrong."""
        try:
            made = self._made()
        except CrankwrightError as trouble:
            self.error.setText(str(trouble))
            return
        self.finished_with.emit(made, self.keep.isChecked())
        super().accept()


def read_range(text: str, what: str) -> tuple[float, float]:
    """"50", "50 to 60" or "50–60" as lowest and highest value.

    Raises
    ------
    UnitError
        For a text that is neither, or a range below zero or running backwards.
    """
    ends = _BETWEEN.split(text.strip())
    try:
        values = [units.parse_number(end) for end in ends]
    except UnitError:
        values = []
    if len(values) not in (1, 2):
        raise UnitError(f"the {what} “{text.strip()}” is no number", mend="type one number or"
                        " a range such as 50 to 60")
    low, high = values[0], values[-1]
    if not 0.0 <= low <= high < 1e6:
        raise UnitError(f"the {what} “{text.strip()}” is no range from a smaller to a larger"
                        " number", mend="type the smaller number first, none below zero")
    return low, high


def shown_range(low: float, high: float) -> str:
    """A range as it can be typed."""
    return f"{low:.4g}" if low == high else f"{low:.4g} to {high:.4g}"
