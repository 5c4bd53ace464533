"""Scale the picture under the sketch: two clicks, and the distance between them."""

from __future__ import annotations

import math

import msgspec
from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QFileDialog

from app.canvas.frame import Frame
from app.gestures.base import At, Gesture
from core.model import Sketch, Underlay
from core.units import parse_length

replace = msgspec.structs.replace


class ScaleGesture(Gesture):
    """The Underlay scale tool. Without a picture it asks for one first."""

    id = "scale"
    hint = "Click two places on the picture whose distance you know"

    def __init__(self, canvas) -> None:
        super().__init__(canvas)
        self._first: complex | None = None
        self._second: complex | None = None
        self._cursor: complex | None = None

    def press(self, at: At) -> None:
        if self.canvas.session.committed.underlay is None:
            self._ask_picture()
        elif self._first is None or self._second is not None:
            self._first, self._second = at.place, None
            self.say("Click the other end of a distance you know")
        else:
            self._second = at.place
            units = self.canvas.session.sketch.units
            self.canvas.entry.ask("Distance", at.pixel,
                                  lambda text: parse_length(text, units), self._scale)
        self.canvas.update()

    def _scale(self, length_mm: float) -> None:
        if self._first is None or self._second is None:
            return
        sketch = scaled(self.canvas.session.committed, self._first, self._second, length_mm)
        self.forget()
        self.record("Scale picture", sketch, in_pose=False)
        self.rest()

    def _ask_picture(self) -> None:
        dialog = QFileDialog(self.canvas, "Lay a picture under the sketch")
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setNameFilter("Pictures (*.png *.jpg *.jpeg *.bmp *.gif *.webp *.svg)")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.fileSelected.connect(self.lay)
        dialog.open()

    def lay(self, path: str) -> None:
        """Lay a picture under the sketch, its middle in the middle of the window."""
        sketch = self.canvas.session.committed
        centre = self.canvas.camera.centre
        underlay = Underlay(path=path, x=centre.real - 100.0, y=centre.imag - 75.0)
        self.record("Lay picture", replace(sketch, underlay=underlay), in_pose=False)
        self.rest()

    def move(self, at: At) -> None:
        if self._first is not None and self._second is None:
            self._cursor = at.place
            self.canvas.update()

    def cancel(self) -> bool:
        busy = self._first is not None
        self.forget()
        return busy

    def forget(self) -> None:
        self._first = self._second = None

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if self._first is None:
            return
        end = self._second if self._second is not None else self._cursor
        ends = [frame.camera.to_screen(place) for place in (self._first, end)
                if place is not None]
        painter.setPen(frame.pen(frame.theme.accent, 1.6))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for place in ends:
            painter.drawLine(QLineF(place.x() - 7, place.y(), place.x() + 7, place.y()))
            painter.drawLine(QLineF(place.x(), place.y() - 7, place.x(), place.y() + 7))
        if len(ends) == 2:
            painter.drawLine(QLineF(*ends))


def scaled(sketch: Sketch, first: complex, second: complex, length_mm: float) -> Sketch:
    """The sketch with its picture scaled about `first`, so that `second` (both mm) is
    `length_mm` from it; unchanged without a picture or for the same place twice."""
    underlay, seen = sketch.underlay, abs(second - first)
    if underlay is None or seen <= 0 or length_mm <= 0 or not math.isfinite(length_mm):
        return sketch
    factor = length_mm / seen
    corner = first + (complex(underlay.x, underlay.y) - first) * factor
    return replace(sketch, underlay=replace(
        underlay, mm_per_px=underlay.mm_per_px * factor, x=corner.real, y=corner.imag))
