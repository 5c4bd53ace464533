"""Edits of wanted paths, poses and regions. Places are x + iy mm in the sketch frame;
`at` counts along a path as its ticks do (0 is the first handle, 1.5 halfway from the
second to the third)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Literal

import msgspec

from core.errors import EditError
from core.model.edits.basics import add, fresh_id, get, put
from core.model.sketch import Sketch
from core.model.wanted import (
    Tick,
    WantedPath,
    WantedPose,
    WantedStroke,
    Zone,
)

replace = msgspec.structs.replace
Corner = tuple[float, float]
#: A tick this near to another takes its place.
SAME_AT = 1e-6
#: One more pose of a part at a crank angle that is taken comes so much later.
POSE_STEP_DEG = 60.0


def corner(place: complex) -> Corner:
    """A place as the pair of numbers a sketch holds."""
    return place.real, place.imag


# -- paths -------------------------------------------------------------------------

def add_path(sketch: Sketch, through: Iterable[complex], *, point: str = "",
             closed: bool = True, curve: Literal["smooth", "straight", "places"] = "smooth",
             tolerance_mm: float = 1.0, ticks: Iterable[Tick] = ()) -> tuple[Sketch, str]:
    """The sketch with one more wanted path, and its id; `point` ``"part.point"`` or ""."""
    name = fresh_id(sketch, "path")
    path = WantedPath(id=name, through=tuple(corner(place) for place in through),
                      point=point, closed=closed, curve=curve, tolerance_mm=tolerance_mm,
                      ticks=tuple(sorted(ticks, key=_at)))
    return add(sketch, "wanted", path), name


def path(sketch: Sketch, wish_id: str) -> WantedPath:
    """The wanted path of that id; EditError when it is none."""
    wish = get(sketch, wish_id)
    if not isinstance(wish, WantedPath):
        raise EditError(f"{wish_id!r} is not a path", mend="choose a wanted path")
    return wish


def path_end(wish: WantedPath) -> int:
    """The largest `at` of a path: a closed one comes back to its first handle."""
    back = wish.closed and wish.curve != "places"
    return len(wish.through) - (0 if back else 1)


def move_handle(sketch: Sketch, wish_id: str, index: int, place: complex) -> Sketch:
    """The sketch with one handle of a path (or end of a stroke, or corner of a region)
    at a place. EditError when there is no such handle."""
    thing = get(sketch, wish_id)
    if isinstance(thing, WantedStroke):
        end = {0: "start", 1: "end"}.get(index)
        if end is None:
            raise EditError(f"{wish_id!r} has two ends", mend="choose one of them")
        return put(sketch, replace(thing, **{end: corner(place)}))
    field = "corners" if isinstance(thing, Zone) else "through"
    places = list(getattr(thing, field, ()))
    if not 0 <= index < len(places):
        raise EditError(f"{wish_id!r} has no handle {index + 1}", mend="choose another")
    places[index] = corner(place)
    return put(sketch, replace(thing, **{field: tuple(places)}))


def insert_handle(sketch: Sketch, wish_id: str, at: float,
                  place: complex) -> tuple[Sketch, int]:
    """The sketch with a new handle of a path, or corner of a region, at a place between
    its neighbours at `at`, and the handle's index. Ticks stay where they are on the curve
    as nearly as can be."""
    thing = get(sketch, wish_id)
    if isinstance(thing, Zone):
        index = min(int(at), len(thing.corners) - 1) + 1
        corners = (*thing.corners[:index], corner(place), *thing.corners[index:])
        return put(sketch, replace(thing, corners=corners)), index
    wish = path(sketch, wish_id)
    span = min(int(at), max(path_end(wish) - 1, 0))
    share = min(max(at - span, 0.0), 1.0)
    index = span + 1
    through = (*wish.through[:index], corner(place), *wish.through[index:])

    def moved(old: float) -> float:
        if old <= span:
            return old
        if old >= span + 1:
            return old + 1
        inner = old - span
        if inner <= share:
            return span + (inner / share if share else 0.0)
        return span + 1 + (inner - share) / (1 - share)

    ticks = [_moved(tick, moved(tick.at)) for tick in wish.ticks]
    return put(sketch, _with(wish, through, ticks)), index


def remove_handle(sketch: Sketch, wish_id: str, index: int) -> Sketch:
    """The sketch without one handle of a path or corner of a region.

    Raises
    ------
    EditError
        When fewer than it needs would be left: two (open), three (closed or a region).
    """
    thing = get(sketch, wish_id)
    if isinstance(thing, Zone):
        if len(thing.corners) <= 3:
            raise EditError("a region needs its three corners",
                            mend="delete the whole region instead")
        left = (*thing.corners[:index], *thing.corners[index + 1:])
        return put(sketch, replace(thing, corners=left))
    wish = path(sketch, wish_id)
    count = len(wish.through)
    if count <= (1 if wish.curve == "places" else 3 if wish.closed else 2):
        raise EditError("the path needs the handles it has left",
                        mend="delete the whole path instead")
    through = (*wish.through[:index], *wish.through[index + 1:])
    if wish.curve == "places":
        kept = [_moved(t, t.at - (t.at > index)) for t in wish.ticks if t.at != index]
        return put(sketch, _with(wish, through, kept))
    return put(sketch, _with(wish, through, [
        _moved(t, _after_removal(t.at, index, count, wish.closed)) for t in wish.ticks]))


def _after_removal(at: float, index: int, count: int, closed: bool) -> float:
    """Where a tick goes when the two spans beside a handle become one."""
    if closed and index == 0:
        if at < 1:
            return count - 2 + (1 + at) / 2
        return at - 1 if at <= count - 1 else count - 2 + (at - (count - 1)) / 2
    if not closed and index == 0:
        return max(at - 1, 0.0)
    if not closed and index == count - 1:
        return min(at, float(count - 2))
    if at <= index - 1:
        return at
    return index - 1 + (at - (index - 1)) / 2 if at < index + 1 else at - 1


def add_tick(sketch: Sketch, wish_id: str, at: float, crank_deg: float) -> Sketch:
    """The sketch with the point wanted at `at` along the path at that crank angle; a tick
    that is there already is changed."""
    wish = path(sketch, wish_id)
    at = _on_path(wish, at)
    others = [tick for tick in wish.ticks if abs(tick.at - at) > SAME_AT]
    return put(sketch, _with(wish, wish.through, [*others, Tick(at=at, crank_deg=crank_deg)]))


def move_tick(sketch: Sketch, wish_id: str, index: int, at: float) -> tuple[Sketch, int]:
    """The sketch with one tick of a path (in the order of its `ticks`) elsewhere along it,
    and the tick's index then."""
    wish = path(sketch, wish_id)
    moved = _moved(_tick(wish, index), _on_path(wish, at))
    ticks = sorted([*wish.ticks[:index], moved, *wish.ticks[index + 1:]], key=_at)
    return put(sketch, replace(wish, ticks=tuple(ticks))), ticks.index(moved)


