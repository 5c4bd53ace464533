"""Wanted paths: a dashed line with its direction, the band of its tolerance under the
parts, ticks across it, and handles when it is selected."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen, QPolygonF

from app.canvas.frame import Frame, with_alpha
from app.canvas.paint_paths import reached_runs
from app.canvas.paint_poses import paint_pose
from app.canvas.paint_swings import paint_swing
from app.canvas.paint_zones import paint_zone, paint_zone_ground
from app.canvas.symbols import draw_arrow, halo_text
from app.canvas.wish_lines import along, at_place, dashed, screened
from core.model import WantedPath, WantedPose, WantedStroke, WantedSwing
from core.units import show_angle

HANDLE_PX = 4.0
TICK_PX = 7.0
_ARROW_EVERY_PX = 150.0
_ARROW_PX = 8.0
_MOST_LABELS = 24
_BAND_ALPHA = 0.13
#: The crank is at a tick or pose when it is so near to it.
_NOW_DEG = 0.75


def paint_wish_ground(painter: QPainter, frame: Frame) -> None:
    """What lies on the paper, under the parts: regions and bands of tolerance."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    for zone in frame.sketch.zones:
        paint_zone_ground(painter, frame, zone)
    for wish in frame.sketch.wanted:
        if isinstance(wish, WantedPath):
            _paint_band(painter, frame, wish)


def _paint_band(painter: QPainter, frame: Frame, wish: WantedPath) -> None:
    colour = with_alpha(frame.theme.wish, _BAND_ALPHA)
    radius = wish.tolerance_mm * frame.camera.scale
    if wish.curve == "places":
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        for x, y in wish.through:
            painter.drawEllipse(frame.camera.to_screen(complex(x, y)), radius, radius)
        return
    pen = QPen(colour, max(2.0 * radius, 1.0))
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    pixels = screened(frame.shapes.lines.of(wish).places, frame.camera)
    path = QPainterPath()
    for run in reached_runs(np.column_stack([pixels.real, pixels.imag]), False):
        path.addPolygon(run)
    painter.drawPath(path)


def paint_wishes(painter: QPainter, frame: Frame) -> None:
    """What lies over the parts."""
    for zone in frame.sketch.zones:
        paint_zone(painter, frame, zone)
    for wish in frame.sketch.wanted:
        if isinstance(wish, WantedPath):
            _paint_path(painter, frame, wish)
        elif isinstance(wish, WantedPose):
            paint_pose(painter, frame, wish)
            _paint_miss(painter, frame, wish.at, complex(wish.x, wish.y), wish.crank_deg)
        elif isinstance(wish, WantedStroke):
            _paint_stroke(painter, frame, wish)
        elif isinstance(wish, WantedSwing):
            paint_swing(painter, frame, wish)


def _paint_path(painter: QPainter, frame: Frame, wish: WantedPath) -> None:
    lit = frame.is_lit("wish", wish.id)
    strong = lit or frame.is_hovered("wish", wish.id)
    colour = frame.theme.wish
    painter.setPen(frame.pen(colour, 2.4 if strong else 1.6))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    lines = frame.shapes.lines
    if wish.curve != "places":
        painter.drawLines(lines.kept(frame.camera, lambda: dashed(
            screened(lines.of(wish).places, frame.camera)), wish))
    if wish.curve == "places":
        _paint_places(painter, frame, wish, strong)
    elif not wish.either_way:
        _paint_arrows(painter, frame, wish)
    if wish.ticks:
        _paint_ticks(painter, frame, wish, strong)
        for tick in wish.ticks:
            _paint_miss(painter, frame, wish.point, at_place(wish, tick.at), tick.crank_deg)
    if lit:
        _paint_asked(painter, frame, wish)
        _paint_handles(painter, frame, wish)


def _paint_places(painter: QPainter, frame: Frame, wish: WantedPath, strong: bool) -> None:
    """Rings; in their order where that matters, joined by dots, and numbered when lit."""
    places = np.array([complex(x, y) for x, y in wish.through])
    pixels = screened(places, frame.camera)
    if not wish.any_order:
        run = np.append(pixels, pixels[:1]) if wish.closed else pixels
        painter.setPen(frame.hair(frame.theme.wish))
        painter.drawLines(frame.shapes.lines.kept(
            frame.camera, lambda: dashed(run, 2.0, 4.0), wish))
    painter.setPen(frame.pen(frame.theme.wish, 2.2 if strong else 1.6))
    painter.setBrush(frame.theme.paper)
    for pixel in pixels.tolist():
        painter.drawEllipse(QPointF(pixel.real, pixel.imag), HANDLE_PX, HANDLE_PX)
    if strong and len(pixels) <= _MOST_LABELS:
        painter.setFont(frame.face(8.0))
        for number, pixel in enumerate(pixels.tolist(), start=1):
            _write(painter, frame, str(number), QPointF(pixel.real, pixel.imag), 11.0)


