"""The small turning picture of one mechanism: bars, pivots, its path, the path wished."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPen,
    QPolygonF,
    QTransform,
)

from app.canvas.frame import with_alpha
from app.canvas.shapes import to_polygon
from app.panels.gallery.moving import Link, Moving
from app.theme import Theme, font

_EDGE_PX = 9.0
_BAR_PX = 6.0
_PIN_PX = 2.0
_NUMBER_PX = 6.5


class Thumbnail:
    """Pictures of one motion in one size: `paint_still`, and over it `paint` for each frame."""

    def __init__(self, motion: Moving, size: QSize) -> None:
        self.motion, self.size = motion, size
        box = motion.high - motion.low
        room = (size.width() - 2 * _EDGE_PX, size.height() - 2 * _EDGE_PX)
        self._scale = min(room[0] / box.real, room[1] / box.imag)
        self._middle = (motion.low + motion.high) / 2
        self._places = self._pixels(motion.places)
        self._shapes = tuple(_shape(link, self._places[0]) for link in motion.links)
        self._paths = tuple(self._pixels(path) for path in motion.paths)

    def _pixels(self, places: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Places in mm (y up) as pixels (y down), x + iy."""
        at = (places - self._middle) * self._scale
        return at.conj() + complex(self.size.width(), self.size.height()) / 2

    def paint(self, painter: QPainter, corner: QPointF, crank_rad: float, theme: Theme) -> None:
        """What moves, at a reading of the crank, the upper left corner of the picture
        there."""
        painter.save()
        painter.translate(corner)
        step = self.motion.step(crank_rad)
        places = self._places[step].tolist()
        edge = QPen(QColor("#0d1012") if theme.dark else theme.ink, 1)
        edge.setCosmetic(True)
        asked = QPen(theme.wish, 2.2)
        asked.setCosmetic(True)
        standing = painter.transform()
        for link, shape in zip(self.motion.links, self._shapes, strict=True):
            corners = [places[k] for k in link.at]
            wood = theme.wood(link.layer)
            if link.wheel_mm:
                radius = link.wheel_mm * self._scale
                painter.setPen(QPen(theme.faint, 1))
                painter.setBrush(with_alpha(wood, 0.45))
                painter.drawEllipse(_point(corners[0]), radius, radius)
            if shape is not None:
                painter.setPen(asked if link.asked else edge)
                painter.setBrush(wood)
                painter.setTransform(shape.placed(corners) * standing)
                painter.drawPath(shape.path)
                painter.setTransform(standing)
        painter.setPen(QPen(theme.ink, 1))
        painter.setBrush(theme.brass)
        pins = {complex(round(places[k].real, 1), round(places[k].imag, 1))
                for link in self.motion.links for k in link.at}
        for pin in pins:
            painter.drawEllipse(_point(pin), _PIN_PX, _PIN_PX)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.path)
        for path in self._paths:
            painter.drawEllipse(_point(complex(path[step])), 3.0, 3.0)
        if sum(link.asked > 0 for link in self.motion.links) > 1:
            self._paint_numbers(painter, places, theme)
        painter.restore()

    def _paint_numbers(self, painter: QPainter, places: list[complex], theme: Theme) -> None:
        """Which of the wishes each part meets, in the order of their list."""
        painter.setFont(font(8.0, bold=True))
        for link in self.motion.links:
            if link.asked:
                corners = [places[k] for k in link.at]
                middle = _point(sum(corners) / len(corners))
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(theme.wish)
                painter.drawEllipse(middle, _NUMBER_PX, _NUMBER_PX)
                painter.setPen(theme.paper)
                painter.drawText(QRectF(middle.x() - _NUMBER_PX, middle.y() - _NUMBER_PX,
                                        2 * _NUMBER_PX, 2 * _NUMBER_PX),
                                 Qt.AlignmentFlag.AlignCenter, str(link.asked))

    def paint_still(self, painter: QPainter, corner: QPointF, theme: Theme) -> None:
        """What stands still: slides, paths, what is wished, fixed pivots."""
        painter.save()
        painter.translate(corner)
        wish = QPen(theme.wish, 2.6)
        wish.setDashPattern([2.4, 1.6])
        painter.setPen(wish)
        for line in self.motion.wished:
            painter.drawPolyline(self._polyline(line))
        for place, turn in self.motion.flags:
            at = complex(self._pixels(np.array(place)))
            painter.drawEllipse(_point(at), 2.5, 2.5)
            painter.drawLine(QLineF(_point(at), _point(at + 12 * np.exp(-1j * turn))))
        painter.setPen(QPen(theme.faint, 1.2))
        for one, other in self.motion.tracks:
            ends = self._pixels(np.array([one, other]))
            painter.drawLine(QLineF(*map(_point, ends.tolist())))
        painter.setPen(QPen(theme.path, 1.2))
        for path in self.motion.paths:
            painter.drawPolyline(self._polyline(np.append(path, path[:1])))
        painter.setPen(QPen(theme.ink, 1.2))
        for ground in np.unique(np.round(self._pixels(self.motion.grounds), 1)).tolist():
            _paint_ground(painter, _point(ground))
        painter.restore()

    def _polyline(self, places: NDArray[np.complex128]) -> QPolygonF:
        at = self._pixels(places)
        return to_polygon(np.stack([at.real, at.imag], axis=-1))


class _Shape:
    """A link's outline in pixels, made once, and how to lay it on its corners."""

    def __init__(self, corners: list[complex]) -> None:
        outline = QPainterPath()
        outline.addPolygon(QPolygonF([_point(corner) for corner in (*corners, corners[0])]))
        stroker = QPainterPathStroker()
        stroker.setWidth(_BAR_PX)
        stroker.setCapStyle(Qt.PenCapStyle.RoundCap)
        stroker.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        self.path = stroker.createStroke(outline).united(outline).simplified()
        # The corner farthest from the first tells the direction best.
        self._far = max(range(len(corners)), key=lambda k: abs(corners[k] - corners[0]))
        self._from, self._span = corners[0], corners[self._far] - corners[0]

    def placed(self, corners: list[complex]) -> QTransform:
        """The move that takes the outline to these corners."""
        turn = (corners[self._far] - corners[0]) / self._span
        shift = corners[0] - turn * self._from
        return QTransform(turn.real, turn.imag, -turn.imag, turn.real, shift.real, shift.imag)


def _shape(link: Link, places: NDArray[np.complex128]) -> _Shape | None:
    """The outline of a link with two corners or more apart from each other."""
    corners = [complex(places[k]) for k in link.at]
    return _Shape(corners) if max(abs(c - corners[0]) for c in corners) > 1e-6 else None


def _paint_ground(painter: QPainter, at: QPointF) -> None:
    """A fixed pivot: a triangle on a hatched line, as in ISO 3952."""
    painter.drawPolyline(QPolygonF([at + QPointF(-5, 8), at, at + QPointF(5, 8)]))
    painter.drawLine(QLineF(at + QPointF(-7, 8), at + QPointF(7, 8)))
    for x in (-5, -1, 3):
        painter.drawLine(QLineF(at + QPointF(x + 2, 8), at + QPointF(x - 1, 11)))


def _point(at: complex) -> QPointF:
    return QPointF(at.real, at.imag)
