"""Tools that press on a place and let go at another."""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame
from app.gestures.base import At, Gesture
from app.gestures.building import Spot
from app.gestures.snapping import Snap, paint_snap
from app.gestures.spots import spot_at
from core.model import Sketch
from core.units import show_length

if TYPE_CHECKING:
    from app.canvas.view import Canvas

_DRAG_PX = 8.0


class PullGesture(Gesture):
    """Press on a place; a drag goes to another place, a click stays."""

    drags = True

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._start: Spot | None = None
        self._pressed: At | None = None
        self._meant: Snap | None = None

    @abstractmethod
    def pulled(self, sketch: Sketch, start: Spot, end: Spot) -> tuple[str, Sketch]:
        """Label and sketch for a drag."""

    @abstractmethod
    def clicked(self, sketch: Sketch, spot: Spot) -> tuple[str, Sketch]:
        """Label and sketch for a click."""

    def begin(self, spot: Spot) -> None:
        """A press; raises EditError where the tool has nothing to take hold of."""

    def press(self, at: At) -> None:
        spot, self._meant = spot_at(self.canvas, at)
        self.begin(spot)
        self._start, self._pressed = spot, at

    def move(self, at: At) -> None:
        anchor = self._start.place if self._start is not None else None
        spot, self._meant = spot_at(self.canvas, at, anchor=anchor)
        if self._start is None:
            self.canvas.hover(at.place)
        else:
            self.say(self.words(spot.place - self._start.place))
        self.canvas.update()

    def words(self, span: complex) -> str:
        """What the status bar says while dragging by `span` (mm)."""
        return show_length(abs(span), self.canvas.session.sketch.units)

    def release(self, at: At) -> None:
        start, pressed = self._start, self._pressed
        self.forget()
        if start is None or pressed is None:
            return
        sketch = self.canvas.work.base()
        if QLineF(pressed.pixel, at.pixel).length() >= _DRAG_PX:
            end, _ = spot_at(self.canvas, at, anchor=start.place)
        else:
            end = start
        away = abs(end.place - start.place) > 1e-9
        self.record_made(*(self.pulled(sketch, start, end) if away
                           else self.clicked(sketch, start)))
        self.rest()

    def cancel(self) -> bool:
        busy = self._start is not None
        self.forget()
        return busy

    def forget(self) -> None:
        self._start = self._pressed = None

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if self._meant is None:
            return
        paint_snap(painter, frame, self._meant)
        if self._start is not None and self._meant.place != self._start.place:
            self.paint_pull(painter, frame, self._start.place, self._meant.place)

    @abstractmethod
    def paint_pull(self, painter: QPainter, frame: Frame, start: complex, end: complex) -> None:
        """The thing as it will be."""
