"""Draw what is wanted: the path of a point, the pose of a part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QKeyEvent, QPainter

from app.canvas.frame import Frame
from app.canvas.wish_hits import grip_at
from app.gestures.arrange import ArrangeGesture
from app.gestures.base import At, Gesture
from app.gestures.snapping import snap
from app.gestures.spots import moving_ref
from app.gestures.wish_pens import ByHandles, Freehand, Pen, Round
from app.gestures.wish_pose import PosePen
from core.model import Sketch

if TYPE_CHECKING:
    from app.canvas.view import Canvas


class WishGesture(Gesture):
    """The Wish tool: six pens. What begins on a point of a moving part (or while one is
    selected) is asked of that point, else of nothing yet. One undo step each. A press on a
    handle of what is selected drags that, as Arrange does; with Alt a pen begins there."""

    id = "wish"
    options = ("Freehand", "Handles", "Straight", "Circle", "Ellipse", "Pose")

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._pen = self._made(0)
        self.drags = self._pen.drags
        self._handles = ArrangeGesture(canvas)
        self._dragging = False

    def _made(self, option: int) -> Pen:
        name = self.options[option]
        if name in ("Handles", "Straight"):
            return ByHandles(self, "smooth" if name == "Handles" else "straight")
        if name in ("Circle", "Ellipse"):
            return Round(self, name == "Ellipse")
        return PosePen(self) if name == "Pose" else Freehand(self)

    # -- what the canvas calls -----------------------------------------------------

    @property
    def busy(self) -> bool:
        return self._pen.busy

    def press(self, at: At) -> None:
        self._dragging = self._over_handle(at)
        (self._handles if self._dragging else self._pen).press(at)

    def _over_handle(self, at: At) -> bool:
        free = not self._pen.busy and not at.alt
        return free and grip_at(self.canvas.frame(), at.place) is not None

    def move(self, at: At) -> None:
        if self._dragging:
            self._handles.move(at)
            return
        if not self._pen.busy:
            self._handles.move(at)  # lights up the handle that a press would take
        if not self._over_handle(at):
            self._pen.move(at)

    def release(self, at: At) -> None:
        if not self._dragging:
            self._pen.release(at)
            return
        self._dragging = False
        self._handles.release(at)
        self.rest()

    def double(self, at: At) -> None:
        if self._over_handle(at):
            self.press(at)
        else:
            self._pen.double(at)

    def finish(self) -> bool:
        self._dragging = False
        return self._handles.finish() or self._pen.finish()

    def cancel(self) -> bool:
        self._dragging = False
        return self._handles.cancel() or self._pen.cancel()

    def forget(self) -> None:
        self._dragging = False
        self._handles.forget()
        self._pen.forget()

    def key(self, event: QKeyEvent) -> bool:
        if not self._pen.busy and self._handles.key_claims(event):
            return self._handles.key(event)
        return self._pen.key(event)

    def key_claims(self, event: QKeyEvent) -> bool:
        return (not self._pen.busy and self._handles.key_claims(event)
                ) or self._pen.key_claims(event)

    def choose(self, option: int) -> None:
        self._pen.finish()
        super().choose(option)
        self._pen = self._made(option)
        self.drags = self._pen.drags
        self.rest()

    def rest(self) -> None:
        self.say(self._pen.hint)

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if not self._pen.busy:
            self._handles.paint(painter, frame)
        if not self._dragging:
            self._pen.paint(painter, frame)

    # -- for the pens --------------------------------------------------------------

    def point_at(self, at: At) -> str:
        """The point something that begins here is asked of, or ""."""
        session = self.canvas.session
        meant = snap(self.canvas.frame(), At(at.pixel, at.place))
        found = moving_ref(session.committed, meant.ref) if meant.ref else ""
        return found or self.selected_point()

    def selected_point(self) -> str:
        """The one point selected, when it moves; or ""."""
        session = self.canvas.session
        picked = session.selected("point")
        return moving_ref(session.committed, picked[0]) if len(picked) == 1 else ""

    def tell(self, asked: str) -> None:
        """Say of what a path is asked that has begun."""
        self.say(f"The path of {asked}" if asked else
                 "A path for no point yet: find looks for mechanisms that draw it")

    def keep(self, label: str, sketch: Sketch, item: tuple[str, str]) -> None:
        """Record what was drawn and select it."""
        if self.record(label, sketch, in_pose=False):
            self.canvas.session.select((item,))
        self.rest()
