"""A sketch as numbered rigid bodies and the equations its joints put between them.

Only names and joints count here, no coordinates: two sketches that differ by a drag have
the same network, so everything derived from it is kept.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from core.errors import SketchError
from core.model import Belt, Lock, Mesh, Pin, PinInSlot, Sketch, Slide, split_ref
from core.motion.riveting import SAME_AXIS_MM, rivets

Number = Fraction | float
#: The body all fixed parts belong to.
GROUND = 0


@dataclass(frozen=True)
class Place:
    """A drawn point fixed to a body: `slot` numbers it in the network's points."""

    body: int
    slot: int


@dataclass(frozen=True)
class PinEnds:
    """A pin: one place on each of two or more bodies, all coinciding."""

    id: str
    ends: tuple[Place, ...]


@dataclass(frozen=True)
class Line:
    """`point` stays on the line through `start` and the point of slot `end`, which is
    on the same body as `start`. A line between bodies that already slide on each other is
    `spare`: it can only be parallel, or nothing moves."""

    id: str
    point: Place
    start: Place
    end: int
    spare: bool = False


@dataclass(frozen=True)
class AngleLaw:
    """Σ factor · turn of body = 0, turns taken from the drawn pose, frame left out."""

    id: str
    terms: tuple[tuple[int, Number], ...]


@dataclass(frozen=True, eq=False)
class Network:
    """Bodies, places and joint equations of a sketch; there is one per topology.

    Attributes
    ----------
    part_ids : all parts in sketch order.
    body_of : body number of each part; the frame is :data:`GROUND`.
    bodies : number of bodies, frame included.
    points : (part row, point row) of every numbered place.
    crank : body of the crank, or -1 when there is no usable drive.
    hub, axle : the crank's place on the driven pin, and the frame's.
    uncarried : ids of meshes and belts whose centres no one part holds.
    """

    part_ids: tuple[str, ...]
    body_of: tuple[int, ...]
    bodies: int
    points: tuple[tuple[int, int], ...]
    pins: tuple[PinEnds, ...]
    lines: tuple[Line, ...]
    laws: tuple[AngleLaw, ...]
    crank: int
    hub: Place | None
    axle: Place | None
    uncarried: tuple[str, ...]

    @cached_property
    def pairs(self) -> NDArray[np.intp]:
        """(3, K): numbers of pins, and of the first and another of their places."""
        found = [(number, pin.ends[0].slot, end.slot) for number, pin in enumerate(self.pins)
                 for end in pin.ends[1:]]
        return np.array(found, np.intp).reshape(-1, 3).T

    def parts_of(self, bodies: Iterable[int]) -> tuple[str, ...]:
        """Ids of the parts of some bodies, in sketch order."""
        wanted = set(bodies)
        return tuple(part for part, body in zip(self.part_ids, self.body_of, strict=True)
                     if body in wanted)


@dataclass(frozen=True)
class Topology:
    """Everything of a sketch a network depends on; hashable."""

    parts: tuple[tuple[str, bool, tuple[str, ...]], ...]
    pins: tuple[Pin, ...]
    slides: tuple[Slide, ...]
    slots: tuple[PinInSlot, ...]
    locks: tuple[Lock, ...]
    meshes: tuple[Mesh, ...]
    belts: tuple[Belt, ...]
    carriers: tuple[int, ...]
    drive: tuple[str, str] | None
    doubled: tuple[tuple[str, str], ...]


def topology(sketch: Sketch) -> Topology:
    """The names and joints of a sketch, without its coordinates.

    Raises
    ------
    SketchError
        For a reference to a part or point that does not exist.
    """
    parts = tuple((part.id, part.fixed, tuple(point.id for point in part.points))
                  for part in sketch.parts)
    drive = None if sketch.drive is None else (sketch.drive.pin, sketch.drive.part)
    found = rivets(sketch)
    locks = (*sketch.locks, *found.locks)
    return Topology(parts, sketch.pins, sketch.slides, sketch.slots, locks, sketch.meshes,
                    sketch.belts, _carriers(sketch, locks), drive, found.doubled)


