"""A small table of numbers in the particulars, edited in place."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QSignalBlocker, Qt, QTimer, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHeaderView, QTableWidgetItem, QWidget

from app.panels.edited_table import EditedTable
from app.panels.rows.tables import Table
from app.session import Session
from core.errors import CrankwrightError
from core.model import Sketch

#: So many rows are seen at once; more are scrolled.
ROWS_SEEN = 8
#: As narrow as the last of the snug columns may be; it takes what is left.
_LEAST_PX = 44
#: Headings of snug columns, that the columns and not the air between them fill the width.
_SNUG = "QHeaderView::section { padding-left: 1px; padding-right: 1px; font-size: 11px; }"


class NumberTable(EditedTable):
    """Rows of a `Table`: type in a cell, add or remove a row; one undo step each."""

    def __init__(self, session: Session, table: Table, parent: QWidget | None = None) -> None:
        super().__init__(table.title, table.heads, f"Add a {table.noun}", parent)
        self._session, self.table = session, table
        self._shown: object = None
        self.grid.setAccessibleName(table.title)
        self.grid.horizontalHeader().setSectionResizeMode(
            QHeaderView.ResizeMode.ResizeToContents if table.snug
            else QHeaderView.ResizeMode.Stretch)
        if table.snug:  # the room is for the columns
            self.grid.horizontalHeader().setDefaultSectionSize(_LEAST_PX)
            self.grid.horizontalHeader().setStretchLastSection(True)
            self.grid.verticalHeader().hide()
            self.grid.horizontalHeader().setStyleSheet(_SNUG)
            self.grid.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
            self.grid.horizontalHeader().sectionResized.connect(self._fit)
        self.more.setToolTip(table.tip)
        self.less.setToolTip(f"Take out the {table.noun} marked in the table")
        self.more.clicked.connect(self._add)
        self.less.clicked.connect(self._remove)
        self.grid.itemSelectionChanged.connect(self._marked)
        self.grid.itemChanged.connect(self._changed)
        self.refresh()
        self._marked()

    @Slot()
    def refresh(self) -> None:
        """Write what the sketch says."""
        sketch = self._session.sketch
        rows = self.table.read(sketch)
        if self._shown == (rows, sketch.units) or self.being_edited:
            return
        self._shown = (rows, sketch.units)
        blocked = QSignalBlocker(self.grid)
        self.grid.setRowCount(len(rows))
        for row, values in enumerate(rows):
            for column, (value, kind) in enumerate(zip(values, self.table.quantities,
                                                       strict=True)):
                self.cell(row, column).setText(kind.show(value, sketch.units))
        del blocked
        self.grid.setVisible(bool(rows))
        self._fit()

    @Slot()
    def _fit(self) -> None:
        self.show_rows(self.grid.rowCount(), ROWS_SEEN)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    @Slot(QTableWidgetItem)
    def _changed(self, cell: QTableWidgetItem) -> None:
        row, column = cell.row(), cell.column()

        def write(sketch: Sketch) -> Sketch:
            kind = self.table.quantities[column]
            value = kind.parse(cell.text(), sketch.units)
            return self.table.write(sketch, row, column, value)

        self._commit(f"Change {self.table.noun}", write)
        # The cell's editor is still open here; write once it has closed.
        self._shown = None
        QTimer.singleShot(0, self.refresh)

    @Slot()
    def _marked(self) -> None:
        self.less.setEnabled(bool(self.grid.selectedItems()))

    @Slot()
    def _add(self) -> None:
        row = self.grid.currentRow() if self.grid.selectedItems() else -1
        here = math.degrees(self._session.crank_rad)

        def add(sketch: Sketch) -> Sketch:
            return self.table.add(sketch, row, here)

        self._commit(f"Add {self.table.noun}", add)

    @Slot()
    def _remove(self) -> None:
        row = self.grid.currentRow()

        def remove(sketch: Sketch) -> Sketch:
            return self.table.remove(sketch, row)

        self._commit(f"Remove {self.table.noun}", remove)

    def _commit(self, label: str, how: Callable[[Sketch], Sketch]) -> None:
        try:
            changed = how(self._session.committed)
        except CrankwrightError as trouble:
            self.tell(str(trouble))
            return
        self.tell("")
        self._session.commit(label, changed)
