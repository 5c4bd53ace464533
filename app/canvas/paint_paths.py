"""Traced paths in ink, with a dot every ten degrees of crank: spacing shows speed."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPainterPath, QPolygonF

from app.canvas.frame import Frame, mixed
from app.canvas.shapes import to_polygon
from core.model import WantedPath

DOT_DEG = 10.0
_LARGE_DEG = 90.0


def paint_paths(painter: QPainter, frame: Frame) -> None:
    """The paths of all traced points, and more faintly of the selected ones and of those
    that are wanted elsewhere."""
    turn = frame.turn
    if len(turn.crank_rad) < 2 or turn.sketch is not frame.sketch:
        return
    picked = {ref for kind, ref in frame.selection if kind == "point"}
    picked |= {wish.point for wish in frame.sketch.wanted if isinstance(wish, WantedPath)}
    for part in frame.sketch.parts:
        if part.fixed or part.id in frame.look.hidden:
            continue
        for point in part.points:
            ref = f"{part.id}.{point.id}"
            if point.trace or ref in picked:
                _paint_path(painter, frame, turn.path(ref), 1.0 if point.trace else 0.45)


def _paint_path(painter: QPainter, frame: Frame, places: np.ndarray, strength: float) -> None:
    turn, camera = frame.turn, frame.camera
    pixels = np.empty_like(places)
    pixels[:, 0] = camera.width / 2 + (places[:, 0] - camera.centre.real) * camera.scale
    pixels[:, 1] = camera.height / 2 - (places[:, 1] - camera.centre.imag) * camera.scale
    closed = turn.repeats and bool(turn.reached.all()) and turn.sketch.drive is not None \
        and turn.sketch.drive.kind == "turn"
    colour = mixed(frame.theme.path, frame.theme.paper, strength)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(frame.hair(colour))
    for piece in reached_runs(pixels, closed):
        for shift in frame.strokes:
            painter.drawPolyline(piece.translated(shift))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    dots, large = QPainterPath(), 1e-6
    for step in dot_steps(turn.crank_rad, DOT_DEG):
        x, y = pixels[step]
        if np.isfinite(x):
            degrees = math.degrees(turn.crank_rad[step])
            radius = 2.9 if abs(math.remainder(degrees, _LARGE_DEG)) < large else 1.7
            dots.addEllipse(x - radius, y - radius, 2 * radius, 2 * radius)
    painter.drawPath(dots)


def reached_runs(pixels: np.ndarray, closed: bool) -> list[QPolygonF]:
    """Unbroken stretches of a path, (N, 2) pixels with NaN where it is not reached."""
    sound = np.isfinite(pixels[:, 0])
    if sound.all():
        return [to_polygon(np.vstack([pixels, pixels[:1]]) if closed else pixels)]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], sound.astype(int), [0]])))
    runs = [pixels[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True)]
    if len(runs) > 1 and sound[0] and sound[-1]:
        runs[0] = np.vstack([runs.pop(), runs[0]])  # the cycle's seam is not a break
    return [to_polygon(run) for run in runs if len(run) > 1]


def dot_steps(crank_rad: np.ndarray, every_deg: float) -> list[int]:
    """The steps at whole multiples of so many degrees of crank."""
    degrees = np.degrees(crank_rad)
    wanted = np.arange(math.ceil(degrees[0] / every_deg - 1e-9),
                       math.floor(degrees[-1] / every_deg + 1e-9) + 1) * every_deg
    steps = np.clip(np.searchsorted(degrees, wanted - 1e-9), 0, len(degrees) - 1)
    return [int(step) for step in np.unique(steps)]
