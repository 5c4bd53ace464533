"""Mirror images of parts, and twins: mirror images that follow their originals."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec

from core.errors import EditError
from core.model.edits.basics import add, add_point, fresh_id, fresh_point, get, ids, put, remove
from core.model.edits.moving import Carry, carry_load, carry_part, mirroring
from core.model.joints import Pin
from core.model.links import items, parts_of, pins_of, point_refs, relink
from core.model.outline import Outline, Polygon
from core.model.parts import Mass, Part, Point, Weight
from core.model.refs import join_ref, split_ref
from core.model.sketch import Sketch, Twin

replace = msgspec.structs.replace

#: A shared point this near the mirror line (mm) is its own image.
ON_LINE_MM = 1e-6
_SAME_DEG = 1e-9


def mirror(sketch: Sketch, part_ids: Iterable[str], x: float, y: float, angle_deg: float,
           twin: bool = True) -> tuple[Sketch, tuple[str, ...]]:
    """The sketch with the mirror image of some parts in the line through (x, y) at
    `angle_deg`, with every joint and load among them and between them and other parts.

    Where an original joins a part that is not mirrored (the frame, a shared crank)
    the image joins it at the mirrored place, on a new point there; on the line itself
    at the same pin. With `twin` the images follow their originals from then on.
    Returns the sketch and the ids of the images.

    Raises
    ------
    EditError
        When no part is chosen.
    """
    chosen = list(dict.fromkeys(part_ids))
    if not chosen:
        raise EditError("nothing to mirror", mend="select one or more parts")
    carry = mirroring(x, y, angle_deg)
    names: dict[str, str] = {}
    for part_id in chosen:
        image = replace(carry_part(sketch.part(part_id), carry),
                        id=fresh_id(sketch, part_id),
                        layer=sketch.layer_of(part_id))
        sketch = add(sketch, "parts", image)
        names[part_id] = image.id
    group = Twin(id=fresh_id(sketch, "twin"), parts=tuple(names.items()),
                 x=x, y=y, angle_deg=angle_deg)
    sketch, group = _mirror_items(sketch, group)
    if twin:
        sketch = add(sketch, "twins", group)
    return sketch, tuple(names.values())


def untwin(sketch: Sketch, twin_id: str) -> Sketch:
    """The sketch with a twin cut loose: its parts stay and stop following."""
    return remove(sketch, [twin_id])


def twin_line(twin: Twin) -> Carry:
    """The mirror image a twin makes."""
    return mirroring(twin.x, twin.y, twin.angle_deg)


def follow_twins(old: Sketch, new: Sketch) -> Sketch:
    """`new` with every twin brought up to date after an edit of `old`.

    Images follow their originals; an image that was edited itself while its original
    was not passes the edit on to the original. Things that joined the original group
    since are mirrored, things that left it go.
    """
    if not new.twins:
        return new
    for twin in new.twins:
        before = next((each for each in old.twins if each.id == twin.id), None)
        if before is not None:
            new = _follow(old, new, before, get(new, twin.id))
    return new


def _follow(old: Sketch, new: Sketch, before: Twin, twin: Twin) -> Sketch:
    carry = twin_line(twin)
    lost = [image for original, image in before.parts
            if original not in _part_ids(new) and image in _part_ids(new)]
    lost += [image for original, image in before.others
             if "." not in original and original not in ids(new) and image in ids(new)]
    if lost:
        new = remove(new, lost)
        if twin.id not in ids(new):
            return new
        twin = get(new, twin.id)
    new = _follow_points(new, twin, carry)
    for original, image in twin.parts:
        new = _follow_part(old, new, original, image, carry)
    new, grown = _mirror_items(new, twin, since=old)
    new = put(new, grown)
    for original, image in grown.others:
        if "." in original or original == image:
            continue
        item = _image_item(get(new, original), image, grown, carry)
        if item is not None:
            new = put(new, item)
    return new


def _part_ids(sketch: Sketch) -> set[str]:
    return {part.id for part in sketch.parts}


def _follow_part(old: Sketch, new: Sketch, original: str, image: str, carry: Carry) -> Sketch:
    was = {part.id: part for part in old.parts}
    source, copy = new.part(original), new.part(image)
    edited_image = (image in was and original in was
                    and not _same(copy, was[image]) and _same(source, was[original]))
    if edited_image:
        return put(new, replace(carry_part(copy, carry), id=original))
    made = replace(carry_part(source, carry), id=image, layer=new.layer_of(original))
    return put(new, made) if made != copy else new


def _same(part: Part, other: Part) -> bool:
    """Equal but for rounding: a pose turned to and fro is not an edit."""
    flat = [replace(each, points=(), outline=None, mass=None, weights=(), grain_deg=None)
            for each in (part, other)]
    if flat[0] != flat[1] or len(part.points) != len(other.points):
        return False
    near = all(abs(complex(a.x - b.x, a.y - b.y)) <= ON_LINE_MM
               and replace(a, x=b.x, y=b.y) == b
               for a, b in zip(part.points, other.points, strict=True))
    return near and _near_outline(part.outline, other.outline) and (
        part.mass == other.mass or _near_mass(part.mass, other.mass)) and (
        _near_grain(part.grain_deg, other.grain_deg)) and (
        len(part.weights) == len(other.weights) and all(
            _near_mass(a, b) for a, b in zip(part.weights, other.weights, strict=True)))


def _near_outline(one: Outline | None, other: Outline | None) -> bool:
    if not (isinstance(one, Polygon) and isinstance(other, Polygon)):
        return one == other
    rings = [(each.outer, *each.holes) for each in (one, other)]
    return [len(ring) for ring in rings[0]] == [len(ring) for ring in rings[1]] and all(
        abs(complex(ax - bx, ay - by)) <= ON_LINE_MM
        for a, b in zip(*rings, strict=True)
        for (ax, ay), (bx, by) in zip(a, b, strict=True))


def _near_mass(one: Mass | Weight | None, two: Mass | Weight | None) -> bool:
    if one is None or two is None:
        return False
    return (replace(one, x=two.x, y=two.y) == two
            and abs(complex(one.x - two.x, one.y - two.y)) <= ON_LINE_MM)


def _near_grain(one: float | None, two: float | None) -> bool:
    if one is None or two is None:
        return one is two
    return abs((one - two + 90.0) % 180.0 - 90.0) <= _SAME_DEG


def _follow_points(sketch: Sketch, twin: Twin, carry: Carry) -> Sketch:
    """Mirrored points on shared parts go where the originals' images are."""
    for original, image in twin.others:
        if "." not in original or original == image:
            continue
        source = sketch.point(original)
        x, y = carry.place(source.x, source.y)
        owner, name = split_ref(image)
        part = sketch.part(owner)
        points = tuple(replace(point, x=x, y=y) if point.id == name else point
                       for point in part.points)
        sketch = put(sketch, replace(part, points=points))
    return sketch


