"""Copy and paste parts with whatever joins and loads them alone, and wishes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec

from core.model.edits.basics import first_free, ids
from core.model.edits.moving import carry_part, shifting
from core.model.edits.sheets import bring_materials, material_users
from core.model.edits.wishing import shifted_wish
from core.model.joints import Lock, Pin
from core.model.links import ITEM_GROUPS, WISH_GROUPS, parts_of, pins_of, relink
from core.model.refs import part_of
from core.model.sketch import Sketch

replace = msgspec.structs.replace


def copy_parts(sketch: Sketch, part_ids: Iterable[str],
               wish_ids: Iterable[str] = ()) -> Sketch:
    """A sketch of its own that holds the parts named and every joint and load that
    touches nothing else, the wishes and regions named, and what of the user's own
    materials is used. A pin or lock shared with others keeps the ends that are copied, if
    two are; a wish keeps the points and parts it is asked of, though they may not be copied
    (see `detached`)."""
    chosen, wished = set(part_ids), set(wish_ids)
    changes: dict[str, Any] = {
        "parts": tuple(part for part in sketch.parts if part.id in chosen)
    }
    pin_ids: set[str] = set()
    for group in ITEM_GROUPS:
        trimmed = (_trimmed(item, chosen) for item in getattr(sketch, group))
        inside = [item for item in trimmed
                  if chosen.issuperset(parts_of(item)) and pin_ids.issuperset(pins_of(item))]
        if group == "pins":
            pin_ids = {pin.id for pin in inside}
        changes[group] = tuple(inside)
    for group in WISH_GROUPS:
        changes[group] = tuple(item for item in getattr(sketch, group) if item.id in wished)
    clip = Sketch(units=sketch.units, **changes)
    return replace(clip, materials=tuple(own for own in sketch.materials
                                         if material_users(clip, own.id)))


def _trimmed(item: Any, chosen: set[str]) -> Any:
    """A pin or lock without the ends that are not copied, if two ends are."""
    if isinstance(item, Pin):
        at = tuple(ref for ref in item.at if part_of(ref) in chosen)
        return replace(item, at=at) if len(at) > 1 else item
    if isinstance(item, Lock):
        parts = tuple(part for part in item.parts if part in chosen)
        return replace(item, parts=parts) if len(parts) > 1 else item
    return item


def paste(sketch: Sketch, clip: Sketch, dx: float, dy: float) -> tuple[Sketch, tuple[str, ...]]:
    """The sketch with the clip added, shifted by (dx, dy) mm under fresh names.

    Returns the sketch and the ids of the new parts.
    """
    sketch, clip = bring_materials(sketch, clip)
    taken = ids(sketch)
    names: dict[str, str] = {}
    for item_id in sorted(ids(clip), key=_order(clip)):
        names[item_id] = first_free(_stem(item_id), taken)
        taken.add(names[item_id])

    def to(name: str) -> str:
        return names.get(name, name)

    carry = shifting(dx, dy)
    parts = tuple(replace(carry_part(part, carry), id=to(part.id),
                          layer=clip.layer_of(part.id) if part.layer is None else part.layer)
                  for part in clip.parts)
    changes: dict[str, Any] = {"parts": (*sketch.parts, *parts)}
    for group in (*ITEM_GROUPS, *WISH_GROUPS):
        fresh = (relink(shifted_wish(replace(item, id=to(item.id)), complex(dx, dy)),
                        part=to, pin=to) for item in getattr(clip, group))
        changes[group] = (*getattr(sketch, group), *fresh)
    return replace(sketch, **changes), tuple(part.id for part in parts)


def _stem(name: str) -> str:
    head, space, count = name.rpartition(" ")
    return head if space and count.isdigit() else name


def _order(clip: Sketch) -> Any:
    groups = ("parts", *ITEM_GROUPS, *WISH_GROUPS)
    order = {item.id: place for place, item in enumerate(
        item for group in groups for item in getattr(clip, group))}
    return lambda name: order.get(name, len(order))
