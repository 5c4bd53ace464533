"""Regions that a fit keeps points in or out of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QPainter, QPolygonF

from app.canvas.frame import Frame, with_alpha
from app.gestures.base import At
from app.gestures.clicks import Clicking, Clicks
from app.gestures.snapping import Snap, paint_snap, snap
from core.errors import EditError
from core.model.edits import add_zone, get

if TYPE_CHECKING:
    from app.canvas.view import Canvas

OUT, IN = range(2)


class RegionGesture(Clicking):
    """The Region tool: corner after corner, for the points and pins selected, else for the
    fixed pivots. One corner is a place to be at, two are a line to stay on."""

    id = "region"
    options = ("Keep out", "Keep in")

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self.clicks = Clicks()
        self._meant: Snap | None = None

    def rest(self) -> None:
        if self.clicks.places:
            self.say("Click the next corner; the first again, Enter or double click: done; "
                     "Backspace: one back")
        else:
            whom = ", ".join(self._points()) or "the fixed pivots"
            does = "keep out of" if self.option == OUT else "stay in"
            self.say(f"Click the corners of the region that {whom} must {does}; one corner: "
                     "a place, two: a line")

    def _points(self) -> tuple[str, ...]:
        """The points selected; of a pin the first of a moving part; grounded pins are
        fixed pivots like any other."""
        session = self.canvas.session
        fixed = {part.id for part in session.sketch.parts if part.fixed}
        found = list(session.selected("point"))
        for name in session.selected("pin"):
            at = get(session.sketch, name).at
            found.append(next((ref for ref in at if ref.partition(".")[0] in fixed), at[0]))
        return tuple(dict.fromkeys(found))

    def press(self, at: At) -> None:
        place = self._look(at).place
        scale = self.canvas.camera.scale
        if self.clicks.closes(place, scale):
            self.finish()
        elif not self.clicks.repeats(place, scale):
            self.clicks.add(place)
            self.rest()
        self.canvas.update()

    def move(self, at: At) -> None:
        self._look(at)
        self.canvas.update()

    def double(self, at: At) -> None:
        if len(self.clicks.places) > 1:
            self.finish()
        else:
            self.press(at)

    def _look(self, at: At) -> Snap:
        anchor = self.clicks.last if at.shift else None
        self._meant = snap(self.canvas.frame(), at, anchor=anchor)
        return self._meant

    def finish(self) -> bool:
        corners = self.clicks.taken()
        if not corners:
            return False
        self.canvas.update()
        if len(corners) < 3 and self.option == OUT:
            self.refuse(EditError("a region to keep out of needs three corners",
                                  mend="click three or more, or choose Keep in"))
            return True
        session = self.canvas.session
        sketch, name = add_zone(session.committed, corners, points=self._points(),
                                keep="out" if self.option == OUT else "in")
        self.record(f"Draw {name}", sketch, in_pose=False)
        session.select((("zone", name),))
        self.rest()
        return True

    def choose(self, option: int) -> None:
        super().choose(option)
        self.rest()

    def paint(self, painter: QPainter, frame: Frame) -> None:
        place = self._meant.place if self._meant is not None else None
        corners, _ = self.clicks.with_cursor(place, frame.camera.scale)
        pen = frame.pen(frame.theme.wish, 1.6)
        pen.setDashPattern([6, 3])
        painter.setPen(pen)
        painter.setBrush(with_alpha(frame.theme.wish, 0.10))
        painter.drawPolygon(QPolygonF([frame.camera.to_screen(each) for each in corners]))
        self.clicks.paint(painter, frame)
        if self._meant is not None:
            paint_snap(painter, frame, self._meant)
