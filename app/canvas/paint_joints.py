"""Pins, fixed pivots, slides, slots and locks."""

from __future__ import annotations

import math

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QRadialGradient

from app.canvas.frame import Frame, with_alpha
from app.canvas.symbols import draw_ground, hatch_line
from core.model import Lock, Pin, PinInSlot, Slide, part_of

_LOCK_PX = 12.0


def paint_grounds(painter: QPainter, frame: Frame) -> None:
    """Fixed pivots, and the frame's points that carry no pin yet."""
    if not frame.look.shows("symbols"):
        return
    # Tall enough to stand out below the rounded end of a lever of usual width.
    size = min(max(frame.symbol(), 7.5 * frame.camera.scale), 24.0)
    pen = frame.pen(frame.theme.ink, 1.3)
    guides = {ref for slide in frame.sketch.slides for ref in slide.along}
    guides |= {ref for slot in frame.sketch.slots for ref in slot.slot}
    held: set[str] = set()
    for pin in frame.sketch.pins:
        if frame.is_grounded(pin):
            draw_ground(painter, frame.screen(pin.at[0]), size, pen,
                        with_alpha(frame.theme.paper, 0.85))
            held.update(pin.at)
    for part in frame.sketch.parts:
        if part.fixed and part.id not in frame.look.hidden:
            for ref, place in frame.pose.points(part):
                if ref not in held and ref not in guides:
                    at = frame.camera.to_screen(place)
                    draw_ground(painter, at, size * 0.7, frame.pen(frame.theme.faint),
                                with_alpha(frame.theme.paper, 0.6))


def paint_pin(painter: QPainter, frame: Frame, pin: Pin) -> None:
    """A brass pin from above."""
    at = frame.screen(pin.at[0])
    radius = frame.pin_radius(pin.diameter_mm)
    lit, hovered = frame.is_lit("pin", pin.id), frame.is_hovered("pin", pin.id)
    if lit or hovered:
        painter.setPen(frame.pen(frame.theme.accent, 2.5 if lit else 1.5))
        painter.setBrush(with_alpha(frame.theme.accent, 0.18))
        painter.drawEllipse(at, radius + 5, radius + 5)
    _paint_rod(painter, frame, at, radius)
    if len(pin.at) > 2:  # a ring tells that more than two parts turn on it
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, radius * 0.45, radius * 0.45)


def _paint_rod(painter: QPainter, frame: Frame, at: QPointF, radius: float) -> None:
    """The end of a brass rod."""
    brass = frame.theme.brass
    shine = QRadialGradient(at - QPointF(radius, radius) * 0.35, radius * 1.5)
    shine.setColorAt(0.0, brass.lighter(150))
    shine.setColorAt(0.55, brass)
    shine.setColorAt(1.0, brass.darker(135))
    painter.setPen(frame.pen(QColor("#1b1712") if frame.theme.dark else frame.theme.ink, 1.2))
    painter.setBrush(QBrush(shine))
    painter.drawEllipse(at, radius, radius)


def paint_slide(painter: QPainter, frame: Frame, slide: Slide) -> None:
    """A block between two rails; rails of the frame are hatched."""
    start, end = (frame.screen(ref) for ref in slide.along)
    at = frame.screen(slide.point)
    line = QLineF(start, end)
    if line.length() < 1e-6:
        return
    colour = _joint_colour(frame, "slide", slide.id)
    width = 2.4 if frame.is_lit("slide", slide.id) else 1.4
    along = QPointF(line.dx(), line.dy()) / line.length()
    side = QPointF(-along.y(), along.x())
    half = frame.symbol() * 0.75
    grounded = part_of(slide.along[0]) in frame.fixed
    painter.setPen(frame.pen(colour, width))
    for sense in (1.0, -1.0):
        rail = side * (half * sense)
        if grounded and frame.look.shows("symbols"):
            ends = (start + rail, end + rail)
            hatch_line(painter, *(ends if sense > 0 else ends[::-1]), half * 0.7, 7.0)
        else:
            painter.drawLine(start + rail, end + rail)
    for stop in (start, end):
        painter.drawLine(stop + side * half, stop - side * half)
    painter.save()
    painter.translate(at)
    painter.rotate(-line.angle())
    painter.setBrush(with_alpha(frame.theme.brass, 0.85))
    painter.drawRoundedRect(QRectF(-half * 1.5, -half * 0.8, half * 3.0, half * 1.6), 2, 2)
    painter.restore()