def _carriers(sketch: Sketch, locks: tuple[Lock, ...]) -> tuple[int, ...]:
    """Part row of the carrier of every mesh and belt; -1 where there is none.

    A carrier is pinned to both gears' bodies, each time at the gear's centre.
    """
    pairs: tuple[Mesh | Belt, ...] = (*sketch.meshes, *sketch.belts)
    if not pairs:
        return ()
    rows = {part.id: row for row, part in enumerate(sketch.parts)}
    body_of, _ = rigid_bodies(
        tuple((part.id, part.fixed, ()) for part in sketch.parts), locks)

    places = sketch.places()

    def end(ref: str, where: str) -> tuple[int, complex]:
        row, at = rows.get(split_ref(ref)[0]), places.get(ref)
        if row is None or at is None:
            raise _dangling(where, ref)
        return row, at

    pins = [[end(ref, f"pin {pin.id!r}") for ref in pin.at] for pin in sketch.pins]

    def holders(row: int, here: complex) -> dict[int, int]:
        held = {body_of[row]: row}
        waiting = [ends for ends in pins
                   if any(abs(at - here) < SAME_AXIS_MM for _, at in ends)]
        found = True
        while found:  # several pins may make up one axis
            found = False
            for ends in list(waiting):
                if any(body_of[row] in held and abs(at - here) < SAME_AXIS_MM
                       for row, at in ends):
                    for row, _ in ends:
                        held.setdefault(body_of[row], row)
                    waiting.remove(ends)
                    found = True
        return held

    found = []
    for pair in pairs:
        where = f"{'mesh' if isinstance(pair, Mesh) else 'belt'} {pair.id!r}"
        ends = [end(ref, where) for ref in (pair.a, pair.b)]
        a, b = (body_of[row] for row, _ in ends)
        of_a, of_b = (holders(row, here) for row, here in ends)
        # Only a frame gear can be its own axis holder's body: a fixed ring about a carrier.
        both = sorted(body for body in of_a if body in of_b and body not in (a, b))
        found.append(of_a[both[0]] if both else -1)
    return tuple(found)


def _dangling(where: str, ref: str) -> SketchError:
    return SketchError(f"there is no point {ref!r}", where=where,
                       mend="join it to an existing point or remove it")


@lru_cache(maxsize=256)
def rigid_bodies(parts: tuple[tuple[str, bool, tuple[str, ...]], ...],
                 locks: tuple[Lock, ...]) -> tuple[tuple[int, ...], int]:
    """Body number of every part and the number of bodies.

    All fixed parts are body 0; parts locked to each other are one body.
    """
    rows = {part[0]: row for row, part in enumerate(parts)}
    root = list(range(len(parts) + 1))  # the last one is the frame

    def find(row: int) -> int:
        while root[row] != row:
            root[row] = root[root[row]]
            row = root[row]
        return row

    for row, part in enumerate(parts):
        if part[1]:
            root[find(row)] = find(len(parts))
    for lock in locks:
        for part_id in lock.parts:
            if part_id not in rows:
                raise SketchError(f"there is no part {part_id!r}", where=f"lock {lock.id!r}",
                                  mend="name an existing part or remove the lock")
            root[find(rows[part_id])] = find(rows[lock.parts[0]])
    number = {find(len(parts)): GROUND}
    body_of = tuple(number.setdefault(find(row), len(number)) for row in range(len(parts)))
    return body_of, len(number)


class _Points:
    """Numbers the points joints refer to."""

    def __init__(self, topo: Topology, body_of: tuple[int, ...]) -> None:
        self._row = {
            f"{part_id}.{point}": (row, place)
            for row, (part_id, _, points) in enumerate(topo.parts)
            for place, point in enumerate(points)
        }
        self._body_of = body_of
        self.used: dict[tuple[int, int], int] = {}

    def place(self, ref: str, where: str) -> Place:
        at = self._row.get(ref)
        if at is None:
            raise _dangling(where, ref)
        return Place(self._body_of[at[0]], self.used.setdefault(at, len(self.used)))


def _rational(value: float) -> Number:
    """A diameter as an exact fraction when it is one of at most three decimals or a
    common fraction of an inch."""
    if not math.isfinite(value):
        return value
    near = Fraction(value).limit_denominator(1000)
    if abs(float(near) - value) <= 1e-9 * max(1.0, abs(value)):
        return near
    return value


