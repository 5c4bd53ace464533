"""Where something closes on a finger in the pose shown: two jaws that face each other."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPolygonF

from app.canvas.frame import Frame, with_alpha
from core.space.pinched import Closing, Pinch

#: A place is marked while its room is at most so much wider than when it is shut, mm.
NEAR_MM = 6.0
#: More marks than these would hide the drawing; the hardest come first.
MOST_MARKED = 24
#: Length and half width of a jaw, and the least room between the two, pixels.
_LONG, _WIDE, _APART = 9.0, 4.5, 5.0


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


def paint_pinches(painter: QPainter, frame: Frame) -> None:
    """Two jaws about every place near shutting: filled where nothing is decided, in outline
    where it may be."""
    study = frame.study
    if study is None or study.sketch is not frame.sketch:
        return  # of another drawing
    unseen = frozenset(frame.look.hidden) | frame.unfinished
    for one, closing in closing_pinches(study.pinches, frame.pose.crank_rad, unseen):
        _paint_jaws(painter, frame, closing, quiet=bool(one.guarded))


def _paint_jaws(painter: QPainter, frame: Frame, closing: Closing, quiet: bool) -> None:
    middle = frame.camera.to_screen(closing.middle)
    edge = frame.camera.to_screen(closing.middle + closing.across)
    away = edge - middle
    size = (away.x() ** 2 + away.y() ** 2) ** 0.5
    along = QPointF(0.0, -1.0) if size < 1e-6 else away / size
    side = QPointF(-along.y(), along.x())
    colour = frame.theme.ink if quiet else frame.theme.fault
    painter.setPen(frame.pen(with_alpha(colour, 0.6) if quiet else frame.theme.paper, 1.2))
    painter.setBrush(Qt.BrushStyle.NoBrush if quiet else colour)
    for way in (along, along * -1.0):
        tip = middle + way * max(size, _APART)
        back = tip + way * _LONG
        painter.drawPolygon(QPolygonF([tip, back + side * _WIDE, back - side * _WIDE]))
