"""The options for a hold as a table, the best first."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app import icons
from app.look import Look
from app.panels.table_model import Index, TableModel
from core.making.locks import Option
from core.making.locks.telling import bears_words, grade, room_words, times, word

OPTION = Qt.ItemDataRole.UserRole
COLUMNS = ("Hold", "Bears", "Cranking", "In a jam", "Room", "So it")
HOLD, BEARS, USE, JAM, ROOM, SO = range(len(COLUMNS))
TIPS = {
    BEARS: "The torque at which its weakest member gives way, as a range",
    USE: "How many times the greatest torque over the turn it bears",
    JAM: "How many times the torque it bears that the hand at its limit puts on it when "
         "something beyond is blocked",
    ROOM: "What has to be left free beside the part: along the shaft, and across",
}
_MARK_PX, _PAD_PX, _ROW_PX, _SHARP = 14, 6, 26, 3


class Options(TableModel[Option]):
    """Options in the order given."""

    COLUMNS, TIPS = COLUMNS, TIPS

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        option, column = self.thing(index), index.column()
        if option is None:
            return None
        if role == OPTION:
            return option
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(option, column)
        if role == Qt.ItemDataRole.ToolTipRole and column in (HOLD, ROOM):
            return "; ".join(option.lacks) or option.to_do
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{option.name}: {word(option)}."
        return None

    def _text(self, option: Option, column: int) -> str:
        return (option.name, bears_words(option.worst.bears, self.units),
                times(option.use_safety), times(option.jam_safety),
                room_words(option, self.units), word(option))[column]


class StandingPainter(QStyledItemDelegate):
    """A mark before the word of how an option stands: never by colour alone."""

    def __init__(self, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self._look = look

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        size = super().sizeHint(option, index)
        more = _MARK_PX + 2 * _PAD_PX if index.column() == SO else _PAD_PX
        return QSize(size.width() + more, max(_ROW_PX, size.height()))

    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        super().initStyleOption(option, index)
        shown = index.data(OPTION)
        if index.column() == SO and isinstance(shown, Option):
            option.features |= QStyleOptionViewItem.ViewItemFeature.HasDecoration
            option.decorationSize = QSize(_MARK_PX, _MARK_PX)
            option.icon = QIcon(self._mark(grade(shown)))

    def _mark(self, kind: str) -> QPixmap:
        mark = QPixmap(_SHARP * _MARK_PX, _SHARP * _MARK_PX)
        mark.fill(Qt.GlobalColor.transparent)
        mark.setDevicePixelRatio(_SHARP)
        painter = QPainter(mark)
        box = QRectF(0, 0, _MARK_PX, _MARK_PX)
        if kind:
            icons.paint_grade(painter, kind, box, self._look.theme)
        else:
            icons.paint_met(painter, True, box, self._look.theme)
        painter.end()
        return mark
