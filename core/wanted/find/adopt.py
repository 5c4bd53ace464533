"""Putting a proposal into the maker's own sketch."""

from __future__ import annotations

import math
from typing import TypeVar

import msgspec
import shapely

from core.errors import EditError
from core.model import Belt, Drive, Lock, Part, Sketch, join_ref, part_of, split_ref
from core.model.edits import (
    add,
    add_point,
    change,
    fresh_id,
    fresh_point,
    paste,
    remove,
    rename,
)
from core.model.links import ITEM_GROUPS, point_refs, relink
from core.motion import solve_turn
from core.motion.redimension import rebase
from core.space import outline_of
from core.wanted.find.proposal import Proposal

T = TypeVar("T", bound=msgspec.Struct)
replace = msgspec.structs.replace

#: Pulleys of the belt between the two cranks: as large as the distance allows, but no
#: larger than this, mm.
_PULLEY_MM = 30.0
#: Cranks nearer to each other than this sit on one shaft, mm.
_SAME_MM = 1e-6


def adopt(sketch: Sketch, proposal: Proposal) -> Sketch:
    """The sketch with the proposal in it and its wishes attached.

    Its fixed pivots become points of the sketch's frame, or, where the frame has a shape that
    does not reach so far, of a bracket beside it; its parts and joints get fresh names and
    layers above all others. Where the sketch has a crank already, it drives the
    proposal's through an open belt of ratio one (or, on one place, the same shaft), and
    the proposal is drawn at that crank's reading.

    Raises
    ------
    EditError
        When the sketch's crank rocks to and fro: the proposal wants whole turns.
    """
    clip = proposal.sketch
    if sketch.drive is None:
        own = _Pasted(sketch, clip)
        assert clip.drive is not None  # proposals turn
        drive = own.relink(clip.drive)
        return replace(own.sketch, drive=drive)
    if sketch.drive.kind != "turn":
        raise EditError("the crank of this sketch rocks to and fro and a proposal wants whole "
                        "turns", mend="let the crank turn, or begin a new sketch")
    clip = rebase(solve_turn(clip), math.radians(sketch.drive.drawn_deg))
    own = _Pasted(sketch, clip)
    assert clip.drive is not None
    return _coupled(own.sketch, sketch.drive, own.relink(clip.drive))


class _Pasted:
    """A clip pasted with its frame made part of the sketch's own, and its wishes."""

    def __init__(self, sketch: Sketch, clip: Sketch) -> None:
        before = {part.id for part in sketch.parts}
        base = max((sketch.layer_of(part) for part in before), default=0) + 1
        low = min((clip.layer_of(part.id) for part in clip.parts if not part.fixed), default=0)
        pasted, fresh = paste(sketch, clip, 0.0, 0.0)
        self._part = dict(zip((part.id for part in clip.parts), fresh, strict=True))
        self._pin = dict(zip((pin.id for pin in clip.pins),
                             (pin.id for pin in pasted.pins[len(sketch.pins):]), strict=True))
        self._ref: dict[str, str] = {}
        frame = _frame(sketch)
        for part in clip.parts:
            if frame is None or not part.fixed:
                continue
            if _reaches(frame, part):
                pasted = self._merged(pasted, self._part[part.id], frame.id)
            else:
                pasted = self._bracket(pasted, part.id, sketch.layer_of(frame.id))
        pasted = replace(pasted, parts=tuple(
            part if part.id in before or part.fixed
            else replace(part, layer=pasted.layer_of(part.id) + base - low)
            for part in pasted.parts))
        wishes = {wish.id: self.relink(wish) for wish in clip.wanted}
        self.sketch = replace(pasted, wanted=tuple(
            wishes.get(wish.id, wish) for wish in sketch.wanted))

    def relink(self, item: T) -> T:
        """A thing of the clip with its references as they are in the sketch."""
        named = relink(item, part=lambda part: self._part.get(part, part),
                       pin=lambda pin: self._pin.get(pin, pin))
        return relink(named, ref=lambda ref: self._ref.get(ref, ref))

    def _bracket(self, sketch: Sketch, name: str, layer: int) -> Sketch:
        """A fixed part of the clip as a part of its own in the frame's layer."""
        new = fresh_id(sketch, "bracket")
        sketch = rename(sketch, self._part[name], new)
        self._part[name] = new
        return change(sketch, "parts", new, layer=layer)

    def _merged(self, sketch: Sketch, part_id: str, frame: str) -> Sketch:
        """Points of a fixed part handed to the frame, their joints with them."""
        for point in sketch.part(part_id).points:
            owner = sketch.part(frame)
            name = _free_point_at(sketch, owner, point.place)
            if name is None:
                name = fresh_point(owner, point.id)
                sketch = add_point(sketch, frame, replace(point, id=name))
            self._ref[join_ref(part_id, point.id)] = join_ref(frame, name)
        changes = {group: tuple(relink(item, ref=lambda ref: self._ref.get(ref, ref),
                                       part=lambda part: frame if part == part_id else part)
                                for item in getattr(sketch, group)) for group in ITEM_GROUPS}
        return remove(replace(sketch, **changes), [part_id])


def _frame(sketch: Sketch) -> Part | None:
    """The fixed part the drive's pin sits on, else the first one."""
    if sketch.drive is not None:
        for pin in sketch.pins:
            if pin.id == sketch.drive.pin:
                for ref in pin.at:
                    if sketch.part(part_of(ref)).fixed:
                        return sketch.part(part_of(ref))
    return next((part for part in sketch.parts if part.fixed), None)


def _reaches(frame: Part, other: Part) -> bool:
    """Whether all points of another part are on the wood of the frame, or it has no shape
    of its own and grows with its points."""
    return frame.outline is None or bool(outline_of(frame).covers(
        shapely.MultiPoint([(point.x, point.y) for point in other.points])))


def _free_point_at(sketch: Sketch, part: Part, place: complex) -> str | None:
    """A point of the part at that place which nothing uses yet."""
    used = {ref for group in ITEM_GROUPS for item in getattr(sketch, group)
            for ref in point_refs(item)}
    return next((point.id for point in part.points if abs(point.place - place) < _SAME_MM
                 and join_ref(part.id, point.id) not in used), None)


def _coupled(sketch: Sketch, drive: Drive, driven: Drive) -> Sketch:
    """The sketch with the driven crank turning as the drive's does."""
    a, b = (next(ref for pin in sketch.pins if pin.id == one.pin for ref in pin.at
                 if split_ref(ref)[0] == one.part) for one in (drive, driven))
    apart = abs(sketch.place(a) - sketch.place(b))
    if apart < _SAME_MM:
        return add(sketch, "locks", Lock(id=fresh_id(sketch, "cranks"),
                                         parts=(drive.part, driven.part)))
    size = min(_PULLEY_MM, 0.4 * apart)
    return add(sketch, "belts", Belt(id=fresh_id(sketch, "belt"), a=a, b=b,
                                     diameter_a_mm=size, diameter_b_mm=size))
