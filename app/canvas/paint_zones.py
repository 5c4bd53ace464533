"""Regions a fit keeps points in or out of: where they may not be is hatched."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPainterPathStroker, QPolygonF

from app.canvas.frame import Frame, with_alpha
from app.canvas.symbols import halo_text
from app.canvas.wish_lines import dashed, screened
from core.model import Zone

CORNER_PX = 4.0
_HATCH_PX = 9.0
_STRIP_PX = 22.0
_TARGET_PX = 8.0


def zone_words(zone: Zone) -> str:
    """What a region asks, short."""
    whom = "pivots" if not zone.points else (
        zone.points[0] if len(zone.points) == 1 else f"{len(zone.points)} points")
    if len(zone.corners) == 1:
        return f"{whom} here"
    if len(zone.corners) == 2:
        return f"{whom} on this line"
    return f"keep {whom} {zone.keep}"


def _pixels(frame: Frame, zone: Zone) -> list[QPointF]:
    return [frame.camera.to_screen(complex(x, y)) for x, y in zone.corners]


def paint_zone_ground(painter: QPainter, frame: Frame, zone: Zone) -> None:
    """The hatching: within a region to keep out of, along the outside of one to keep in."""
    if len(zone.corners) < 3:
        return
    inside = QPainterPath()
    inside.addPolygon(QPolygonF(_pixels(frame, zone)))
    inside.closeSubpath()
    if zone.keep == "out":
        where = inside
    else:
        stroker = QPainterPathStroker()
        stroker.setWidth(_STRIP_PX)
        stroker.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        where = stroker.createStroke(inside).subtracted(inside)
    view = QRectF(0, 0, frame.camera.width, frame.camera.height)
    box = where.boundingRect().intersected(view)
    if box.isEmpty():
        return
    painter.save()
    painter.setClipPath(where)
    painter.fillRect(box, with_alpha(frame.theme.wish, 0.05))
    painter.setPen(frame.pen(with_alpha(frame.theme.wish, 0.45), 1.0))
    tall = box.height()
    first = int((box.left() - tall) // _HATCH_PX)
    last = int(box.right() // _HATCH_PX) + 1
    # Strokes at whole multiples, so that hatchings side by side run on.
    painter.drawLines([QLineF(x * _HATCH_PX - box.top() % _HATCH_PX, box.bottom(),
                              x * _HATCH_PX - box.top() % _HATCH_PX + tall, box.top())
                       for x in range(first, last + 1)])
    painter.restore()


def paint_zone(painter: QPainter, frame: Frame, zone: Zone) -> None:
    """Edge, corners when selected, and what it asks."""
    lit = frame.is_lit("zone", zone.id)
    strong = lit or frame.is_hovered("zone", zone.id)
    pixels = _pixels(frame, zone)
    painter.setPen(frame.pen(frame.theme.wish, 2.2 if strong else 1.3))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if len(pixels) == 1:
        _paint_target(painter, pixels[0])
    else:
        painter.drawLines(frame.shapes.lines.kept(
            frame.camera, lambda: _edge(frame, zone), zone))
    if len(pixels) == 2:
        _paint_bars(painter, pixels)
    if lit:
        painter.setBrush(frame.theme.paper)
        for at in pixels:
            painter.drawRect(QRectF(at.x() - CORNER_PX, at.y() - CORNER_PX,
                                    2 * CORNER_PX, 2 * CORNER_PX))
    if strong or frame.look.shows("labels"):
        _paint_words(painter, frame, zone, pixels)


def _paint_target(painter: QPainter, at: QPointF) -> None:
    painter.drawEllipse(at, _TARGET_PX, _TARGET_PX)
    far = _TARGET_PX * 1.6
    painter.drawLines([QLineF(at - QPointF(far, 0), at + QPointF(far, 0)),
                       QLineF(at - QPointF(0, far), at + QPointF(0, far))])


def _edge(frame: Frame, zone: Zone) -> list[QLineF]:
    """Long dashes round a region, or along a line."""
    back = zone.corners[:1] if len(zone.corners) > 2 else ()
    run = np.array([complex(x, y) for x, y in (*zone.corners, *back)])
    return dashed(screened(run, frame.camera), 12.0, 3.5)


def _paint_bars(painter: QPainter, ends: list[QPointF]) -> None:
    """Bars across the ends of a line."""
    line = QLineF(*ends)
    if line.length() > 1.0:
        side = QPointF(-line.dy(), line.dx()) * (_TARGET_PX / line.length())
        painter.drawLines([QLineF(at - side, at + side) for at in ends])


def _paint_words(painter: QPainter, frame: Frame, zone: Zone, pixels: list[QPointF]) -> None:
    painter.setFont(frame.face(8.0))
    text = zone_words(zone)
    wide = painter.fontMetrics().horizontalAdvance(text) / 2
    top = min(pixels, key=lambda at: (at.y(), at.x()))
    spot = frame.labels.place(painter, text, [
        top + QPointF(wide + 12, -13), top + QPointF(-wide - 12, -13),
        top + QPointF(wide + 12, 14), top + QPointF(-wide - 12, 14)])
    halo_text(painter, spot, text, frame.theme.wish, with_alpha(frame.theme.paper, 0.85))
