"""Where the cursor means: on a point, in line with one, as long as a bar, on the grid."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.hits import REACH_PX
from app.canvas.paint_paper import grid_step_mm
from app.canvas.symbols import halo_text
from app.gestures.base import At

_ALIGN_PX = 6.0
_GRID_PX = 8.0
_TURN_RAD = math.radians(15.0)


@dataclass(frozen=True)
class Snap:
    """The place meant, the point it is on (or ""), guides to draw, and why."""

    place: complex
    ref: str = ""
    guides: tuple[tuple[complex, complex], ...] = ()
    label: str = ""


def snap(frame: Frame, at: At, *, anchor: complex | None = None,
         leave_out: frozenset[str] = frozenset()) -> Snap:
    """The place meant by the cursor.

    `anchor` is the place lengths and angles count from; points in `leave_out` (those
    that move) are not snapped to. Alt (or Ctrl, where the desktop keeps Alt for itself)
    frees from everything; Shift keeps to whole multiples of 15° about the anchor.
    """
    if at.alt or at.ctrl:
        return Snap(at.place)
    points = _points(frame, leave_out)
    if at.shift and anchor is not None:
        return _on_ray(frame, at.place, anchor, leave_out)
    touched = _nearest(frame, at.place, points)
    if touched is not None:
        return touched
    if not frame.look.shows("snap"):
        return Snap(at.place)
    if anchor is not None:
        even = _equal_length(frame, at.place, anchor, leave_out)
        if even is not None:
            return even
    return _aligned(frame, at.place, points)


def _points(frame: Frame, leave_out: frozenset[str]) -> list[tuple[str, complex]]:
    return [(ref, place) for part in frame.sketch.parts if part.id not in frame.look.hidden
            for ref, place in frame.pose.points(part) if ref not in leave_out]


def _nearest(frame: Frame, place: complex, points: list[tuple[str, complex]]) -> Snap | None:
    reach = REACH_PX / frame.camera.scale
    near = min(points, key=lambda item: abs(item[1] - place), default=None)
    if near is None or abs(near[1] - place) > reach:
        return None
    return Snap(near[1], near[0])


def _lengths(frame: Frame, leave_out: frozenset[str]) -> list[tuple[str, float]]:
    """Names and lengths of the links between two points, and of spans in longer parts."""
    found = []
    for part in frame.sketch.parts:
        if part.fixed or part.id in frame.look.hidden:
            continue
        for one, two in zip(part.points[:-1], part.points[1:], strict=True):
            if not leave_out.intersection((f"{part.id}.{one.id}", f"{part.id}.{two.id}")):
                found.append((part.id, math.hypot(two.x - one.x, two.y - one.y)))
    return found


def _equal_length(frame: Frame, place: complex, anchor: complex,
                  leave_out: frozenset[str]) -> Snap | None:
    away = abs(place - anchor)
    if away * frame.camera.scale < 12:
        return None
    name, length = min(_lengths(frame, leave_out), key=lambda item: abs(item[1] - away),
                       default=("", math.inf))
    if abs(length - away) * frame.camera.scale > _ALIGN_PX * 0.6 or length <= 0:
        return None
    on = anchor + (place - anchor) / away * length
    return Snap(on, guides=((anchor, on),), label=f"as long as {name}")


def _on_ray(frame: Frame, place: complex, anchor: complex, leave_out: frozenset[str]) -> Snap:
    span = place - anchor
    if abs(span) == 0:
        return Snap(anchor)
    angle = round(cmath.phase(span) / _TURN_RAD) * _TURN_RAD
    ray = cmath.rect(1.0, angle)
    length = (span * ray.conjugate()).real
    if frame.look.shows("snap"):
        lengths = [each for _, each in _lengths(frame, leave_out)]
        step = frame.sketch.grid_mm
        lengths.append(round(length / step) * step if step > 0 else length)
        near = min(lengths, key=lambda each: abs(each - length))
        if near > 0 and abs(near - length) * frame.camera.scale <= _GRID_PX:
            length = near
    on = anchor + ray * length
    return Snap(on, guides=((anchor, on),), label=f"{math.degrees(angle):.0f}°")


def _aligned(frame: Frame, place: complex, points: list[tuple[str, complex]]) -> Snap:
    """Level or plumb with another point, else on the grid, each axis by itself."""
    x, y = place.real, place.imag
    guides: list[tuple[complex, complex]] = []
    free_x = free_y = True
    if points:
        places = np.array([at for _, at in points])
        reach = _ALIGN_PX / frame.camera.scale
        plumb = int(np.argmin(np.abs(places.real - x)))
        level = int(np.argmin(np.abs(places.imag - y)))
        if abs(places[plumb].real - x) <= reach:
            x, free_x = float(places[plumb].real), False
        if abs(places[level].imag - y) <= reach:
            y, free_y = float(places[level].imag), False
        if not free_x:
            guides.append((complex(places[plumb]), complex(x, y)))
        if not free_y:
            guides.append((complex(places[level]), complex(x, y)))
    step = grid_step_mm(frame.sketch.grid_mm, frame.camera.scale)
    reach = _GRID_PX / frame.camera.scale
    if free_x and abs(round(x / step) * step - x) <= reach:
        x = round(x / step) * step
    if free_y and abs(round(y / step) * step - y) <= reach:
        y = round(y / step) * step
    return Snap(complex(x, y), guides=tuple(guides))


def paint_snap(painter: QPainter, frame: Frame, meant: Snap) -> None:
    """Guides, a ring about the point met, and the reason."""
    at = frame.camera.to_screen(meant.place)
    pen = frame.pen(with_alpha(frame.theme.accent, 0.8), 1.0)
    pen.setDashPattern([5, 4])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for start, end in meant.guides:
        painter.drawLine(QLineF(frame.camera.to_screen(start), frame.camera.to_screen(end)))
    painter.setPen(frame.pen(frame.theme.accent, 2.0 if meant.ref else 1.2))
    radius = 10.0 if meant.ref else 3.5
    painter.drawEllipse(at, radius, radius)
    if meant.label:
        painter.setFont(frame.face(8.5))
        halo_text(painter, at + QPointF(13, -11), meant.label, frame.theme.ink,
                  with_alpha(frame.theme.paper, 0.85))


def together(frame: Frame, ref: str) -> frozenset[str]:
    """A point and all that is pinned to it."""
    for pin in frame.sketch.pins:
        if ref in pin.at:
            return frozenset(pin.at)
    return frozenset((ref,))
