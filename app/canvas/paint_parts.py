"""Parts in stack order: wood by layer, grain, ink outline; the frame as a faint ghost."""

from __future__ import annotations

import cmath
import math
from functools import lru_cache

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QTransform

from app.canvas.frame import Frame, with_alpha
from app.canvas.paint_drives import crank_arm, ring_px
from app.canvas.paint_grain import is_grained
from app.canvas.shapes import Shape
from app.canvas.symbols import halo_text
from app.theme import contrast
from core.model import Part

_SHEET_EDGE_PX = (2.0, 1.0)


def part_transform(frame: Frame, part_id: str) -> QTransform:
    """From drawn coordinates of a part to pixels, in the pose shown."""
    turn = frame.pose.rotation.get(part_id, 1 + 0j)
    shift = frame.pose.shift.get(part_id, 0j)
    posed = QTransform(turn.real, turn.imag, -turn.imag, turn.real, shift.real, shift.imag)
    return posed * frame.camera.transform()


def paint_part(painter: QPainter, frame: Frame, part: Part) -> None:
    """One part: sheet edge, body, grain and outline."""
    shape = frame.shapes.of(part)
    if not part.fixed:
        _paint_sheet_edge(painter, frame, part, shape)
    painter.save()
    painter.setTransform(part_transform(frame, part.id))
    if part.fixed:
        _paint_frame_body(painter, frame, shape, is_bright(frame, part))
    else:
        _paint_wood(painter, frame, part, shape)
    painter.restore()


def is_bright(frame: Frame, part: Part) -> bool:
    """True for a part that is selected or under the cursor."""
    return frame.is_lit("part", part.id) or frame.is_hovered("part", part.id)


def paint_bright(painter: QPainter, frame: Frame, part: Part) -> None:
    """The outline of a bright part over everything that lies on it."""
    shape = frame.shapes.of(part)
    pen = frame.pen(frame.theme.accent, 2.5 if frame.is_lit("part", part.id) else 1.5)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.save()
    painter.setTransform(part_transform(frame, part.id))
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(shape.path)
    painter.restore()


def _paint_sheet_edge(painter: QPainter, frame: Frame, part: Part, shape: Shape) -> None:
    """The edge of the sheet seen a little from the side: tells which part is on top."""
    wood = frame.theme.wood(frame.shapes.layers(frame.sketch)[part.id][0])
    painter.setPen(frame.hair(wood.darker(165)))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    placed = part_transform(frame, part.id)
    painter.save()
    for off in _SHEET_EDGE_PX:
        painter.setTransform(placed * QTransform.fromTranslate(off * 0.6, off))
        painter.drawPath(shape.path)
    painter.restore()


