"""Which fields of which thing point at what: one table that removing, renaming,
copying, mirroring and checking all read."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, TypeVar, get_args

import msgspec

from core.model.guards import Guard
from core.model.joints import Belt, Lock, Mesh, Pin, PinInSlot, Slide
from core.model.loads import Drive, Force, Spring, Torque, TorsionSpring
from core.model.refs import join_ref, split_ref
from core.model.sketch import GROUPS, Sketch
from core.model.wanted import (
    FitRules,
    LengthRule,
    WantedAngle,
    WantedDwell,
    WantedMotion,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    Zone,
)

#: Fields that hold references to points ("part.point"), one or several.
POINT_FIELDS: dict[type, tuple[str, ...]] = {
    Pin: ("at",), Slide: ("point", "along"), PinInSlot: ("point", "slot"),
    Mesh: ("a", "b"), Belt: ("a", "b"), Force: ("at",), Spring: ("a", "b"),
    WantedPath: ("point",), WantedAngle: ("line",), WantedPose: ("at", "toward"),
    WantedSwing: ("line",), WantedStroke: ("point",), WantedDwell: ("point",),
    WantedRatio: ("point",), Zone: ("points",), LengthRule: ("ends",), FitRules: ("free",),
}
#: Fields that hold part ids.
PART_FIELDS: dict[type, tuple[str, ...]] = {
    Lock: ("parts",), Drive: ("part",), Torque: ("part",), TorsionSpring: ("a", "b"),
    WantedAngle: ("part",), WantedSwing: ("part",), WantedDwell: ("part",),
    WantedRatio: ("part",), Guard: ("a", "b"),
}
#: Kinds whose references may be empty: not attached to anything yet.
UNATTACHED = get_args(WantedMotion)
#: Fields that hold pin ids.
PIN_FIELDS: dict[type, tuple[str, ...]] = {
    Drive: ("pin",), Lock: ("pin",), TorsionSpring: ("pin",),
}
#: Groups of things that join or load parts, in file order.
ITEM_GROUPS = tuple(group for group in GROUPS if group not in (
    "parts", "twins", "wanted", "zones", "length_rules"))
#: Groups that say what motion is wanted.
WISH_GROUPS = ("wanted", "zones", "length_rules")

T = TypeVar("T", bound=msgspec.Struct)
Rename = Callable[[str], str]


def items(sketch: Sketch) -> Iterator[tuple[str, Any]]:
    """Every joint and load with the name of its group, in file order."""
    for group in ITEM_GROUPS:
        for item in getattr(sketch, group):
            yield group, item


def wishes(sketch: Sketch) -> Iterator[tuple[str, Any]]:
    """Every wish, zone and length rule with the name of its group, in file order."""
    for group in WISH_GROUPS:
        for item in getattr(sketch, group):
            yield group, item


def _values(item: msgspec.Struct, fields: dict[type, tuple[str, ...]]) -> Iterator[str]:
    for field in fields.get(type(item), ()):
        value = getattr(item, field)
        if value:  # a wish may name nothing yet
            yield from (value,) if isinstance(value, str) else value


def point_refs(item: msgspec.Struct) -> tuple[str, ...]:
    """All point references of a joint or load."""
    return tuple(_values(item, POINT_FIELDS))


def pins_of(item: msgspec.Struct) -> tuple[str, ...]:
    """All pin ids a joint, load or drive names (empty names left out)."""
    return tuple(value for value in _values(item, PIN_FIELDS) if value)


def parts_of(item: msgspec.Struct) -> tuple[str, ...]:
    """All part ids a joint, load or drive names, directly or through a point."""
    through = [split_ref(ref)[0] for ref in point_refs(item)]
    return tuple(dict.fromkeys([*through, *_values(item, PART_FIELDS)]))


def _renamed(item: msgspec.Struct, fields: dict[type, tuple[str, ...]],
             to: Rename) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    for field in fields.get(type(item), ()):
        value = getattr(item, field)
        if value:
            changes[field] = (
                to(value) if isinstance(value, str) else tuple(to(each) for each in value)
            )
    return changes


def relink(item: T, *, ref: Rename | None = None, part: Rename | None = None,
           pin: Rename | None = None) -> T:
    """The item with its references passed through the functions given.

    `ref` maps whole point references; `part` and `pin` map ids (and `part` the part
    half of point references when `ref` is not given).
    """
    if ref is None and part is not None:
        to_part = part

        def ref(value: str) -> str:
            owner, point = split_ref(value)
            return join_ref(to_part(owner), point)

    changes: dict[str, Any] = {}
    if ref is not None:
        changes |= _renamed(item, POINT_FIELDS, ref)
    if part is not None:
        changes |= _renamed(item, PART_FIELDS, part)
    if pin is not None:
        to_pin = pin
        changes |= _renamed(item, PIN_FIELDS, lambda value: to_pin(value) if value else "")
    return msgspec.structs.replace(item, **changes) if changes else item
