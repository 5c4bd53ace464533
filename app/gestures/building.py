"""Edits the drawing tools are made of: parts at places, pivots in the frame, the first
crank. Sketch → sketch; all places are complex mm in the drawn pose."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import msgspec

from core.model import (
    Bar,
    Disc,
    Drive,
    Outline,
    Part,
    Pin,
    Plate,
    Point,
    Sketch,
    join_ref,
    part_of,
)
from core.model.edits import (
    add,
    add_point,
    change,
    connect,
    fresh_id,
    fresh_point,
    next_layer,
    pin_of,
    put,
)
from core.space import default_outline

replace = msgspec.structs.replace
FRAME = "frame"


@dataclass(frozen=True)
class Spot:
    """A place clicked: on the point `ref`, or on the body of a part, or on bare paper;
    with `ground` a fixed pivot."""

    place: complex
    ref: str = ""
    body: str = ""
    ground: bool = False


def with_point(sketch: Sketch, part_id: str, place: complex, *,
               trace: bool = False) -> tuple[Sketch, str]:
    """One more point on a part, whose outline stays as it is; the point's reference."""
    part = sketch.part(part_id)
    stem = "O" if part.fixed else "A"
    point = Point(id=fresh_point(part, stem), x=place.real, y=place.imag, trace=trace)
    sketch = put(sketch, replace(part, outline=_held_outline(part)))
    return add_point(sketch, part_id, point), join_ref(part_id, point.id)


def _held_outline(part: Part) -> Outline | None:
    """The outline of a part with its points named, so that another point leaves it."""
    if part.fixed or not part.points:
        return part.outline
    names = tuple(point.id for point in part.points)
    match default_outline(part):
        case Bar(through=()) as bar:
            return replace(bar, through=names)
        case Plate(around=()) as plate:
            return replace(plate, around=names)
        case Disc(centre="") as disc:
            return replace(disc, centre=names[0])
        case outline:
            return outline


def frame_part(sketch: Sketch) -> tuple[Sketch, str]:
    """The sketch's frame, made when there is none yet; its id."""
    for part in sketch.parts:
        if part.fixed:
            return sketch, part.id
    part = Part(id=fresh_id(sketch, FRAME), fixed=True, layer=0)
    return replace(sketch, parts=(part, *sketch.parts)), part.id


def frame_point(sketch: Sketch, place: complex) -> tuple[Sketch, str]:
    """A point of the frame at a place; its reference."""
    sketch, frame_id = frame_part(sketch)
    for point in sketch.part(frame_id).points:
        if abs(point.place - place) < 1e-6:
            return sketch, join_ref(frame_id, point.id)
    return with_point(sketch, frame_id, place)


def is_grounded(sketch: Sketch, ref: str) -> bool:
    """True when a point is pinned to the frame, or is the frame's own."""
    fixed = {part.id for part in sketch.parts if part.fixed}
    pin = pin_of(sketch, ref)
    return any(part_of(each) in fixed for each in (pin.at if pin else (ref,)))


def grounded(sketch: Sketch, ref: str) -> Sketch:
    """The point is a fixed pivot: pinned to the frame where it is."""
    if is_grounded(sketch, ref):
        return sketch
    point = sketch.point(ref)
    sketch, foot = frame_point(sketch, point.place)
    return with_first_crank(connect(sketch, (ref, foot))[0])


def joined(sketch: Sketch, ref: str, spot: Spot) -> Sketch:
    """A point of a new part pinned to whatever its spot is on."""
    if spot.ref:
        sketch = connect(sketch, (spot.ref, ref))[0]
    elif spot.body and sketch.part(spot.body).fixed:
        return grounded(sketch, ref)
    elif spot.body:
        sketch, under = with_point(sketch, spot.body, spot.place)
        sketch = connect(sketch, (under, ref))[0]
    return grounded(sketch, ref) if spot.ground else sketch


def with_part(sketch: Sketch, stem: str, spots: list[Spot],
              outline: Outline | None = None) -> tuple[Sketch, str]:
    """A part with a point at every spot, pinned to what the spots are on; its id.

    It lies in the lowest layer that none of the parts it is joined to lies in.
    """
    names = [chr(ord("A") + place) if place < 26 else f"A {place}"
             for place in range(len(spots))]
    points = tuple(Point(id=name, x=spot.place.real, y=spot.place.imag)
                   for name, spot in zip(names, spots, strict=True))
    part = Part(id=fresh_id(sketch, stem), points=points, outline=outline)
    sketch = add(sketch, "parts", part)
    for name, spot in zip(names, spots, strict=True):
        sketch = joined(sketch, join_ref(part.id, name), spot)
    sketch = change(sketch, "parts", part.id, layer=next_layer(sketch, part.id))
    return with_first_crank(sketch), part.id


def apart(sketch: Sketch, refs: Iterable[str]) -> Sketch:
    """Parts that a joint lays over each other, each in a layer of its own: one that lies
    in the layer of an earlier one goes to the lowest layer free of all it is joined to."""
    taken: set[int] = set()
    for part_id in dict.fromkeys(part_of(ref) for ref in refs):
        if sketch.layer_of(part_id) in taken and not sketch.part(part_id).fixed:
            sketch = change(sketch, "parts", part_id, layer=next_layer(sketch, part_id))
        taken.add(sketch.layer_of(part_id))
    return sketch


def chain(sketch: Sketch, spots: list[Spot]) -> tuple[Sketch, list[str]]:
    """Bars from spot to spot, pinned end to end; their ids."""
    made: list[str] = []
    for first, second in pairwise(spots):
        if made:  # the end of the last bar is a point by now, and grounded already
            first = Spot(first.place, join_ref(made[-1], "B"))
        sketch, part_id = with_part(sketch, "bar", [first, second])
        made.append(part_id)
    return sketch, made


def with_first_crank(sketch: Sketch) -> Sketch:
    """Without a drive yet, the first part pinned to the frame becomes the crank."""
    if sketch.drive is not None:
        return sketch
    fixed = {part.id for part in sketch.parts if part.fixed}
    for pin in sketch.pins:
        owners = [part_of(ref) for ref in pin.at]
        moving = [owner for owner in owners if owner not in fixed]
        if moving and len(moving) < len(owners):
            return driven(sketch, pin, moving[0])
    return sketch


def driven(sketch: Sketch, pin: Pin, part_id: str) -> Sketch:
    """The part becomes the crank about a fixed pivot; its angle is read from the pivot
    to its farthest point. Speed and kind of a drive there was are kept."""
    pivot_point = sketch.point(pin.at[0])
    pivot = pivot_point.place
    arms = [point.place - pivot for point in sketch.part(part_id).points]
    arm = max(arms, key=abs, default=1 + 0j)
    drawn = math.degrees(cmath.phase(arm)) % 360.0 if abs(arm) > 1e-9 else 0.0
    old = sketch.drive
    if old is None:
        drive = Drive(pin=pin.id, part=part_id, drawn_deg=drawn)
    elif old.kind == "rock":
        swing = drawn - old.drawn_deg
        drive = replace(old, pin=pin.id, part=part_id, drawn_deg=drawn,
                        from_deg=old.from_deg + swing, to_deg=old.to_deg + swing)
    else:
        drive = replace(old, pin=pin.id, part=part_id, drawn_deg=drawn)
    return replace(sketch, drive=drive)
