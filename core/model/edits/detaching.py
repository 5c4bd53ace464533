"""Wishes outlive the parts they were asked of."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import msgspec

from core.model.links import PART_FIELDS, POINT_FIELDS, WISH_GROUPS
from core.model.sketch import Sketch
from core.model.wanted import LengthRule, WantedMotion, Zone

replace = msgspec.structs.replace


def detached(sketch: Sketch, gone: Collection[str] = ()) -> Sketch:
    """The sketch without the wishes, zones and length rules named, the others let go of
    points and parts that are no more.

    A zone goes with the last of the points it named, a rule with the lengths it named.
    """
    known = {*sketch.places(), *(part.id for part in sketch.parts)}
    changes: dict[str, Any] = {}
    for group in WISH_GROUPS:
        kept = (_let_go(item, known) for item in getattr(sketch, group)
                if item.id not in gone)
        changes[group] = tuple(item for item in kept if item is not None)
    free = tuple(ref for ref in sketch.fit.free if ref in known)
    if free != sketch.fit.free:
        changes["fit"] = replace(sketch.fit, free=free)
    return replace(sketch, **changes)


def unattached(wish: WantedMotion) -> WantedMotion:
    """The wish asked of nothing yet."""
    names = (*POINT_FIELDS.get(type(wish), ()), *PART_FIELDS.get(type(wish), ()))
    return replace(wish, **{name: type(getattr(wish, name))() for name in names})


def _let_go(item: Any, known: set[str]) -> Any | None:
    if isinstance(item, LengthRule):
        ends = tuple(end for pair in zip(item.ends[::2], item.ends[1::2], strict=False)
                     if known.issuperset(pair) for end in pair)
        return item if ends == item.ends else (replace(item, ends=ends) if ends else None)
    if isinstance(item, Zone):
        points = tuple(ref for ref in item.points if ref in known)
        return item if points == item.points else (
            replace(item, points=points) if points else None)
    lost: dict[str, Any] = {}
    for field in (*POINT_FIELDS.get(type(item), ()), *PART_FIELDS.get(type(item), ())):
        value = getattr(item, field)
        if isinstance(value, tuple):
            if not known.issuperset(value):
                lost[field] = ()
        elif value and value not in known:
            lost[field] = ""
    if "at" in lost or "toward" in lost:  # a pose is of two points of one part
        lost["at"] = lost["toward"] = ""
    return replace(item, **lost) if lost else item
