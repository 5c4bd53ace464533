"""A table of things shown one a row, which is replaced as a whole."""

from __future__ import annotations

from typing import Any, ClassVar, Generic, TypeVar

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

NO_PARENT = QModelIndex()
Index = QModelIndex | QPersistentModelIndex
Thing = TypeVar("Thing")


class TableModel(QAbstractTableModel, Generic[Thing]):
    """Things in the order given, in the units of a sketch; what is in a cell says `data`."""

    COLUMNS: ClassVar[tuple[str, ...]] = ()
    #: Column -> what its head tells when the mouse rests on it.
    TIPS: ClassVar[dict[int, str]] = {}

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.things: tuple[Thing, ...] = ()
        self.units = "mm"

    def show(self, things: tuple[Thing, ...], units: str) -> None:
        """Show these, in the units of a sketch. Rows keep their places where as many stay."""
        if things == self.things and units == self.units:
            return
        if len(things) != len(self.things):
            self.beginResetModel()
            self.things, self.units = things, units
            self.endResetModel()
            return
        self.things, self.units = things, units
        self.dataChanged.emit(self.index(0, 0),
                              self.index(len(things) - 1, len(self.COLUMNS) - 1))

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.things)

    def columnCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.COLUMNS)

    def headerData(self, section: int, orientation: Qt.Orientation,
                   role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if orientation == Qt.Orientation.Horizontal:
            if role == Qt.ItemDataRole.DisplayRole:
                return self.COLUMNS[section]
            if role == Qt.ItemDataRole.ToolTipRole:
                return self.TIPS.get(section)
        return None

    def thing(self, index: Index) -> Thing | None:
        """What a row shows."""
        known = index.isValid() and index.row() < len(self.things)
        return self.things[index.row()] if known else None
