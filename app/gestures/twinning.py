"""Dragging a twin drags its original, as seen in the mirror."""

from __future__ import annotations

from app.canvas.frame import Frame
from app.gestures.snapping import together
from core.errors import EditError
from core.model import Twin, part_of, split_ref
from core.model.edits import Carry, twin_line

_SEEN_MM = 1e-3


def twin_of(frame: Frame, part_id: str) -> tuple[Twin, str] | None:
    """The twin group a part is the image in, and its original; None for other parts."""
    for twin in frame.sketch.twins:
        for original, image in twin.parts:
            if image == part_id:
                return twin, original
    return None


def reflected(carry: Carry, place: complex) -> complex:
    """The mirror image of a place (mm)."""
    return complex(*carry.place(place.real, place.imag))


def original_point(frame: Frame, refs: tuple[str, ...]) -> tuple[Twin, str] | None:
    """For the points on one pin (or one point alone) of which all that move belong to
    twin images: the group, and the original of one of them.

    Raises
    ------
    EditError
        When the image is not where the mirror shows the original in the pose shown (a
        twin that runs out of step): then only the original can be dragged.
    """
    moving = [ref for ref in refs if part_of(ref) not in frame.fixed]
    found = [twin_of(frame, part_of(ref)) for ref in moving]
    if not found or any(each is None for each in found):
        return None
    twin, original = found[0]
    ref = f"{original}.{split_ref(moving[0])[1]}"
    try:
        seen = reflected(twin_line(twin), frame.pose.at(ref))
    except KeyError:
        return None
    if abs(seen - frame.pose.at(moving[0])) > _SEEN_MM:
        raise EditError(f"{part_of(moving[0])!r} follows {original!r}",
                        mend=f"drag {original!r}, or cut the twin loose")
    return twin, ref


def with_partners(frame: Frame, refs: frozenset[str]) -> frozenset[str]:
    """The points, and their partners in the mirror: these move with them."""
    partner: dict[str, str] = {}
    for twin in frame.sketch.twins:
        for original, image in twin.parts:
            partner[original], partner[image] = image, original
    found = set(refs)
    for ref in refs:
        part_id, point_id = split_ref(ref)
        if part_id in partner:
            found |= together(frame, f"{partner[part_id]}.{point_id}")
    return frozenset(found)
