"""Weights on parts: steel let into the wood, seen from above."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QRadialGradient

from app.canvas.frame import Frame
from core.model import Part, Weight

#: The least radius at which one is seen and hit.
LEAST_PX = 4.0
_STEEL = QColor("#8d959b")


def weight_radius(frame: Frame, weight: Weight) -> float:
    """Pixels; what has no size is a small disc."""
    return max(weight.diameter_mm * frame.camera.scale / 2.0, LEAST_PX)


def weight_places(frame: Frame, part: Part) -> list[complex]:
    """Where the middles of a part's weights are now, mm."""
    return [frame.pose.place(part.id, weight.place) for weight in part.weights]


def weight_at(frame: Frame, part: Part, place: complex) -> int | None:
    """Which weight of a part covers a place (mm, now); None when none does."""
    near = [(abs(at - place), index) for index, (at, weight) in enumerate(
        zip(weight_places(frame, part), part.weights, strict=True))
        if abs(at - place) * frame.camera.scale <= weight_radius(frame, weight)]
    return min(near)[1] if near else None


def paint_weights(painter: QPainter, frame: Frame, part: Part, bright: bool = False) -> None:
    """The weights of a part, with a cross as on a drawing; `bright`: lit up as it is."""
    for at, weight in zip(weight_places(frame, part), part.weights, strict=True):
        middle, radius = frame.camera.to_screen(at), weight_radius(frame, weight)
        if bright:
            painter.setPen(frame.pen(frame.theme.accent, 1.8))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(middle, radius, radius)
        else:
            _paint_disc(painter, frame, middle, radius)


def _paint_disc(painter: QPainter, frame: Frame, middle: QPointF, radius: float) -> None:
    shine = QRadialGradient(middle - QPointF(radius, radius) * 0.4, radius * 1.8)
    shine.setColorAt(0.0, _STEEL.lighter(135))
    shine.setColorAt(0.6, _STEEL)
    shine.setColorAt(1.0, _STEEL.darker(140))
    painter.setPen(frame.pen(QColor("#1b1712") if frame.theme.dark else frame.theme.ink, 1.2))
    painter.setBrush(QBrush(shine))
    painter.drawEllipse(middle, radius, radius)
    arm = min(0.45 * radius, 6.0)
    painter.drawLine(QLineF(middle - QPointF(arm, 0), middle + QPointF(arm, 0)))
    painter.drawLine(QLineF(middle - QPointF(0, arm), middle + QPointF(0, arm)))
