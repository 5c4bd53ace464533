"""Where something closes on a finger in the pose shown: two jaws that face each other."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPolygonF

from app.canvas.frame import Frame
from core.space.pinched import Closing, Pinch

if TYPE_CHECKING:
    from core.study import Study

#: A place is marked while its room is at most so much wider than when it is shut, mm.
NEAR_MM = 6.0
#: More marks than these would hide the drawing; the hardest come first.
MOST_MARKED = 24
#: Below this a place counts as shut: a finger pressed flat (an estimate), mm.
SHUT_MM = 5.0
#: A mark has so much room to itself, pixels.
_OWN = 16.0
#: Length and half width of a jaw, and the least room between the two, pixels.
_LONG, _WIDE, _APART = 11.0, 5.5, 5.0


def closing_pinches(pinches: tuple[Pinch, ...], crank_rad: float,
                    unseen: frozenset[str] = frozenset()) -> list[tuple[Pinch, Closing]]:
    """The places near shutting at a crank angle, the hardest first; none behind a guard, and
    none of parts that are not seen."""
    if not pinches:
        return []
    near = _near(pinches)[int(np.abs(pinches[0].crank_rad - crank_rad).argmin())]
    found = []
    for one in (pinches[i] for i in near):
        closing = one.at(crank_rad) if unseen.isdisjoint(one.parts) else None
        if closing is not None and closing.room_mm <= one.smallest_mm + NEAR_MM:
            found.append((one, closing))
            if len(found) == MOST_MARKED:
                break
    return found


@lru_cache(maxsize=2)
def _near(pinches: tuple[Pinch, ...]) -> list[list[int]]:
    """For every step looked at, which places may be near shutting, a step more either way:
    most are not, and a picture has no time to ask them all."""
    lanes = np.array([one.lane_mm for one in pinches])
    limit = np.array([-np.inf if one.guarded == "guarded" else one.smallest_mm + NEAR_MM
                      for one in pinches])
    near = np.where(np.isnan(lanes), np.inf, lanes) <= limit[:, None]
    near = near | np.roll(near, 1, axis=1) | np.roll(near, -1, axis=1)
    return [np.flatnonzero(step).tolist() for step in near.T]


def pinch_marks(study: Study | None, crank_rad: float) -> list[tuple[str, str, str]]:
    """The pairs marked at a crank angle and what was decided: when they change, the picture
    does."""
    return [] if study is None else [
        (one.a, one.b, one.guarded) for one, _ in closing_pinches(study.pinches, crank_rad)]


def paint_pinches(painter: QPainter, frame: Frame) -> None:
    """Two jaws about every place near shutting: filled where it shuts on a finger, in
    outline where some room stays, in ink where it may be. Of places that would lie on each
    other the hardest is marked."""
    if frame.study is None:
        return
    unseen = frame.look.hidden | frame.unfinished
    marked: list[QPointF] = []
    for one, closing in closing_pinches(frame.study.pinches, frame.pose.crank_rad, unseen):
        middle = frame.camera.to_screen(closing.middle)
        if all((middle - other).manhattanLength() > _OWN for other in marked):
            marked.append(middle)
            colour = frame.theme.ink if one.guarded else frame.theme.fault
            shuts = not one.guarded and one.smallest_mm < SHUT_MM
            painter.setPen(frame.pen(frame.theme.paper if shuts else colour, 1.3))
            painter.setBrush(colour if shuts else Qt.BrushStyle.NoBrush)
            edge = frame.camera.to_screen(closing.middle + closing.across)
            _draw_jaws(painter, middle, edge)


def _draw_jaws(painter: QPainter, middle: QPointF, edge: QPointF) -> None:
    """Two triangles whose tips touch the edges, at a pixel halfway and one of the edges."""
    away = edge - middle
    size = math.hypot(away.x(), away.y())
    along = QPointF(0.0, -1.0) if size < 1e-6 else away / size
    side = QPointF(-along.y(), along.x())
    for way in (along, along * -1.0):
        tip = middle + way * max(size, _APART)
        back = tip + way * _LONG
        painter.drawPolygon(QPolygonF([tip, back + side * _WIDE, back - side * _WIDE]))
