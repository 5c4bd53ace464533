"""Which bodies could touch: parts that share a layer, and rods through the layers.
The disc of a weight counts as part of the part it is fixed to.

A pin's rod runs from the lowest to the highest layer of the parts on it, a slot pin's
from the part that carries it to the slotted part. A rod can meet any part in those layers
that is not on it, and any other rod there. Pins drawn at one place with a rigid body in
common are one shaft: all their parts are on it.

Where touching is the purpose the pair is left out: a slide and what it slides along, a
meshed gear pair, a slot pin and its slot, and rods of one shaft. Two levers on one pin in
one layer are *not* left out: they cannot be built.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.errors import SketchError
from core.model import Disc, Part, Pin, PinInSlot, Sketch, split_ref
from core.motion.network import rigid_bodies
from core.motion.riveting import riveted
from core.space.outlines import Solid, disc_solid, hollow
from core.space.weights import room_of

#: Two rods drawn within this distance of each other are one shaft, mm.
ONE_SHAFT_MM = 1e-3


@dataclass(frozen=True)
class Body:
    """Something that takes room: a part, or a rod.

    Attributes
    ----------
    row : the part it moves with, an index into the sketch's parts.
    held : rigid bodies to which it keeps still: its own, or those a pin's rod is on.
    parts : the part itself, or the parts on the rod; they decide its layers.
    shaft : the same and, for a rod, the parts on pins that are one shaft with it.
    """

    name: str
    row: int
    held: frozenset[int]
    solid: Solid
    parts: frozenset[str]
    shaft: frozenset[str]
    is_rod: bool


@dataclass(frozen=True)
class Purpose:
    """A pair not measured, because it touches on purpose."""

    a: str
    b: str
    why: str


@dataclass(frozen=True)
class Neighbours:
    """All bodies and the pairs of them (indices a, b, each (M,)) that could touch.

    `layer` is the lowest layer a pair shares; `one_body` is True where the two do not
    move against each other.
    """

    bodies: tuple[Body, ...]
    a: NDArray[np.intp]
    b: NDArray[np.intp]
    layer: NDArray[np.intp]
    one_body: NDArray[np.bool_]
    purposes: tuple[Purpose, ...]


def neighbours(sketch: Sketch, about: frozenset[str] | None = None,
               flat: bool = False) -> Neighbours:
    """Bodies of a sketch and the pairs of them worth measuring.

    Parts without a sound outline take no room here (they are findings of their own).

    Parameters
    ----------
    about : ids of parts; only pairs that involve them or a rod on them are given.
    flat : as if all parts lay in one layer.
    """
    held = rigid_groups(sketch)
    bodies = _parts(sketch, held) + _shafts(_rods(sketch, held))
    low, high = (np.zeros((2, len(bodies)), dtype=np.intp) if flat
                 else spans(bodies, layers_of(sketch)))
    floor, roof = np.maximum.outer(low, low), np.minimum.outer(high, high)
    wanted = np.triu(floor <= roof, 1)
    if about is not None:
        near = np.array([not about.isdisjoint(body.parts) for body in bodies], dtype=bool)
        wanted &= near[:, None] | near[None, :]
    place = {body.name: i for i, body in enumerate(bodies)}
    for rod in (body for body in bodies if body.is_rod):
        for part in rod.shaft:
            if part in place:
                wanted[place[part], place[rod.name]] = False
    purposes = []
    for purpose in _purposes(sketch, bodies):
        if purpose.a in place and purpose.b in place:
            i, j = place[purpose.a], place[purpose.b]
            wanted[i, j] = wanted[j, i] = False
            if floor[i, j] <= roof[i, j]:
                purposes.append(purpose)
    a, b = np.nonzero(wanted)
    one_body = np.array([not bodies[i].held.isdisjoint(bodies[j].held)
                         for i, j in zip(a, b, strict=True)], dtype=bool)
    return Neighbours(bodies, a, b, floor[a, b], one_body, tuple(purposes))


def layers_of(sketch: Sketch) -> dict[str, int]:
    """The layer of every part; one without a layer has its place in the list."""
    return {part.id: place if part.layer is None else part.layer
            for place, part in enumerate(sketch.parts)}


def spans(bodies: tuple[Body, ...], layers: Mapping[str, int]) -> NDArray[np.intp]:
    """Lowest and highest layer of every body, (2, B), when parts lie in these layers."""
    if not bodies:
        return np.empty((2, 0), dtype=np.intp)
    stack = np.array([layers[part] for body in bodies for part in body.parts], dtype=np.intp)
    ends = np.cumsum([len(body.parts) for body in bodies])
    first = np.concatenate([[0], ends[:-1]])
    return np.array([np.minimum.reduceat(stack, first), np.maximum.reduceat(stack, first)])


def rigid_groups(sketch: Sketch) -> dict[str, int]:
    """Number of the rigid body of every part: fixed parts are one; locks join parts, and
    so do two pins at different places."""
    key = tuple((part.id, part.fixed, ()) for part in sketch.parts)
    numbers, _ = rigid_bodies(key, (*sketch.locks, *riveted(sketch)))
    return {part.id: number for part, number in zip(sketch.parts, numbers, strict=True)}


def rod_name(joint_id: str) -> str:
    """The name of the rod of a pin or slot pin, told apart from any part id."""
    return f"pin {joint_id}"


def _parts(sketch: Sketch, held: dict[str, int]) -> tuple[Body, ...]:
    bodies = []
    bores = ring_bores(sketch)
    for row, part in enumerate(sketch.parts):
        solid = _solid(part)
        if solid is not None and part.id in bores:
            solid = hollow(solid, bores[part.id])
        if solid is not None:
            own = frozenset((part.id,))
            bodies.append(Body(part.id, row, frozenset((held[part.id],)), solid,
                               own, own, False))
    return tuple(bodies)


def ring_bores(sketch: Sketch) -> dict[str, float]:
    """Radius inside which the round blank of every internal gear is empty: to the tips of
    its teeth, one module (2 · centre distance / difference of teeth) inside the pitch
    circle (the proportions of ISO 53)."""
    at = sketch.places()
    shapes = {part.id: part.outline for part in sketch.parts}
    bores = {}
    for mesh in sketch.meshes:
        gears = sorted(((mesh.teeth_a, mesh.a), (mesh.teeth_b, mesh.b)))
        (few, _), (many, ring) = gears
        part = split_ref(ring)[0]
        if (mesh.internal and few < many and mesh.a in at and mesh.b in at
                and isinstance(shapes.get(part), Disc)):
            module = 2.0 * abs(at[mesh.a] - at[mesh.b]) / (many - few)
            bores[part] = module * (many / 2.0 - 1.0)
    return bores


def _solid(part: Part) -> Solid | None:
    try:
        return room_of(part)
    except SketchError:
        return None


def _rods(sketch: Sketch, held: dict[str, int]) -> tuple[Body, ...]:
    rows = {part.id: row for row, part in enumerate(sketch.parts)}
    points = {part.id: {point.id: point.place for point in part.points}
              for part in sketch.parts}
    bodies = []
    joints: tuple[Pin | PinInSlot, ...] = (*sketch.pins, *sketch.slots)
    for joint in joints:
        refs = (joint.point, joint.slot[0]) if isinstance(joint, PinInSlot) else joint.at
        at = [(part, point) for part, point in map(split_ref, refs)
              if point in points.get(part, {})]
        if not at or not joint.diameter_mm > 0.0:
            continue
        # A slot pin rides with the part that carries it, a pin with any of its parts.
        part, point = at[0]
        still = at[:1] if isinstance(joint, PinInSlot) else at
        solid = disc_solid(points[part][point], joint.diameter_mm / 2)
        on = frozenset(part for part, _ in at)
        bodies.append(Body(rod_name(joint.id), rows[part],
                           frozenset(held[part] for part, _ in still), solid, on, on, True))
    return tuple(bodies)


def _shafts(rods: tuple[Body, ...]) -> tuple[Body, ...]:
    """Rods with the parts of all rods that are one shaft with them."""
    centre = np.array([rod.solid.centre for rod in rods])
    together = np.abs(centre[:, None] - centre) <= ONE_SHAFT_MM
    if together.sum() == len(rods):
        return rods
    return tuple(
        dataclasses.replace(rod, shaft=rod.shaft.union(*(
            rods[j].parts for j in np.flatnonzero(row) if rod.held & rods[j].held)))
        for rod, row in zip(rods, together, strict=True))


def _purposes(sketch: Sketch, bodies: tuple[Body, ...]) -> list[Purpose]:
    found = []
    for slide in sketch.slides:
        found.append((split_ref(slide.point)[0], split_ref(slide.along[0])[0],
                      f"slide {slide.id} runs there"))
    for mesh in sketch.meshes:
        found.append((split_ref(mesh.a)[0], split_ref(mesh.b)[0],
                      f"mesh {mesh.id} rolls there"))
    rods = [body for body in bodies if body.is_rod]
    for i, one in enumerate(rods):
        for other in rods[i + 1:]:
            if one.shaft & other.parts == other.parts:
                found.append((one.name, other.name, "they are one shaft"))
    return [Purpose(min(a, b), max(a, b), why) for a, b, why in found]