@lru_cache(maxsize=64)
def network(topo: Topology) -> Network:
    """The numbered bodies and joint equations.

    Raises
    ------
    SketchError
        For a reference to a part or point that does not exist.
    """
    body_of, bodies = rigid_bodies(topo.parts, topo.locks)
    points = _Points(topo, body_of)
    pins = []
    for pin in topo.pins:
        ends: dict[int, Place] = {}
        for ref in pin.at:
            place = points.place(ref, f"pin {pin.id!r}")
            if (pin.id, ref) not in topo.doubled:
                ends.setdefault(place.body, place)
        if len(ends) > 1:
            pins.append(PinEnds(pin.id, tuple(ends.values())))
    lines, laws = _lines(points, topo)
    uncarried = []
    pairs: tuple[Mesh | Belt, ...] = (*topo.meshes, *topo.belts)
    for pair, carrier in zip(pairs, topo.carriers, strict=True):
        where = f"{'mesh' if isinstance(pair, Mesh) else 'belt'} {pair.id!r}"
        a, b = points.place(pair.a, where).body, points.place(pair.b, where).body
        if carrier < 0:
            uncarried.append(pair.id)
            continue
        size_a, size_b = _sizes(pair)
        # a·(θa − θc) = b·(θb − θc), b's size taken negative when they turn oppositely.
        laws.append(_law(pair.id, [(a, size_a), (b, -size_b),
                                   (body_of[carrier], size_b - size_a)]))
    crank, hub, axle = _crank(topo, points, body_of)
    return Network(
        part_ids=tuple(part[0] for part in topo.parts), body_of=body_of, bodies=bodies,
        points=tuple(points.used), pins=tuple(pins), lines=tuple(lines),
        laws=tuple(law for law in laws if law.terms),
        crank=crank, hub=hub, axle=axle, uncarried=tuple(uncarried))


def _sizes(pair: Mesh | Belt) -> tuple[Number, Number]:
    """Sizes of a pair; the second negative when the two turn oppositely."""
    if isinstance(pair, Mesh):
        teeth_b = Fraction(pair.teeth_b)
        return Fraction(pair.teeth_a), teeth_b if pair.internal else -teeth_b
    size_b = _rational(pair.diameter_b_mm)
    return _rational(pair.diameter_a_mm), -size_b if pair.crossed else size_b


def _lines(points: _Points, topo: Topology) -> tuple[list[Line], list[AngleLaw]]:
    """Lines of slides and slots, and the laws by which slides keep angles."""
    lines: list[Line] = []
    laws: list[AngleLaw] = []
    sliding: set[frozenset[int]] = set()
    named = [*((slide.id, slide.point, slide.along, "slide") for slide in topo.slides),
             *((slot.id, slot.point, slot.slot, "pin-in-slot") for slot in topo.slots)]
    for joint, point, along, kind in named:
        line = _line(points, joint, point, along, kind)
        if line is None:
            continue
        pair = frozenset((line.point.body, line.start.body))
        lines.append(replace(line, spare=pair in sliding))
        if kind == "slide":
            sliding.add(pair)
            laws.append(_law(joint, [(line.point.body, Fraction(1)),
                                     (line.start.body, Fraction(-1))]))
    return lines, laws


def _line(points: _Points, joint: str, point: str, along: tuple[str, str],
          kind: str) -> Line | None:
    where = f"{kind} {joint!r}"
    moving = points.place(point, where)
    start, end = (points.place(ref, where) for ref in along)
    if start.body != end.body:
        raise SketchError("its two end points are on parts that move against each other",
                          where=where, mend="put both ends on one part")
    return None if moving.body == start.body else Line(joint, moving, start, end.slot)


def _law(joint: str, terms: list[tuple[int, Number]]) -> AngleLaw:
    total: dict[int, Number] = {}
    for body, factor in terms:
        if body != GROUND:
            total[body] = total.get(body, Fraction(0)) + factor
    return AngleLaw(joint, tuple((body, factor) for body, factor in total.items() if factor))


def _crank(topo: Topology, points: _Points, body_of: tuple[int, ...]
           ) -> tuple[int, Place | None, Place | None]:
    """The driven body, its place on the driven pin and the frame's; -1 without a usable
    drive."""
    if topo.drive is None:
        return -1, None, None
    pin_id, part_id = topo.drive
    rows = {part[0]: row for row, part in enumerate(topo.parts)}
    pin = next((pin for pin in topo.pins if pin.id == pin_id), None)
    if pin is None or part_id not in rows:
        return -1, None, None
    body = body_of[rows[part_id]]
    ends = [points.place(ref, f"pin {pin.id!r}") for ref in pin.at]
    hub = next((end for end in ends if end.body == body), None)
    axle = next((end for end in ends if end.body == GROUND), None)
    if body == GROUND or hub is None or axle is None:
        return -1, None, None
    return body, hub, axle
