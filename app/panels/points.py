"""The table of a part's points: name, x, y, locked, path drawn."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, QTimer, Slot
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QSizePolicy,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.panels.rows.parts import move_to
from app.session import Session
from core import units
from core.errors import CrankwrightError
from core.model import Part, Sketch, edits, join_ref

HEADS = ("Point", "x", "y", "Held", "Path")
NAME, X, Y, HELD, PATH = range(5)


class PointsTable(QWidget):
    """Edits in place, one undo step each; errors in one sentence below."""

    def __init__(self, session: Session, part_id: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._part_id = session, part_id
        self.grid = QTableWidget(0, len(HEADS), self)
        self.grid.setHorizontalHeaderLabels(HEADS)
        self.grid.setAccessibleName("Points of the part")
        self.grid.verticalHeader().hide()
        self.grid.setShowGrid(False)
        self.grid.setTabKeyNavigation(False)
        self.grid.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.grid.verticalHeader().setDefaultSectionSize(26)
        self.grid.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.grid.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        head = self.grid.horizontalHeader()
        head.setMinimumSectionSize(24)
        for column in (NAME, X, Y):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
        for column in (HELD, PATH):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            self.grid.setColumnWidth(column, 42)
        self.error = QLabel(self)
        self.error.setProperty("role", "error")
        self.error.setWordWrap(True)
        self.error.hide()
        heading = QLabel("Points, in the drawn pose", self)
        heading.setProperty("role", "heading")
        column_ = QVBoxLayout(self)
        column_.setContentsMargins(0, 0, 0, 0)
        column_.setSpacing(3)
        for widget in (heading, self.grid, self.error):
            column_.addWidget(widget)
        self._shown: tuple[Part, str] | None = None
        self.grid.itemChanged.connect(self._item_changed)
        self.refresh()

    @Slot()
    def refresh(self) -> None:
        """Write what the sketch says."""
        sketch = self._session.sketch
        part = next((p for p in sketch.parts if p.id == self._part_id), None)
        if part is None or self._shown == (part, sketch.units):
            return
        if self.grid.state() == QAbstractItemView.State.EditingState:
            return
        self._shown = (part, sketch.units)
        blocked = QSignalBlocker(self.grid)
        self.grid.setRowCount(len(part.points))
        for row, point in enumerate(part.points):
            self._text(row, NAME, point.id)
            self._text(row, X, units.show_length(point.x, sketch.units, unit=False))
            self._text(row, Y, units.show_length(point.y, sketch.units, unit=False))
            self._mark(row, HELD, point.locked)
            self._mark(row, PATH, point.trace)
        del blocked
        rows = min(len(part.points), 10)
        self.grid.setFixedHeight(self.grid.horizontalHeader().sizeHint().height()
                                 + 26 * rows + 4)

    def _cell(self, row: int, column: int) -> QTableWidgetItem:
        cell = self.grid.item(row, column)
        if cell is None:
            cell = QTableWidgetItem()
            self.grid.setItem(row, column, cell)
        return cell

    def _text(self, row: int, column: int, text: str) -> None:
        cell = self._cell(row, column)
        cell.setText(text)
        cell.setToolTip(text)

    def _mark(self, row: int, column: int, on: bool) -> None:
        cell = self._cell(row, column)
        cell.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsUserCheckable
                      | Qt.ItemFlag.ItemIsSelectable)
        cell.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)

    @Slot(QTableWidgetItem)
    def _item_changed(self, cell: QTableWidgetItem) -> None:
        sketch = self._session.committed
        part = sketch.part(self._part_id)
        ref = join_ref(part.id, part.points[cell.row()].id)
        try:
            label, changed = self._edit(sketch, ref, cell)
        except CrankwrightError as trouble:
            self._tell(str(trouble))
        else:
            self._tell("")
            self._session.commit(label, changed)
        # The cell's editor is still open here; write once it has closed.
        self._shown = None
        QTimer.singleShot(0, self.refresh)

    def _edit(self, sketch: Sketch, ref: str, cell: QTableWidgetItem) -> tuple[str, Sketch]:
        point, column, text = sketch.point(ref), cell.column(), cell.text()
        on = cell.checkState() == Qt.CheckState.Checked
        if column == NAME:
            return "Rename", edits.rename(sketch, ref, text.strip())
        if column == HELD:
            return ("Lock point" if on else "Unlock point",
                    edits.change_point(sketch, ref, locked=on))
        if column == PATH:
            return ("Draw path" if on else "Drop path",
                    edits.change_point(sketch, ref, trace=on))
        value = units.parse_length(text, sketch.units)
        place = (value, point.y) if column == X else (point.x, value)
        return "Move point", move_to(sketch, ref, *place)

    def _tell(self, text: str) -> None:
        self.error.setText(text)
        self.error.setVisible(bool(text))
