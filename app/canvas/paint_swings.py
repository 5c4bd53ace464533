"""Wanted swings: the arc on which the end of a part is to go to and fro."""

from __future__ import annotations

import cmath
import math

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame
from app.canvas.wish_lines import dashed, screened
from core.model import WantedSwing, part_of

_BAR_PX = 9.0
_STEP_DEG = 3.0


def swing_arc(frame: Frame, wish: WantedSwing) -> tuple[complex, NDArray[np.complex128]] | None:
    """Centre and places (mm) of the arc that the end of the wished line takes about the
    pivot of its part (else the line's other end, as it is now), from one angle to the
    other; None for a swing that is of no direction, or only of so much."""
    if len(wish.line) != 2 or not wish.part:
        return None
    start, end = (frame.pose.at(ref) for ref in wish.line)
    centre = _pivot(frame, wish.part, start)
    if start == end or centre == end:
        return None
    count = 2 + int(abs(wish.to_deg - wish.from_deg) / _STEP_DEG)
    turns = np.radians(np.linspace(wish.from_deg, wish.to_deg, count))
    turns = turns - cmath.phase(end - start)
    return centre, np.asarray(centre + (end - centre) * np.exp(1j * turns))


def _pivot(frame: Frame, part: str, otherwise: complex) -> complex:
    """Where a part turns about the frame, mm."""
    for pin in frame.sketch.pins:
        owners = [part_of(ref) for ref in pin.at]
        if part in owners and frame.fixed.intersection(owners):
            return frame.pose.at(pin.at[owners.index(part)])
    return otherwise


def paint_swing(painter: QPainter, frame: Frame, wish: WantedSwing) -> None:
    """The arc, dashed, with a bar at each end; chosen, also the two ends of the part."""
    found = swing_arc(frame, wish)
    if found is None:
        return
    strong = frame.is_lit("wish", wish.id) or frame.is_hovered("wish", wish.id)
    arc = screened(found[1], frame.camera)
    middle = screened(np.array([found[0]]), frame.camera)[0]
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(frame.pen(frame.theme.wish, 2.4 if strong else 1.6))
    painter.drawLines(dashed(arc))
    for end in arc[[0, -1]].tolist():
        out = (end - middle) / max(abs(end - middle), 1e-9) * _BAR_PX
        painter.drawLine(QLineF(_point(end - out), _point(end + out)))
        if strong:
            painter.drawLines(dashed(np.array([middle, end]), 2.0, 4.0))
    if strong and not math.isclose(wish.from_deg, wish.to_deg):
        painter.setBrush(frame.theme.wish)
        painter.drawEllipse(frame.screen(wish.line[1]), 3.5, 3.5)


def _point(at: complex) -> QPointF:
    return QPointF(at.real, at.imag)
