"""What a drag in the Arrange tool carries along."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from app.canvas.frame import Frame
from app.canvas.hits import Item
from app.canvas.paint_loads import FORCE_MM_PER_N, force_tip
from app.gestures.base import At
from app.gestures.snapping import Snap, snap, together
from app.gestures.swinging import swung
from app.gestures.twinning import original_point, reflected, twin_of, with_partners
from core.model import Sketch, part_of, split_ref
from core.model.edits import change, get, twin_line
from core.motion.redimension import drag_parts, drag_points
from core.units import show_force, show_length

if TYPE_CHECKING:
    from app.canvas.view import Canvas


class Carrying:
    """One drag: a handle (a place in the pose shown) follows the cursor, and `edit`
    makes the sketch for where the handle is meant to be.

    `leave_out` are the points that move, which are not snapped to; `anchor` is what
    lengths and angles count from (the handle's start when None). A `free` one snaps to
    nothing but, with Shift, whole multiples of 15° about an anchor given. `in_pose` says
    that the sketches are in the pose shown, as edits of parts are.
    """

    def __init__(self, handle: complex, grabbed: complex, label: str,
                 edit: Callable[[complex], Sketch], *, leave_out: frozenset[str] = frozenset(),
                 anchor: complex | None = None,
                 tell: Callable[[complex], str] | None = None, free: bool = False,
                 in_pose: bool = True) -> None:
        self.label, self.in_pose = label, in_pose
        self.meant: Snap | None = None
        self._handle, self._off = handle, handle - grabbed
        self._edit, self._tell = edit, tell
        self._leave_out, self._anchor, self._free = leave_out, anchor, free

    def to(self, frame: Frame, at: At) -> Sketch:
        """The sketch for a cursor there; raises EditError when locks forbid it."""
        let_go = at.alt or (self._free and not (at.shift and self._anchor is not None))
        moved = At(at.pixel, at.place + self._off, at.shift, let_go, at.ctrl)
        anchor = self._anchor
        if anchor is None and at.shift:
            anchor = self._handle
        self.meant = snap(frame, moved, anchor=anchor, leave_out=self._leave_out)
        return self._edit(self.meant.place)

    def words(self) -> str:
        """What the status bar says now."""
        if self.meant is None:
            return ""
        return self._tell(self.meant.place) if self._tell else ""


def carrying(canvas: Canvas, item: Item, grabbed: complex) -> Carrying | None:
    """The drag that begins on an item; None for things that are not dragged."""
    frame, base = canvas.frame(), canvas.work.base()
    kind, name = item
    selected = canvas.session.selected("part")
    if kind == "pin":
        return _of_point(frame, base, get(base, name).at, grabbed, f"Move {name}")
    if kind == "point":
        return _of_point(frame, base, (name,), grabbed, f"Move {name}")
    if kind == "part":
        parts = selected if name in selected else (name,)
        return _of_parts(frame, base, parts, grabbed)
    if kind in ("slide", "slot"):
        return _of_guide(frame, base, kind, name, grabbed)
    if kind == "force":
        return _of_force(frame, base, name, grabbed)
    return None


def _of_point(frame: Frame, base: Sketch, refs: tuple[str, ...], grabbed: complex,
              label: str) -> Carrying:
    handle, moving = frame.pose.at(refs[0]), together(frame, refs[0])
    anchor, twinned = neighbour(frame, moving), original_point(frame, refs)
    ref = refs[0]
    if twinned is not None:
        ref, mirror = twinned[1], twin_line(twinned[0])

    def edit(place: complex) -> Sketch:
        if twinned is not None:
            place = reflected(mirror, place)
        return drag_points(base, swung(base, ref, place))

    def tell(place: complex) -> str:
        units = frame.sketch.units
        text = f"x {show_length(place.real, units)}, y {show_length(place.imag, units)}"
        if anchor is not None:
            text += f", {show_length(abs(place - anchor), units)} long"
        return text

    return Carrying(handle, grabbed, label, edit, leave_out=with_partners(frame, moving),
                    anchor=anchor, tell=tell)


def neighbour(frame: Frame, moving: frozenset[str]) -> complex | None:
    """The other end of the first link that ends in these points and may change its length."""
    for ref in sorted(moving, key=lambda each: (part_of(each) in frame.fixed, each)):
        part_id, point_id = split_ref(ref)
        part = frame.sketch.part(part_id)
        if not part.fixed and not part.lengths_locked and len(part.points) == 2:
            other = next(point.id for point in part.points if point.id != point_id)
            return frame.pose.at(f"{part_id}.{other}")
    return None


def _of_parts(frame: Frame, base: Sketch, part_ids: tuple[str, ...],
              grabbed: complex) -> Carrying:
    """Parts are held by their point nearest to the cursor, which is the one that snaps."""
    refs = [(ref, place) for part_id in part_ids
            for ref, place in frame.pose.points(frame.sketch.part(part_id))]
    _, handle = min(refs, key=lambda item: abs(item[1] - grabbed), default=("", grabbed))
    moving = frozenset(each for ref, _ in refs for each in together(frame, ref))

    twinned = [found for found in (twin_of(frame, each) for each in part_ids) if found]
    as_seen = len(twinned) == len(part_ids) and all(
        original_point(frame, (ref,)) for ref, _ in refs)

    def edit(place: complex) -> Sketch:
        shift = place - handle
        if not as_seen:
            return drag_parts(base, part_ids, shift.real, shift.imag)
        dx, dy = twin_line(twinned[0][0]).direction(shift.real, shift.imag)
        return drag_parts(base, [original for _, original in twinned], dx, dy)

    def tell(place: complex) -> str:
        shift, units = place - handle, frame.sketch.units
        return f"by {show_length(shift.real, units)}, {show_length(shift.imag, units)}"

    what = part_ids[0] if len(part_ids) == 1 else f"{len(part_ids)} parts"
    return Carrying(handle, grabbed, f"Move {what}", edit,
                    leave_out=with_partners(frame, moving), tell=tell)


def _of_guide(frame: Frame, base: Sketch, kind: str, name: str, grabbed: complex) -> Carrying:
    """A guide moves as a whole, with what runs in it."""
    item = get(base, name)
    ends = item.along if kind == "slide" else item.slot
    refs = (*ends, item.point)
    handle = frame.pose.at(item.point)
    starts = {ref: frame.pose.at(ref) for ref in refs}
    moving = frozenset(each for ref in refs for each in together(frame, ref))

    def edit(place: complex) -> Sketch:
        shift = place - handle
        return drag_points(base, {ref: ((start + shift).real, (start + shift).imag)
                                  for ref, start in starts.items()})

    return Carrying(handle, grabbed, f"Move {name}", edit,
                    leave_out=with_partners(frame, moving))


def _of_force(frame: Frame, base: Sketch, name: str, grabbed: complex) -> Carrying:
    """A force is pulled by the tip of its arrow."""
    force = get(base, name)
    start, tip = force_tip(frame, force)
    turned = frame.pose.rotation.get(part_of(force.at), 1 + 0j) if force.turns_with_part else 1
    moved = base is not frame.sketch  # rebased: the drawn pose is the one shown

    def edit(place: complex) -> Sketch:
        pull = (place - start) / FORCE_MM_PER_N
        if force.turns_with_part and not moved:
            pull /= turned
        return change(base, "forces", name, fx_n=pull.real, fy_n=pull.imag)

    def tell(place: complex) -> str:
        return show_force(abs(place - start) / FORCE_MM_PER_N, frame.sketch.units)

    return Carrying(tip, grabbed, f"Change {name}", edit, anchor=start, tell=tell)
