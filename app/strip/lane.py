"""One lane of the strip: a curve along the turn, its name and its value now."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import (
    QColor,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app import theme as themes
from app.strip.items import Band, Zones, hairline, nice_range
from app.theme import Theme

Floats = NDArray[np.float64]
HEAD_PX = 184
AXIS_PX = 46
#: No lane is lower.
LEAST_PX = 56
#: Least distance of the numbers on the upright axis.
TICK_PX = 18


#: Values beyond so many times what 95 of 100 keep within are peaks.
PEAK = 4.0


def spread(values: Floats) -> tuple[float, ...]:
    """Least and greatest finite value, peaks cut off; empty when there is none."""
    fine = values[np.isfinite(values)]
    if not fine.size:
        return ()
    place = int(0.95 * (fine.size - 1))
    most = PEAK * float(np.partition(np.abs(fine), place)[place])
    low, high = float(fine.min()), float(fine.max())
    return (max(low, -most), min(high, most)) if most > 0 else (low, high)


class Readout(QWidget):
    """A short text that changes at every step of the crank: unlike a label's, its change
    does not set the whole window's layout going, and it asks for no room."""

    ALIGN = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
    ROLE = QPalette.ColorRole.WindowText

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = "–"
        self.setMinimumHeight(self.fontMetrics().height())

    def text(self) -> str:
        """What it shows."""
        return self._text

    def setText(self, text: str) -> None:
        """Show another text."""
        if text != self._text:
            self._text = text
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(self.palette().color(self.ROLE))
        painter.drawText(self.rect(), self.ALIGN, self._text)
        painter.end()


class Remark(Readout):
    """A remark under the name of a lane, in as many lines as there is room for."""

    ALIGN = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap
    ROLE = QPalette.ColorRole.PlaceholderText


