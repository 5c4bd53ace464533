"""How the safety of a check is painted: a bar that fills, its mark, and its word."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPalette, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app import icons
from app.look import Look
from app.panels.holding.model import CHECK, SAFETY, USED
from app.theme import Theme
from core.making.strength import Check

_MARK_PX, _PAD_PX, _ROW_PX = 14.0, 6.0, 26
#: The bar is full at 100 % of what may be built on; beyond that it runs on this far.
_FULL = 0.8
_GRADES = {"breaks": "fault", "doubtful": "warning", "near": "note"}


def grade_of(check: Check) -> str:
    """The grade of finding a check would be: "fault", "warning", "note", or ""."""
    grade = _GRADES.get(check.verdict, "")
    return "note" if grade and check.soft else grade


class SafetyPainter(QStyledItemDelegate):
    """Paints the columns of the bar and of the verdict; the rest as usual."""

    def __init__(self, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self._look = look

    def sizeHint(self, option: QStyleOptionViewItem,
                 index: QModelIndex | QPersistentModelIndex) -> QSize:
        size = super().sizeHint(option, index)
        more = _MARK_PX + 2 * _PAD_PX if index.column() == SAFETY else 0
        return QSize(int(size.width() + more), max(_ROW_PX, size.height()))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem,
              index: QModelIndex | QPersistentModelIndex) -> None:
        if index.column() not in (USED, SAFETY):
            super().paint(painter, option, index)
            return
        self.initStyleOption(option, index)
        text, option.text = option.text, ""
        style = option.widget.style()
        style.drawControl(QStyle.ControlElement.CE_ItemViewItem, option, painter, option.widget)
        check, theme = index.data(CHECK), self._look.theme
        box = QRectF(option.rect).adjusted(_PAD_PX, 0, -_PAD_PX, 0)
        painter.save()
        if index.column() == USED:
            _bar(painter, check, box, theme)
        else:
            mark = QRectF(box.left(), box.center().y() - _MARK_PX / 2, _MARK_PX, _MARK_PX)
            grade = grade_of(check)
            if option.state & QStyle.StateFlag.State_Selected:
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(theme.field)
                painter.drawEllipse(mark.adjusted(-2, -2, 2, 2))
            if grade:
                icons.paint_grade(painter, grade, mark, theme)
            else:
                icons.paint_met(painter, True, mark, theme)
            box.setLeft(mark.right() + _PAD_PX)
            chosen = option.state & QStyle.StateFlag.State_Selected
            painter.setPen(option.palette.color(
                QPalette.ColorRole.HighlightedText if chosen else QPalette.ColorRole.Text))
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft,
                             option.fontMetrics.elidedText(
                                 text, Qt.TextElideMode.ElideRight, int(box.width())))
        painter.restore()


def _bar(painter: QPainter, check: Check, box: QRectF, theme: Theme) -> None:
    """The bar: what is used of what may be built on, a tick where that is all of it. What
    goes beyond the tick is hatched."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    bar = QRectF(box.left(), box.center().y() - 5, box.width(), 10)
    painter.setPen(QPen(theme.rule, 1))
    painter.setBrush(theme.field)
    painter.drawRoundedRect(bar, 3, 3)
    share = min(max(check.share, 0.0), 1.0 / _FULL)
    grade = grade_of(check)
    colour = theme.grade(grade) if grade else theme.good
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    within = bar.adjusted(1, 1, -1, -1)
    filled = QRectF(within)
    filled.setWidth(max(2.0, within.width() * _FULL * share))
    painter.drawRect(filled)
    tick = within.left() + within.width() * _FULL
    if filled.right() > tick:
        over = QRectF(tick, within.top(), filled.right() - tick, within.height())
        painter.setBrush(QBrush(QColor(theme.field_hex), Qt.BrushStyle.BDiagPattern))
        painter.drawRect(over)
    painter.setPen(QPen(theme.ink, 1.5))
    painter.drawLine(int(tick), int(bar.top() - 2), int(tick), int(bar.bottom() + 2))
