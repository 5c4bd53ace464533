"""Draw the paths of points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QPainter

from app.canvas.frame import Frame
from app.gestures.base import At, Gesture
from app.gestures.building import with_point
from app.gestures.snapping import Snap, paint_snap
from app.gestures.spots import moving_ref, spot_at
from core.errors import EditError
from core.model.edits import change_point

if TYPE_CHECKING:
    from app.canvas.view import Canvas


class TraceGesture(Gesture):
    """The Trace tool: on a point, its path comes and goes; on a part, a new traced
    point is made there."""

    id = "trace"
    hint = "Click a point to draw its path; click a part to trace a new point of it"

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._meant: Snap | None = None

    def press(self, at: At) -> None:
        spot, self._meant = spot_at(self.canvas, at)
        session = self.canvas.session
        if spot.ref:
            ref = self._moving_ref(spot.ref)
            traced = not session.committed.point(ref).trace
            self.record(f"{'Trace' if traced else 'Untrace'} {ref}",
                        change_point(session.committed, ref, trace=traced), in_pose=False)
        elif spot.body:
            base = self.canvas.work.base()
            sketch, ref = with_point(base, spot.body, spot.place, trace=True)
            self.record(f"Trace {ref}", sketch)
        else:
            raise EditError("there is no part here", mend="click a point or a part")
        session.select((("point", ref),))

    def _moving_ref(self, ref: str) -> str:
        """Of the points on one pin, the one of a part that moves."""
        moving = moving_ref(self.canvas.session.committed, ref)
        if not moving:
            raise EditError("the frame does not move", mend="click a point of another part")
        return moving

    def move(self, at: At) -> None:
        _, self._meant = spot_at(self.canvas, at)
        self.canvas.hover(at.place)
        self.canvas.update()

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if self._meant is not None:
            paint_snap(painter, frame, self._meant)
