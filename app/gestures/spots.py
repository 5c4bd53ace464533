"""What a click of a joint or load tool is on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.canvas.frame import Frame
from app.canvas.hits import covers, parts_under
from app.gestures.base import At
from app.gestures.building import Spot, frame_point, with_point
from app.gestures.snapping import Snap, snap
from core.model import Sketch, part_of
from core.model.edits import pin_of

if TYPE_CHECKING:
    from app.canvas.view import Canvas


def spot_at(canvas: Canvas, at: At, *, anchor: complex | None = None,
            leave_out: frozenset[str] = frozenset()) -> tuple[Spot, Snap]:
    """The point, else the top part, under the cursor, and the snap that led there."""
    frame = canvas.frame()
    meant = snap(frame, at, anchor=anchor, leave_out=leave_out)
    if meant.ref:
        return Spot(meant.place, ref=meant.ref), meant
    bodies = moving_under(frame, meant.place)
    return Spot(meant.place, body=bodies[0] if bodies else ""), meant


def moving_under(frame: Frame, place: complex) -> list[str]:
    """Ids of the moving parts under a place, top of the stack first."""
    return [name for _, name in parts_under(frame, place) if name not in frame.fixed]


def moving_ref(sketch: Sketch, ref: str) -> str:
    """Of the points on one pin with `ref`, the one of a part that moves, a traced one
    first; "" where none does."""
    pin = pin_of(sketch, ref)
    moving = [each for each in (pin.at if pin is not None else (ref,))
              if not sketch.part(part_of(each)).fixed]
    return next((each for each in moving if sketch.point(each).trace),
                moving[0] if moving else "")


def parts_at(frame: Frame, spot: Spot) -> list[str]:
    """All moving parts a spot is on: those of its point's pin, and those it covers."""
    found: list[str] = []
    if spot.ref:
        found += [part_of(ref) for pin in frame.sketch.pins if spot.ref in pin.at
                  for ref in pin.at]
        found.append(part_of(spot.ref))
    found += [part.id for part in frame.stacked() if covers(frame, part, spot.place)]
    return [each for each in dict.fromkeys(found) if each not in frame.fixed]


def with_spot_point(sketch: Sketch, spot: Spot) -> tuple[Sketch, str]:
    """A point at a spot: the one that is there, else a new one on the part, else a new
    one of the frame. Returns the sketch and the point's reference."""
    if spot.ref:
        return sketch, spot.ref
    if spot.body:
        return with_point(sketch, spot.body, spot.place)
    return frame_point(sketch, spot.place)


def point_near(sketch: Sketch, part_id: str, place: complex, within_mm: float) -> str | None:
    """The reference of the part's drawn point nearest to a place, when near enough."""
    part = sketch.part(part_id)
    near = min(part.points, key=lambda p: abs(p.place - place), default=None)
    if near is None or abs(near.place - place) > within_mm:
        return None
    return f"{part_id}.{near.id}"
