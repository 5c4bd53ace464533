"""The grain of parts, in words for the lists and captions."""

from __future__ import annotations

import math

from core.errors import SketchError
from core.model import Part, Sketch
from core.model.stuff import materials_of
from core.space.grain import grain_of, longest_direction
from core.units import show_angle

#: Nearer than this to along or across, it is that, degrees.
_NEAR_DEG = 0.5


def has_grain(sketch: Sketch, part: Part) -> bool:
    """Whether a part is of something with a grain: wood or plywood."""
    known = materials_of(sketch.materials).get(part.material)
    return known is not None and known.stuff in ("wood", "plywood")


def off_length_deg(part: Part) -> float:
    """Angle from a part's longest direction to its grain, degrees in (-90, 90]; raises
    SketchError for a part without shape."""
    off = math.degrees(math.remainder(grain_of(part) - longest_direction(part), math.pi))
    return 90.0 if off <= -90.0 + 1e-9 else off


def grain_words(sketch: Sketch, part: Part) -> str:
    """How the (face) grain runs: "along" the part, "across" it, or how far off its length
    (to which side, the arrow on the template shows); a dash for what has no grain."""
    try:
        off = off_length_deg(part) if has_grain(sketch, part) else None
    except SketchError:
        off = None
    if off is None:
        return "–"
    if abs(off) < _NEAR_DEG:
        return "along"
    return "across" if abs(off) > 90.0 - _NEAR_DEG else f"{show_angle(round(abs(off), 1))} off"