def _paint_arrows(painter: QPainter, frame: Frame, wish: WantedPath) -> None:
    """Heads along the line, in its direction."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(frame.theme.wish)
    painter.drawPath(frame.shapes.lines.kept(
        frame.camera, lambda: _heads(frame, wish), wish, "heads"))


def _heads(frame: Frame, wish: WantedPath) -> QPainterPath:
    heads = QPainterPath()
    line = frame.shapes.lines.of(wish)
    run = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(line.places)))])
    whole = float(run[-1])
    if whole * frame.camera.scale < 3 * _ARROW_PX:
        return heads
    count = min(max(int(whole * frame.camera.scale / _ARROW_EVERY_PX), 1), 12)
    for spot in (np.arange(count) + 0.5) / count * whole:
        at = float(np.interp(spot, run, line.at))
        tip = frame.camera.to_screen(at_place(wish, at))
        way = along(wish, at).conjugate() * _ARROW_PX
        side = way * 0.42j
        heads.addPolygon(QPolygonF([tip + _point(0.6 * way), tip + _point(-0.5 * way + side),
                                    tip + _point(-0.5 * way - side)]))
        heads.closeSubpath()
    return heads


def _point(z: complex) -> QPointF:
    return QPointF(z.real, z.imag)


def _paint_ticks(painter: QPainter, frame: Frame, wish: WantedPath, strong: bool) -> None:
    """A stroke across the path at each tick, with its crank angle."""
    painter.setPen(frame.pen(frame.theme.wish, 2.0))
    painter.setFont(frame.face(8.0))
    spots = [(frame.camera.to_screen(at_place(wish, tick.at)),
              along(wish, tick.at).conjugate() * 1j, tick.crank_deg) for tick in wish.ticks]
    painter.drawLines([QLineF(at - _point(side * TICK_PX), at + _point(side * TICK_PX))
                       for at, side, _ in spots])
    if strong or len(spots) <= _MOST_LABELS // 2:
        for at, _, crank_deg in spots[:_MOST_LABELS]:
            _write(painter, frame, show_angle(crank_deg), at, 15.0)


def _write(painter: QPainter, frame: Frame, text: str, at: QPointF, away: float) -> None:
    """A short text beside a pixel, where nothing is written yet."""
    wide = painter.fontMetrics().horizontalAdvance(text) / 2 + away
    spot = frame.labels.place(painter, text, [
        at + QPointF(wide, -away * 0.6), at + QPointF(-wide, -away * 0.6),
        at + QPointF(wide, away * 0.8), at + QPointF(-wide, away * 0.8)])
    halo_text(painter, spot, text, frame.theme.wish, with_alpha(frame.theme.paper, 0.85))


def _paint_miss(painter: QPainter, frame: Frame, ref: str, wanted: complex,
                crank_deg: float) -> None:
    """At the crank angle of a tick or pose: an arrow from where the point is to where it
    is wanted."""
    away = crank_deg - math.degrees(frame.pose.crank_rad)
    if ref and abs(math.remainder(away, 360.0 * frame.turn.crank_turns)) <= _NOW_DEG:
        start, end = frame.screen(ref), frame.camera.to_screen(wanted)
        if QLineF(start, end).length() > 2 * _ARROW_PX:
            draw_arrow(painter, start, end, frame.pen(frame.theme.wish, 1.4))


def _paint_asked(painter: QPainter, frame: Frame, wish: WantedPath) -> None:
    """A ring round the point that is asked to follow."""
    if not wish.point:
        return
    painter.setPen(frame.pen(frame.theme.wish, 2.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(frame.screen(wish.point), 11.0, 11.0)


def _paint_handles(painter: QPainter, frame: Frame, wish: WantedPath) -> None:
    """Squares; the first is larger: there the path begins."""
    if wish.curve == "places":
        return
    painter.setPen(frame.pen(frame.theme.wish, 1.4))
    painter.setBrush(frame.theme.paper)
    for index, (x, y) in enumerate(wish.through):
        at, half = frame.camera.to_screen(complex(x, y)), HANDLE_PX + (index == 0)
        painter.drawRect(QRectF(at.x() - half, at.y() - half, 2 * half, 2 * half))


def _paint_stroke(painter: QPainter, frame: Frame, wish: WantedStroke) -> None:
    """To and fro between two bars."""
    start, end = (frame.camera.to_screen(complex(*place)) for place in (wish.start, wish.end))
    lit = frame.is_lit("wish", wish.id)
    strong = lit or frame.is_hovered("wish", wish.id)
    painter.setPen(frame.pen(frame.theme.wish, 2.4 if strong else 1.6))
    line = QLineF(start, end)
    places = np.array([complex(*wish.start), complex(*wish.end)])
    painter.drawLines(frame.shapes.lines.kept(
        frame.camera, lambda: dashed(screened(places, frame.camera)), wish))
    if line.length() > 1.0:
        side = QPointF(-line.dy(), line.dx()) * (TICK_PX / line.length())
        painter.drawLines([QLineF(at - side, at + side) for at in (start, end)])
        angle = math.atan2(line.dy(), line.dx())
        painter.drawLines([QLineF(at, at + _point(_ARROW_PX * complex(
            math.cos(angle + turn), math.sin(angle + turn))))
            for at, turns in ((start, (0.45, -0.45)), (end, (math.pi - 0.45, math.pi + 0.45)))
            for turn in turns])
    if lit:
        painter.setBrush(frame.theme.paper)
        for at in (start, end):
            painter.drawRect(QRectF(at.x() - HANDLE_PX, at.y() - HANDLE_PX,
                                    2 * HANDLE_PX, 2 * HANDLE_PX))
