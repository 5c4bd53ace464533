"""The dial beside the selected part that shows which way its grain runs, and turns it."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

import numpy as np
import shapely
from PySide6.QtCore import QLineF, QPointF
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.symbols import halo_text
from core.errors import SketchError
from core.model import Part
from core.model.stuff import materials_of
from core.space.grain import grain_of

#: Radius of the dial, its distance from the part's edge, and the spacing of its lines.
DIAL_PX, AWAY_PX, _LANE_PX = 16.0, 14.0, 6.0
KNOB_PX = 4.5


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
        # As typed or dragged, not folded: the knob stays under the cursor.
        along = grain_of(part) if part.grain_deg is None else math.radians(part.grain_deg)
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
    """A coin of the part's wood with its grain, and the knob that turns it."""
    part = dialled(frame)
    dial = None if part is None else grain_dial(frame, part)
    if dial is None:
        return
    middle, knob = (frame.camera.to_screen(place) for place in dial)
    wood = frame.theme.wood(frame.shapes.layers(frame.sketch)[part.id][0])
    painter.save()
    painter.setPen(frame.pen(frame.theme.accent, 1.2))
    painter.setBrush(wood)
    painter.drawEllipse(middle, DIAL_PX, DIAL_PX)
    painter.setPen(frame.pen(wood.darker(185), 1.2))
    for line in _lanes(middle, knob):
        painter.drawLine(line)
    painter.setPen(frame.pen(frame.theme.paper, 1.2))
    painter.setBrush(frame.theme.accent)
    painter.drawEllipse(knob, KNOB_PX, KNOB_PX)
    painter.setFont(frame.face(8.0))
    spot = frame.labels.place(painter, "grain", [
        middle + QPointF(x, y) for x, y in ((0, -28), (0, 28), (40, 0), (-40, 0))])
    halo_text(painter, spot, "grain", frame.theme.ink, with_alpha(frame.theme.paper, 0.85))
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
