"""Before and after over the turn, drawn over one another."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from app.panels.pleasant.facts import Facts, Floats, Lane
from app.theme import Theme

_PAD_PX = 4.0
#: Spikes beyond so many times what 95 of 100 keep within are cut off.
_PEAK = 4.0


class Chart:
    """From crank angle and value to pixels of a box."""

    def __init__(self, told: Facts, box: QRectF) -> None:
        self.box = box.adjusted(_PAD_PX, _PAD_PX, -_PAD_PX, -_PAD_PX)
        values = np.concatenate([part for lane in (told.before, told.after)
                                 for part in (lane.low, lane.middle, lane.high)])
        fine = values[np.isfinite(values)]
        most = _PEAK * float(np.quantile(np.abs(fine), 0.95)) if fine.size else 1.0
        self.low = max(min(float(fine.min(initial=0.0)), 0.0), -most)
        self.high = min(max(float(fine.max(initial=0.0)), 0.0), most)
        if self.high - self.low < 1e-12:
            self.low, self.high = -1.0, 1.0
        first, last = float(told.crank_deg[0]), float(told.crank_deg[-1])
        self._first, self._width = first, max(last - first, 1e-9)

    def y(self, value: float) -> float:
        """The height of a value, px."""
        return self.box.bottom() - self.box.height() * (value - self.low) / (
            self.high - self.low)

    def line(self, crank_deg: Floats, values: Floats) -> QPolygonF:
        """A line over the turn; what is not known is left out."""
        x = self.box.left() + self.box.width() * (crank_deg - self._first) / self._width
        y = self.box.bottom() - self.box.height() * (
            np.clip(values, self.low, self.high) - self.low) / (self.high - self.low)
        fine = np.isfinite(y)
        return QPolygonF([QPointF(a, b) for a, b in zip(
            x[fine].tolist(), y[fine].tolist(), strict=True)])


def paint_lanes(painter: QPainter, told: Facts, box: QRectF, theme: Theme) -> None:
    """Before: a faint dashed line; after: an ink line. Each with the band of friction, hatched
    before and filled after, so that colour alone tells nothing."""
    chart = Chart(told, box)
    painter.save()
    painter.setClipRect(box)
    painter.fillRect(box, theme.paper)
    painter.setPen(QPen(theme.rule, 1.0))
    zero = chart.y(0.0)
    painter.drawLine(QLineF(box.left(), zero, box.right(), zero))
    _band(painter, chart, told.crank_deg, told.before, _shade(theme.faint, 90),
          Qt.BrushStyle.BDiagPattern)
    _band(painter, chart, told.crank_deg, told.after, _shade(theme.brass, 120),
          Qt.BrushStyle.SolidPattern)
    old = QPen(theme.faint, 1.4)
    old.setDashPattern([4, 3])
    painter.setPen(old)
    painter.drawPolyline(chart.line(told.crank_deg, told.before.middle))
    painter.setPen(QPen(theme.ink, 1.8))
    painter.drawPolyline(chart.line(told.crank_deg, told.after.middle))
    painter.setPen(QPen(theme.rule, 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box)
    painter.restore()


def _band(painter: QPainter, chart: Chart, crank_deg: Floats, lane: Lane, colour: QColor,
          pattern: Qt.BrushStyle) -> None:
    up = chart.line(crank_deg, lane.high)
    down = chart.line(crank_deg, lane.low)
    whole = QPolygonF([*up, *reversed(list(down))])
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    brush = painter.brush()
    brush.setStyle(pattern)
    painter.setBrush(brush)
    painter.drawPolygon(whole)


def _shade(colour: QColor, alpha: int) -> QColor:
    found = QColor(colour)
    found.setAlpha(alpha)
    return found
