"""Lanes of what the hand must give: both ways of cranking, and what the torque is made of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.strip.items import Band, hairline, runs
from app.strip.lane import Lane, Remark
from app.theme import Theme

Floats = NDArray[np.float64]
#: What the torque is made of, in the order it is stacked: name, word, colour (Okabe–Ito; on
#: paper, on slate) and hatch, so that it is told apart without its colour.
CAUSES: tuple[tuple[str, str, str, str, Qt.BrushStyle], ...] = (
    ("gravity", "weight", "#0072b2", "#56b4e9", Qt.BrushStyle.BDiagPattern),
    ("springs", "springs", "#009e73", "#2fc79a", Qt.BrushStyle.DiagCrossPattern),
    ("loads", "loads", "#b0578a", "#e29cc4", Qt.BrushStyle.HorPattern),
    ("inertia", "inertia", "#b34700", "#f08a45", Qt.BrushStyle.VerPattern),
    ("friction", "friction", "#8a6a00", "#e6b93c", Qt.BrushStyle.Dense5Pattern),
    ("more friction", "at most", "#8a6a00", "#e6b93c", Qt.BrushStyle.Dense7Pattern),
)
SWATCH_PX = 11.0


class Stack(pg.GraphicsObject):
    """Areas on top of each other, positive ones upwards from zero and negative ones
    downwards, each with its colour and hatch; gaps where anything is NaN."""

    def __init__(self) -> None:
        super().__init__()
        self._areas: list[tuple[str, list[QPolygonF]]] = []
        self._brushes: dict[str, tuple[QColor, QBrush]] = {}
        self._bounds = QRectF()
        self.setZValue(-5)

    def set_theme(self, theme: Theme) -> None:
        """Take on the colours of a theme."""
        self._brushes = {name: brushes(theme, light, dark, hatch)
                         for name, _, light, dark, hatch in CAUSES}
        self.update()

    def set_data(self, x: Floats, parts: Sequence[tuple[str, Floats]]) -> tuple[float, float]:
        """The parts (N,) by name, in the order they are stacked; the least and the greatest
        height of the stack."""
        self.prepareGeometryChange()
        self._areas, self._bounds = [], QRectF()
        up, down = np.zeros_like(x), np.zeros_like(x)
        for name, values in parts:
            pieces = []
            for base, share in ((up, np.fmax(values, 0.0)), (down, np.fmin(values, 0.0))):
                top = base + np.where(np.isfinite(values), share, np.nan)
                drawn = np.isfinite(top) & (np.abs(top - base) > 0.0)
                for start, stop in runs(_widened(drawn) & np.isfinite(top)):
                    across = np.concatenate([x[start:stop], x[start:stop][::-1]])
                    along = np.concatenate([base[start:stop], top[start:stop][::-1]])
                    pieces.append(pg.functions.arrayToQPolygonF(across, along))
                base += np.nan_to_num(share) * np.isfinite(values)
            self._areas.append((name, pieces))
        low, high = (float(down.min()), float(up.max())) if x.size else (0.0, 0.0)
        if x.size:
            self._bounds = QRectF(float(x[0]), low, float(x[-1] - x[0]), high - low)
        self.update()
        return low, high

    def boundingRect(self) -> QRectF:
        return self._bounds

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem,
              widget: QWidget | None = None) -> None:
        # Drawn in pixels: a hatch in data units would be smeared.
        to_pixels = painter.worldTransform()
        painter.save()
        painter.resetTransform()
        painter.setPen(Qt.PenStyle.NoPen)
        for name, pieces in self._areas:
            shade, hatch = self._brushes[name]
            for piece in pieces:
                mapped = to_pixels.map(piece)
                for brush in (QBrush(shade), hatch):
                    painter.setBrush(brush)
                    painter.drawPolygon(mapped)
        painter.restore()


def _widened(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """With the steps beside each run, so that an area begins where its height is none."""
    wide = mask.copy()
    wide[1:] |= mask[:-1]
    wide[:-1] |= mask[1:]
    return wide


def brushes(theme: Theme, light: str, dark: str, hatch: Qt.BrushStyle) -> tuple[QColor, QBrush]:
    """Shade and hatch of one cause."""
    colour = QColor(dark if theme.dark else light)
    shade = QColor(colour)
    shade.setAlpha(70)
    return shade, QBrush(colour, hatch)


class Legend(Remark):
    """The causes shown, each a swatch with its hatch and its word."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme: Theme | None = None
        self._shown: tuple[str, ...] = ()

    def set_theme(self, theme: Theme) -> None:
        """Take on the colours of a theme."""
        self._theme = theme
        self.update()

    def set_shown(self, names: Sequence[str]) -> None:
        """Which causes are there."""
        if self._shown != tuple(names):
            self._shown = tuple(names)
            self.update()

    @property
    def words(self) -> tuple[str, ...]:
        """The words on the screen."""
        return tuple(word for name, word, *_ in CAUSES if name in self._shown)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._theme is None or self.text():
            super().paintEvent(event)
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(self.palette().color(self.foregroundRole()))
        size = self.fontMetrics()
        x, y = 0.0, 0.0
        for name, word, light, dark, hatch in CAUSES:
            if name not in self._shown:
                continue
            wide = SWATCH_PX + 4 + size.horizontalAdvance(word) + 9
            if x + wide > self.width() + 9 and x > 0:
                x, y = 0.0, y + size.height()
            box = QRectF(x, y + (size.height() - SWATCH_PX) / 2, SWATCH_PX, SWATCH_PX)
            for brush in brushes(self._theme, light, dark, hatch):
                painter.fillRect(box, brush)
            painter.setPen(hairline(self._theme.rule))
            painter.drawRect(box)
            painter.setPen(self.palette().color(self.foregroundRole()))
            painter.drawText(QPointF(x + SWATCH_PX + 4, y + size.ascent()), word)
            x += wide
        painter.end()


