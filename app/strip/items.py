"""What the lanes are drawn with besides pyqtgraph's own curves."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

Floats = NDArray[np.float64]


def runs(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and one-past-last index of every run of True."""
    edges = np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8))
    return list(zip(np.flatnonzero(edges == 1).tolist(),
                    np.flatnonzero(edges == -1).tolist(), strict=True))


def nice_range(low: float, high: float) -> tuple[float, float]:
    """The range widened to round numbers, so that it rests while data move a little."""
    if not (math.isfinite(low) and math.isfinite(high)):
        return 0.0, 1.0
    span = max(high - low, 1e-9, 1e-6 * max(abs(low), abs(high)))
    step = 10 ** math.floor(math.log10(span))
    step = next(step * k for k in (0.25, 0.5, 1.0, 2.0, 2.5) if span / (step * k) <= 8)
    return (math.floor((low - 0.04 * span) / step) * step,
            math.ceil((high + 0.04 * span) / step) * step)


class Band(pg.GraphicsObject):
    """The area between two curves; gaps where either is NaN."""

    def __init__(self) -> None:
        super().__init__()
        self._pieces: list[QPolygonF] = []
        self._bounds = QRectF()
        self._brush = QBrush(Qt.BrushStyle.NoBrush)
        self.setZValue(-5)

    def set_colour(self, colour: QColor) -> None:
        """Fill colour (with alpha)."""
        self._brush = QBrush(colour)
        self.update()

    def set_data(self, x: Floats, low: Floats, high: Floats) -> None:
        """Arrays of one length; x increasing."""
        self.prepareGeometryChange()
        fine = np.isfinite(low) & np.isfinite(high)
        self._pieces = []
        for start, stop in runs(fine):
            across = np.concatenate([x[start:stop], x[start:stop][::-1]])
            up = np.concatenate([low[start:stop], high[start:stop][::-1]])
            self._pieces.append(pg.functions.arrayToQPolygonF(across, up))
        self._bounds = QRectF()
        if fine.any():
            bottom, top = float(np.min(low[fine])), float(np.max(high[fine]))
            self._bounds = QRectF(float(x[0]), bottom, float(x[-1] - x[0]), top - bottom)
        self.update()

    def boundingRect(self) -> QRectF:
        return self._bounds

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem,
              widget: QWidget | None = None) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._brush)
        for piece in self._pieces:
            painter.drawPolygon(piece)


class Zones(pg.GraphicsObject):
    """Stretches of the turn shaded and hatched over the whole height of a lane."""

    def __init__(self, pattern: Qt.BrushStyle) -> None:
        super().__init__()
        self._pattern = pattern
        self._spans: tuple[tuple[float, float], ...] = ()
        self._colour = QColor(0, 0, 0, 0)
        self.setZValue(-10)

    def set_colour(self, colour: QColor) -> None:
        """Colour of shade and hatch."""
        self._colour = colour
        self.update()

    def set_spans(self, spans: Sequence[tuple[float, float]]) -> None:
        """Pairs (from, to) on the x axis."""
        self.prepareGeometryChange()
        self._spans = tuple(spans)
        self.update()

    @property
    def spans(self) -> tuple[tuple[float, float], ...]:
        """The pairs shown."""
        return self._spans

    def viewRangeChanged(self) -> None:
        self.prepareGeometryChange()

    def boundingRect(self) -> QRectF:
        box = self.getViewBox()
        return box.viewRect() if box is not None else QRectF()

    def dataBounds(self, ax: int, frac: float = 1.0,
                   orthoRange: Sequence[float] | None = None) -> tuple[None, None]:
        return None, None

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem,
              widget: QWidget | None = None) -> None:
        if not self._spans:
            return
        view = self.boundingRect()
        # The hatch is drawn in pixels: a pattern brush in data units would be smeared.
        to_pixels = painter.worldTransform()
        areas = [to_pixels.mapRect(QRectF(low, view.top(), high - low, view.height()))
                 for low, high in self._spans]
        shade, hatch = QColor(self._colour), QColor(self._colour)
        shade.setAlpha(38)
        hatch.setAlpha(150)
        painter.save()
        painter.resetTransform()
        painter.setPen(Qt.PenStyle.NoPen)
        for area in areas:
            painter.fillRect(area, shade)
            painter.fillRect(area, QBrush(hatch, self._pattern))
        painter.restore()


def hairline(colour: QColor, width: float = 1.0,
             style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """A pen as wide on the screen whatever the zoom."""
    pen = QPen(colour, width, style)
    pen.setCosmetic(True)
    return pen
