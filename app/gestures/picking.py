"""Tools that join two parts picked one after the other."""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame
from app.gestures.base import At, Gesture
from app.gestures.spots import moving_under
from core.errors import EditError
from core.model import Sketch, part_of

if TYPE_CHECKING:
    from app.canvas.view import Canvas


class PickTwo(Gesture):
    """Click one part, then the other."""

    first_words = ""
    second_words = ""

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._first = ""
        self._cursor: QPointF | None = None

    @abstractmethod
    def join(self, sketch: Sketch, first: str, second: str) -> tuple[str, Sketch]:
        """Label and sketch for the two parts; raises EditError when they cannot be."""

    def press(self, at: At) -> None:
        part_id = self._part_at(at.place)
        if not part_id:
            raise EditError("there is no part here", mend="click on a part that moves")
        if not self._first:
            self._first = part_id
            self.say(self.second_words)
        elif part_id == self._first:
            self.cancel()
            self.rest()
            return
        else:
            label, sketch = self.join(self.canvas.work.base(), self._first, part_id)
            self._first = ""
            self.record_made(label, sketch)
            self.rest()
        self.canvas.update()

    def rest(self) -> None:
        if self._first:
            self.say(self.second_words)
        else:
            super().rest()

    def _part_at(self, place: complex) -> str:
        frame = self.canvas.frame()
        under = moving_under(frame, place)
        if under:
            return next((name for name in under if name != self._first), under[0])
        item = self.canvas.hovered
        return part_of(item[1]) if item is not None and item[0] == "point" else ""

    def move(self, at: At) -> None:
        self._cursor = at.pixel
        self.canvas.hover(at.place)
        if self._first:
            self.canvas.update()

    def cancel(self) -> bool:
        busy = bool(self._first)
        self._first = ""
        return busy

    def forget(self) -> None:
        self._first = ""

    def paint(self, painter: QPainter, frame: Frame) -> None:
        parts = {part.id: part for part in frame.sketch.parts}
        if self._first not in parts or self._cursor is None:
            return
        middle = frame.pose.place(self._first, frame.shapes.of(parts[self._first]).middle)
        pen = frame.pen(frame.theme.accent, 1.6)
        pen.setDashPattern([5, 3])
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        start = frame.camera.to_screen(middle)
        painter.drawEllipse(start, 9.0, 9.0)
        painter.drawLine(QLineF(start, self._cursor))
