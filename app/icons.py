"""Small pictures drawn in the theme's ink: tools, eye, lock, grades of findings."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from app.theme import Theme

#: Pictures are drawn on a square of this side, y down.
SIDE = 24.0


def _line(painter: QPainter, *xy: float) -> None:
    painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in zip(xy[::2], xy[1::2],
                                                                  strict=True)]))


def _ring(painter: QPainter, x: float, y: float, r: float, *, solid: bool = False) -> None:
    painter.save()
    if solid:
        painter.setBrush(painter.pen().color())
    painter.drawEllipse(QPointF(x, y), r, r)
    painter.restore()


def _bar(painter: QPainter, x: float, y: float, length: float, width: float,
         turn_deg: float) -> None:
    painter.save()
    painter.translate(x, y)
    painter.rotate(turn_deg)
    painter.drawRoundedRect(QRectF(-width / 2, -width / 2, length + width, width),
                            width / 2, width / 2)
    painter.restore()


def _arrange(p: QPainter) -> None:
    p.drawPolygon(QPolygonF([QPointF(6, 3), QPointF(6, 18), QPointF(9.8, 14.6),
                             QPointF(12.6, 20.6), QPointF(15, 19.4), QPointF(12.2, 13.6),
                             QPointF(17, 13.2)]))


def _hand(p: QPainter) -> None:
    p.drawArc(QRectF(4, 4, 16, 16), 30 * 16, 290 * 16)
    p.save()
    p.setBrush(p.pen().color())
    p.drawPolygon(QPolygonF([QPointF(19.8, 10.4), QPointF(22.4, 5.4), QPointF(16.8, 6.4)]))
    p.restore()
    _ring(p, 12, 12, 1.6, solid=True)
    _line(p, 12, 12, 16, 14.8)


def _part(p: QPainter) -> None:
    _bar(p, 6, 17, 15, 7, -40)
    _ring(p, 6, 17, 1.1, solid=True)
    _ring(p, 17.5, 7.4, 1.1, solid=True)


def _pin(p: QPainter) -> None:
    _ring(p, 12, 12, 7)
    _ring(p, 12, 12, 2.4, solid=True)


def _slide(p: QPainter) -> None:
    _line(p, 2, 8, 22, 8)
    _line(p, 2, 16, 22, 16)
    p.drawRect(QRectF(7.5, 8, 9, 8))
    _ring(p, 12, 12, 1.2, solid=True)


def _slot(p: QPainter) -> None:
    _bar(p, 6, 12, 12, 8, 0)
    _ring(p, 14.5, 12, 2.4, solid=True)


def _gear(p: QPainter, x: float, y: float, r: float, teeth: int) -> None:
    path = QPainterPath()
    for k in range(teeth * 4):
        a = 2 * math.pi * k / (teeth * 4)
        out = r + (1.1 if k % 4 in (0, 1) else -1.1)
        place = QPointF(x + out * math.cos(a), y + out * math.sin(a))
        path.lineTo(place) if k else path.moveTo(place)
    path.closeSubpath()
    p.drawPath(path)
    _ring(p, x, y, 1.0, solid=True)


def _mesh(p: QPainter) -> None:
    _gear(p, 8, 9.5, 5.4, 9)
    _gear(p, 17.4, 16, 3.6, 6)


def _belt(p: QPainter) -> None:
    _ring(p, 6.5, 12, 4.5)
    _ring(p, 18.5, 12, 2.6)
    _line(p, 7, 7.5, 18.8, 9.4)
    _line(p, 7, 16.5, 18.8, 14.6)


def _lock(p: QPainter) -> None:
    p.drawRoundedRect(QRectF(5, 11, 14, 9), 1.5, 1.5)
    p.drawArc(QRectF(8, 4, 8, 12), 0, 180 * 16)
    _line(p, 8, 10, 8, 11)
    _line(p, 16, 10, 16, 11)


def _open_lock(p: QPainter) -> None:
    p.drawRoundedRect(QRectF(5, 11, 14, 9), 1.5, 1.5)
    p.drawArc(QRectF(8, 3, 8, 12), 40 * 16, 140 * 16)
    _line(p, 8, 9, 8, 11)


def _spring(p: QPainter) -> None:
    _line(p, 2, 12, 5, 12, 6.5, 7, 9.5, 17, 12.5, 7, 15.5, 17, 17.5, 12, 22, 12)


def _load(p: QPainter) -> None:
    _line(p, 12, 3, 12, 20)
    _line(p, 7, 14.5, 12, 20.5, 17, 14.5)


def _crank(p: QPainter) -> None:
    _bar(p, 7, 17, 11, 6, -45)
    _ring(p, 7, 17, 1.2, solid=True)
    _line(p, 15, 9.2, 15, 3)
    _line(p, 12, 3, 18, 3)


def _trace(p: QPainter) -> None:
    path = QPainterPath(QPointF(3, 14))
    path.cubicTo(QPointF(5, 2), QPointF(14, 3), QPointF(20, 9))
    path.cubicTo(QPointF(24, 15), QPointF(8, 22), QPointF(3, 14))
    p.drawPath(path)
    for x, y in ((3, 14), (9, 5.9), (19.9, 9), (12, 18)):
        _ring(p, x, y, 1.3, solid=True)


def _wish(p: QPainter) -> None:
    pen = p.pen()
    dashed = QPen(pen)
    dashed.setDashPattern([2.2, 2.4])
    p.setPen(dashed)
    path = QPainterPath(QPointF(8, 19.5))
    path.cubicTo(QPointF(-1, 15), QPointF(3, 4), QPointF(11, 6.5))
    path.cubicTo(QPointF(16, 8), QPointF(17, 14), QPointF(21, 10))
    p.drawPath(path)
    p.setPen(pen)
    p.save()
    p.setBrush(pen.color())
    p.drawPolygon(QPolygonF([QPointF(22.4, 5.2), QPointF(22, 12.2), QPointF(16.6, 8.4)]))
    p.restore()


def _region(p: QPainter) -> None:
    p.drawPolygon(QPolygonF([QPointF(4, 7), QPointF(16, 3), QPointF(21, 14), QPointF(9, 20.5)]))
    for x, y in ((7.2, 12), (10.4, 14.4), (13.4, 16.6)):
        _line(p, x, y, x + 5, y - 6.4)


def _scale(p: QPainter) -> None:
    _line(p, 3, 15, 21, 15)
    _line(p, 3, 11, 3, 19)
    _line(p, 21, 11, 21, 19)
    for x in (7.5, 12, 16.5):
        _line(p, x, 12.5, x, 15)


def _eye(p: QPainter) -> None:
    path = QPainterPath(QPointF(2.5, 12))
    path.quadTo(QPointF(12, 1.5), QPointF(21.5, 12))
    path.quadTo(QPointF(12, 22.5), QPointF(2.5, 12))
    p.drawPath(path)
    _ring(p, 12, 12, 2.6, solid=True)


def _shut_eye(p: QPainter) -> None:
    path = QPainterPath(QPointF(2.5, 11))
    path.quadTo(QPointF(12, 20), QPointF(21.5, 11))
    p.drawPath(path)
    _line(p, 6, 15, 4.5, 17.5)
    _line(p, 12, 15.6, 12, 18.6)
    _line(p, 18, 15, 19.5, 17.5)


def _ground(p: QPainter) -> None:
    _line(p, 4, 12, 20, 12)
    for x in (7, 11.5, 16):
        _line(p, x + 2, 12, x - 1.5, 17)
    _ring(p, 12, 8.8, 2.6)


GLYPHS: dict[str, Callable[[QPainter], None]] = {
    "arrange": _arrange, "hand": _hand, "part": _part, "pin": _pin, "slide": _slide,
    "slot": _slot, "mesh": _mesh, "belt": _belt, "lock": _lock, "unlock": _open_lock,
    "spring": _spring, "load": _load, "crank": _crank, "trace": _trace, "scale": _scale,
    "wish": _wish, "region": _region,
    "eye": _eye, "shut": _shut_eye, "ground": _ground,
}


def _draw(name: str, colour: QColor, size: int, ratio: int) -> QPixmap:
    picture = QPixmap(size * ratio, size * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(size / SIDE, size / SIDE)
    painter.setPen(QPen(colour, 1.7, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap,
                        Qt.PenJoinStyle.RoundJoin))
    GLYPHS[name](painter)
    painter.end()
    return picture


def icon(name: str, theme: Theme, size: int = 24) -> QIcon:
    """The picture as an icon: ink; the accent's text colour when switched on."""
    made = QIcon()
    for ratio in (1, 2, 3):
        made.addPixmap(_draw(name, theme.ink, size, ratio))
        made.addPixmap(_draw(name, QColor(theme.accent_text_hex), size, ratio),
                       QIcon.Mode.Normal, QIcon.State.On)
    return made


