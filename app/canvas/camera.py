"""From the sketch's plane (mm, y up) to the screen (pixels, y down) and back."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF
from PySide6.QtGui import QTransform

LEAST_SCALE = 0.02
GREATEST_SCALE = 400.0


@dataclass(frozen=True)
class Camera:
    """What part of the plane is seen.

    `scale` is logical pixels per mm, `centre` (x + iy, mm) lies in the middle of a
    window of `width` × `height` logical pixels.
    """

    scale: float = 2.0
    centre: complex = 0j
    width: float = 800.0
    height: float = 600.0

    def to_screen(self, place: complex) -> QPointF:
        """Pixel of a place in mm."""
        off = (place - self.centre) * self.scale
        return QPointF(self.width / 2 + off.real, self.height / 2 - off.imag)

    def to_plane(self, pixel: QPointF) -> complex:
        """Place in mm under a pixel."""
        off = complex(pixel.x() - self.width / 2, self.height / 2 - pixel.y())
        return self.centre + off / self.scale

    def transform(self) -> QTransform:
        """The same mapping for a painter."""
        return QTransform(
            self.scale, 0, 0, -self.scale,
            self.width / 2 - self.centre.real * self.scale,
            self.height / 2 + self.centre.imag * self.scale,
        )

    def resized(self, width: float, height: float) -> Camera:
        """The same view in a window of another size; the middle stays."""
        return Camera(self.scale, self.centre, max(width, 1.0), max(height, 1.0))

    def zoomed(self, pixel: QPointF, factor: float) -> Camera:
        """Larger by `factor`; the place under `pixel` stays under it."""
        scale = min(max(self.scale * factor, LEAST_SCALE), GREATEST_SCALE)
        held = self.to_plane(pixel)
        centre = held + (self.centre - held) * (self.scale / scale)
        return Camera(scale, centre, self.width, self.height)

    def panned(self, dx_px: float, dy_px: float) -> Camera:
        """The paper moved by so many pixels on the screen."""
        centre = self.centre - complex(dx_px, -dy_px) / self.scale
        return Camera(self.scale, centre, self.width, self.height)

    def fitted(self, low: complex, high: complex, margin_px: float = 48.0) -> Camera:
        """The box between two opposite corners (mm) fills the window."""
        span = high - low
        wide = max(self.width - 2 * margin_px, 40.0)
        tall = max(self.height - 2 * margin_px, 40.0)
        scale = min(wide / max(span.real, 1e-3), tall / max(span.imag, 1e-3), 12.0)
        return Camera(max(scale, LEAST_SCALE), (low + high) / 2, self.width, self.height)
