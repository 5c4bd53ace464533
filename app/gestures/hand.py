"""Turn the mechanism by its crank or by any part."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QKeyEvent, QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.hits import top_hit
from app.canvas.paint_drives import crank_arm
from app.gestures.base import At, Gesture
from app.gestures.turning import Follower
from core.model import part_of

if TYPE_CHECKING:
    from app.canvas.view import Canvas


class CrankPull:
    """The cursor turns the crank about its pivot, round and round."""

    def __init__(self, pivot: complex, grabbed: complex, crank_rad: float) -> None:
        self._pivot, self._last, self._at = pivot, grabbed, crank_rad

    def to(self, target: complex, tie_mm: float) -> float:
        """The crank angle for a cursor at `target` (mm)."""
        one, two = self._last - self._pivot, target - self._pivot
        if abs(one) > 1e-9 and abs(two) > 1e-9:
            self._at += cmath.phase(two / one)
        self._last = target
        return self._at


class HandGesture(Gesture):
    """The Hand tool. Turning is no edit: there is nothing to undo."""

    id = "hand"
    hint = "Drag the crank or any part to turn the mechanism; ← → 1°, with Shift 10°"
    cursor = Qt.CursorShape.OpenHandCursor

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._pull: Follower | CrankPull | None = None
        self._held: tuple[str, complex] | None = None
        self._cursor = 0j
        self._before = 0.0

    def press(self, at: At) -> None:
        session = self.canvas.session
        session.player.set_playing(False)
        self._before = session.crank_rad
        self._pull = self.grab(at)
        if self._pull is None:
            return
        self._cursor = at.place
        self.canvas.setCursor(Qt.CursorShape.ClosedHandCursor)

    def grab(self, at: At) -> Follower | CrankPull | None:
        """What follows the cursor from here on; None when nothing can turn."""
        frame, session = self.canvas.frame(), self.canvas.session
        arm = crank_arm(frame)
        self._held = None
        if arm is None or len(session.turn.crank_rad) < 2:
            self.say(session.trouble or "Nothing turns yet: pin a part to the frame and make "
                     "it the crank")
            return None
        part_id = self._part_at(frame, at.place)
        drive = frame.sketch.drive
        if part_id and drive is not None and part_id != drive.part:
            drawn = frame.pose.drawn(part_id, at.place)
            follower = Follower(session.turn, part_id, drawn, session.crank_rad)
            if follower.moves:
                self._held = (part_id, drawn)
                return follower
        return CrankPull(arm[0], at.place, session.crank_rad)

    def _part_at(self, frame: Frame, place: complex) -> str:
        item = top_hit(frame, place)
        if item is None:
            return ""
        kind, name = item
        if kind == "part":
            return name
        if kind == "point":
            return part_of(name)
        if kind == "pin":
            pin = next(pin for pin in frame.sketch.pins if pin.id == name)
            moving = [part_of(ref) for ref in pin.at if part_of(ref) not in frame.fixed]
            drive = frame.sketch.drive
            # The crank's own pin is the surest thing to turn it by.
            if drive is not None and drive.part in moving:
                return drive.part
            return moving[0] if moving else ""
        return ""

    def move(self, at: At) -> None:
        if self._pull is None:
            self.canvas.hover(at.place)
            return
        self._cursor = at.place
        tie = 1.5 / self.canvas.camera.scale
        self.canvas.session.set_crank(self._pull.to(at.place, tie))

    def release(self, at: At) -> None:
        if self._pull is not None:
            self._pull = self._held = None
            self.canvas.setCursor(self.cursor)
            self.canvas.update()

    def cancel(self) -> bool:
        if self._pull is None:
            return False
        self._pull = self._held = None
        self.canvas.session.set_crank(self._before)
        self.canvas.setCursor(self.cursor)
        return True

    def forget(self) -> None:
        self._pull = self._held = None

    def key(self, event: QKeyEvent) -> bool:
        return turn_by_key(self, event)

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if self._held is None:
            return
        part_id, drawn = self._held
        now = frame.camera.to_screen(frame.pose.place(part_id, drawn))
        cursor = frame.camera.to_screen(self._cursor)
        pen = frame.pen(with_alpha(frame.theme.accent, 0.7), 1.5)
        pen.setDashPattern([3, 3])
        painter.setPen(pen)
        painter.drawLine(QLineF(now, cursor))
        painter.setBrush(frame.theme.accent)
        painter.drawEllipse(now, 4.0, 4.0)


def turn_by_key(gesture: Gesture, event: QKeyEvent) -> bool:
    """← and → turn the crank by a degree, with Shift by ten; Home: to the drawn pose."""
    session, key = gesture.canvas.session, event.key()
    step = math.radians(10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0)
    if key in (Qt.Key.Key_Left, Qt.Key.Key_Down):
        session.set_crank(session.crank_rad - step)
    elif key in (Qt.Key.Key_Right, Qt.Key.Key_Up):
        session.set_crank(session.crank_rad + step)
    elif key == Qt.Key.Key_Home and session.sketch.drive is not None:
        session.set_crank(math.radians(session.sketch.drive.drawn_deg))
    else:
        return False
    return True
