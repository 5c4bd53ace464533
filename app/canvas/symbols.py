"""Small symbols in pixels: ground, padlock, arrows, warning marks.

The fixed pivot follows the kinematic-diagram symbols of ISO 3952-1: the pivot on a
triangle that stands on a hatched line.
"""

from __future__ import annotations

import math
from functools import cache

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPolygonF


def hatch_line(painter: QPainter, start: QPointF, end: QPointF, depth: float,
               spacing: float = 5.0) -> None:
    """A line of the frame: strokes slanting away to its right (seen from `start`)."""
    line = QLineF(start, end)
    length = line.length()
    if length < 1.0:
        return
    along = QPointF(line.dx() / length, line.dy() / length)
    down = QPointF(-along.y(), along.x())
    strokes = [line]
    count = max(int(length / spacing), 1)
    for place in range(count + 1):
        foot = start + along * (length * place / count)
        strokes.append(QLineF(foot, foot + (down - along) * (depth * 0.7)))
    painter.drawLines(strokes)


def draw_ground(painter: QPainter, at: QPointF, size: float, ink: QPen, fill: QColor) -> None:
    """A fixed pivot: triangle below `at`, standing on hatched ground."""
    half, tall = size * 0.85, size * 1.45
    foot_left, foot_right = at + QPointF(-half, tall), at + QPointF(half, tall)
    painter.setPen(ink)
    painter.setBrush(fill)
    painter.drawPolygon(QPolygonF([at, foot_left, foot_right]))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    over = QPointF(size * 0.35, 0)
    hatch_line(painter, foot_left - over, foot_right + over, size * 0.5)


@cache
def padlock() -> QPainterPath:
    """A closed padlock about the origin, 10 × 12 pixels."""
    path = QPainterPath()
    path.addRoundedRect(QRectF(-5, -1, 10, 8), 1.5, 1.5)
    bow = QPainterPath()
    bow.moveTo(-3, -1)
    bow.lineTo(-3, -3)
    bow.arcTo(QRectF(-3, -6.5, 6, 7), 180, -180)
    bow.lineTo(3, -1)
    path.addPath(bow)
    return path


def draw_padlock(painter: QPainter, at: QPointF, ink: QPen, fill: QColor) -> None:
    """A closed padlock at a pixel."""
    painter.save()
    painter.translate(at)
    painter.setPen(ink)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(padlock())
    painter.fillRect(QRectF(-4, 0, 8, 6), QBrush(fill))
    painter.restore()


def draw_arrow(painter: QPainter, start: QPointF, end: QPointF, pen: QPen,
               head: float = 9.0) -> None:
    """A straight arrow with a filled head at `end`."""
    line = QLineF(start, end)
    length = line.length()
    if length < 1e-6:
        return
    along = QPointF(line.dx() / length, line.dy() / length)
    side = QPointF(-along.y(), along.x())
    neck = end - along * min(head, length)
    painter.setPen(pen)
    painter.drawLine(start, neck)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(pen.color())
    half = side * (head * 0.42)
    painter.drawPolygon(QPolygonF([end, neck + half, neck - half]))


def draw_round_arrow(painter: QPainter, centre: QPointF, radius: float, from_deg: float,
                     span_deg: float, pen: QPen, head: float = 8.0) -> None:
    """A round arrow; angles counter-clockwise from the right, as seen on the screen."""
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    box = QRectF(centre.x() - radius, centre.y() - radius, 2 * radius, 2 * radius)
    painter.drawArc(box, round(from_deg * 16), round(span_deg * 16))
    end = math.radians(from_deg + span_deg)
    tip = centre + QPointF(math.cos(end), -math.sin(end)) * radius
    sense = 1.0 if span_deg > 0 else -1.0
    along = QPointF(-math.sin(end), -math.cos(end)) * sense
    side = QPointF(math.cos(end), -math.sin(end))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(pen.color())
    painter.drawPolygon(QPolygonF([tip + along * head, tip + side * (head * 0.45),
                                   tip - side * (head * 0.45)]))


def draw_grade(painter: QPainter, at: QPointF, grade: str, colour: QColor, ink: QColor) -> None:
    """The mark of a finding: shape and colour both tell its grade.

    A fault is an eight-sided stop shape, a warning a triangle, a note a circle.
    """
    painter.setPen(QPen(ink, 1.2))
    painter.setBrush(colour)
    if grade == "fault":
        corners = [at + QPointF(math.cos(a), math.sin(a)) * 8.5
                   for a in (math.pi / 8 + k * math.pi / 4 for k in range(8))]
        painter.drawPolygon(QPolygonF(corners))
    elif grade == "warning":
        painter.drawPolygon(QPolygonF([at + QPointF(0, -9), at + QPointF(9, 6.5),
                                       at + QPointF(-9, 6.5)]))
    else:
        painter.drawEllipse(at, 7.0, 7.0)
    painter.setPen(QPen(QColor("#ffffff") if grade == "fault" else QColor("#1b1712"), 2.0))
    if grade == "note":
        painter.drawLine(at + QPointF(0, 0), at + QPointF(0, 3.5))
        painter.drawPoint(at + QPointF(0, -3.2))
    else:
        painter.drawLine(at + QPointF(0, -4), at + QPointF(0, 1))
        painter.drawPoint(at + QPointF(0, 4))


def halo_text(painter: QPainter, at: QPointF, text: str, ink: QColor, paper: QColor) -> None:
    """Text on a patch of paper, so that it reads over lines."""
    metrics = painter.fontMetrics()
    box = QRectF(at.x() - 3, at.y() - metrics.ascent() - 1,
                 metrics.horizontalAdvance(text) + 6, metrics.height() + 2)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(paper)
    painter.drawRoundedRect(box, 3, 3)
    painter.setPen(ink)
    painter.drawText(at, text)
