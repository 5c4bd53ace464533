"""Which part of a mechanism stands for what a wish speaks of, and wishes tied to it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

import numpy as np
from msgspec.structs import replace

from core.model import (
    GROUPS,
    Part,
    Point,
    Sketch,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    join_ref,
)
from core.model.edits import fresh_id, rename
from core.model.wanted import WantedMotion
from core.wanted.engine import Mechanisms, Shown, View, run
from core.wanted.families.family import Family
from core.wanted.goals import Channel, Goals

#: The point that shows the direction of a wished pose.
POINTER = "pointer"


def views(family: Family, goals: Goals) -> tuple[View, ...]:
    """What may stand for each channel of the goals: one view or several, the likeliest
    first; none when the family cannot show all that is wished.

    Places are all of the tracer, so that only one path can be followed; poses are of its
    body; wished angles are of any swinging bodies, each of its own, in every order.
    """
    poses = {wish.id for wish in goals.wishes if isinstance(wish, WantedPose)}
    paths = {wish.id for wish in goals.wishes if isinstance(wish, WantedPath)}
    if sum(channel.kind == "point" and not paths.isdisjoint(channel.of)
           for channel in goals.channels) > 1:
        return ()
    free = [k for k, channel in enumerate(goals.channels)
            if channel.kind == "angle" and poses.isdisjoint(channel.of)]
    found = []
    for bodies in permutations(family.swinging, len(free)):
        chosen = dict(zip(free, bodies, strict=True))
        found.append(tuple(_shown(family, channel, chosen.get(k))
                           for k, channel in enumerate(goals.channels)))
    return tuple(found)


def _shown(family: Family, channel: Channel, body: str | None) -> Shown:
    if channel.kind == "point":
        return "point", family.tracer
    return "angle", body or family.carrier


def attached(family: Family, mechanism: Mechanisms, sketch: Sketch, goals: Goals, view: View,
             offset_rad: float) -> Sketch:
    """The sketch of a mechanism with the wishes of the goals, tied to what stands for them.
    A wished pose gets a second point on its body to show its direction."""
    stands = {wish: own for own, channel in zip(view, goals.channels, strict=True)
              for wish in channel.of}
    poses = [wish for wish in goals.wishes if isinstance(wish, WantedPose)]
    if poses:
        sketch = _pointed(family, mechanism, sketch, poses, offset_rad)
    return _renamed(replace(sketch, wanted=tuple(
        _tied(family, wish, stands[wish.id]) for wish in goals.wishes)))


def _renamed(sketch: Sketch) -> Sketch:
    """The sketch with parts and joints that bear the name of a wish called otherwise: the
    maker's names stay."""
    wishes = {wish.id for wish in sketch.wanted}
    for group in GROUPS:
        for item in getattr(sketch, group) if group != "wanted" else ():
            if item.id in wishes:
                sketch = rename(sketch, item.id, fresh_id(sketch, item.id))
    return sketch


def _tied(family: Family, wish: WantedMotion, own: Shown) -> WantedMotion:
    kind, name = own
    ref = join_ref(family.carrier, name) if kind == "point" else name
    match wish:
        case WantedPath() | WantedStroke():
            return replace(wish, point=ref)
        case WantedAngle() | WantedSwing():
            return replace(wish, part=ref)
        case WantedDwell() | WantedRatio():
            return replace(wish, point=ref) if kind == "point" else replace(wish, part=ref)
        case WantedPose():
            return replace(wish, at=join_ref(family.carrier, family.tracer),
                           toward=join_ref(family.carrier, POINTER))


def _pointed(family: Family, mechanism: Mechanisms, sketch: Sketch,
             poses: Sequence[WantedPose], offset_rad: float) -> Sketch:
    """The sketch with a point that lies from the tracer in the direction poses speak of."""
    assert sketch.drive is not None
    readings = np.radians([*(pose.crank_deg for pose in poses), sketch.drive.drawn_deg])
    axis = run(family.recipe, mechanism, readings + offset_rad, derive=False).angle(
        family.carrier)[0]
    wanted = np.radians([pose.angle_deg for pose in poses])
    beside = np.exp(1j * (wanted - axis[:-1])).mean()
    carrier = sketch.part(family.carrier)
    tip = carrier.point(family.tracer).place
    width = max(abs(point.place - tip) for point in carrier.points)
    at = tip + 0.5 * width * complex(beside / abs(beside) * np.exp(1j * axis[-1]))
    return replace(sketch, parts=tuple(
        _with_point(part, at) if part.id == family.carrier else part for part in sketch.parts))


def _with_point(part: Part, at: complex) -> Part:
    pointer = Point(id=POINTER, x=at.real, y=at.imag)
    return replace(part, points=(*part.points, pointer))