def _mirror_items(sketch: Sketch, twin: Twin,
                  since: Sketch | None = None) -> tuple[Sketch, Twin]:
    """Mirror the joints and loads of a group that have no image yet.

    With `since`, only those that are not in that earlier sketch.
    """
    carry = twin_line(twin)
    originals = {original for original, _ in twin.parts}
    images = {image for _, image in twin.parts}
    done = {name for name, _ in twin.others}
    known = ids(since) if since is not None else set()
    for group, item in list(items(sketch)):
        owners = set(parts_of(item))
        if item.id in done or item.id in known or not owners & originals or owners & images:
            continue
        sketch, twin = _shared_points(sketch, twin, item, originals, carry)
        paired = dict(twin.parts) | dict(twin.others)
        outside = [ref for ref in point_refs(item) if split_ref(ref)[0] not in originals]
        if isinstance(item, Pin) and outside and all(paired.get(r) == r for r in outside):
            pin = get(sketch, item.id)
            extra = tuple(_image_ref(ref, twin) for ref in item.at if ref not in outside)
            sketch = put(sketch, replace(pin, at=tuple(dict.fromkeys((*pin.at, *extra)))))
            twin = replace(twin, others=(*twin.others, (item.id, item.id)))
            continue
        image = _image_item(item, fresh_id(sketch, item.id), twin, carry)
        if image is not None:
            sketch = add(sketch, group, image)
            twin = replace(twin, others=(*twin.others, (item.id, image.id)))
    return sketch, twin


def _shared_points(sketch: Sketch, twin: Twin, item: Any, originals: set[str],
                   carry: Carry) -> tuple[Sketch, Twin]:
    """Give every shared point the item uses an image on the same part."""
    paired = {name for name, _ in twin.others}
    for ref in point_refs(item):
        owner, name = split_ref(ref)
        if owner in originals or ref in paired:
            continue
        point = sketch.point(ref)
        x, y = carry.place(point.x, point.y)
        if abs(complex(x - point.x, y - point.y)) <= ON_LINE_MM:
            image = ref
        else:
            part = sketch.part(owner)
            fresh = fresh_point(part, name)
            sketch = add_point(sketch, owner, Point(id=fresh, x=x, y=y, locked=point.locked))
            image = join_ref(owner, fresh)
        twin = replace(twin, others=(*twin.others, (ref, image)))
        paired.add(ref)
    return sketch, twin


def _image_ref(ref: str, twin: Twin) -> str:
    owner, point = split_ref(ref)
    parts = dict(twin.parts)
    return join_ref(parts[owner], point) if owner in parts else dict(twin.others).get(ref, ref)


def _image_item(item: Any, image_id: str, twin: Twin, carry: Carry) -> Any | None:
    """The mirror image of a joint or load; None when it names a pin without one."""
    parts, others = dict(twin.parts), dict(twin.others)
    if any(pin not in others for pin in pins_of(item)):
        return None
    linked = relink(item, ref=lambda ref: _image_ref(ref, twin),
                    part=lambda name: parts.get(name, name),
                    pin=lambda name: others.get(name, name))
    return carry_load(replace(linked, id=image_id), carry)
