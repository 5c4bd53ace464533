"""Scale the picture under the sketch: two clicks, and the distance between them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec
from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QImageReader, QPainter
from PySide6.QtWidgets import QFileDialog

from app.canvas.frame import Frame
from app.gestures.base import At, Gesture
from app.gestures.typed import typed_length
from core.errors import FileError
from core.model import Sketch, Underlay

if TYPE_CHECKING:
    from app.canvas.view import Canvas

replace = msgspec.structs.replace
_DRAG_PX = 6.0


class ScaleGesture(Gesture):
    """The Scale tool. Without a picture it asks for one first."""

    id = "scale"
    hint = "Click two places on the picture whose distance you know; drag: move the picture"
    drags = True

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._first: complex | None = None
        self._second: complex | None = None
        self._cursor: complex | None = None
        self._pressed: At | None = None
        self._moving = False

    def press(self, at: At) -> None:
        if self.canvas.session.committed.underlay is None:
            self._ask_picture()
        else:
            self._pressed = at

    def release(self, at: At) -> None:
        pressed, self._pressed = self._pressed, None
        if self._moving:
            self._moving = False
            self.record("Move picture", in_pose=False)
        elif pressed is not None:
            self._mark(pressed)

    def _mark(self, at: At) -> None:
        if self._first is None or self._second is not None:
            self._first, self._second, self._cursor = at.place, None, None
            self.say("Click the other end of a distance you know")
        else:
            self._second = at.place
            units = self.canvas.session.sketch.units
            self.canvas.entry.ask("Distance", at.pixel,
                                  lambda text: typed_length(text, units), self._scale)
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
        dialog.fileSelected.connect(self._chosen)
        dialog.open()

    def lay(self, path: str) -> None:
        """Lay a picture under the sketch, in the middle of the window.

        Raises
        ------
        FileError
            When the file is no picture.
        """
        size = QImageReader(path).size()
        if not size.isValid():
            raise FileError("this picture cannot be read", path, "choose a PNG or JPEG file")
        camera = self.canvas.camera
        # Three quarters of the window, until its true scale is known.
        mm_per_px = 0.75 * min(camera.width / size.width(),
                               camera.height / size.height()) / camera.scale
        corner = camera.centre - complex(size.width(), size.height()) * mm_per_px / 2
        underlay = Underlay(path=path, mm_per_px=mm_per_px, x=corner.real, y=corner.imag)
        sketch = replace(self.canvas.session.committed, underlay=underlay)
        self.record("Lay picture", sketch, in_pose=False)
        self.rest()

    def _chosen(self, path: str) -> None:
        try:
            self.lay(path)
        except FileError as trouble:
            self.refuse(trouble)

    def move(self, at: At) -> None:
        if self._pressed is not None:
            self._moving |= QLineF(self._pressed.pixel, at.pixel).length() >= _DRAG_PX
            if self._moving:
                shift = at.place - self._pressed.place
                sketch = moved(self.canvas.session.committed, shift)
                self.show(sketch, in_pose=False)
        elif self._first is not None and self._second is None:
            self._cursor = at.place
            self.canvas.update()

    def cancel(self) -> bool:
        busy = self._first is not None or self._moving
        if self._moving:
            self.canvas.work.drop()
        self.forget()
        return busy

    def forget(self) -> None:
        self._first = self._second = self._pressed = None
        self._moving = False

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


def moved(sketch: Sketch, shift: complex) -> Sketch:
    """The sketch with its picture moved by `shift` (mm)."""
    underlay = sketch.underlay
    if underlay is None:
        return sketch
    return replace(sketch, underlay=replace(
        underlay, x=underlay.x + shift.real, y=underlay.y + shift.imag))


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