def paint_slot(painter: QPainter, frame: Frame, slot: PinInSlot) -> None:
    """The slot as a hole with round ends, the pin in it."""
    start, end = (frame.screen(ref) for ref in slot.slot)
    radius = frame.pin_radius(slot.diameter_mm)
    line = QLineF(start, end)
    painter.save()
    painter.translate(start)
    painter.rotate(-line.angle())
    painter.setPen(frame.pen(_joint_colour(frame, "slot", slot.id),
                             2.4 if frame.is_lit("slot", slot.id) else 1.3))
    painter.setBrush(with_alpha(frame.theme.paper, 0.92))
    painter.drawRoundedRect(QRectF(-radius - 1, -radius - 1, line.length() + 2 * radius + 2,
                                   2 * radius + 2), radius + 1, radius + 1)
    pen = frame.pen(with_alpha(frame.theme.faint, 0.7))
    pen.setDashPattern([8, 3, 2, 3])
    painter.setPen(pen)
    painter.drawLine(QPointF(-radius, 0), QPointF(line.length() + radius, 0))
    painter.restore()


def paint_slot_pin(painter: QPainter, frame: Frame, slot: PinInSlot) -> None:
    """The pin that runs in a slot."""
    _paint_rod(painter, frame, frame.screen(slot.point), frame.pin_radius(slot.diameter_mm))


def paint_lock(painter: QPainter, frame: Frame, lock: Lock) -> None:
    """A square key about the shaft, or a tie between the parts' middles."""
    colour = _joint_colour(frame, "lock", lock.id)
    pen = frame.pen(colour, 2.6 if frame.is_lit("lock", lock.id) else 1.6)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    pin = next((pin for pin in frame.sketch.pins if pin.id == lock.pin), None)
    if pin is not None:
        part = lock.parts[0]
        turn = frame.pose.rotation.get(part, 1 + 0j)
        radius = frame.pin_radius(pin.diameter_mm) + 3.0
        painter.save()
        painter.translate(frame.screen(pin.at[0]))
        painter.rotate(-math.degrees(math.atan2(turn.imag, turn.real)))
        painter.drawRect(QRectF(-radius, -radius, 2 * radius, 2 * radius))
        painter.restore()
        return
    at = lock_place(frame, lock)
    _paint_lock_ties(painter, frame, lock, at, colour)
    painter.setPen(pen)
    for off in (-3.0, 3.0):
        painter.drawLine(at + QPointF(-8, off), at + QPointF(8, off))
    for off in (-5.0, 5.0):
        painter.drawLine(at + QPointF(off, -6), at + QPointF(off, 6))


def _paint_lock_ties(painter: QPainter, frame: Frame, lock: Lock, at: QPointF,
                     colour: QColor) -> None:
    """Broken lines from the mark of a lock to the parts it holds together."""
    pen = frame.pen(with_alpha(colour, 0.7), 1.2)
    pen.setDashPattern([4, 3])
    painter.setPen(pen)
    for part in frame.sketch.parts:
        if part.id in lock.parts and part.id not in frame.look.hidden:
            foot = frame.camera.to_screen(
                frame.pose.place(part.id, frame.shapes.of(part).middle))
            if QLineF(at, foot).length() > _LOCK_PX:
                painter.drawLine(at, foot)


def lock_place(frame: Frame, lock: Lock) -> QPointF:
    """Pixel of the mark of a lock: its shaft, or the middle between its parts."""
    for pin in frame.sketch.pins:
        if pin.id == lock.pin:
            return frame.screen(pin.at[0])
    middles = [frame.pose.place(part.id, frame.shapes.of(part).middle)
               for part in frame.sketch.parts if part.id in lock.parts]
    return frame.camera.to_screen(sum(middles) / max(len(middles), 1))


def _joint_colour(frame: Frame, kind: str, item: str) -> QColor:
    lit = frame.is_lit(kind, item) or frame.is_hovered(kind, item)
    return frame.theme.accent if lit else frame.theme.ink
