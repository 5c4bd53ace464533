"""Wanted paths as lines to paint and to hit, worked out once per wish."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF

from app.canvas.camera import Camera
from core.model import Sketch, WantedPath
from core.wanted.borders import nearest_on
from core.wanted.curves import curve_of, sample_path

T = TypeVar("T")
PER_SPAN = 16
_ON_PX, _OFF_PX = 6.5, 4.5
#: Dashes beyond these are not told apart any more: the line is drawn through.
_MOST_DASHES = 1200


@dataclass(frozen=True)
class Line:
    """A path as a fine polyline: places (mm) and where they are along it."""

    places: NDArray[np.complex128]
    at: NDArray[np.float64]

    def nearest(self, place: complex, about: float | None = None) -> tuple[float, float]:
        """Where along the path is nearest to a place, and how far that is (mm); with
        `about`, of what lies within a sixth of the path from there."""
        if len(self.places) < 2:
            return 0.0, float(abs(self.places[0] - place))
        part, away = nearest_on(place, self.places[:-1], self.places[1:])
        off = np.abs(away)
        if about is not None:
            whole, away = self.at[-1], np.abs(self.at[:-1] - about)
            if self.places[0] == self.places[-1]:
                away = np.minimum(away, whole - away)
            off = np.where(away <= max(whole / 6, 1.0), off, np.inf)
        span = int(np.argmin(off))
        at = self.at[span] + part[span] * (self.at[span + 1] - self.at[span])
        return float(at), float(off[span])


class WishLines:
    """Keeps the lines of the wishes of the last sketches seen, and what is painted of them
    for the last camera. Wishes and parts are frozen, so the same ones look the same."""

    def __init__(self) -> None:
        self._lines: dict[int, tuple[WantedPath, Line]] = {}
        self._painted: dict[tuple[int, ...], tuple[tuple[object, ...], Any]] = {}
        self._camera: Camera | None = None

    def of(self, wish: WantedPath) -> Line:
        """The line of a path."""
        found = self._lines.get(id(wish))
        if found is None or found[0] is not wish:
            found = (wish, Line(*sample_path(wish, PER_SPAN)))
            self._lines[id(wish)] = found
        return found[1]

    def kept(self, camera: Camera, make: Callable[[], T], *things: object) -> T:
        """What `make` made of these very things for this camera, made anew when the
        camera or one of them is another."""
        if camera != self._camera:
            self._camera = camera
            self._painted.clear()
        key = tuple(map(id, things))
        found = self._painted.get(key)
        if found is None or any(a is not b for a, b in zip(found[0], things, strict=True)):
            found = (things, make())
            self._painted[key] = found
        made: T = found[1]
        return made

    def keep_only(self, sketch: Sketch) -> None:
        """Forget the lines of wishes that are not in the sketch."""
        if len(self._lines) > 2 * len(sketch.wanted) + 32:
            now = {id(wish) for wish in sketch.wanted}
            self._lines = {key: held for key, held in self._lines.items() if key in now}
        if len(self._painted) > 4 * (len(sketch.wanted) + len(sketch.zones)) + 64:
            self._painted.clear()


def at_place(wish: WantedPath, at: float) -> complex:
    """The place at `at` along a path, mm."""
    if wish.curve == "places":
        x, y = wish.through[min(max(round(at), 0), len(wish.through) - 1)]
        return complex(x, y)
    return complex(curve_of(wish).place(at))


def along(wish: WantedPath, at: float) -> complex:
    """The direction (unit) of a path at `at`; to the right where it has none."""
    way = complex(curve_of(wish).along(at))
    return way / abs(way) if abs(way) > 0 else 1 + 0j


def screened(places: NDArray[np.complex128], camera: Camera) -> NDArray[np.complex128]:
    """Places (mm) as pixels x + iy, y down."""
    moved = (places - camera.centre).conjugate() * camera.scale
    return np.asarray(moved + complex(camera.width, camera.height) / 2, np.complex128)


def dashed(pixels: NDArray[np.complex128], on_px: float = _ON_PX,
           off_px: float = _OFF_PX) -> list[QLineF]:
    """A polyline in pixels cut into dashes; each is straight, as they are short."""
    if len(pixels) < 2:
        return []
    run = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(pixels)))])
    whole = float(run[-1])
    if not 0.0 < whole < _MOST_DASHES * (on_px + off_px):
        return [QLineF(QPointF(a.real, a.imag), QPointF(b.real, b.imag))
                for a, b in zip(pixels[:-1].tolist(), pixels[1:].tolist(), strict=True)]
    count = max(round(whole / (on_px + off_px)), 1)
    start = np.arange(count) * (whole / count)
    ends = np.stack([start, start + on_px / (on_px + off_px) * whole / count], axis=1)
    at = np.interp(ends, run, pixels)
    return [QLineF(a.real, a.imag, b.real, b.imag) for a, b in at.tolist()]
