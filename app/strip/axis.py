"""The crank-angle axis under the lanes."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt, Signal, Slot
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QWidget

from app import theme as themes
from app.strip.items import hairline
from app.strip.lane import AXIS_PX, HEAD_PX
from app.theme import Theme

#: Half the height of the diamond of a wish.
WANTED_PX = 4.0
STEPS_DEG = (5, 10, 15, 30, 45, 90, 180, 360, 720, 1080, 1800, 3600)


class CrankAxis(QWidget):
    """Degrees along the turn; a wedge marks the crank, bars mark where it locks, hollow
    diamonds and bars what is wanted there."""

    scrubbed = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedHeight(26)
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self._theme = themes.LIGHT
        self._span = (0.0, 360.0)
        self._limits: tuple[tuple[float, int], ...] = ()
        self._wanted: tuple[tuple[float, float], ...] = ()
        self._deg = 0.0
        self._inset = 0

    @Slot(int)
    def set_inset(self, pixels: int) -> None:
        """How much narrower the lanes are on the right, for a scroll bar."""
        self._inset = pixels
        self.update()

    def set_theme(self, theme: Theme) -> None:
        """Take on the colours of a theme."""
        self._theme = theme
        self.update()

    def set_span(self, low_deg: float, high_deg: float) -> None:
        """The crank angles the axis reaches over."""
        self._span = (low_deg, high_deg)
        self.update()

    def set_limits(self, limits: Sequence[tuple[float, int]]) -> None:
        """Angles the crank cannot pass and the way it cannot (+1 or −1)."""
        self._limits = tuple(limits)
        self.update()

    def set_wanted(self, spans: Sequence[tuple[float, float]]) -> None:
        """Crank angles, and stretches from one to another, at which something is wanted."""
        if self._wanted != tuple(spans):
            self._wanted = tuple(spans)
            self.update()

    def set_crank(self, deg: float) -> None:
        """Move the wedge."""
        self._deg = deg
        self.update()

    def _ends(self) -> tuple[int, int]:
        """Pixels of the first and the last angle."""
        return HEAD_PX + AXIS_PX, self.width() - 1 - self._inset

    def _x(self, deg: float) -> float:
        left, right = self._ends()
        low, high = self._span
        return left + (right - left) * (deg - low) / max(high - low, 1e-9)

    def _deg_at(self, x: float) -> float:
        left, right = self._ends()
        low, high = self._span
        return low + (high - low) * (x - left) / max(right - left, 1)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(themes.font(8))
        low, high = self._span
        right = self._ends()[1]
        room = max((right + 1 - HEAD_PX - AXIS_PX) / 52, 1)
        step = next((s for s in STEPS_DEG if (high - low) / s <= room), STEPS_DEG[-1])
        tick = step * -(-low // step)
        while tick <= high + 1e-6:
            x = self._x(tick)
            painter.setPen(hairline(self._theme.rule))
            painter.drawLine(QPointF(x, 0), QPointF(x, 5))
            painter.setPen(self._theme.faint)
            box = QRectF(min(x - 30, right - 59), 7, 60, 16)
            side = Qt.AlignmentFlag.AlignRight if x > right - 29 else \
                Qt.AlignmentFlag.AlignHCenter
            painter.drawText(box, side, f"{tick:g}°".replace("-", "−"))
            tick += step
        self._paint_wanted(painter)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._theme.fault)
        for deg, side_ in self._limits:
            x = self._x(deg)
            painter.drawPolygon(QPolygonF([QPointF(x, 0), QPointF(x, 12),
                                           QPointF(x - 6 * side_, 6)]))
            painter.drawRect(QRectF(x - 1, 0, 2, 12))
        x = self._x(self._deg)
        painter.setBrush(self._theme.accent)
        painter.drawPolygon(QPolygonF([QPointF(x, 0), QPointF(x - 5, 8), QPointF(x + 5, 8)]))
        painter.setPen(self._theme.faint)
        painter.drawText(QRectF(10, 3, HEAD_PX, 18), Qt.AlignmentFlag.AlignLeft, "crank angle")
        painter.end()

    def _paint_wanted(self, painter: QPainter) -> None:
        painter.setPen(hairline(self._theme.wish, 1.4))
        painter.setBrush(self._theme.panel)
        for start, end in self._wanted:
            a, b, r = self._x(start), self._x(end), WANTED_PX
            if b - a < 1.0:
                painter.drawPolygon(QPolygonF([QPointF(a, 0), QPointF(a + r, r),
                                               QPointF(a, 2 * r), QPointF(a - r, r)]))
            else:
                painter.drawRect(QRectF(a, 1, b - a, 5))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.scrubbed.emit(self._deg_at(event.position().x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons() & Qt.MouseButton.LeftButton:
            self.scrubbed.emit(self._deg_at(event.position().x()))
