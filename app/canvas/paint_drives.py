"""Gears as pitch circles with tooth ticks, belts, and the crank with its angle."""

from __future__ import annotations

import cmath
import math

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from app.canvas.frame import Frame, with_alpha
from app.canvas.symbols import draw_round_arrow, halo_text
from core.model import Belt, Disc, Mesh, part_of
from core.units import show_angle

KNOB_PX = 8.0
KNOB_OFF_PX = 26.0


def paint_mesh(painter: QPainter, frame: Frame, mesh: Mesh) -> None:
    """Both pitch circles with a tick per tooth that turns with its gear."""
    lit = frame.is_lit("mesh", mesh.id) or frame.is_hovered("mesh", mesh.id)
    colour = frame.theme.accent if lit else frame.theme.ink
    drawn = [frame.sketch.place(ref) for ref in (mesh.a, mesh.b)]
    line = drawn[1] - drawn[0]
    radii = mesh.pitch_radii(abs(line))
    toward = cmath.phase(line) if abs(line) else 0.0
    # In the drawn pose a tooth of `a` points at the contact, in a space of `b`.
    if mesh.internal:
        contact_a = contact_b = toward if mesh.teeth_a > mesh.teeth_b else toward + math.pi
    else:
        contact_a, contact_b = toward, toward + math.pi
    half_tooth = math.pi / max(mesh.teeth_b, 1)
    _paint_gear(painter, frame, mesh.a, radii[0], mesh.teeth_a, contact_a,
                frame.pen(colour, 2.0 if lit else 1.1))
    _paint_gear(painter, frame, mesh.b, radii[1], mesh.teeth_b, contact_b + half_tooth,
                frame.pen(colour, 2.0 if lit else 1.1))


def _paint_gear(painter: QPainter, frame: Frame, ref: str, radius_mm: float, teeth: int,
                phase: float, pen: QPen) -> None:
    part = part_of(ref)
    if part in frame.look.hidden:
        return
    centre = frame.screen(ref)
    radius = radius_mm * frame.camera.scale
    painter.setBrush(Qt.BrushStyle.NoBrush)
    chain = QPen(pen)
    chain.setDashPattern([8, 3, 2, 3])
    painter.setPen(chain)
    painter.drawEllipse(centre, radius, radius)
    pitch_px = 2 * math.pi * radius / max(teeth, 1)
    if pitch_px < 2.5:
        return
    start = phase + cmath.phase(frame.pose.rotation.get(part, 1 + 0j))
    angles = start + 2 * np.pi * np.arange(teeth) / teeth
    tick = pitch_px / math.pi
    unit = np.exp(-1j * angles)  # screen y points down
    inner, outer = unit * (radius - 1.1 * tick), unit * (radius + 0.9 * tick)
    painter.setPen(pen)
    painter.drawLines([QLineF(centre.x() + a.real, centre.y() + a.imag,
                              centre.x() + b.real, centre.y() + b.imag)
                       for a, b in zip(inner.tolist(), outer.tolist(), strict=True)])
    first = centre + QPointF(unit[0].real, unit[0].imag) * (radius - 2.6 * tick)
    painter.setBrush(pen.color())
    painter.drawEllipse(first, 1.6, 1.6)


def belt_tangents(a: complex, b: complex, radius_a: float, radius_b: float,
                  crossed: bool) -> list[tuple[complex, complex]]:
    """The two straight runs of a belt, as places on either pulley; none when the
    pulleys are too near each other."""
    span = b - a
    distance = abs(span)
    difference = radius_a + radius_b if crossed else radius_a - radius_b
    if distance <= abs(difference) or distance == 0:
        return []
    along = span / distance
    lean = math.acos(difference / distance)
    runs = []
    for side in (1.0, -1.0):
        ray = along * cmath.exp(1j * side * lean)
        runs.append((a + radius_a * ray, b + (-radius_b if crossed else radius_b) * ray))
    return runs


def paint_belt(painter: QPainter, frame: Frame, belt: Belt) -> None:
    """The cord's straight runs, and its arcs round the pulleys."""
    lit = frame.is_lit("belt", belt.id) or frame.is_hovered("belt", belt.id)
    a, b = frame.pose.at(belt.a), frame.pose.at(belt.b)
    runs = belt_tangents(a, b, belt.diameter_a_mm / 2, belt.diameter_b_mm / 2, belt.crossed)
    colour = frame.theme.accent if lit else frame.theme.path
    pen = frame.pen(colour, 3.0 if lit else 2.2)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawLines([QLineF(frame.camera.to_screen(p), frame.camera.to_screen(q))
                       for p, q in runs])
    if len(runs) == 2:
        _paint_wrap(painter, frame, a, runs[0][0], runs[1][0])
        _paint_wrap(painter, frame, b, runs[1][1], runs[0][1])
    for ref, diameter in ((belt.a, belt.diameter_a_mm), (belt.b, belt.diameter_b_mm)):
        # A dot on each pulley shows that it turns.
        turn = frame.pose.rotation.get(part_of(ref), 1 + 0j)
        spot = frame.camera.to_screen(frame.pose.at(ref) + turn * diameter * 0.42)
        painter.setBrush(colour)
        painter.drawEllipse(spot, 1.6, 1.6)


def _paint_wrap(painter: QPainter, frame: Frame, centre: complex, start: complex,
                end: complex) -> None:
    """The arc counter-clockwise from `start` to `end` about `centre`."""
    radius = abs(start - centre) * frame.camera.scale
    if radius < 0.5:
        return
    at = frame.camera.to_screen(centre)
    first = math.degrees(cmath.phase(start - centre))
    span = math.degrees(cmath.phase((end - centre) / (start - centre))) % 360
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawArc(QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius),
                    round(first * 16), round(span * 16))