class LanePlot(pg.GraphicsView):
    """A plot on which pressing and dragging anywhere scrubs: an axis and a view box,
    without the menus a full plot item would make."""

    scrubbed = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.axis = pg.AxisItem("left")
        self.axis.setWidth(AXIS_PX)
        self.axis.setStyle(tickLength=-4, maxTickLevel=0)
        self.axis.enableAutoSIPrefix(False)
        self.box = pg.ViewBox(enableMenu=False, enableMouse=False, defaultPadding=0.0)
        self.box.disableAutoRange()
        self.axis.linkToView(self.box)
        rows = pg.GraphicsLayout()
        rows.setContentsMargins(0, 7, 0, 7)
        rows.setSpacing(0)
        rows.addItem(self.axis, 0, 0)
        rows.addItem(self.box, 0, 1)
        self.setCentralItem(rows)
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def mark(self, low: float, high: float) -> None:
        """Write as many round numbers along the axis as have room."""
        room = max(int(self.height() / TICK_PX), 1)
        step = 10 ** math.floor(math.log10((high - low) / room))
        step = next(step * k for k in (1, 2, 5, 10, 20) if (high - low) / (step * k) <= room)
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        self.axis.setTicks([[(k * step, f"{k * step:.6g}".replace("-", "−"))
                             for k in range(first, last + 1)]])

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event is not None:  # the base class calls it once itself, without one
            self.mark(*self.box.viewRange()[1])

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._scrub(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._scrub(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def _scrub(self, event: QMouseEvent) -> None:
        place = self.mapToScene(event.position().toPoint())
        self.scrubbed.emit(float(self.box.mapSceneToView(place).x()))
        event.accept()


class Lane(QWidget):
    """Name and value on the left, the curve on the right.

    x is the crank angle in degrees. `show` texts come from the caller, so that a
    lane knows nothing of quantities.
    """

    PLOT: type[LanePlot] = LanePlot
    REMARK: type[Remark] = Remark

    def __init__(self, title: str, tip: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = QLabel(title, self)
        self.title.setProperty("role", "name")
        self.value = Readout(self)
        self.more = self.REMARK(self)
        first = QHBoxLayout()
        first.addWidget(self.title)
        first.addWidget(self.value, 1)
        head = QVBoxLayout()
        head.setContentsMargins(10, 4, 8, 0)
        head.setSpacing(1)
        head.addLayout(first)
        head.addWidget(self.more, 1)
        side = QWidget(self)
        side.setFixedWidth(HEAD_PX)
        side.setLayout(head)
        self.plot = self.PLOT(self)
        self.setToolTip(tip)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(side)
        row.addWidget(self.plot, 1)
        self.setMinimumHeight(LEAST_PX)

        self.locked = Zones(Qt.BrushStyle.FDiagPattern)
        self.flagged = Zones(Qt.BrushStyle.BDiagPattern)
        self.band = Band()
        self.curve = pg.PlotCurveItem(connect="finite", antialias=True)
        self.level = pg.InfiniteLine(angle=0, movable=False)
        self.zero = pg.InfiniteLine(pos=0.0, angle=0, movable=False)
        self.hand = pg.InfiniteLine(pos=0.0, angle=90, movable=False)
        self.level.setVisible(False)
        for item in (self.locked, self.flagged, self.band, self.zero, self.level, self.curve,
                     self.hand):
            self.plot.box.addItem(item, ignoreBounds=True)
        self._x: Floats = np.empty(0)
        self._y: Floats = np.empty(0)
        self._range = (0.0, 1.0)
        self._written = True
        self._text: Callable[[float], str] = "{:.3g}".format

    def set_theme(self, theme: Theme) -> None:
        """Take on the colours of a theme."""
        self.plot.setBackground(theme.paper)
        axis = self.plot.axis
        axis.setPen(hairline(theme.rule))
        axis.setTextPen(theme.faint)
        axis.setTickFont(themes.font(8))
        # One pixel: anything wider leaves the fast path and costs three times as much.
        self.curve.setPen(hairline(theme.ink))
        self.zero.setPen(hairline(theme.rule))
        self.level.setPen(hairline(theme.warning, 1.2, Qt.PenStyle.DashLine))
        self.hand.setPen(hairline(theme.accent, 1.4))
        self.locked.set_colour(theme.faint)
        self.flagged.set_colour(theme.fault)
        shade = QColor(theme.brass)
        shade.setAlpha(90)
        self.band.set_colour(shade)

    def set_span(self, low_deg: float, high_deg: float) -> None:
        """The crank angles the lane reaches over."""
        self.plot.box.setXRange(low_deg, high_deg, padding=0)

    def set_locked(self, spans: Sequence[tuple[float, float]]) -> None:
        """Stretches the crank cannot reach, degrees."""
        self.locked.set_spans(spans)

    def set_text(self, text: Callable[[float], str]) -> None:
        """How a value is written in the head."""
        self._text = text

    def set_data(self, x: Floats, y: Floats, *, keep: Sequence[float] = (),
                 rest: bool = False) -> None:
        """The curve; the range holds the values of `keep` and the curve, all but peaks
        that would flatten the rest (a torque towards a lock has no end). With `rest` it
        stays as it is: something in the lane is being dragged.
        """
        self._x, self._y = x, y
        self._write_axis(True)
        self.curve.setData(x, y)
        if rest:
            return
        values = [*keep, *spread(y)]
        span = nice_range(min(values), max(values)) if values else (0.0, 1.0)
        if span != self._range:
            self._range = span
            self.plot.box.setYRange(*span, padding=0)
            self.plot.mark(*span)

    def _write_axis(self, on: bool) -> None:
        """Numbers on the axis or none; said only when it changes, for it costs a redraw."""
        if on != self._written:
            self._written = on
            self.plot.axis.setStyle(showValues=on)

    def clear(self, reason: str = "") -> None:
        """No curve; `reason` in the head says why."""
        self._x = self._y = np.empty(0)
        self._write_axis(False)
        self.curve.setData([], [])
        self.band.set_data(self._x, self._y, self._y)
        self.flagged.set_spans(())
        self.level.setVisible(False)
        self.value.setText("–")
        self.more.setText(reason)

    def set_crank(self, deg: float) -> None:
        """Move the hand and write the value there."""
        self.hand.setPos(deg)
        if self._x.size:
            here = float(np.interp(deg, self._x, self._y))
            if not math.isfinite(here):  # between the last step in reach and the limit
                away = np.where(np.isfinite(self._y), np.abs(self._x - deg), np.inf)
                here = float(self._y[np.argmin(away)])
            self.value.setText(self._text(here) if math.isfinite(here) else "–")
