"""Proposals as cards: what it is, how much better it gets, and the turn before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.look import Look
from app.panels.pleasant.facts import Facts, facts
from app.panels.pleasant.lanes import paint_lanes
from app.theme import Theme, font

if TYPE_CHECKING:
    from core.pleasant import Proposal

PROPOSAL = Qt.ItemDataRole.UserRole
FACTS = Qt.ItemDataRole.UserRole + 1
BEST = Qt.ItemDataRole.UserRole + 2
CARD_PX = 108
BOUND_TIP = ("The bound is proved: nothing among what is allowed gets below it, friction left "
             "out.")
_GAP, _PAD = 4.0, 8.0
NO_PARENT = QModelIndex()
Index = QModelIndex | QPersistentModelIndex


def _names(proposals: tuple[Proposal, ...]) -> list[tuple[str, str, float]]:
    """What tells proposals apart; their lanes are arrays, and new ones each time they come."""
    return [(one.kind, one.title, one.value_after) for one in proposals]


class Cards(QAbstractListModel):
    """Proposals in the order given."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.proposals: tuple[Proposal, ...] = ()
        self.units = "mm"
        self.best: Proposal | None = None
        self._facts: dict[int, Facts] = {}

    def show(self, proposals: tuple[Proposal, ...], units: str,
             best: Proposal | None = None) -> None:
        """Show these, the `best` marked; those that were there stay chosen while others come
        after them."""
        known, self.best = len(self.proposals), best
        if units != self.units:
            self.units, self._facts = units, {}
        if known and _names(proposals[:known]) == _names(self.proposals):
            if len(proposals) > known:
                self.beginInsertRows(NO_PARENT, known, len(proposals) - 1)
                self.proposals = proposals
                self.endInsertRows()
            self.dataChanged.emit(self.index(0), self.index(known - 1))
        elif proposals or self.proposals:
            self.beginResetModel()
            self.proposals, self._facts = proposals, {}
            self.endResetModel()

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.proposals)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid() or index.row() >= len(self.proposals):
            return None
        one = self.proposals[index.row()]
        if role == PROPOSAL:
            return one
        if role == FACTS:
            return self._told(index.row())
        if role == BEST:
            return one is self.best
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{one.title}. {BOUND_TIP}" if self._told(index.row()).bound else one.title
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            told = self._told(index.row())
            best = "Suggested. " if one is self.best else ""
            return f"{best}{one.title}: {told.of} {told.numbers}, {told.share}"
        return None

    def _told(self, row: int) -> Facts:
        if row not in self._facts:
            self._facts[row] = facts(self.proposals[row], self.units)
        return self._facts[row]


class CardPainter(QStyledItemDelegate):
    """Paints a card: words on the left, lanes on the right."""

    def __init__(self, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self._look = look

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(360, CARD_PX)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        one, told, theme = index.data(PROPOSAL), index.data(FACTS), self._look.theme
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        focused = bool(option.state & QStyle.StateFlag.State_HasFocus)
        body = QRectF(option.rect).adjusted(_GAP, _GAP, -_GAP, -_GAP)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.accent if chosen or focused else theme.rule,
                            2.5 if chosen else 1.0))
        painter.setBrush(theme.field)
        painter.drawRoundedRect(body, 6, 6)
        inner = body.adjusted(_PAD, _PAD, -_PAD, -_PAD)
        picture = QRectF(inner)
        picture.setLeft(inner.right() - min(inner.width() * 0.42, 340.0))
        paint_lanes(painter, told, picture, theme)
        words = QRectF(inner)
        words.setRight(picture.left() - 12.0)
        share = f"◆ suggested  {told.share}" if index.data(BEST) else told.share
        _write(painter, one.title, told, share, words, theme)
        painter.restore()


def _write(painter: QPainter, title: str, told: Facts, share: str, box: QRectF,
           theme: Theme) -> None:
    left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
    right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
    lines = [QRectF(box.left(), box.top() + 21.0 * row, box.width(), 20.0) for row in range(4)]

    def write(row: int, text: str, size: float, bold: bool = False, faint: bool = False,
              room: float = 0.0) -> None:
        painter.setFont(font(size, bold))
        painter.setPen(theme.faint if faint else theme.ink)
        painter.drawText(lines[row], left, painter.fontMetrics().elidedText(
            text, Qt.TextElideMode.ElideRight, int(box.width() - room)))

    painter.setFont(font(10.0, bold=True))
    taken = painter.fontMetrics().horizontalAdvance(share) + 8.0
    write(0, title, 10.0, bold=True, room=taken)
    painter.setPen(theme.good if told.share.startswith("−") else theme.faint)
    painter.drawText(lines[0], right, share)
    write(1, told.numbers, 10.0)
    write(2, told.push, 8.5, faint=True)
    write(3, told.bound, 8.5, faint=True)
