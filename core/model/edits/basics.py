"""Add, change, rename and remove. Every function returns a new sketch."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec

from core.errors import EditError
from core.model.edits.detaching import detached
from core.model.joints import Lock, Pin
from core.model.links import (
    ITEM_GROUPS,
    WISH_GROUPS,
    items,
    parts_of,
    pins_of,
    point_refs,
    relink,
)
from core.model.outline import Bar, Disc, Outline, Plate
from core.model.parts import Part, Point
from core.model.refs import join_ref, split_ref
from core.model.sketch import GROUPS, Sketch

replace = msgspec.structs.replace


def ids(sketch: Sketch) -> set[str]:
    """The ids of all parts, joints, loads and twins."""
    return {item.id for group in GROUPS for item in getattr(sketch, group)}


def fresh_id(sketch: Sketch, stem: str) -> str:
    """`stem`, or ``"stem 2"``, ``"stem 3"``…: the first that nothing is called yet."""
    taken = ids(sketch)
    return first_free(stem, taken)


def first_free(stem: str, taken: Iterable[str]) -> str:
    """`stem` or the first of ``"stem 2"``, ``"stem 3"``… that is not taken."""
    held = set(taken)
    name, count = stem, 1
    while name in held:
        count += 1
        name = f"{stem} {count}"
    return name


def fresh_point(part: Part, stem: str = "A") -> str:
    """The first free point id of a part: A, B … Z, then A 2, A 3…; a longer stem
    counts by itself."""
    taken = {point.id for point in part.points}
    if len(stem) == 1:
        for letter in range(ord(stem), ord("Z") + 1):
            if chr(letter) not in taken:
                return chr(letter)
    return first_free(stem, taken)


def group_of(sketch: Sketch, item_id: str) -> str:
    """The name of the group (``"parts"``, ``"pins"``, …) an id is in.

    Raises
    ------
    EditError
        When nothing has that id.
    """
    for group in GROUPS:
        if any(item.id == item_id for item in getattr(sketch, group)):
            return group
    raise EditError(f"there is nothing called {item_id!r}", mend="choose an existing one")


def get(sketch: Sketch, item_id: str) -> Any:
    """The part, joint, load or twin of that id; raises as :func:`group_of`."""
    group = group_of(sketch, item_id)
    return next(item for item in getattr(sketch, group) if item.id == item_id)


def add(sketch: Sketch, group: str, item: Any) -> Sketch:
    """The sketch with one more part, joint or load at the end of its group.

    Raises
    ------
    EditError
        When the id is taken or empty.
    """
    if not item.id:
        raise EditError("it needs a name", mend="type one")
    if item.id in ids(sketch):
        raise EditError(f"{item.id!r} is taken", mend="choose another name")
    return replace(sketch, **{group: (*getattr(sketch, group), item)})


def put(sketch: Sketch, item: Any) -> Sketch:
    """The sketch with the thing of the same id replaced by `item`."""
    group = group_of(sketch, item.id)
    swapped = tuple(item if old.id == item.id else old for old in getattr(sketch, group))
    return replace(sketch, **{group: swapped})


def change(sketch: Sketch, group: str, item_id: str, **fields: Any) -> Sketch:
    """The sketch with some fields of one thing changed.

    Raises
    ------
    EditError
        When the group has nothing of that id or the struct has no such field.
    """
    for item in getattr(sketch, group):
        if item.id == item_id:
            unknown = set(fields) - set(item.__struct_fields__)
            if unknown:
                raise EditError(f"{item_id!r} has no {sorted(unknown)[0]!r}")
            return put(sketch, replace(item, **fields))
    raise EditError(f"there is no {item_id!r} among the {group}")


def change_point(sketch: Sketch, ref: str, **fields: Any) -> Sketch:
    """The sketch with some fields of one point changed (not its id: see rename)."""
    part_id, point_id = split_ref(ref)
    part = sketch.part(part_id)
    points = tuple(
        replace(point, **fields) if point.id == point_id else point for point in part.points
    )
    return put(sketch, replace(part, points=points))


def add_point(sketch: Sketch, part_id: str, point: Point) -> Sketch:
    """The sketch with one more point on a part; raises EditError when its id is taken."""
    part = sketch.part(part_id)
    if any(old.id == point.id for old in part.points):
        raise EditError(f"{part_id!r} has a point {point.id!r} already")
    return put(sketch, replace(part, points=(*part.points, point)))


def rename(sketch: Sketch, old: str, new: str) -> Sketch:
    """Everything that was called `old` is called `new`, references included.

    `old` is the id of a part, joint, load or twin, or a point ``"part.point"`` (then
    `new` is the point's new id alone).

    Raises
    ------
    EditError
        When `new` is taken, empty, holds a full stop or a control character, or is
        longer than 64 characters.
    """
    if not new or "." in new or len(new) > 64 or not new.isprintable():
        raise EditError(f"{new!r} cannot be a name",
                        mend="use 1 to 64 characters without a full stop")
    if "." in old:
        return _rename_point(sketch, old, new)
    if new == old:
        return sketch
    if new in ids(sketch):
        raise EditError(f"{new!r} is taken", mend="choose another name")
    group = group_of(sketch, old)

    def to(name: str) -> str:
        return new if name == old else name

    sketch = put_as(sketch, group, old, replace(get(sketch, old), id=new))
    if group == "parts":
        sketch = _relink_all(sketch, part=to)
    elif group == "pins":
        sketch = _relink_all(sketch, pin=to)
    twins = tuple(
        replace(twin,
                parts=tuple((to(a), to(b)) for a, b in twin.parts),
                others=tuple((_rename_side(a, old, new), _rename_side(b, old, new))
                             for a, b in twin.others))
        for twin in sketch.twins
    )
    return replace(sketch, twins=twins)


def put_as(sketch: Sketch, group: str, old_id: str, item: Any) -> Sketch:
    """The sketch with the thing called `old_id` replaced in its place."""
    swapped = tuple(item if old.id == old_id else old for old in getattr(sketch, group))
    return replace(sketch, **{group: swapped})


def _rename_side(name: str, old: str, new: str) -> str:
    if "." in name:
        part, point = split_ref(name)
        return join_ref(new, point) if part == old else name
    return new if name == old else name


def _relink_all(sketch: Sketch, **how: Any) -> Sketch:
    changes: dict[str, Any] = {
        group: tuple(relink(item, **how) for item in getattr(sketch, group))
        for group in (*ITEM_GROUPS, *WISH_GROUPS)
    }
    changes["fit"] = relink(sketch.fit, **how)
    if sketch.drive is not None:
        changes["drive"] = relink(sketch.drive, **how)
    return replace(sketch, **changes)


def _rename_point(sketch: Sketch, ref: str, new: str) -> Sketch:
    part_id, point_id = split_ref(ref)
    part = sketch.part(part_id)
    if new == point_id:
        return sketch
    if any(point.id == new for point in part.points):
        raise EditError(f"{part_id!r} has a point {new!r} already", mend="choose another name")

    def to(name: str) -> str:
        return new if name == point_id else name

    points = tuple(replace(point, id=to(point.id)) for point in part.points)
    part = replace(part, points=points, outline=_outline_points(part.outline, to))
    target = join_ref(part_id, new)
    sketch = _relink_all(put(sketch, part), ref=lambda each: target if each == ref else each)
    twins = tuple(
        replace(twin, others=tuple((target if a == ref else a, target if b == ref else b)
                                   for a, b in twin.others))
        for twin in sketch.twins
    )
    return replace(sketch, twins=twins)


def _outline_points(outline: Outline | None, to: Any) -> Outline | None:
    match outline:
        case Bar():
            return replace(outline, through=tuple(to(name) for name in outline.through))
        case Plate():
            return replace(outline, around=tuple(to(name) for name in outline.around))
        case Disc(centre=centre) if centre:
            return replace(outline, centre=to(centre))
        case _:
            return outline


def remove(sketch: Sketch, names: Iterable[str]) -> Sketch:
    """The sketch without the things named (ids, or points ``"part.point"``) and
    without whatever cannot stand without them.

    A pin or lock that still joins two parts stays, and so does a lock that held a single
    part on its shaft from the start; the drive goes with its pin or part.
    A wish stays when its part goes, attached to nothing.
    """
    gone = set(names)
    gone_refs = {name for name in gone if "." in name}
    for ref in gone_refs:
        sketch = _without_point(sketch, ref)
    gone_parts = {part.id for part in sketch.parts if part.id in gone}

    def kept(item: Any) -> Any | None:
        if item.id in gone:
            return None
        if isinstance(item, Pin):
            at = tuple(ref for ref in item.at
                       if ref not in gone_refs and split_ref(ref)[0] not in gone_parts)
            return (replace(item, at=at) if at != item.at else item) if len(at) > 1 else None
        if isinstance(item, Lock):
            parts = tuple(part for part in item.parts if part not in gone_parts)
            stays = len(parts) > 1 or parts == item.parts
            return replace(item, parts=parts) if stays else None
        lost = (not gone_refs.isdisjoint(point_refs(item))
                or not gone_parts.isdisjoint(parts_of(item)))
        return None if lost else item

    changes: dict[str, Any] = {
        "parts": tuple(part for part in sketch.parts if part.id not in gone)
    }
    for group in ITEM_GROUPS:
        stay = (kept(item) for item in getattr(sketch, group))
        changes[group] = tuple(item for item in stay if item is not None)
    left_pins = {pin.id for pin in changes["pins"]}
    changes["locks"] = tuple(lock if lock.pin in left_pins else replace(lock, pin="")
                             for lock in changes["locks"]
                             if lock.pin in left_pins or len(lock.parts) > 1)
    changes["torsion_springs"] = tuple(spring for spring in changes["torsion_springs"]
                                       if spring.pin in left_pins)
    drive = sketch.drive
    if drive is not None and not (
        set(pins_of(drive)) <= left_pins and drive.part not in gone_parts
        and any(pin.id == drive.pin and any(split_ref(ref)[0] == drive.part for ref in pin.at)
                for pin in changes["pins"])
    ):
        changes["drive"] = None
    return detached(_prune_twins(replace(sketch, **changes), gone), gone)


def _without_point(sketch: Sketch, ref: str) -> Sketch:
    part_id, point_id = split_ref(ref)
    part = next((part for part in sketch.parts if part.id == part_id), None)
    if part is None:
        return sketch
    points = tuple(point for point in part.points if point.id != point_id)
    outline = part.outline
    if isinstance(outline, Bar):
        outline = replace(outline, through=tuple(n for n in outline.through if n != point_id))
    elif isinstance(outline, Plate):
        outline = replace(outline, around=tuple(n for n in outline.around if n != point_id))
    elif isinstance(outline, Disc) and outline.centre == point_id:
        outline = replace(outline, centre="")
    return put(sketch, replace(part, points=points, outline=outline))


def _prune_twins(sketch: Sketch, gone: set[str]) -> Sketch:
    held = ids(sketch) | {join_ref(part.id, point.id)
                          for part in sketch.parts for point in part.points}
    twins = []
    for twin in sketch.twins:
        if twin.id in gone:
            continue
        parts = tuple(pair for pair in twin.parts if held.issuperset(pair))
        others = tuple(pair for pair in twin.others if held.issuperset(pair))
        if parts:
            twins.append(replace(twin, parts=parts, others=others))
    return replace(sketch, twins=tuple(twins))


def joined_parts(sketch: Sketch, part_id: str) -> set[str]:
    """Ids of the parts that share a joint with a part (itself not among them)."""
    near: set[str] = set()
    for group, item in items(sketch):
        if group in ("pins", "slides", "slots", "locks", "meshes", "belts"):
            parts = parts_of(item)
            if part_id in parts:
                near.update(parts)
    return near - {part_id}


def next_layer(sketch: Sketch, part_id: str) -> int:
    """The lowest layer from 1 up that holds none of the parts joined to a part."""
    taken = {sketch.layer_of(other) for other in joined_parts(sketch, part_id)}
    layer = 1
    while layer in taken:
        layer += 1
    return layer
