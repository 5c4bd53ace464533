"""The dial beside the selected part that shows which way its grain runs, and turns it."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

import numpy as np
import shapely
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame, with_alpha
from core.errors import SketchError
from core.model import Part
from core.model.stuff import materials_of
from core.space.grain import grain_of

#: Radius of the dial, its distance from the part's edge, and the spacing of its lines.
DIAL_PX, AWAY_PX, _LANE_PX = 15.0, 16.0, 5.0
KNOB_PX = 4.0


def is_grained(frame: Frame, part: Part) -> bool:
    """Whether a part is of something with a grain: wood or plywood."""
    known = materials_of(frame.sketch.materials).get(part.material)
    return known is not None and known.stuff in ("wood", "plywood")


def dialled(frame: Frame) -> Part | None:
    """The part whose dial is shown: the one that alone is selected, if it has grain."""
    if len(frame.selection) != 1:
        return None
    (kind, name), = frame.selection
    if kind != "part" or name in frame.look.hidden:
        return None
    part = next((part for part in frame.sketch.parts if part.id == name), None)
    return part if part is not None and is_grained(frame, part) else None


def grain_dial(frame: Frame, part: Part) -> tuple[complex, complex] | None:
    """Middle of a part's dial and its knob, mm in the pose shown; None without a shape.

    It stands off the long side that faces up on the screen.
    """
    shape = frame.shapes.of(part)
    if shape.polygon.is_empty:
        return None
    try:
        along = grain_of(part)
    except SketchError:
        return None
    rotation = frame.pose.rotation.get(part.id, 1 + 0j)
    up = 1j * cmath.rect(1.0, shape.along_rad)
    if (up * rotation).imag < -1e-9:
        up = -up
    corners = shapely.get_coordinates(shape.polygon.exterior) @ np.array([1, 1j])
    reach = float(((corners - shape.middle) * up.conjugate()).real.max())
    scale = frame.camera.scale
    middle = shape.middle + up * (reach + (AWAY_PX + DIAL_PX) / scale)
    knob = middle + cmath.rect(DIAL_PX / scale, along)
    return frame.pose.place(part.id, middle), frame.pose.place(part.id, knob)


def paint_grain_dial(painter: QPainter, frame: Frame) -> None:
    """A ring with lines along the grain, and the knob that turns them."""
    part = dialled(frame)
    dial = None if part is None else grain_dial(frame, part)
    if dial is None:
        return
    middle, knob = (frame.camera.to_screen(place) for place in dial)
    colour = frame.theme.ink
    painter.save()
    painter.setPen(frame.pen(with_alpha(colour, 0.55), 1.0))
    painter.setBrush(with_alpha(frame.theme.paper, 0.88))
    painter.drawEllipse(middle, DIAL_PX, DIAL_PX)
    painter.setPen(frame.pen(with_alpha(colour, 0.75), 1.2))
    for line in _lanes(middle, knob):
        painter.drawLine(line)
    painter.setPen(frame.pen(frame.theme.paper, 1.2))
    painter.setBrush(frame.theme.accent)
    painter.drawEllipse(knob, KNOB_PX, KNOB_PX)
    painter.setFont(frame.face(8.0))
    painter.setPen(with_alpha(colour, 0.75))
    spot = frame.labels.place(painter, "grain", [
        middle + QPointF(x, y) for x, y in ((34, 0), (-34, 0), (0, -26), (0, 26))])
    box = painter.fontMetrics().boundingRect("grain")
    box.moveCenter(spot.toPoint())
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextDontClip, "grain")
    painter.restore()


def _lanes(middle: QPointF, knob: QPointF) -> Iterator[QLineF]:
    """Chords of the dial along the direction to its knob."""
    way = complex(knob.x() - middle.x(), knob.y() - middle.y())
    way /= abs(way) or 1.0
    inside = DIAL_PX - 3.0
    for row in (-1.5, -0.5, 0.5, 1.5):
        off = row * _LANE_PX
        half = math.sqrt(max(inside**2 - off**2, 0.0))
        ends = (way * (1j * off - half), way * (1j * off + half))
        yield QLineF(*(middle + QPointF(end.real, end.imag) for end in ends))