class CausesLane(Lane):
    """The torque as what it is made of, stacked."""

    REMARK = Legend

    def __init__(self, title: str, tip: str, parent: QWidget | None = None) -> None:
        super().__init__(title, tip, parent)
        self._tip = tip
        self.stack = Stack()
        self.plot.box.addItem(self.stack, ignoreBounds=True)

    @property
    def legend(self) -> Legend:
        """What the hatches mean."""
        assert isinstance(self.more, Legend)
        return self.more

    def say_also(self, words: str) -> None:
        """A sentence more in the tip."""
        self.setToolTip(f"{self._tip} {words}".rstrip())

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        self.stack.set_theme(theme)
        self.legend.set_theme(theme)

    def clear(self, reason: str = "") -> None:
        super().clear(reason)
        self.stack.set_data(np.empty(0), ())
        self.legend.set_shown(())


class BothWaysLane(Lane):
    """A lane with a second, dashed curve and its band: cranked backwards."""

    def __init__(self, title: str, tip: str, parent: QWidget | None = None) -> None:
        super().__init__(title, tip, parent)
        self.both_ways = False
        self.back_band = Band()
        self.back = pg.PlotCurveItem(connect="finite", antialias=True)
        for item in (self.back_band, self.back):
            self.plot.box.addItem(item, ignoreBounds=True)

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        self.back.setPen(hairline(theme.path, 1.0, Qt.PenStyle.DashLine))
        shade = QColor(theme.path)
        shade.setAlpha(45)
        self.back_band.set_colour(shade)

    def set_back(self, x: Floats, low: Floats, high: Floats) -> None:
        """The band backwards, its upper edge as the dashed curve; empty for none."""
        self.back_band.set_data(x, np.fmin(low, high), np.fmax(low, high))
        self.back.setData(x, high)

    def clear(self, reason: str = "") -> None:
        super().clear(reason)
        nothing = np.empty(0)
        self.set_back(nothing, nothing, nothing)
