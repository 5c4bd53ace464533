"""Moving drawn shapes about the page, and cutting them off at a rectangle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from core.drawing.frame import Room
from core.drawing.items import Arc, Circle, Item, Line, Path, Pen, Text, run
from core.drawing.lettering import text_box


def moved(items: Sequence[Item], shift: complex) -> list[Item]:
    """Shapes shifted by so much (complex mm)."""
    return [_moved(item, shift.real, shift.imag) for item in items]


def _moved(item: Item, dx: float, dy: float) -> Item:
    if isinstance(item, Line):
        return replace(item, x1=item.x1 + dx, y1=item.y1 + dy, x2=item.x2 + dx, y2=item.y2 + dy)
    if isinstance(item, Path):
        offset = np.array([dx, dy])
        return replace(item, rings=tuple(ring + offset for ring in item.rings))
    return replace(item, x=item.x + dx, y=item.y + dy)


def clipped(items: Sequence[Item], room: Room) -> list[Item]:
    """What of the shapes lies in a rectangle. Text is kept only when whole."""
    frame = shapely.box(room.left, room.bottom, room.right, room.top)
    kept: list[Item] = []
    for item in items:
        if isinstance(item, Text):
            whole = shapely.Polygon(text_box(item))
            kept += [item] if frame.contains(whole) else []
            continue
        shape = _shape(item)
        if frame.contains(shape):
            kept.append(item)
        elif frame.intersects(shape):
            kept += _cut(item, shape, frame)
    return kept


def _shape(item: Line | Path | Circle | Arc) -> shapely.Geometry:
    """The line or area of a shape; circles by 360 chords."""
    if isinstance(item, Line):
        return shapely.LineString([(item.x1, item.y1), (item.x2, item.y2)])
    if isinstance(item, Path):
        if item.fill is not None:
            return shapely.union_all([shapely.Polygon(ring) for ring in item.rings])
        if item.closed:
            return shapely.MultiLineString([np.append(r, r[:1], axis=0) for r in item.rings])
        return shapely.MultiLineString(list(item.rings))
    start, sweep = 0.0, 360.0
    if isinstance(item, Arc):
        start, sweep = item.start_deg, item.sweep_deg
    angles = np.radians(start + np.linspace(0.0, sweep, 361))
    ring = np.stack([item.x + item.radius * np.cos(angles),
                     item.y + item.radius * np.sin(angles)], axis=-1)
    if sweep == 360.0:
        ring[-1] = ring[0]
    filled = isinstance(item, Circle) and item.fill is not None
    return shapely.Polygon(ring) if filled else shapely.LineString(ring)


def _cut(item: Line | Path | Circle | Arc, shape: shapely.Geometry, frame: shapely.Geometry
         ) -> list[Item]:
    inside = shapely.intersection(shape, frame)
    if inside.geom_type == "MultiLineString":
        inside = shapely.line_merge(inside)
    pieces = [piece for piece in shapely.get_parts(inside) if piece.length > 0]
    fill = getattr(item, "fill", None)
    made: list[Item] = []
    for piece in pieces:
        if piece.geom_type == "Polygon":
            made.append(Path((shapely.get_coordinates(piece.exterior)[:-1],), None, fill))
        elif item.pen is not None:
            made.append(run(shapely.get_coordinates(piece), item.pen))
    if fill is not None and item.pen is not None:
        edge = shapely.intersection(shape.boundary, frame)
        made += [run(shapely.get_coordinates(piece), item.pen)
                 for piece in shapely.get_parts(edge) if piece.length > 0]
    return made


def register_mark(at: complex, pen: Pen) -> list[Item]:
    """A cross in a circle, to lay sheets together by."""
    reach = 4.0
    return [Circle(at.real, at.imag, 2.0, pen),
            Line(at.real - reach, at.imag, at.real + reach, at.imag, pen),
            Line(at.real, at.imag - reach, at.real, at.imag + reach, pen)]


def starts(length: float, window: float, overlap: float) -> list[float]:
    """Where windows of one size begin so that they cover 0…length, each overlapping the
    next by `overlap`, the whole centred."""
    if length <= window:
        return [(length - window) / 2]
    step = window - overlap
    count = math.ceil((length - overlap) / step - 1e-9)
    spare = count * step + overlap - length
    return [number * step - spare / 2 for number in range(count)]
