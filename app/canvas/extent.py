"""How much of the plane a mechanism needs over its turn."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from app.canvas.shapes import Shapes
from core.model import Sketch, WantedPath, WantedPose, WantedStroke
from core.motion.turn import Turn

#: To frame the drawing, outlines may be off by this much.
_COARSE_MM = 0.5


def of_all(turn: Turn, shapes: Shapes) -> tuple[complex, complex] | None:
    """Lower left and upper right corner (mm) of the turn and of all that is wanted; None
    for an empty sketch."""
    boxes = [box for box in (of_turn(turn, shapes), _of_wishes(turn.sketch, shapes))
             if box is not None]
    if not boxes:
        return None
    lows, highs = (np.array(corners) for corners in zip(*boxes, strict=True))
    return (complex(lows.real.min(), lows.imag.min()),
            complex(highs.real.max(), highs.imag.max()))


def _of_wishes(sketch: Sketch, shapes: Shapes) -> tuple[complex, complex] | None:
    places = np.array(list(_wished(sketch, shapes)), dtype=np.complex128)
    if not places.size:
        return None
    return (complex(places.real.min(), places.imag.min()),
            complex(places.real.max(), places.imag.max()))


def _wished(sketch: Sketch, shapes: Shapes) -> Iterator[complex]:
    for wish in sketch.wanted:
        if isinstance(wish, WantedPath):
            yield from shapes.lines.of(wish).places.tolist()
        elif isinstance(wish, WantedPose):
            yield complex(wish.x, wish.y)
        elif isinstance(wish, WantedStroke):
            yield from (complex(*wish.start), complex(*wish.end))
    for zone in sketch.zones:
        yield from (complex(x, y) for x, y in zone.corners)


def of_turn(turn: Turn, shapes: Shapes) -> tuple[complex, complex] | None:
    """Lower left and upper right corner (mm) of all outlines and points at all crank
    angles; None for a sketch without parts."""
    lows, highs = [], []
    for part in turn.sketch.parts:
        polygon = shapes.of(part).polygon
        if polygon.is_empty:
            continue
        points = np.array([(point.x, point.y) for point in part.points]).reshape(-1, 2)
        hull = polygon.convex_hull.simplify(_COARSE_MM)
        corners = np.concatenate([shapely.get_coordinates(hull), points])
        row = turn.row(part.id)
        # A coarse look at the turn is enough to frame it.
        every = slice(None, None, max(turn.rotation.shape[1] // 90, 1))
        swept = (turn.rotation[row, every, None] * (corners[:, 0] + 1j * corners[:, 1])
                 + turn.shift[row, every, None])
        swept = swept[np.isfinite(swept)]
        if swept.size:
            lows.append(complex(swept.real.min(), swept.imag.min()))
            highs.append(complex(swept.real.max(), swept.imag.max()))
    if not lows:
        return None
    low, high = np.array(lows), np.array(highs)
    return (complex(low.real.min(), low.imag.min()), complex(high.real.max(), high.imag.max()))