def glyph(name: str, colour: QColor, size: int = 16, ratio: int = 2) -> QPixmap:
    """The picture in one colour."""
    return _draw(name, colour, size, ratio)


def swatch(colour: QColor, edge: QColor, size: int = 14, ratio: int = 2) -> QPixmap:
    """A chip of wood of a colour."""
    picture = QPixmap(size * ratio, size * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(edge, 1))
    painter.setBrush(colour)
    painter.drawRoundedRect(QRectF(0.5, 2.5, size - 1, size - 5), 2.5, 2.5)
    painter.end()
    return picture


def paint_grade(painter: QPainter, grade: str, box: QRectF, theme: Theme) -> None:
    """Mark of a finding: its shape says the grade as well as its colour.

    A fault is an eight-sided plate with a bar, a warning a triangle, a note a ring.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    colour, mid, r = theme.grade(grade), box.center(), box.width() / 2
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    sides = {"fault": 8, "warning": 3}.get(grade, 0)
    if sides:
        start = math.pi / 8 if sides == 8 else -math.pi / 2
        painter.drawPolygon(QPolygonF([
            QPointF(mid.x() + r * math.cos(start + 2 * math.pi * k / sides),
                    mid.y() + (1.5 if sides == 3 else 0)
                    + r * math.sin(start + 2 * math.pi * k / sides)) for k in range(sides)]))
        painter.setBrush(QColor("#ffffff") if grade == "fault" else QColor("#1b1b1b"))
        painter.drawRect(QRectF(mid.x() - r / 8, mid.y() - r / 2.2, r / 4, r * 0.62))
        painter.drawEllipse(QPointF(mid.x(), mid.y() + r / 2.1), r / 6, r / 6)
    else:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour, r / 3.5))
        painter.drawEllipse(mid, r * 0.8, r * 0.8)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        painter.drawEllipse(mid, r / 4, r / 4)
    painter.restore()


def paint_met(painter: QPainter, met: bool, box: QRectF, theme: Theme) -> None:
    """Whether a wish is met: a tick on a disc, or the triangle of a warning."""
    if not met:
        paint_grade(painter, "warning", box, theme)
        return
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.good)
    painter.drawEllipse(box)
    painter.setPen(QPen(theme.field, box.width() / 8, Qt.PenStyle.SolidLine,
                        Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin))
    at, side = box.topLeft(), box.width()
    painter.drawPolyline(QPolygonF([at + QPointF(x * side, y * side) for x, y in
                                    ((0.27, 0.52), (0.44, 0.69), (0.74, 0.34))]))
    painter.restore()