def crank_arm(frame: Frame) -> tuple[complex, complex] | None:
    """Places now (mm) of the crank's pivot and of its farthest point; None without a
    drive. A crank with no other point has an arm of 30 mm, a disc one within its rim."""
    drive = frame.sketch.drive
    if drive is None:
        return None
    pin = next((pin for pin in frame.sketch.pins if pin.id == drive.pin), None)
    part = next((part for part in frame.sketch.parts if part.id == drive.part), None)
    if pin is None or part is None:
        return None
    pivot = frame.pose.at(pin.at[0])
    far = max((place for _, place in frame.pose.points(part)),
              key=lambda place: abs(place - pivot), default=pivot)
    if abs(far - pivot) < 1.0:
        reach = 0.6 * part.outline.radius_mm if isinstance(part.outline, Disc) else 30.0
        far = pivot + reach * frame.pose.rotation.get(part.id, 1 + 0j)
    return pivot, far


def ring_px(frame: Frame, arm: tuple[complex, complex]) -> float:
    """Radius in pixels of the ring about the crank's pivot."""
    return min(max(abs(arm[1] - arm[0]) * frame.camera.scale * 0.55, 24.0), 46.0)


def knob_place(frame: Frame) -> complex | None:
    """Where the knob is that turns the crank (mm): beyond the end of its arm."""
    arm = crank_arm(frame)
    if arm is None:
        return None
    pivot, far = arm
    return far + (far - pivot) / abs(far - pivot) * (KNOB_OFF_PX / frame.camera.scale)


def paint_crank(painter: QPainter, frame: Frame) -> None:
    """A ring about the crank's pivot: driving direction, angle, where it cannot go; and
    the knob."""
    arm, drive, knob = crank_arm(frame), frame.sketch.drive, knob_place(frame)
    if arm is None or drive is None or knob is None:
        return
    pivot, far = (frame.camera.to_screen(place) for place in arm)
    ring = ring_px(frame, arm)
    heading = math.degrees(cmath.phase(arm[1] - arm[0]))
    accent = frame.theme.accent
    _paint_unreached(painter, frame, pivot, ring, heading)
    sense = -1.0 if drive.rpm < 0 else 1.0
    pen = frame.pen(accent, 2.2)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    draw_round_arrow(painter, pivot, ring, heading + 14 * sense, 62 * sense, pen)
    painter.setPen(frame.pen(with_alpha(accent, 0.35), 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(pivot, ring, ring)
    _paint_knob(painter, frame, far, frame.camera.to_screen(knob))
    painter.setFont(frame.face(8.5, True))
    text = show_angle(math.degrees(frame.pose.crank_rad))
    at = frame.labels.place(painter, text, _about(pivot, ring + 20, heading + 180))
    halo_text(painter, at, text, frame.theme.ink, with_alpha(frame.theme.paper, 0.8))


def _about(pivot: QPointF, radius: float, first_deg: float) -> list[QPointF]:
    """Places on a circle (pixels), the nearest to the first direction first."""
    offs = (cmath.rect(radius, math.radians(first_deg + turn))
            for turn in (0, 40, -40, 80, -80, 120, -120))
    return [pivot + QPointF(off.real, -off.imag) for off in offs]


def reserve_knob(frame: Frame) -> None:
    """No text goes over the knob."""
    knob = knob_place(frame)
    if knob is not None:
        at, side = frame.camera.to_screen(knob), 2 * KNOB_PX + 4
        frame.labels.reserve(QRectF(at.x() - side / 2, at.y() - side / 2, side, side))


def _paint_knob(painter: QPainter, frame: Frame, far: QPointF, knob: QPointF) -> None:
    hot = frame.is_hovered("knob", "")
    painter.setPen(frame.pen(frame.theme.accent, 2.0))
    painter.drawLine(QLineF(far, knob))
    painter.setBrush(frame.theme.accent if hot else frame.theme.paper)
    painter.drawEllipse(knob, KNOB_PX, KNOB_PX)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(frame.theme.paper if hot else frame.theme.accent)
    painter.drawEllipse(knob, KNOB_PX * 0.42, KNOB_PX * 0.42)


def _paint_unreached(painter: QPainter, frame: Frame, pivot: QPointF, ring: float,
                     points_deg: float) -> None:
    """Hatch the part of the ring where the crank cannot come."""
    turn = frame.turn
    if len(turn.crank_rad) < 2 or turn.reached.all():
        return
    painter.setPen(Qt.PenStyle.NoPen)
    box = QRectF(pivot.x() - ring, pivot.y() - ring, 2 * ring, 2 * ring)
    edges = np.flatnonzero(np.diff(np.concatenate([[1], turn.reached.astype(int), [1]])))
    painter.setBrush(frame.theme.fault)
    painter.setOpacity(0.25)
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        low = turn.crank_rad[first]
        high = turn.crank_rad[min(last, len(turn.crank_rad) - 1)]
        start = points_deg + math.degrees(low - frame.pose.crank_rad)
        painter.drawPie(box, round(start * 16), round(math.degrees(high - low) * 16))
    painter.setOpacity(1.0)
    painter.setPen(frame.pen(frame.theme.fault, 2.0))
    for limit in turn.limits:
        at = math.radians(points_deg) + limit.crank_rad - frame.pose.crank_rad
        ray = QPointF(math.cos(at), -math.sin(at))
        painter.drawLine(pivot + ray * (ring * 0.5), pivot + ray * (ring * 1.15))
