"""How an error fell during a fit: one small falling line, error on a logarithmic scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.look import Look
from app.theme import font

_FLOOR = 1e-12
_EDGE_PX = 6.0


class Trail(QWidget):
    """The errors of a fit from left to right; the dashed line is the tolerance (1)."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self.errors: tuple[float, ...] = ()
        self.setAccessibleName("Error during the fit")
        self.setToolTip("Error, in tolerances, from the start of the fit until now; below "
                        "the dashed line the wishes are met on the whole")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(220, 64)

    def minimumSizeHint(self) -> QSize:
        return QSize(60, 64)

    def show_errors(self, errors: Sequence[float]) -> None:
        """Draw these, in tolerances; what is not finite is left out."""
        self.errors = tuple(error for error in errors if math.isfinite(error))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = self._look.theme
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(QPen(theme.rule, 1))
        painter.setBrush(theme.field)
        painter.drawRoundedRect(box, 3, 3)
        if self.errors:
            levels = [math.log10(max(error, _FLOOR)) for error in self.errors]
            low, high = min(*levels, -0.5), max(*levels, 0.5)
            self._paint_tolerance(painter, _height(box, 0.0, low, high))
            step = (box.width() - 2 * _EDGE_PX) / max(len(levels) - 1, 1)
            line = QPolygonF([QPointF(box.left() + _EDGE_PX + step * k,
                                      _height(box, level, low, high))
                              for k, level in enumerate(levels)])
            painter.setPen(QPen(theme.accent, 1.8, Qt.PenStyle.SolidLine,
                                Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolyline(line)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.accent)
            painter.drawEllipse(line[line.size() - 1], 2.6, 2.6)
        painter.end()

    def _paint_tolerance(self, painter: QPainter, y: float) -> None:
        theme = self._look.theme
        pen = QPen(theme.faint, 1, Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.drawLine(QPointF(_EDGE_PX, y), QPointF(self.width() - _EDGE_PX, y))
        painter.setFont(font(7.5))
        painter.drawText(QRectF(0, y - 13, self.width() - _EDGE_PX, 12),
                         Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom,
                         "tolerance")


def _height(box: QRectF, level: float, low: float, high: float) -> float:
    share = (level - low) / (high - low)
    return box.bottom() - _EDGE_PX - share * (box.height() - 2 * _EDGE_PX)
