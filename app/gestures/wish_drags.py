"""What a drag in the Arrange tool does to a wish, a region, or a handle of one."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from app.canvas.frame import Frame
from app.canvas.hits import Item
from app.canvas.wish_hits import Grip
from app.gestures.carrying import Carrying, carrying
from app.gestures.grain import grain_turning
from app.gestures.weighing import weight_moving
from core.errors import EditError
from core.model import Sketch, WantedPath, WantedPose, Zone
from core.model.edits import (
    change,
    get,
    insert_handle,
    move_handle,
    move_tick,
    remove_handle,
    remove_tick,
    remove_weight,
    shift_wish,
)
from core.units import show_angle, show_length

if TYPE_CHECKING:
    from app.canvas.view import Canvas


def grip_carrying(canvas: Canvas, grip: Grip, grabbed: complex) -> Carrying:
    """The drag of a handle, a tick, or of what turns a pose. The pose drawn stays."""
    frame, base = canvas.frame(), canvas.session.committed
    name = grip.item[1]
    handle = grip.place(frame)
    if grip.what == "grain":
        return grain_turning(frame, base, name, handle, grabbed)
    if grip.what == "weight":
        return weight_moving(frame, base, name, grip.index, handle, grabbed)
    if grip.what == "turn":
        return _turning(frame, base, name, handle, grabbed)
    if grip.what == "tick":
        return _tick(frame, base, grip, handle, grabbed)

    def edit(place: complex) -> Sketch:
        return move_handle(base, name, grip.index, place)

    return Carrying(handle, grabbed, f"Reshape {name}", edit, tell=_place_words(frame),
                    in_pose=False)


def _place_words(frame: Frame) -> Callable[[complex], str]:
    units = frame.sketch.units

    def tell(place: complex) -> str:
        return f"x {show_length(place.real, units)}, y {show_length(place.imag, units)}"

    return tell


def _turning(frame: Frame, base: Sketch, name: str, handle: complex,
             grabbed: complex) -> Carrying:
    pose = get(base, name)
    centre = complex(pose.x, pose.y)

    def angle_of(place: complex) -> float:
        away = place - centre
        return math.degrees(cmath.phase(away)) if away != 0 else float(pose.angle_deg)

    def edit(place: complex) -> Sketch:
        # Near to how it was wanted before, not a whole turn off.
        angle = pose.angle_deg + math.remainder(angle_of(place) - pose.angle_deg, 360.0)
        return change(base, "wanted", name, angle_deg=angle)

    return Carrying(handle, grabbed, f"Turn {name}", edit, anchor=centre, free=True,
                    tell=lambda place: show_angle(angle_of(place)), in_pose=False)


def _tick(frame: Frame, base: Sketch, grip: Grip, handle: complex,
          grabbed: complex) -> Carrying:
    """A tick stays on its path; it goes on from where it is and does not jump to another
    stretch that comes near."""
    name = grip.item[1]
    wish = get(base, name)
    line = frame.shapes.lines.of(wish)
    crank_deg, last = wish.ticks[grip.index].crank_deg, wish.ticks[grip.index].at

    def edit(place: complex) -> Sketch:
        nonlocal last
        last = line.nearest(place, last)[0]
        return move_tick(base, name, grip.index, last)[0]

    def tell(place: complex) -> str:
        return f"at {show_angle(crank_deg)} of the crank"

    return Carrying(handle, grabbed, f"Move a tick of {name}", edit, tell=tell, free=True,
                    in_pose=False)


def drag_of(canvas: Canvas, item: Item, grabbed: complex) -> Carrying | None:
    """The drag that begins on anything; None for things that are not dragged."""
    if item[0] in ("wish", "zone"):
        return _of_wish(canvas, item, grabbed)
    return carrying(canvas, item, grabbed)


def _of_wish(canvas: Canvas, item: Item, grabbed: complex) -> Carrying | None:
    """The drag of a whole wish or region, and of those selected with it; None for a wish
    without a place."""
    frame, base = canvas.frame(), canvas.session.committed
    name = item[1]
    thing = get(base, name)
    if shift_wish(base, name, 1 + 0j) == base:
        return None
    handle = complex(thing.x, thing.y) if isinstance(thing, WantedPose) else grabbed
    picked = [each for kind in ("wish", "zone") for each in canvas.session.selected(kind)]
    names = picked if name in picked else [name]

    def edit(place: complex) -> Sketch:
        sketch = base
        for each in names:
            sketch = shift_wish(sketch, each, place - handle)
        return sketch

    def tell(place: complex) -> str:
        shift, units = place - handle, frame.sketch.units
        return f"by {show_length(shift.real, units)}, {show_length(shift.imag, units)}"

    return Carrying(handle, grabbed, f"Move {name}", edit, tell=tell, in_pose=False,
                    free=not isinstance(thing, WantedPose))


def inserted(canvas: Canvas, item: Item, place: complex) -> tuple[Sketch, Grip] | None:
    """A new handle of a path or region where it was double-clicked, and the sketch with
    it; None for what takes no handles."""
    frame, base = canvas.frame(), canvas.session.committed
    thing = get(base, item[1])
    if isinstance(thing, WantedPath) and thing.curve != "places":
        at, _ = frame.shapes.lines.of(thing).nearest(place)
    elif isinstance(thing, Zone) and len(thing.corners) > 2:
        at = _edge_at(thing, place)
    else:
        return None
    sketch, index = insert_handle(base, item[1], at, place)
    return sketch, Grip("handle", item, index)


def _edge_at(zone: Zone, place: complex) -> float:
    """Between which corners a place is nearest to the edge of a region."""
    corners = [complex(x, y) for x, y in zone.corners]

    def off(index: int) -> float:
        start, end = corners[index], corners[(index + 1) % len(corners)]
        return abs(place - start) + abs(place - end) - abs(end - start)

    return min(range(len(corners)), key=off) + 0.5


def without_grip(sketch: Sketch, grip: Grip) -> Sketch:
    """The sketch without a handle or tick; raises EditError where it cannot go."""
    if grip.what == "weight":
        return remove_weight(sketch, grip.item[1], grip.index)
    if grip.what == "tick":
        return remove_tick(sketch, grip.item[1], grip.index)
    if grip.what == "handle" and grip.item[0] in ("wish", "zone"):
        return remove_handle(sketch, grip.item[1], grip.index)
    raise EditError("this handle belongs to the pose", mend="delete the whole pose instead")
