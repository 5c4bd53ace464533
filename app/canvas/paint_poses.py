"""Wanted poses: ghosts of a part, dashed, with their crank angle; of no part yet, flags."""

from __future__ import annotations

import cmath
import math

import numpy as np
import shapely
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter, QTransform

from app.canvas.frame import Frame, with_alpha
from app.canvas.symbols import halo_text
from app.canvas.wish_lines import dashed, screened
from core.model import Part, WantedPose, part_of
from core.model.edits import pose_map
from core.units import show_angle

FLAG_PX = 34.0
GRIP_PX = 5.5


def pose_grips(frame: Frame, wish: WantedPose) -> tuple[complex, complex]:
    """Where a pose is held to be moved and to be turned, mm."""
    at = complex(wish.x, wish.y)
    way = cmath.rect(1.0, math.radians(wish.angle_deg))
    if not wish.at or not wish.toward:
        return at, at + way * FLAG_PX / frame.camera.scale
    span = abs(frame.sketch.place(wish.toward) - frame.sketch.place(wish.at))
    return at, at + way * max(span, 2.5 * GRIP_PX / frame.camera.scale)


def paint_pose(painter: QPainter, frame: Frame, wish: WantedPose) -> None:
    """One pose."""
    lit = frame.is_lit("wish", wish.id)
    strong = lit or frame.is_hovered("wish", wish.id)
    at, toward = (frame.camera.to_screen(place) for place in pose_grips(frame, wish))
    painter.setPen(frame.pen(frame.theme.wish, 2.4 if strong else 1.6))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    placed = pose_map(frame.sketch, wish)
    if placed is None:
        _paint_flag(painter, at, toward)
    else:
        part = frame.sketch.part(part_of(wish.at))
        if strong:
            _fill_ghost(painter, frame, part, placed)
        painter.drawLines(frame.shapes.lines.kept(
            frame.camera, lambda: _ghost(frame, part, placed), wish, part))
    painter.setPen(frame.pen(frame.theme.wish, 1.6))
    painter.setBrush(frame.theme.paper)
    painter.drawEllipse(at, GRIP_PX - 2, GRIP_PX - 2)
    if lit:
        painter.drawLine(QLineF(at, toward))
        painter.drawEllipse(at, GRIP_PX, GRIP_PX)
        painter.setBrush(frame.theme.wish)
        painter.drawEllipse(toward, GRIP_PX, GRIP_PX)
    _paint_label(painter, frame, wish, QLineF(at, toward), placed is None)


def _paint_flag(painter: QPainter, at: QPointF, toward: QPointF) -> None:
    line = QLineF(at, toward)
    if line.length() < 1.0:
        return
    along = QPointF(line.dx(), line.dy()) / line.length()
    side = QPointF(-along.y(), along.x())
    painter.drawLines([line, QLineF(toward - side * 6, toward + side * 6),
                       QLineF(toward - side * 6, toward - along * 9)])


def _fill_ghost(painter: QPainter, frame: Frame, part: Part,
                placed: tuple[complex, complex]) -> None:
    turn, shift = placed
    painter.save()
    painter.setTransform(QTransform(turn.real, turn.imag, -turn.imag, turn.real, shift.real,
                                    shift.imag) * frame.camera.transform())
    painter.fillPath(frame.shapes.of(part).path, with_alpha(frame.theme.wish, 0.10))
    painter.restore()


def _ghost(frame: Frame, part: Part, placed: tuple[complex, complex]) -> list[QLineF]:
    """The outline of the part where it is wanted, in dashes."""
    turn, shift = placed
    corners = shapely.get_coordinates(frame.shapes.of(part).polygon.exterior)
    if len(corners) < 2:
        corners = np.array([(p.x, p.y) for p in part.points])
    places = turn * (corners[:, 0] + 1j * corners[:, 1]) + shift
    return dashed(screened(places, frame.camera))


def _paint_label(painter: QPainter, frame: Frame, wish: WantedPose, line: QLineF,
                 flag: bool) -> None:
    """The crank angle: of a flag behind or beside its foot, of a ghost about its middle."""
    painter.setFont(frame.face(8.5))
    text = show_angle(wish.crank_deg)
    half = painter.fontMetrics().horizontalAdvance(text) / 2
    if flag:
        length = max(line.length(), 1.0)
        along = QPointF(line.dx(), line.dy()) / length
        side = QPointF(-along.y(), along.x())
        spots = [line.p1() + QPointF(way.x() * (half + 10.0), way.y() * 17.0)
                 for way in (-along, side, -side)]
    else:
        wide = half + 14.0
        spots = [line.center() + QPointF(x, y)
                 for y in (-12, 12, -28, 28) for x in (wide, -wide)]
    halo_text(painter, frame.labels.place(painter, text, spots), text, frame.theme.wish,
              with_alpha(frame.theme.paper, 0.85))