def set_tick(sketch: Sketch, wish_id: str, index: int, crank_deg: float) -> Sketch:
    """The sketch with one tick of a path tied to another crank angle."""
    wish = path(sketch, wish_id)
    tick = replace(_tick(wish, index), crank_deg=crank_deg)
    return put(sketch, replace(wish, ticks=(*wish.ticks[:index], tick,
                                            *wish.ticks[index + 1:])))


def remove_tick(sketch: Sketch, wish_id: str, index: int) -> Sketch:
    """The sketch without one tick of a path."""
    wish = path(sketch, wish_id)
    _tick(wish, index)
    return put(sketch, replace(wish, ticks=wish.ticks[:index] + wish.ticks[index + 1:]))


def reverse_path(sketch: Sketch, wish_id: str) -> Sketch:
    """The sketch with a path run the other way round, from the same beginning when it is
    closed; ticks stay on their places."""
    wish = path(sketch, wish_id)
    end = path_end(wish)
    if end == len(wish.through):
        through = (wish.through[0], *wish.through[:0:-1])
        ticks = [_moved(tick, (end - tick.at) % end) for tick in wish.ticks]
    else:
        through = wish.through[::-1]
        ticks = [_moved(tick, end - tick.at) for tick in wish.ticks]
    return put(sketch, _with(wish, through, ticks))


def close_path(sketch: Sketch, wish_id: str, closed: bool) -> Sketch:
    """The sketch with a path closed or open; ticks past the end of an open one go back to
    it. EditError for a closed path of two handles."""
    wish = path(sketch, wish_id)
    if closed and len(wish.through) < 3 and wish.curve != "places":
        raise EditError("two handles make no loop", mend="add a handle first")
    wish = replace(wish, closed=closed)
    end = float(path_end(wish))
    return put(sketch, _with(wish, wish.through,
                             [_moved(tick, min(tick.at, end)) for tick in wish.ticks]))


def _with(wish: WantedPath, through: Sequence[Corner], ticks: Iterable[Tick]) -> WantedPath:
    return replace(wish, through=tuple(through), ticks=tuple(sorted(ticks, key=_at)))


def _tick(wish: WantedPath, index: int) -> Tick:
    if not 0 <= index < len(wish.ticks):
        raise EditError(f"{wish.id!r} has no tick {index + 1}", mend="choose another")
    return wish.ticks[index]


def _at(tick: Tick) -> float:
    return tick.at


def _moved(tick: Tick, at: float) -> Tick:
    return replace(tick, at=float(at))


def _on_path(wish: WantedPath, at: float) -> float:
    """`at` within the path; of a path through places the nearest place."""
    end = path_end(wish)
    if wish.curve == "places":
        return float(min(max(round(at), 0), end))
    return float(at % end) if wish.closed and end else float(min(max(at, 0.0), end))


# -- poses -------------------------------------------------------------------------

def add_pose(sketch: Sketch, place: complex, angle_deg: float, crank_deg: float, *,
             at: str = "", toward: str = "") -> tuple[Sketch, str]:
    """The sketch with one more wanted pose, and its id: at that crank angle the point `at`
    is to be at `place` and the direction from it to `toward` to be `angle_deg`."""
    name = fresh_id(sketch, "pose")
    pose = WantedPose(id=name, crank_deg=crank_deg, x=place.real, y=place.imag,
                      angle_deg=angle_deg, at=at, toward=toward)
    return add(sketch, "wanted", pose), name


