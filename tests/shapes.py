"""The shapes drawn by hand, as wishes."""

from __future__ import annotations

from app.figures.drawings import DRAWN
from core.model import WantedPath

__all__ = ["DRAWN", "wish"]


def wish(name: str, at: complex = 0j, point: str = "", tolerance_mm: float = 1.0) -> WantedPath:
    """A drawn shape, moved to `at`, as a closed smooth path without timing."""
    return WantedPath(
        id=name, point=point, tolerance_mm=tolerance_mm, either_way=True,
        through=tuple((float(each.real), float(each.imag)) for each in DRAWN[name] + at))
