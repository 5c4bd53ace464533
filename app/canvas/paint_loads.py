"""Springs, forces and torques."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPainterPath

from app.canvas.frame import Frame, with_alpha
from app.canvas.shapes import to_polygon
from app.canvas.symbols import draw_arrow, draw_round_arrow, halo_text
from core.model import Force, Spring, Torque, TorsionSpring, part_of
from core.units import show_force, show_torque

#: Length of a force arrow on the paper, mm per N: what is drawn is what is pulled.
FORCE_MM_PER_N = 10.0
_COILS = 9


def paint_spring(painter: QPainter, frame: Frame, spring: Spring) -> None:
    """A zigzag between its hooks; slack springs are faint."""
    start, end = frame.pose.at(spring.a), frame.pose.at(spring.b)
    lit = frame.is_lit("spring", spring.id) or frame.is_hovered("spring", spring.id)
    slack = abs(end - start) < spring.free_length_mm and not spring.pushes
    colour = frame.theme.accent if lit else frame.theme.ink
    painter.setPen(frame.pen(with_alpha(colour, 0.5 if slack else 1.0), 2.2 if lit else 1.5))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    first, last = frame.camera.to_screen(start), frame.camera.to_screen(end)
    painter.drawPolyline(to_polygon(zigzag(first, last, frame.symbol() * 0.6)))
    for hook in (first, last):
        painter.drawEllipse(hook, 2.5, 2.5)


def zigzag(start: QPointF, end: QPointF, half_px: float) -> np.ndarray:
    """Corners (N, 2) of a spring drawn between two pixels."""
    a, b = complex(start.x(), start.y()), complex(end.x(), end.y())
    span = b - a
    if abs(span) < 1e-6:
        return np.array([[a.real, a.imag], [b.real, b.imag]])
    side = 1j * span / abs(span) * half_px
    along = np.linspace(0.14, 0.86, 2 * _COILS + 1)
    swing = np.where(np.arange(along.size) % 2 == 0, -1.0, 1.0)
    swing[[0, -1]] = 0.0
    places = np.concatenate([[a], a + along * span + swing * side, [b]])
    return np.stack([places.real, places.imag], axis=-1)


def paint_torsion_spring(painter: QPainter, frame: Frame, spring: TorsionSpring) -> None:
    """A spiral about its pin."""
    pin = next((pin for pin in frame.sketch.pins if pin.id == spring.pin), None)
    if pin is None:
        return
    lit = frame.is_lit("torsion_spring", spring.id)
    lit = lit or frame.is_hovered("torsion_spring", spring.id)
    at = frame.screen(pin.at[0])
    inner = frame.pin_radius(pin.diameter_mm) + 2.0
    angle = np.linspace(0.0, 5 * math.pi, 60)
    ray = (inner + angle * 0.9) * np.exp(-1j * angle)
    places = np.stack([at.x() + ray.real, at.y() + ray.imag], axis=-1)
    path = QPainterPath()
    path.addPolygon(to_polygon(places))
    colour = frame.theme.accent if lit else frame.theme.ink
    painter.setPen(frame.pen(colour, 2.0 if lit else 1.3))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(path)


def force_tip(frame: Frame, force: Force) -> tuple[complex, complex]:
    """Where a force acts and where its arrow ends, mm, in the pose shown."""
    at = frame.pose.at(force.at)
    pull = complex(force.fx_n, force.fy_n) * FORCE_MM_PER_N
    if force.turns_with_part:
        pull *= frame.pose.rotation.get(part_of(force.at), 1 + 0j)
    return at, at + pull


def paint_force(painter: QPainter, frame: Frame, force: Force) -> None:
    """An arrow as long as the force is strong, with its size."""
    lit = frame.is_lit("force", force.id) or frame.is_hovered("force", force.id)
    at, tip = (frame.camera.to_screen(place) for place in force_tip(frame, force))
    colour = frame.theme.accent if lit else frame.theme.good
    draw_arrow(painter, at, tip, frame.pen(colour, 3.0 if lit else 2.2))
    painter.setFont(frame.face(8.5, lit))
    text = show_force(math.hypot(force.fx_n, force.fy_n), frame.sketch.units)
    away = painter.fontMetrics().horizontalAdvance(text) / 2 + 10
    side = QPointF(-away if tip.x() < at.x() else away, 0)
    middle = (at + tip) / 2
    spot = frame.labels.place(painter, text, (tip + side, tip - side, middle + side,
                                              middle - side))
    halo_text(painter, spot, text, frame.theme.ink, with_alpha(frame.theme.paper, 0.75))


def paint_torque(painter: QPainter, frame: Frame, torque: Torque) -> None:
    """A round arrow about the middle of its part, with its size."""
    part = next((part for part in frame.sketch.parts if part.id == torque.part), None)
    if part is None:
        return
    lit = frame.is_lit("torque", torque.id) or frame.is_hovered("torque", torque.id)
    colour = frame.theme.accent if lit else frame.theme.good
    at = frame.camera.to_screen(frame.pose.place(part.id, frame.shapes.of(part).middle))
    span = 250.0 if torque.torque_nmm >= 0 else -250.0
    draw_round_arrow(painter, at, 18.0, 90.0, span, frame.pen(colour, 3.0 if lit else 2.2))
    painter.setFont(frame.face(8.5, lit))
    text = show_torque(torque.torque_nmm, frame.sketch.units)
    away = painter.fontMetrics().horizontalAdvance(text) / 2 + 28
    spot = frame.labels.place(painter, text, [
        at + QPointF(x, y) for x, y in ((0, 38), (0, -38), (away, 0), (-away, 0))])
    halo_text(painter, spot, text, frame.theme.ink, with_alpha(frame.theme.paper, 0.75))