def free_crank_deg(sketch: Sketch, crank_deg: float, at: str = "") -> float:
    """The crank angle for one more pose of the part of `at` (of no part: ""), degrees: the
    one given, or where that is taken by a pose of the same part, which cannot be in two
    places at once, the first free one `POSE_STEP_DEG` on, and on, and half of that between
    when a turn is full."""
    taken = [pose.crank_deg for pose in sketch.wanted if isinstance(pose, WantedPose)
             and pose.at.partition(".")[0] == at.partition(".")[0]]

    def free(deg: float) -> bool:
        return all(abs(math.remainder(deg - other, 360.0)) > 0.5 for other in taken)

    step = POSE_STEP_DEG
    while step > 1.0:
        for k in range(round(360.0 / step)):
            if free(crank_deg + k * step):
                return (crank_deg + k * step) % 360.0 if k else crank_deg
        step /= 2.0
    return crank_deg


def pose_handles(sketch: Sketch, part_id: str) -> tuple[str, str]:
    """The two points by which a pose of a part is told: the two furthest apart.

    Raises
    ------
    EditError
        When the part has fewer than two points in different places.
    """
    points = sketch.part(part_id).points
    pairs = [(one, two) for k, one in enumerate(points) for two in points[k + 1:]]
    one, two = max(pairs, key=lambda pair: abs(pair[0].place - pair[1].place),
                   default=(None, None))
    if one is None or two is None or one.place == two.place:
        raise EditError(f"{part_id!r} has no two points that tell its direction",
                        mend="give it a second point")
    return f"{part_id}.{one.id}", f"{part_id}.{two.id}"


def pose_map(sketch: Sketch, pose: WantedPose) -> tuple[complex, complex] | None:
    """Rotation and shift (complex) that take drawn places of the part of an attached pose
    to where it is wanted; None for one that is not attached."""
    if not pose.at or not pose.toward:
        return None
    start, end = sketch.place(pose.at), sketch.place(pose.toward)
    span = end - start
    if span == 0:
        return None
    turn = complex(math.cos(math.radians(pose.angle_deg)),
                   math.sin(math.radians(pose.angle_deg))) * abs(span) / span
    return turn, complex(pose.x, pose.y) - turn * start


# -- regions -----------------------------------------------------------------------

def add_zone(sketch: Sketch, corners: Iterable[complex], *,
             keep: Literal["in", "out"] = "in",
             points: Iterable[str] = ()) -> tuple[Sketch, str]:
    """The sketch with one more region, and its id; no `points` means the fixed pivots."""
    name = fresh_id(sketch, "region")
    zone = Zone(id=name, corners=tuple(corner(place) for place in corners), keep=keep,
                points=tuple(points))
    return add(sketch, "zones", zone), name


# -- any of them -------------------------------------------------------------------

def shift_wish(sketch: Sketch, item_id: str, shift: complex) -> Sketch:
    """The sketch with a path, pose, stroke or region moved by `shift` (mm); other wishes
    have no place and stay as they are."""
    return put(sketch, shifted_wish(get(sketch, item_id), shift))


def shifted_wish(item: Any, shift: complex) -> Any:
    """A wish or region moved by `shift` (mm); one without a place as it is."""
    def moved(place: Corner) -> Corner:
        return place[0] + shift.real, place[1] + shift.imag

    match item:
        case WantedPath():
            return replace(item, through=tuple(moved(place) for place in item.through))
        case WantedPose():
            return replace(item, x=item.x + shift.real, y=item.y + shift.imag)
        case WantedStroke():
            return replace(item, start=moved(item.start), end=moved(item.end))
        case Zone():
            return replace(item, corners=tuple(moved(place) for place in item.corners))
        case _:
            return item


def attach(sketch: Sketch, wish_id: str, *, point: str | None = None,
           part: str | None = None) -> Sketch:
    """The sketch with a wish asked of a point ``"part.point"`` or of a part ("" lets go).

    A pose asked of a part is told by `pose_handles`; an angle or swing keeps no line of
    another part. EditError when the wish can be asked of no such thing.
    """
    wish = get(sketch, wish_id)
    if isinstance(wish, WantedPose) and part is not None:
        at, toward = pose_handles(sketch, part) if part else ("", "")
        return put(sketch, replace(wish, at=at, toward=toward))
    fields: dict[str, Any] = {}
    if point is not None and hasattr(wish, "point"):
        fields["point"] = point
    if part is not None and hasattr(wish, "part"):
        fields["part"] = part
        if hasattr(wish, "line") and part != wish.part:
            fields["line"] = ()
    if not fields:
        raise EditError(f"{wish_id!r} cannot be asked of that",
                        mend="choose a point for a path, a part for an angle")
    if {"point", "part"} <= set(wish.__struct_fields__):  # one of the two at a time
        fields.setdefault("part" if point else "point", "")
    return put(sketch, replace(wish, **fields))
