"""Which parts go wholly into the small-parts cylinder, and could be swallowed by a child.

The cylinder of 16 CFR 1501.4 (as read in a copy; the inches govern) is 1.25 in wide; its
bottom slopes, so that it is 1 in deep at one side and 2.25 in at the other. A part is small
when it fits in, in any position, without being pressed.

A part of sheet is a prism: its outline, as thick as the sheet. Tried are positions every few
degrees of tilt and turn, each with the slope to every side and pushed to the deep side. So
that none is missed between them, a part counts as small up to `SLACK_MM` too large: the test
errs on the safe side. Bores are not cut out, and a part counts by itself, whatever holds it.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from core.space.outlines import Solid
from core.units import MM_PER_INCH

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

WIDE_MM, SHALLOW_MM, DEEP_MM = 1.25 * MM_PER_INCH, 1.0 * MM_PER_INCH, 2.25 * MM_PER_INCH
SOURCE = "16 CFR 1501.4, small-parts cylinder, as read in a copy"
#: What a part may be too large and still counts as small, mm.
SLACK_MM = 0.5
_TILTS, _TURNS, _SIDES = 46, 90, 24


def is_small(solid: Solid, thickness_mm: float) -> bool:
    """Whether a part of sheet of that thickness, mm, fits into the small-parts cylinder of
    16 CFR 1501.4, on the safe side by half a millimetre."""
    corners = _outer(solid)
    return _fits(tuple(corners.tolist()), float(thickness_mm))


def is_small_round(diameter_mm: float, length_mm: float) -> bool:
    """Whether a disc, washer, rod or weight fits into the small-parts cylinder."""
    rim = diameter_mm / 2 * np.exp(2j * np.pi * np.arange(24) / 24) / math.cos(math.pi / 24)
    return _fits(tuple(rim.tolist()), float(length_mm))


def _outer(solid: Solid) -> Complexes:
    """Corners of the convex outline of a body, complex mm: what fits in does not depend on
    hollows. Round corners become few, outside the arc by less than a hundredth of it."""
    if solid.free is not None:
        hull = shapely.convex_hull(solid.free)
    else:
        fans = [np.exp(2j * np.pi * np.arange(24) / 24) / math.cos(math.pi / 24)
                if piece.radius_mm > 0.0 else np.ones(1) for piece in solid.pieces]
        places = np.concatenate([
            (piece.corners[:, None] + piece.radius_mm * fan * (piece.radius_mm > 0.0)).ravel()
            for piece, fan in zip(solid.pieces, fans, strict=True)])
        hull = shapely.convex_hull(shapely.multipoints(
            np.column_stack([places.real, places.imag])))
    return np.asarray(shapely.get_coordinates(hull) @ np.array([1.0, 1.0j]))


@lru_cache(maxsize=4096)
def _fits(corners: tuple[complex, ...], thick_mm: float) -> bool:
    rim = np.array(corners)
    across = np.abs(rim[:, None] - rim).max()
    longest = math.hypot(WIDE_MM, DEEP_MM) + SLACK_MM
    if math.hypot(across, thick_mm) > longest:
        return False
    for turned in np.pi * np.arange(2 * _TURNS) / _TURNS:  # ends of a plate are not alike
        seen = rim * np.exp(1j * turned)
        if np.ptp(seen.imag) > WIDE_MM + SLACK_MM:
            continue  # its width square to the tilt stays, however it is tilted
        for tilt in np.linspace(0.0, 0.5 * np.pi, _TILTS):
            if _goes_in(seen, thick_mm, float(tilt)):
                return True
    return False


def _goes_in(seen: Complexes, thick_mm: float, tilt_rad: float) -> bool:
    """Whether a prism, tilted about the imaginary axis of its outline, goes in with the
    slope to some side."""
    cosine, sine = math.cos(tilt_rad), math.sin(tilt_rad)
    flat, high = [], []
    for face in (-0.5 * thick_mm, 0.5 * thick_mm):
        flat.append(seen.real * cosine + face * sine + 1j * seen.imag)
        high.append(face * cosine - seen.real * sine)
    places, height = np.concatenate(flat), np.concatenate(high)
    if np.ptp(height) > DEEP_MM + SLACK_MM or np.ptp(places.real) > WIDE_MM + SLACK_MM:
        return False
    around = shapely.multipoints(np.column_stack([places.real, places.imag]))
    radius = 0.5 * WIDE_MM + 0.5 * SLACK_MM
    if shapely.minimum_bounding_radius(around) > radius:
        return False
    middle = shapely.centroid(shapely.minimum_bounding_circle(around))
    # Seen along itself a bare line is one place, and has no circle.
    places = places - (places[0] if middle.is_empty else complex(middle.x, middle.y))
    below = height.max() - height  # how far below the rim
    side = np.exp(2j * np.pi * np.arange(_SIDES) / _SIDES)[:, None]
    there = places * side.conj()
    reach = np.sqrt(np.maximum(radius**2 - there.imag**2, 0.0)) - there.real
    pushed = there.real + np.maximum(reach.min(axis=1, keepdims=True), 0.0)
    deep = SHALLOW_MM + (DEEP_MM - SHALLOW_MM) * (pushed + 0.5 * WIDE_MM) / WIDE_MM
    return bool((below <= deep + SLACK_MM).all(axis=1).any())
