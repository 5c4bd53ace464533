"""Marks over the drawing: locked points and lengths, twins, gaps that are too small,
findings."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QBrush, QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.paint_parts import part_transform
from app.canvas.pose import Pose
from app.canvas.shapes import ring_path
from app.canvas.symbols import draw_grade, draw_padlock, halo_text
from core.units import show_length

if TYPE_CHECKING:
    from core.study import Study

_NEAR_DEG = 4.0
#: More marks than these would hide the drawing, and looking at more pairs stop it.
_MOST_MARKED, _MOST_LOOKED_AT = 40, 200
_WORST = ("note", "warning", "fault")


def paint_locked(painter: QPainter, frame: Frame) -> None:
    """A padlock by every locked point, and on parts whose lengths are locked."""
    pen = frame.pen(frame.theme.ink, 1.2)
    for part in frame.sketch.parts:
        if part.id in frame.look.hidden:
            continue
        for point in part.points:
            if point.locked:
                at = frame.screen(f"{part.id}.{point.id}")
                draw_padlock(painter, at + QPointF(13, -13), pen, frame.theme.brass)
        if part.lengths_locked and len(part.points) > 1:
            shape = frame.shapes.of(part)
            at = frame.camera.to_screen(frame.pose.place(part.id, shape.lock_at))
            draw_padlock(painter, at, pen, frame.theme.brass)


def paint_twins(painter: QPainter, frame: Frame) -> None:
    """The mirror line between twins, when either side is selected or hovered."""
    lit = {item for kind, item in frame.selection if kind in ("part", "twin")}
    if frame.hovered is not None and frame.hovered[0] == "part":
        lit.add(frame.hovered[1])
    far = (frame.camera.width + frame.camera.height) / frame.camera.scale
    for twin in frame.sketch.twins:
        strong = twin.id in lit or any(lit.intersection(pair) for pair in twin.parts)
        pen = frame.pen(with_alpha(frame.theme.accent, 0.85 if strong else 0.28), 1.2)
        pen.setDashPattern([14, 4, 2, 4])
        painter.setPen(pen)
        along = cmath.rect(far, twin.angle_deg * cmath.pi / 180)
        foot = complex(twin.x, twin.y)
        painter.drawLine(QLineF(frame.camera.to_screen(foot - along),
                                frame.camera.to_screen(foot + along)))


def tight_pairs(study: Study | None, wanted_mm: float) -> tuple[tuple[str, str], ...]:
    """The pairs that come nearer than wanted somewhere on the turn."""
    if study is None or study.gaps is None:
        return ()
    return tuple((gap.a, gap.b) for gap in study.gaps.pairs if gap.smallest_mm < wanted_mm)


def worst_grades(study: Study | None, crank_rad: float) -> dict[str, str]:
    """Part id → the graver grade of the faults and warnings about it near a crank angle."""
    worst: dict[str, str] = {}
    for finding in study.findings if study is not None else ():
        away = 0.0
        if finding.crank_deg is not None:
            away = math.remainder(finding.crank_deg - math.degrees(crank_rad), 360.0)
        if finding.grade != "note" and abs(away) <= _NEAR_DEG:
            for part_id in finding.parts:
                worst[part_id] = max(worst.get(part_id, "note"), finding.grade,
                                     key=_WORST.index)
    return worst


def paint_tight_gaps(painter: QPainter, frame: Frame) -> None:
    """Where parts of one layer are nearer than wanted in the pose shown; of a great many
    pairs, the worst of the turn."""
    wanted, unseen = frame.sketch.gap_mm, frame.look.hidden.union(frame.unfinished)
    posed = _Posed(frame)
    marked = 0
    for a, b in tight_pairs(frame.study, wanted)[:_MOST_LOOKED_AT]:
        if a in unseen or b in unseen:
            continue
        one, other = posed.of(a), posed.of(b)
        if one is not None and other is not None:
            marked += _paint_gap(painter, frame, one, other, wanted)
        if marked >= _MOST_MARKED:
            break


class _Posed:
    """Outlines of parts and of the rods of pins ("pin ID") where they are now."""

    def __init__(self, frame: Frame) -> None:
        self._frame = frame
        self._parts = {part.id: part for part in frame.sketch.parts}
        self._pins = {f"pin {pin.id}": pin for pin in frame.sketch.pins}
        self._held: dict[str, shapely.Polygon | None] = {}

    def of(self, name: str) -> shapely.Polygon | None:
        """The outline, or None for a name the sketch does not know."""
        if name not in self._held:
            self._held[name] = self._find(name)
        return self._held[name]

    def _find(self, name: str) -> shapely.Polygon | None:
        frame = self._frame
        if name in self._parts:
            drawn = frame.shapes.of(self._parts[name]).polygon
            return posed_outline(frame.pose, drawn, name)
        if name in self._pins:
            at = frame.pose.at(self._pins[name].at[0])
            return shapely.Point(at.real, at.imag).buffer(self._pins[name].diameter_mm / 2)
        return None


def posed_outline(pose: Pose, polygon: shapely.Polygon, part_id: str) -> shapely.Polygon:
    """A drawn outline where its part is now."""
    def move(corners: NDArray[np.float64]) -> NDArray[np.float64]:
        places = corners[:, 0] + 1j * corners[:, 1]
        now = pose.rotation.get(part_id, 1 + 0j) * places + pose.shift.get(part_id, 0j)
        corners[:, 0], corners[:, 1] = now.real, now.imag
        return corners
    return shapely.transform(polygon, move)


def _paint_gap(painter: QPainter, frame: Frame, one: shapely.Polygon, other: shapely.Polygon,
               wanted_mm: float) -> bool:
    """Mark the gap when it is smaller than wanted; whether it is."""
    if one.is_empty or other.is_empty:
        return False
    gap = one.distance(other)
    if gap >= wanted_mm:
        return False
    theme = frame.theme
    if gap <= 0:
        painter.save()
        painter.setTransform(frame.camera.transform(), True)
        painter.setPen(frame.pen(theme.fault, 1.5))
        brush = QBrush(theme.fault, Qt.BrushStyle.BDiagPattern)
        brush.setTransform(painter.transform().inverted()[0])
        painter.setBrush(brush)
        for piece in shapely.get_parts(one.intersection(other)):
            if piece.geom_type == "Polygon":
                painter.drawPath(ring_path(piece))
        painter.restore()
        return True
    ends = shapely.get_coordinates(shapely.shortest_line(one, other))
    first, last = (frame.camera.to_screen(complex(x, y)) for x, y in ends.tolist())
    painter.setPen(frame.pen(theme.fault, 2.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    middle = (first + last) / 2
    painter.drawEllipse(middle, 10.0, 10.0)
    painter.drawLine(first, last)
    painter.setFont(frame.face(8.5, True))
    text = show_length(gap, frame.sketch.units)
    away = painter.fontMetrics().horizontalAdvance(text) / 2 + 14
    spot = frame.labels.place(painter, text, [
        middle + QPointF(x, y) for y in (-12, 12, -28, 28) for x in (away, -away)])
    halo_text(painter, spot, text, theme.fault_text, with_alpha(theme.paper, 0.85))
    return True


def paint_findings(painter: QPainter, frame: Frame) -> None:
    """The worst mark on every part that a fault or warning names at this crank angle."""
    worst = worst_grades(frame.study, frame.pose.crank_rad)
    for part in frame.stacked():
        if part.id not in worst or part.id in frame.unfinished:
            continue
        grade = worst[part.id]
        shape, colour = frame.shapes.of(part), frame.theme.grade(grade)
        pen = frame.pen(colour, 2.2)
        pen.setDashPattern([4, 2.5])
        painter.save()
        painter.setTransform(part_transform(frame, part.id), True)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(shape.path)
        painter.restore()
        at = frame.camera.to_screen(frame.pose.place(part.id, shape.mark_at))
        draw_grade(painter, at, grade, colour, frame.theme.ink)
