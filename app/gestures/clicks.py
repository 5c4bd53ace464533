"""Places clicked one after the other."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QKeyEvent, QPainter

from app.canvas.frame import Frame
from app.gestures.base import Gesture

_SAME_PX = 5.0
_CLOSES_PX = 9.0
_HALF_PX = 3.5


class Clicks:
    """The places (mm) clicked so far."""

    def __init__(self) -> None:
        self.places: list[complex] = []

    @property
    def last(self) -> complex | None:
        """The place clicked last."""
        return self.places[-1] if self.places else None

    def add(self, place: complex) -> None:
        """One more."""
        self.places.append(place)

    def claims(self, event: QKeyEvent) -> bool:
        """Whether a key means these places: Backspace takes one back."""
        return bool(self.places) and event.key() == Qt.Key.Key_Backspace

    def key(self, event: QKeyEvent) -> bool:
        """Do what a key means; whether it meant these places."""
        if not self.claims(event):
            return False
        self.places.pop()
        return True

    def taken(self) -> list[complex]:
        """All of them; none are left."""
        taken, self.places = self.places, []
        return taken

    def closes(self, place: complex, scale: float) -> bool:
        """Whether a click there goes back to the first of at least three."""
        return len(self.places) > 2 and abs(place - self.places[0]) * scale <= _CLOSES_PX

    def repeats(self, place: complex, scale: float) -> bool:
        """Whether a click there is the last one over again."""
        return bool(self.places) and abs(place - self.places[-1]) * scale <= _SAME_PX

    def with_cursor(self, place: complex | None, scale: float) -> tuple[list[complex], bool]:
        """The places with the one under the cursor, and whether that would close them."""
        if not self.places or place is None or self.repeats(place, scale):
            return list(self.places), False
        if self.closes(place, scale):
            return list(self.places), True
        return [*self.places, place], False

    def paint(self, painter: QPainter, frame: Frame) -> None:
        """A square at each."""
        painter.setPen(frame.pen(frame.theme.wish, 1.4))
        painter.setBrush(frame.theme.paper)
        for index, place in enumerate(self.places):
            at, half = frame.camera.to_screen(place), _HALF_PX + (index == 0)
            painter.drawRect(QRectF(at.x() - half, at.y() - half, 2 * half, 2 * half))


class Clicking(Gesture):
    """A gesture that gathers places in `clicks`, and gives them up or takes one back."""

    clicks: Clicks

    def cancel(self) -> bool:
        return bool(self.clicks.taken())

    def key(self, event: QKeyEvent) -> bool:
        meant = self.clicks.key(event)
        if meant:
            self.canvas.update()
        return meant

    def key_claims(self, event: QKeyEvent) -> bool:
        return self.clicks.claims(event)
