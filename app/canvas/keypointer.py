"""Drawing without a mouse: arrow keys move a cross, Enter clicks there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QKeyEvent, QPainter

from app.canvas.frame import Frame
from app.canvas.paint_paper import grid_step_mm
from app.gestures.base import At

if TYPE_CHECKING:
    from app.canvas.view import Canvas

_WAYS = {Qt.Key.Key_Left: -1 + 0j, Qt.Key.Key_Right: 1 + 0j,
         Qt.Key.Key_Up: 1j, Qt.Key.Key_Down: -1j}
_CROSS_PX = 14.0


class KeyPointer:
    """The cross of a canvas. The arrow keys move it by a grid step, with Shift by a
    tenth; tools that drag take the first Enter as press and the second as release.
    """

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._place: complex | None = None
        self._moved = False
        self._held = False

    def key(self, event: QKeyEvent) -> bool:
        """An arrow key, or Enter after one; True when used."""
        key = Qt.Key(event.key())
        if key in _WAYS:
            self._step(_WAYS[key], bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
            return True
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._place is not None and (
                self._moved or self._held):
            self._click()
            return True
        return False

    def drop(self) -> None:
        """The mouse takes over, or another tool: no cross."""
        if self._place is not None:
            self._canvas.update()
        self._place, self._moved, self._held = None, False, False

    def _step(self, way: complex, fine: bool) -> None:
        canvas = self._canvas
        step = grid_step_mm(canvas.session.sketch.grid_mm, canvas.camera.scale)
        if self._place is None:
            centre = canvas.camera.centre
            self._place = complex(round(centre.real / step), round(centre.imag / step)) * step
        else:
            self._place += way * (step / 10 if fine else step)
        self._moved = True
        canvas.hover(self._place)
        canvas.call(canvas.gesture.move, self._at())
        canvas.update()

    def _click(self) -> None:
        canvas, at = self._canvas, self._at()
        if self._held or not canvas.gesture.drags:
            if not self._held:
                canvas.call(canvas.gesture.press, at)
            canvas.call(canvas.gesture.release, at)
            self._held = False
        else:
            canvas.call(canvas.gesture.press, at)
            self._held = True
        self._moved = False
        canvas.update()

    def _at(self) -> At:
        assert self._place is not None
        return At(self._canvas.camera.to_screen(self._place), self._place)

    def paint(self, painter: QPainter, frame: Frame) -> None:
        """Draw the cross."""
        if self._place is None:
            return
        at = frame.camera.to_screen(self._place)
        painter.setPen(frame.pen(frame.theme.accent, 1.5))
        painter.drawLines([
            QLineF(at.x() - _CROSS_PX, at.y(), at.x() + _CROSS_PX, at.y()),
            QLineF(at.x(), at.y() - _CROSS_PX, at.x(), at.y() + _CROSS_PX)])