def _paint_wood(painter: QPainter, frame: Frame, part: Part, shape: Shape) -> None:
    theme = frame.theme
    layer = frame.shapes.layers(frame.sketch)[part.id][0]
    wood = theme.wood(layer)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(wood)
    painter.drawPath(shape.path)
    if frame.camera.scale > 0.9 and is_grained(frame, part):
        painter.setPen(frame.hair(wood.darker(114 if theme.dark else 109)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(shape.grain)
    painter.setPen(frame.hair(QColor("#0d1012") if frame.theme.dark else theme.ink))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    placed = part_transform(frame, part.id)
    for shift in frame.strokes:
        painter.setTransform(placed * QTransform.fromTranslate(shift.x(), shift.y()))
        painter.drawPath(shape.path)
    painter.setTransform(placed)


def _paint_frame_body(painter: QPainter, frame: Frame, shape: Shape, strong: bool) -> None:
    """The frame does not move: a ghost with a chain line, under everything."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(with_alpha(frame.theme.faint, 0.10 if strong else 0.055))
    painter.drawPath(shape.path)
    pen = frame.pen(with_alpha(frame.theme.faint, 0.55), 1.0)
    pen.setDashPattern([10, 4, 2, 4])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(shape.path)


def paint_name(painter: QPainter, frame: Frame, part: Part) -> None:
    """The name of a part along its longest span, upright, when there is room for it.

    Names are stamped on the wood: what lies above hides them, unless the part is lit.
    """
    shape = frame.shapes.of(part)
    lit = is_bright(frame, part)
    if part.fixed and not lit:
        return
    face = frame.face(8.0, lit)
    painter.setFont(face)
    width = painter.fontMetrics().horizontalAdvance(part.id)
    place = frame.pose.place(part.id, shape.name_at)
    if not lit and (width > shape.name_room_mm * frame.camera.scale - 26
                    or _on_crank_ring(frame, place)):
        return
    angle = shape.along_rad + cmath.phase(frame.pose.rotation.get(part.id, 1 + 0j))
    if math.cos(angle) < -1e-3:
        angle += math.pi
    wood = frame.theme.wood(frame.shapes.layers(frame.sketch)[part.id][0])
    ink = frame.theme.ink if part.fixed else QColor(_legible(wood.name()))
    painter.save()
    painter.translate(frame.camera.to_screen(place))
    painter.rotate(-math.degrees(angle))
    painter.setPen(with_alpha(ink, 1.0 if lit else 0.75))
    painter.drawText(QRectF(-width, -10, 2 * width, 20), Qt.AlignmentFlag.AlignCenter, part.id)
    painter.restore()
    drive = frame.sketch.drive
    # It is read now, or turns with the crank's angle: no other text goes over it.
    if lit or (drive is not None and drive.part == part.id):
        tilt = QTransform().rotate(-math.degrees(angle))
        box = tilt.mapRect(QRectF(-width / 2, -8, width, 16))
        frame.labels.reserve(box.translated(frame.camera.to_screen(place)))


def _on_crank_ring(frame: Frame, place: complex) -> bool:
    """True where the ring, its arrow and the torque about the crank's pivot are drawn."""
    arm = crank_arm(frame)
    return arm is not None and (abs(place - arm[0]) * frame.camera.scale
                                < ring_px(frame, arm) + 8)


@lru_cache(maxsize=64)
def _legible(wood: str) -> str:
    """Dark ink on light wood, light ink on dark; colours as ``#rrggbb``."""
    return max("#1b1712", "#fbf6ea", key=lambda ink: contrast(QColor(ink), QColor(wood)))


def paint_ties(painter: QPainter, frame: Frame, part: Part) -> None:
    """Broken lines from a part to the points of it that lie off its wood: a traced point
    out in the air moves with the part all the same."""
    colour = frame.theme.accent if is_bright(frame, part) else with_alpha(frame.theme.ink, 0.6)
    pen = frame.pen(colour, 1.2)
    pen.setDashPattern([4, 3])
    for foot, point in frame.shapes.of(part).ties:
        painter.setPen(pen)
        painter.drawLine(QLineF(*(frame.camera.to_screen(frame.pose.place(part.id, place))
                                  for place in (foot, point))))


def paint_points(painter: QPainter, frame: Frame, part: Part, pinned: set[str]) -> None:
    """Small marks on the points of a part that carry no pin, or are chosen."""
    lit = is_bright(frame, part)
    for ref, place in frame.pose.points(part):
        chosen = frame.is_lit("point", ref) or frame.is_hovered("point", ref)
        if ref in pinned and not chosen:
            continue
        at = frame.camera.to_screen(place)
        radius = 5.0 if chosen else 3.0
        painter.setPen(frame.pen(frame.theme.accent if chosen or lit else frame.theme.ink,
                                 2.0 if chosen else 1.2))
        painter.setBrush(frame.theme.paper)
        painter.drawEllipse(at, radius, radius)
        if chosen:
            painter.setFont(frame.face(8.5, True))
            away = painter.fontMetrics().horizontalAdvance(ref) / 2 + 12
            spot = frame.labels.place(painter, ref, [
                at + QPointF(x, y) for y in (-13, 13, -26, 26) for x in (away, -away)])
            halo_text(painter, spot, ref, frame.theme.ink, with_alpha(frame.theme.paper, 0.85))
