"""The ways the Wish tool draws a path: freehand, by handles, round."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING, Literal

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.shapes import to_polygon
from app.canvas.symbols import halo_text
from app.canvas.wish_lines import PER_SPAN, dashed, screened
from app.gestures.base import At, Gesture
from app.gestures.clicks import Clicking, Clicks
from app.gestures.snapping import Snap, paint_snap, snap
from core.model import WantedPath
from core.model.edits import add_path
from core.units import show_length
from core.wanted.curves import sample_path
from core.wanted.stroke import closing_mm, comes_back, thinned

if TYPE_CHECKING:
    from app.gestures.wish import WishGesture

_STEP_PX = 2.0
_LEAST_PX = 12.0
#: A stroke of the hand is followed to so many pixels.
_TOLERANCE_PX = 1.5
_CLOSES_PX = 18.0
_CIRCLE_HANDLES = 8


class Pen(Gesture):
    """One way of drawing: a gesture within the Wish tool, which it knows. `busy` while
    something is under way."""

    drags = True

    def __init__(self, tool: WishGesture) -> None:
        super().__init__(tool.canvas)
        self.tool = tool
        self.meant: Snap | None = None
        self.asked = ""

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if self.meant is not None:
            paint_snap(painter, frame, self.meant)

    # -- for the pens ----------------------------------------------------------------

    def look(self, at: At, anchor: complex | None = None) -> Snap:
        """The place meant."""
        self.meant = snap(self.canvas.frame(), at, anchor=anchor if at.shift else None)
        return self.meant

    def keep(self, through: list[complex], closed: bool,
             curve: Literal["smooth", "straight"]) -> None:
        """Record the path drawn, of the point it was begun on if that is still there."""
        session = self.canvas.session
        there = bool(self.asked) and session.has(("point", self.asked))
        sketch, name = add_path(session.committed, through, closed=closed, curve=curve,
                                point=self.asked if there else "")
        self.tool.keep(f"Draw {name}", sketch, ("wish", name))

    def paint_path(self, painter: QPainter, frame: Frame, through: list[complex],
                   closed: bool, curve: Literal["smooth", "straight"]) -> None:
        """The path as it will be."""
        if len(through) < 2:
            return
        wish = WantedPath(id="path", through=tuple((z.real, z.imag) for z in through),
                          closed=closed, curve=curve)
        places, _ = sample_path(wish, PER_SPAN)
        painter.setPen(frame.pen(frame.theme.wish, 2.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawLines(dashed(screened(places, frame.camera)))


class Freehand(Pen):
    """Press, draw, let go; a stroke that ends where it began is a loop."""

    hint = "Press on a point (or anywhere) and draw its path; end where you began: a loop"

    def __init__(self, tool: WishGesture) -> None:
        super().__init__(tool)
        self._stroke: list[complex] = []
        self._pixel = QPointF()

    @property
    def busy(self) -> bool:
        return bool(self._stroke)

    def press(self, at: At) -> None:
        self.asked = self.tool.point_at(at)
        self._stroke, self._pixel = [at.place], at.pixel
        self.meant = None
        self.canvas.hover(None)
        self.tool.tell(self.asked)

    def move(self, at: At) -> None:
        if not self._stroke:
            self.canvas.hover(at.place)
        elif QLineF(self._pixel, at.pixel).length() >= _STEP_PX:
            self._stroke.append(at.place)
            self._pixel = at.pixel
            self.canvas.update()

    def release(self, at: At) -> None:
        if not self._stroke:
            return
        stroke, scale = np.array([*self._stroke, at.place]), self.canvas.camera.scale
        self._stroke = []
        if np.abs(np.diff(stroke)).sum() * scale < _LEAST_PX:
            self.tool.rest()
            return
        closed = comes_back(stroke, _CLOSES_PX / scale)
        through = thinned(stroke, _TOLERANCE_PX / scale, closed)
        self.keep(through.tolist(), closed, "smooth")

    def cancel(self) -> bool:
        busy, self._stroke = self.busy, []
        return busy

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if len(self._stroke) < 2:
            return
        pixels = screened(np.array(self._stroke), frame.camera)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(frame.pen(frame.theme.wish, 2.0))
        painter.drawPolyline(to_polygon(np.column_stack([pixels.real, pixels.imag])))
        within = closing_mm(pixels, _CLOSES_PX)
        if within > 0:  # a ring where the stroke becomes a loop
            near = comes_back(pixels, _CLOSES_PX)
            painter.setPen(frame.pen(frame.theme.wish, 2.4 if near else 1.0))
            painter.setBrush(with_alpha(frame.theme.wish, 0.25 if near else 0.0))
            painter.drawEllipse(QPointF(pixels[0].real, pixels[0].imag), within, within)


class ByHandles(Clicking, Pen):
    """Click after click, smooth or straight; a drag makes one straight piece."""

    drags = False

    def __init__(self, tool: WishGesture, curve: Literal["smooth", "straight"]) -> None:
        super().__init__(tool)
        self._curve = curve
        self.clicks = Clicks()
        self._pressed: QPointF | None = None
        what = "the path goes through" if curve == "smooth" else "for its corners; drag: a line"
        self.hint = f"Click on a point to ask it of that, then click places {what}"

    @property
    def busy(self) -> bool:
        return bool(self.clicks.places)

    def press(self, at: At) -> None:
        clicks, scale = self.clicks, self.canvas.camera.scale
        if not clicks.places:
            self.asked = self.tool.point_at(at)
        place = self.look(at, clicks.last).place
        if clicks.closes(place, scale):
            self._end(True)
        elif not clicks.repeats(place, scale):
            clicks.add(place)
            self._pressed = at.pixel if len(clicks.places) == 1 else None
            self.say("Click the next place; the first again: a loop; Enter or double "
                          "click: an open path; Backspace: one back")
        self.canvas.update()

    def move(self, at: At) -> None:
        self.look(at, self.clicks.last)
        if not self.busy:
            self.canvas.hover(at.place)
        self.canvas.update()

    def release(self, at: At) -> None:
        pressed, self._pressed = self._pressed, None
        if (pressed is not None and self._curve == "straight"
                and QLineF(pressed, at.pixel).length() >= _LEAST_PX):
            self.clicks.add(self.look(at, self.clicks.last).place)
            self._end(False)

    def double(self, at: At) -> None:
        if self.busy:
            self.finish()
        else:
            self.press(at)

    def finish(self) -> bool:
        if len(self.clicks.places) < 2:
            return self.cancel()
        self._end(False)
        return True

    def _end(self, closed: bool) -> None:
        through = self.clicks.taken()
        self.keep(through, closed, self._curve)

    def paint(self, painter: QPainter, frame: Frame) -> None:
        through, closes = self.clicks.with_cursor(
            self.meant.place if self.meant else None, frame.camera.scale)
        self.paint_path(painter, frame, through, closes and len(through) > 2, self._curve)
        self.clicks.paint(painter, frame)
        super().paint(painter, frame)


class Round(Pen):
    """A circle from its middle out, or an ellipse from corner to corner."""

    def __init__(self, tool: WishGesture, ellipse: bool) -> None:
        super().__init__(tool)
        self._ellipse = ellipse
        self._start: complex | None = None
        self._end = 0j
        self.hint = ("Press and drag from corner to corner of the ellipse" if ellipse
                     else "Press on the middle and drag out to the circle")

    @property
    def busy(self) -> bool:
        return self._start is not None

    def press(self, at: At) -> None:
        self.asked = self.tool.point_at(at) if not self._ellipse else self.tool.selected_point()
        self._start = self._end = self.look(at).place
        self.tool.tell(self.asked)

    def move(self, at: At) -> None:
        self._end = self.look(at, self._start).place
        if self._start is None:
            self.canvas.hover(at.place)
        self.canvas.update()

    def release(self, at: At) -> None:
        start, self._start = self._start, None
        if start is None:
            return
        middle, half = self._shape(start, self.look(at, start).place)
        if min(half.real, half.imag) * self.canvas.camera.scale < _LEAST_PX / 4:
            self.tool.rest()
            return
        self.keep(ring(middle, half), True, "smooth")

    def _shape(self, start: complex, end: complex) -> tuple[complex, complex]:
        """Middle and half axes."""
        if self._ellipse:
            return (start + end) / 2, complex(abs((end - start).real),
                                              abs((end - start).imag)) / 2
        return start, abs(end - start) * (1 + 1j)

    def cancel(self) -> bool:
        busy, self._start = self.busy, None
        return busy

    def paint(self, painter: QPainter, frame: Frame) -> None:
        super().paint(painter, frame)
        if self._start is None:
            return
        middle, half = self._shape(self._start, self._end)
        low, high = (frame.camera.to_screen(middle + share * half) for share in (-1, 1))
        pen = frame.pen(frame.theme.wish, 2.0)
        pen.setDashPattern([4, 3])
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QRectF(low, high).normalized())
        units = frame.sketch.units
        text = (f"{show_length(2 * half.real, units)} × {show_length(2 * half.imag, units)}"
                if self._ellipse else f"radius {show_length(half.real, units)}")
        painter.setFont(frame.face(8.5, True))
        halo_text(painter, frame.camera.to_screen(self._end) + QPointF(14, -12), text,
                  frame.theme.ink, with_alpha(frame.theme.paper, 0.85))


def ring(middle: complex, half: complex) -> list[complex]:
    """Handles of an ellipse with these half axes, counter-clockwise from the right."""
    turns = [cmath.rect(1.0, 2 * math.pi * k / _CIRCLE_HANDLES) for k in range(_CIRCLE_HANDLES)]
    return [middle + complex(half.real * z.real, half.imag * z.imag) for z in turns]
