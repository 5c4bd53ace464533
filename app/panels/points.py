"""The table of a part's points: name, x, y, locked, path drawn."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, QTimer, Slot
from PySide6.QtWidgets import QHeaderView, QTableWidgetItem, QWidget

from app.gestures.building import with_point
from app.panels.edited_table import EditedTable
from app.panels.rows.parts import move_to
from app.session import Session
from core import units
from core.errors import CrankwrightError
from core.model import Part, Sketch, edits, join_ref
from core.space import outline_of

HEADS = ("Point", "x", "y", "Held", "Path")
NAME, X, Y, HELD, PATH = range(5)
#: So many rows are seen at once; more are scrolled.
ROWS_SEEN = 10


class PointsTable(EditedTable):
    """Edits in place, one undo step each; errors in one sentence below."""

    def __init__(self, session: Session, part_id: str, parent: QWidget | None = None) -> None:
        super().__init__("Points, in the drawn pose", HEADS, "Add a point", parent)
        self._session, self._part_id = session, part_id
        self.grid.setAccessibleName("Points of the part")
        self.grid.verticalHeader().hide()
        head = self.grid.horizontalHeader()
        head.setMinimumSectionSize(24)
        for column in (NAME, X, Y):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
        for column in (HELD, PATH):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            self.grid.setColumnWidth(column, 42)
        self.more.setToolTip("A point in the middle of the part; then type its place or "
                             "drag it")
        self.less.setToolTip("Remove the point marked in the table, and what hangs on it")
        self.more.clicked.connect(self._add)
        self.less.clicked.connect(self._remove)
        self.grid.itemSelectionChanged.connect(self._marked)
        self._marked()
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
        if self.being_edited:
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
        self.show_rows(len(part.points), ROWS_SEEN)

    def _text(self, row: int, column: int, text: str) -> None:
        cell = self.cell(row, column)
        cell.setText(text)
        cell.setToolTip(text)

    def _mark(self, row: int, column: int, on: bool) -> None:
        cell = self.cell(row, column)
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
            self.tell(str(trouble))
        else:
            self.tell("")
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

    @Slot()
    def _marked(self) -> None:
        self.less.setEnabled(self.grid.rowCount() > 1 and bool(self.grid.selectedItems()))

    @Slot()
    def _add(self) -> None:
        sketch = self._session.committed
        part = sketch.part(self._part_id)
        try:
            middle = outline_of(part).representative_point()
            place = complex(round(middle.x, 2), round(middle.y, 2))
        except (CrankwrightError, ValueError):
            place = 0j
        self._session.commit("Add point", with_point(sketch, part.id, place)[0])

    @Slot()
    def _remove(self) -> None:
        sketch = self._session.committed
        part = sketch.part(self._part_id)
        point = part.points[self.grid.currentRow()].id
        self._session.commit("Remove point", edits.remove(sketch, [join_ref(part.id, point)]))
