"""The small turning picture of one mechanism: bars, pivots, its path, the path wished."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap, QPolygonF

from app.canvas.shapes import to_polygon
from app.panels.gallery.moving import Link, Moving
from app.theme import Theme

_EDGE_PX = 9.0
_BAR_PX = 6.0
_PIN_PX = 2.0


class Thumbnail:
    """Pictures of one motion in one size. What stands still is painted once and kept."""

    def __init__(self, motion: Moving, size: QSize) -> None:
        self.motion, self.size = motion, size
        box = motion.high - motion.low
        room = (size.width() - 2 * _EDGE_PX, size.height() - 2 * _EDGE_PX)
        self._scale = min(room[0] / box.real, room[1] / box.imag)
        self._middle = (motion.low + motion.high) / 2
        self._places = self._pixels(motion.places)
        self._still: tuple[object, QPixmap] = ((), QPixmap())

    def _pixels(self, places: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Places in mm (y up) as pixels (y down), x + iy."""
        at = (places - self._middle) * self._scale
        return at.conj() + complex(self.size.width(), self.size.height()) / 2

    def paint(self, painter: QPainter, corner: QPointF, crank_rad: float, theme: Theme) -> None:
        """The picture at a reading of the crank, its upper left corner there."""
        ratio = painter.device().devicePixelRatioF()
        if self._still[0] != (theme.name, ratio):
            self._still = ((theme.name, ratio), self._paint_still(theme, ratio))
        painter.save()
        painter.translate(corner)
        painter.drawPixmap(0, 0, self._still[1])
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        step = self.motion.step(crank_rad)
        places = self._places[step].tolist()
        for link in self.motion.links:
            self._paint_link(painter, link, [places[k] for k in link.at], theme)
        painter.setPen(QPen(theme.ink, 1))
        painter.setBrush(theme.brass)
        pins = {complex(round(places[k].real, 1), round(places[k].imag, 1))
                for link in self.motion.links for k in link.at}
        for pin in pins:
            painter.drawEllipse(_point(pin), _PIN_PX, _PIN_PX)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.path)
        for path in self.motion.paths:
            painter.drawEllipse(_point(complex(self._pixels(path[step]))), 3.0, 3.0)
        painter.restore()

    def _paint_link(self, painter: QPainter, link: Link, corners: list[complex],
                    theme: Theme) -> None:
        wood = theme.wood(link.layer)
        edge = QColor("#0d1012") if theme.dark else theme.ink
        if link.wheel_mm:
            radius = link.wheel_mm * self._scale
            painter.setPen(QPen(edge, 1))
            painter.setBrush(wood)
            painter.drawEllipse(_point(corners[0]), radius, radius)
        if len(corners) < 2:
            return
        shape = QPolygonF([_point(corner) for corner in corners])
        # A broad dark stroke under a lighter one: a bar with rounded ends and an outline.
        for colour, width in ((edge, _BAR_PX + 1.6), (wood, _BAR_PX)):
            painter.setPen(QPen(colour, width, Qt.PenStyle.SolidLine,
                                Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin))
            if len(corners) == 2:
                painter.drawLine(QLineF(shape[0], shape[1]))
            else:
                painter.setBrush(wood)
                painter.drawPolygon(shape)

    def _paint_still(self, theme: Theme, ratio: float) -> QPixmap:
        picture = QPixmap(self.size * ratio)
        picture.setDevicePixelRatio(ratio)
        picture.fill(theme.paper)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.faint, 1.2))
        for one, other in self.motion.tracks:
            ends = self._pixels(np.array([one, other]))
            painter.drawLine(QLineF(*map(_point, ends.tolist())))
        painter.setPen(QPen(theme.path, 1.3))
        for path in self.motion.paths:
            painter.drawPolyline(self._polyline(np.append(path, path[:1])))
        wish = QPen(theme.wish, 1.8)
        wish.setDashPattern([3.0, 2.0])
        painter.setPen(wish)
        for line in self.motion.wished:
            painter.drawPolyline(self._polyline(line))
        for place, turn in self.motion.flags:
            at = complex(self._pixels(np.array(place)))
            painter.drawEllipse(_point(at), 2.5, 2.5)
            painter.drawLine(QLineF(_point(at), _point(at + 12 * np.exp(-1j * turn))))
        painter.setPen(QPen(theme.ink, 1.2))
        for ground in np.unique(np.round(self._pixels(self.motion.grounds), 1)).tolist():
            _paint_ground(painter, _point(ground))
        painter.end()
        return picture

    def _polyline(self, places: NDArray[np.complex128]) -> QPolygonF:
        at = self._pixels(places)
        return to_polygon(np.stack([at.real, at.imag], axis=-1))


def _paint_ground(painter: QPainter, at: QPointF) -> None:
    """A fixed pivot: a triangle on a hatched line, as in ISO 3952."""
    painter.drawPolyline(QPolygonF([at + QPointF(-5, 8), at, at + QPointF(5, 8)]))
    painter.drawLine(QLineF(at + QPointF(-7, 8), at + QPointF(7, 8)))
    for x in (-5, -1, 3):
        painter.drawLine(QLineF(at + QPointF(x + 2, 8), at + QPointF(x - 1, 11)))


def blank(painter: QPainter, box: QRectF, text: str, theme: Theme) -> None:
    """A picture that is not there yet, or cannot be."""
    painter.fillRect(box, theme.paper)
    painter.setPen(theme.faint)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def _point(at: complex) -> QPointF:
    return QPointF(at.real, at.imag)
