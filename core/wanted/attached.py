"""Which wishes of a sketch say something of something that is there."""

from __future__ import annotations

from core.model import Sketch, WantedAngle, WantedPath, WantedPose
from core.model.links import parts_of, point_refs
from core.model.wanted import WantedMotion


def attached(sketch: Sketch) -> tuple[WantedMotion, ...]:
    """The wishes of a sketch, in their order, that are of parts and points it has and ask
    something of them; a pose that lacks one of its two points, a path without places or a
    curve without knots asks nothing."""
    parts = {part.id for part in sketch.parts}
    places = sketch.places()

    def sound(wish: WantedMotion) -> bool:
        named = parts_of(wish)
        return bool(named) and _asks(wish) and parts.issuperset(named) and all(
            ref in places for ref in point_refs(wish))

    return tuple(wish for wish in sketch.wanted if sound(wish))


def _asks(wish: WantedMotion) -> bool:
    match wish:
        case WantedPath():
            return bool(wish.through)
        case WantedAngle():
            return bool(wish.part and wish.knots)
        case WantedPose():
            return bool(wish.at and wish.toward)
        case _:
            return True
