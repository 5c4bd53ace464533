"""The ground: paper, grid, and the picture laid under the sketch."""

from __future__ import annotations

import cmath
import math
from pathlib import Path

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap

from app.canvas.frame import Frame, with_alpha
from core.model import Underlay

_INVITATION = (
    ("Bare paper", True),
    ("Take Part (P). Double click: a fixed pivot. Click: a joint, bar after bar.", False),
    ("A four-bar is double click, click, click, double click.", False),
    ("Or take Wish (D) and draw the path a point should take.", False),
)


def grid_step_mm(grid_mm: float, scale: float, least_px: float = 9.0) -> float:
    """The grid step shown at a zoom: the sketch's own, or 2, 5, 10… times it."""
    step = max(grid_mm, 1e-3)
    for factor in (2.0, 2.5, 2.0) * 12:
        if step * scale >= least_px:
            return step
        step *= factor
    return step


def paint_paper(painter: QPainter, frame: Frame, pictures: Pictures) -> None:
    """Fill the window with paper, then picture, then grid."""
    view = QRectF(0, 0, frame.camera.width, frame.camera.height)
    painter.fillRect(view, frame.theme.paper)
    if frame.sketch.underlay is not None:
        _paint_underlay(painter, frame, frame.sketch.underlay, pictures)
    if frame.look.shows("grid"):
        _paint_grid(painter, frame)


def _paint_grid(painter: QPainter, frame: Frame) -> None:
    camera = frame.camera
    step = grid_step_mm(frame.sketch.grid_mm, camera.scale)
    half = complex(camera.width, camera.height) / (2 * camera.scale)
    low, high = camera.centre - half, camera.centre + half
    fine: list[QLineF] = []
    strong: list[QLineF] = []
    for place in range(math.ceil(low.real / step), math.floor(high.real / step) + 1):
        x = round(camera.to_screen(complex(place * step, 0)).x()) + 0.5
        (strong if place % 5 == 0 else fine).append(QLineF(x, 0, x, camera.height))
    for place in range(math.ceil(low.imag / step), math.floor(high.imag / step) + 1):
        y = round(camera.to_screen(complex(0, place * step)).y()) + 0.5
        (strong if place % 5 == 0 else fine).append(QLineF(0, y, camera.width, y))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(frame.pen(with_alpha(frame.theme.grid, 0.55)))
    painter.drawLines(fine)
    painter.setPen(frame.pen(frame.theme.grid))
    painter.drawLines(strong)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def _paint_underlay(painter: QPainter, frame: Frame, underlay: Underlay,
                    pictures: Pictures) -> None:
    picture = pictures.get(underlay.path)
    if picture is None:
        return
    corner = frame.camera.to_screen(complex(underlay.x, underlay.y))
    per_pixel = underlay.mm_per_px * frame.camera.scale
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, True)
    painter.setOpacity(underlay.opacity)
    painter.translate(corner)
    painter.rotate(-underlay.angle_deg)
    painter.drawPixmap(
        QRectF(0, -picture.height() * per_pixel,
               picture.width() * per_pixel, picture.height() * per_pixel),
        picture, QRectF(picture.rect()))
    painter.restore()


def paint_invitation(painter: QPainter, frame: Frame) -> None:
    """How to begin, on a sketch without parts."""
    middle = QRectF(0, 0, frame.camera.width, frame.camera.height)
    painter.setPen(frame.theme.faint)
    for place, (text, bold) in enumerate(_INVITATION):
        painter.setFont(frame.face(11.0 if bold else 9.5, bold))
        painter.drawText(middle.translated(0, 22.0 * (place - 1)),
                         Qt.AlignmentFlag.AlignCenter, text)


class Pictures:
    """Pictures read from files, the last few kept.

    `folder` is where relative paths start: the folder of the sketch file.
    """

    def __init__(self) -> None:
        self.folder: Path | None = None
        self._held: dict[Path, QPixmap] = {}

    def get(self, path: str) -> QPixmap | None:
        """The picture, or None when it cannot be read."""
        where = Path(path)
        if not where.is_absolute() and self.folder is not None:
            where = self.folder / where
        if where not in self._held:
            if len(self._held) > 4:
                self._held.clear()
            self._held[where] = QPixmap(str(where))
        picture = self._held[where]
        return None if picture.isNull() else picture

    def corners(self, underlay: Underlay | None) -> tuple[complex, complex] | None:
        """Lower left and upper right corner (mm) of the box about a picture; None without
        one that can be read."""
        picture = self.get(underlay.path) if underlay is not None else None
        if underlay is None or picture is None:
            return None
        wide, tall = (side * underlay.mm_per_px * cmath.rect(1.0, math.radians(turn))
                      for side, turn in ((picture.width(), underlay.angle_deg),
                                         (picture.height(), underlay.angle_deg + 90.0)))
        first = complex(underlay.x, underlay.y)
        four = (first, first + wide, first + tall, first + wide + tall)
        return (complex(min(z.real for z in four), min(z.imag for z in four)),
                complex(max(z.real for z in four), max(z.imag for z in four)))
