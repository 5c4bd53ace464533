"""The lane of a wanted angle: the wish dashed in its tolerance, the part as it moves solid,
and knots one can take hold of."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QPointF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

from app.strip.items import Band, hairline
from app.strip.lane import Lane, LanePlot
from app.theme import Theme

Floats = NDArray[np.float64]
#: A knot is taken hold of within so many pixels of its middle.
GRASP_PX = 10.0
#: While a knot is dragged it catches whole steps (Alt lets go), degrees.
CATCH_DEG = (1.0, 0.5)
#: What the arrow keys do to the chosen knot, in those steps (ten times with Shift).
ARROWS = {Qt.Key.Key_Left: (-1, 0), Qt.Key.Key_Right: (1, 0), Qt.Key.Key_Up: (0, 1),
          Qt.Key.Key_Down: (0, -1)}
TAKE_OUT = (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)


class KnotPlot(LanePlot):
    """A plot with knots. Pressing one and dragging moves it, double-clicking elsewhere adds
    one; anywhere else the crank is scrubbed as in every lane.

    `taken(knot, crank, angle)` with the place it shows at, `moved(crank, angle)` by so much
    from there while dragging, `dropped()`, `added(crank, angle)`,
    `given_up()` (Esc), `removed()` (Delete), `nudged(crank, angle)` (arrow keys).
    """

    taken = Signal(int, float, float)
    moved = Signal(float, float)
    dropped = Signal()
    added = Signal(float, float)
    given_up = Signal()
    removed = Signal()
    nudged = Signal(float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.setMouseTracking(True)
        self._places: list[tuple[int, float, float]] = []
        self.held: int | None = None
        self._grip = (0.0, 0.0)
        self._from = (0.0, 0.0)
        self._begun = self._keys = False

    def set_keys(self, on: bool) -> None:
        """Whether a knot here is chosen, which Delete and the arrow keys then mean."""
        self._keys = on

    def set_places(self, places: Sequence[tuple[int, float, float]]) -> None:
        """Knots to be taken hold of: index, crank angle, angle; one may show several times."""
        self._places = list(places)

    def pixel(self, crank_deg: float, angle_deg: float) -> QPointF:
        """Where a crank angle and angle are in the widget."""
        scene = self.box.mapViewToScene(QPointF(crank_deg, angle_deg))
        return QPointF(self.mapFromScene(scene))

    def place(self, pixel: QPointF) -> tuple[float, float]:
        """Crank angle and angle of a pixel, deg."""
        view = self.box.mapSceneToView(self.mapToScene(pixel.toPoint()))
        return float(view.x()), float(view.y())

    def knot_at(self, pixel: QPointF) -> tuple[int, float, float] | None:
        """The knot within reach of a pixel, with the place it is shown at."""
        near, best = None, GRASP_PX
        for knot in self._places:
            off = self.pixel(*knot[1:]) - pixel
            away = math.hypot(off.x(), off.y())
            if away <= best:
                near, best = knot, away
        return near

    def mousePressEvent(self, event: QMouseEvent) -> None:
        knot = self.knot_at(event.position()) if event.button() == Qt.MouseButton.LeftButton \
            else None
        if knot is None:
            super().mousePressEvent(event)
            return
        at = self.place(event.position())
        self._from = knot[1:]
        self._grip = (knot[1] - at[0], knot[2] - at[1])
        self.held, self._begun = knot[0], False
        self.taken.emit(*knot)
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self.held is None:
            if not event.buttons():
                near = self.knot_at(event.position()) is not None
                self.setCursor(Qt.CursorShape.SizeAllCursor if near
                               else Qt.CursorShape.SizeHorCursor)
            super().mouseMoveEvent(event)
            return
        if not self._begun:
            off = self.pixel(*self._from) - event.position()
            self._begun = math.hypot(off.x(), off.y()) > GRASP_PX / 3
        if self._begun:
            crank, angle = self._aimed(event)
            self.moved.emit(crank - self._from[0], angle - self._from[1])
        event.accept()

    def _aimed(self, event: QMouseEvent) -> tuple[float, float]:
        """Where the knot held is to go: whole steps unless Alt is down; with Shift it goes
        up and down only, with Ctrl sideways only."""
        keys = event.modifiers()
        at = self.place(event.position())
        aim = [at[0] + self._grip[0], at[1] + self._grip[1]]
        if not keys & Qt.KeyboardModifier.AltModifier:
            aim = [step * round(value / step) for value, step in
                   zip(aim, CATCH_DEG, strict=True)]
        if keys & Qt.KeyboardModifier.ShiftModifier:
            aim[0] = self._from[0]
        elif keys & Qt.KeyboardModifier.ControlModifier:
            aim[1] = self._from[1]
        return aim[0], aim[1]

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self.held is not None and event.button() == Qt.MouseButton.LeftButton:
            self.held = None
            self.dropped.emit()
        event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton \
                and self.knot_at(event.position()) is None:
            crank, angle = self.place(event.position())
            self.added.emit(crank, angle)
        event.accept()

    def event(self, event: QEvent) -> bool:
        # Else the window's own Delete would take the whole wish away.
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) \
                and self._means(event):
            event.accept()
            return True
        return bool(super().event(event))

    def _means(self, event: QKeyEvent) -> bool:
        key = Qt.Key(event.key())
        return (self.held is not None and key == Qt.Key.Key_Escape) \
            or (self._keys and (key in TAKE_OUT or key in ARROWS))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if not self._means(event):
            event.ignore()
        elif key == Qt.Key.Key_Escape:
            self.held = None
            self.given_up.emit()
        elif self.held is not None:
            event.accept()
        elif key in TAKE_OUT:
            self.removed.emit()
        else:
            many = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
            across, up = ARROWS[key]
            self.nudged.emit(many * across * CATCH_DEG[0], many * up * CATCH_DEG[1])


class KnotLane(Lane):
    """A lane whose curve is the part's angle and whose wish has knots."""

    PLOT = KnotPlot
    plot: KnotPlot

    def __init__(self, title: str, tip: str, parent: QWidget | None = None) -> None:
        super().__init__(title, tip, parent)
        self.tolerance = Band()
        self.wished = pg.PlotCurveItem(connect="finite", antialias=True)
        self.dots = pg.ScatterPlotItem(size=9, pxMode=True)
        self.mark = pg.ScatterPlotItem(size=12, pxMode=True)
        for item in (self.tolerance, self.wished, self.dots, self.mark):
            self.plot.box.addItem(item, ignoreBounds=True)
        self.setMinimumHeight(84)

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        self.wished.setPen(hairline(theme.wish, 1.6, Qt.PenStyle.DashLine))
        shade = QColor(theme.wish)
        shade.setAlpha(56)
        self.tolerance.set_colour(shade)
        for dots, fill in ((self.dots, theme.paper), (self.mark, theme.accent)):
            dots.setPen(hairline(theme.wish if dots is self.dots else theme.accent, 1.8))
            dots.setBrush(fill)

    def set_wish(self, x: Floats, wished: Floats, tolerance: float,
                 knots: Sequence[tuple[int, float, float]], chosen: int | None) -> None:
        """The wished curve (NaN where none is), and the knots with the chosen one."""
        self.wished.setData(x, wished)
        self.tolerance.set_data(x, wished - tolerance, wished + tolerance)
        self.plot.set_places(knots)
        for dots, shown in ((self.dots, [k for k in knots if k[0] != chosen]),
                            (self.mark, [k for k in knots if k[0] == chosen])):
            dots.setData([k[1] for k in shown], [k[2] for k in shown])

    def clear(self, reason: str = "") -> None:
        super().clear(reason)
        none = np.empty(0)
        self.set_wish(none, none, 0.0, (), None)
