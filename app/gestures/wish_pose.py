"""Wanted poses: a ghost of a part where it stands, or a flag for no part yet."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame
from app.canvas.pose import Pose
from app.gestures.base import At
from app.gestures.spots import moving_under
from app.gestures.wish_pens import Pen
from core.model import Sketch
from core.model.edits import add_pose, change, free_crank_deg, pose_handles, shift_wish
from core.units import show_angle

if TYPE_CHECKING:
    from app.gestures.wish import WishGesture

_DRAG_PX = 6.0


def pose_here(sketch: Sketch, pose: Pose, part_id: str) -> tuple[Sketch, str]:
    """The sketch with a part wanted where it stands in the pose shown, at that crank angle
    (a later one when it has a pose there already), and the wish's id. EditError for a part
    that tells no direction."""
    at, toward = pose_handles(sketch, part_id)
    place = pose.at(at)
    angle = math.degrees(cmath.phase(pose.at(toward) - place))
    crank = free_crank_deg(sketch, math.degrees(pose.crank_rad), at)
    return add_pose(sketch, place, angle, crank, at=at, toward=toward)


class PosePen(Pen):
    """Click a part: it is wanted where it stands; drag: where the ghost is let go. On
    paper: press where its point is to be and drag in its direction."""

    hint = ("Turn the crank, then click a part: it is wanted there at that angle; drag to "
            "put its ghost elsewhere; on paper: drag in a direction")

    def __init__(self, tool: WishGesture) -> None:
        super().__init__(tool)
        self._pressed: At | None = None
        self._made: tuple[Sketch, str] | None = None
        self._on_part = False

    @property
    def busy(self) -> bool:
        return self._made is not None

    def press(self, at: At) -> None:
        session, frame = self.canvas.session, self.canvas.frame()
        session.player.set_playing(False)
        under = moving_under(frame, at.place)
        picked = session.selected("part")
        self._on_part = bool(under)
        if under:
            part_id = picked[0] if len(picked) == 1 and picked[0] in under else under[0]
            self._made = pose_here(session.committed, frame.pose, part_id)
        else:
            place = self.look(at).place
            handles = ("", "")
            if len(picked) == 1 and picked[0] not in frame.fixed:
                handles = pose_handles(session.committed, picked[0])
            crank = free_crank_deg(session.committed, math.degrees(frame.pose.crank_rad),
                                   handles[0])
            self._made = add_pose(session.committed, place, 0.0, crank,
                                  at=handles[0], toward=handles[1])
        self._pressed = at
        self._show(at)

    def move(self, at: At) -> None:
        if self._made is None:
            self.look(at)
            self.canvas.hover(at.place)
            self.canvas.update()
        else:
            self._show(at)

    def _show(self, at: At) -> None:
        sketch, name = self._now(at)
        self.show(sketch, in_pose=False)
        wish = next(wish for wish in sketch.wanted if wish.id == name)
        self.say(f"Wanted at {show_angle(wish.crank_deg)} of the crank, at an angle of "
                      f"{show_angle(wish.angle_deg)}")

    def _now(self, at: At) -> tuple[Sketch, str]:
        """The sketch for the mouse there."""
        assert self._made is not None
        assert self._pressed is not None
        sketch, name = self._made
        if QLineF(self._pressed.pixel, at.pixel).length() < _DRAG_PX:
            return sketch, name
        if self._on_part:
            return shift_wish(sketch, name, at.place - self._pressed.place), name
        way = self.look(at, self._pressed.place).place - self._pressed.place
        if way == 0:
            return sketch, name
        return change(sketch, "wanted", name, angle_deg=math.degrees(cmath.phase(way))), name

    def release(self, at: At) -> None:
        if self._made is None:
            return
        sketch, name = self._now(at)
        self._made = None
        self.tool.keep(f"Want {name}", sketch, ("wish", name))

    def cancel(self) -> bool:
        if self._made is None:
            return False
        self._made = None
        self.canvas.work.drop()
        return True

    def forget(self) -> None:
        """The ghost was of the sketch that was."""
        self._made = None

    def paint(self, painter: QPainter, frame: Frame) -> None:
        over = self.canvas.hovered
        if self._made is None and (over is None or over[0] != "part"):
            super().paint(painter, frame)
