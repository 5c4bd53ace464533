"""The rod of every pin as a body of its own: what sits where along it, and what each part
puts on it over the turn.

Along the rod z runs towards the reader, layer upon layer without air between; a layer is as
thick as the thickest part in it, and each part lies on the layer below. Parts that share a
layer lie side by side. A rod goes from the lowest to the highest layer of its parts, through
whatever layers lie between.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from core.effort.torque import Band, Effort, sense_of
from core.model import Lock, Pin, PinInSlot, Sketch, part_of
from core.motion.turn import Complexes, Floats, Turn
from core.space.neighbours import ONE_SHAFT_MM, layers_of, rigid_groups

#: How a part sits on a rod: a lock makes it fast; it is the crank, and nothing says how it
#: is held; it moves as the rod does, without having to be held; the rod turns in it.
Hold = Literal["locked", "driven", "fast", "turns"]
#: From the outermost part on the shaft to the middle of the grip, along the shaft: an arm of
#: 9 mm, air, and half of a grip (common practice, no source).
GRIP_OUT_MM = 30.0


@dataclass(frozen=True)
class Station:
    """A part on a rod, from `from_mm` to `to_mm` along it.

    `lock` is the id of the lock that holds it there, if one does. `sources` are the joints
    whose reactions it passes to the rod, each with the place of the part in that joint.
    """

    part: str
    layer: int
    from_mm: float
    to_mm: float
    hold: Hold
    lock: str
    sources: tuple[tuple[str, int], ...]

    @property
    def held(self) -> bool:
        """Whether the rod does not turn in the part."""
        return self.hold != "turns"

    @property
    def middle_mm(self) -> float:
        """Middle of the part, along the rod."""
        return 0.5 * (self.from_mm + self.to_mm)

    @property
    def length_mm(self) -> float:
        """Length of the bore."""
        return self.to_mm - self.from_mm


@dataclass(frozen=True)
class Rod:
    """A rod with the parts on it, lowest first.

    Attributes
    ----------
    id : of its pin; of the first, where several pins are one rod.
    joints : ids of all pins (or the pin-in-slot) it stands for.
    place : where it is drawn, complex mm.
    supports : indices of the stations that keep it upright (see `assumed`).
    grip_mm : where along it the hand pushes, beyond one end; None unless it is the crank's.
    crank : index of the station at which the hand's torque leaves it; None likewise.
    assumed : what had to be assumed about its supports, a sentence.
    slot : whether it is the pin of a pin-in-slot.
    """

    id: str
    joints: tuple[str, ...]
    diameter_mm: float
    material: str
    place: complex
    stations: tuple[Station, ...]
    supports: tuple[int, ...]
    grip_mm: float | None
    crank: int | None
    assumed: str
    slot: bool = False

    @property
    def parts(self) -> tuple[str, ...]:
        """Ids of the parts on it, lowest first."""
        return tuple(station.part for station in self.stations)

    @property
    def from_mm(self) -> float:
        """Lower end."""
        return min(station.from_mm for station in self.stations)

    @property
    def to_mm(self) -> float:
        """Upper end."""
        return max(station.to_mm for station in self.stations)

    @cached_property
    def overhung(self) -> tuple[str, ...]:
        """Parts that stand out beyond all its supports."""
        middles = [self.stations[k].middle_mm for k in self.supports]
        return tuple(station.part for k, station in enumerate(self.stations)
                     if k not in self.supports
                     and not min(middles) < station.middle_mm < max(middles))


@dataclass(frozen=True)
class RodLoad:
    """What acts on a rod over the turn, N steps, K stations; NaN where not reached.

    Attributes
    ----------
    force_n : (N, K) complex, force of each part on the rod, sketch frame.
    torque_nmm : (N, K) torque of each part on the rod, counter-clockwise positive.
    hand_nmm : (N,) torque of the hand (or of the wheel that stands for it) on the rod.
    push_n : (N,) size of the force it takes; its direction hangs on how the handle stands.
    """

    rod: Rod
    force_n: Complexes
    torque_nmm: Floats
    hand_nmm: Floats
    push_n: Floats

    @property
    def passed_nmm(self) -> Floats:
        """(N, K + 1) torque passed along the rod below each station, and above the last:
        what turns the piece beneath, counter-clockwise."""
        below = np.zeros((self.torque_nmm.shape[0], self.torque_nmm.shape[1] + 1))
        below[:, 1:] = np.cumsum(self.torque_nmm, axis=1)
        grip = self.rod.grip_mm
        if grip is not None and grip < self.rod.from_mm:
            below += self.hand_nmm[:, None]
        return below


def layer_heights(sketch: Sketch) -> dict[int, tuple[float, float]]:
    """From where to where every layer in use reaches, mm, the lowest from 0."""
    thick: dict[int, float] = {}
    layers = layers_of(sketch)
    for part in sketch.parts:
        layer = layers[part.id]
        thick[layer] = max(thick.get(layer, 0.0), part.thickness_mm)
    heights, top = {}, 0.0
    for layer in sorted(thick):
        heights[layer] = (top, top + thick[layer])
        top += thick[layer]
    return heights


def rods(sketch: Sketch) -> tuple[Rod, ...]:
    """The rods of a sketch, in the order of its pins, then of its pins in slots.

    Bought hinges have no rod through the layers and are left out, and so is a pin that
    joins fewer than two parts. Pins of one diameter at one place that share a body are one
    rod.
    """
    build = _Build(sketch)
    found = [build.rod(pins) for pins in build.shafts()]
    found += [build.slot_pin(slot) for slot in sketch.slots]
    return tuple(rod for rod in found if rod is not None)


class _Build:
    """What is asked of a sketch again and again while its rods are put together."""

    def __init__(self, sketch: Sketch) -> None:
        self.sketch = sketch
        self.groups = rigid_groups(sketch)
        self.layers, self.heights = layers_of(sketch), layer_heights(sketch)
        self.parts = {part.id: part for part in sketch.parts}
        self.places = sketch.places()
        self.frame = {self.groups[part.id] for part in sketch.parts if part.fixed}
        self.rank = _from_the_crank(sketch, self.groups, self.frame)

    def shafts(self) -> list[list[Pin]]:
        """Pins that are one rod, together."""
        found: list[list[Pin]] = []
        for pin in self.sketch.pins:
            if pin.hinge is not None or any(ref not in self.places for ref in pin.at):
                continue
            same = next((pins for pins in found if self._one_shaft(pins[0], pin)), None)
            if same is None:
                found.append([pin])
            else:
                same.append(pin)
        return found

    def _one_shaft(self, a: Pin, b: Pin) -> bool:
        if abs(self.places[a.at[0]] - self.places[b.at[0]]) > ONE_SHAFT_MM:
            return False
        bodies_a, bodies_b = ({self.groups[part_of(ref)] for ref in pin.at} for pin in (a, b))
        return (a.diameter_mm == b.diameter_mm and a.material == b.material
                and not bodies_a.isdisjoint(bodies_b))

    def rod(self, pins: list[Pin]) -> Rod | None:
        """The rod of pins that are one."""
        sources: dict[str, list[tuple[str, int]]] = {}
        for pin in pins:
            for k, ref in enumerate(pin.at):
                sources.setdefault(part_of(ref), []).append((pin.id, k))
        ids = {pin.id for pin in pins}
        locks = [lock for lock in self.sketch.locks if lock.pin in ids]
        for lock in locks:
            for k, part in enumerate(lock.parts):
                if part in self.parts:
                    sources.setdefault(part, []).append((lock.id, k))
        if len(sources) < 2:
            return None
        drive = self.sketch.drive
        driven = ""
        if drive is not None and drive.pin in ids and drive.part in self.groups:
            body = self.groups[drive.part]
            moved = [part for part in sources if self.groups[part] == body]
            driven = drive.part if drive.part in moved else next(iter(moved), "")
        return self._made(pins[0], tuple(pin.id for pin in pins), sources, locks, driven)

    def slot_pin(self, slot: PinInSlot) -> Rod | None:
        """The rod of a pin in a slot: fast in the part of its point."""
        carrier, guide = part_of(slot.point), part_of(slot.slot[0])
        if carrier == guide or slot.point not in self.places or guide not in self.parts:
            return None
        return self._made(slot, (slot.id,), {carrier: [(slot.id, 0)], guide: [(slot.id, 1)]},
                          [], "")

    def _made(self, joint: Pin | PinInSlot, joints: tuple[str, ...],
              sources: dict[str, list[tuple[str, int]]], locks: Sequence[Lock],
              driven: str) -> Rod:
        slot = isinstance(joint, PinInSlot)
        held = {part: lock.id for lock in locks for part in lock.parts}
        first = next(iter(sources))
        base = first if slot else self._base(sources)
        body = self.groups[next((part for part in sources if part in held), driven or base)]
        stations = []
        for part in sorted(sources, key=lambda one: (self.layers[one], one)):
            bottom = self.heights[self.layers[part]][0]
            hold: Hold = ("locked" if part in held else "driven" if part == driven else
                          "fast" if self.groups[part] == body else "turns")
            stations.append(Station(
                part, self.layers[part], bottom, bottom + self.parts[part].thickness_mm,
                hold, held.get(part, ""), tuple(sources[part])))
        supports, assumed = self._supports(stations, self.groups[base])
        crank = next((k for k, one in enumerate(stations) if one.part == driven), None)
        grip = None if crank is None else self._grip(stations, stations[crank].middle_mm)
        ref = joint.point if isinstance(joint, PinInSlot) else joint.at[0]
        material = "steel" if isinstance(joint, PinInSlot) else joint.material
        return Rod(joints[0], joints, joint.diameter_mm, material, self.places[ref],
                   tuple(stations), supports, grip, crank, assumed, slot)

    def _base(self, parts: Iterable[str]) -> str:
        """The part a rod is fast in when nothing says otherwise: the frame, else the one
        nearest the crank (as friction takes it)."""
        return min(parts, key=lambda part: (self.groups[part] not in self.frame,
                                            self.rank.get(part, len(self.rank))))

    def _supports(self, stations: list[Station], base: int) -> tuple[tuple[int, ...], str]:
        """Which stations keep the rod upright, and what that assumes."""
        by_body: dict[int, list[int]] = {}
        for k, station in enumerate(stations):
            by_body.setdefault(self.groups[station.part], []).append(k)
        body = base
        if base not in self.frame:
            forks = [group for group, members in by_body.items()
                     if len({stations[k].layer for k in members}) > 1]
            body = base if base in forks or not forks else forks[0]
        members = tuple(by_body[body])
        names = " and ".join(stations[k].part for k in members)
        if len({stations[k].layer for k in members}) == 1:
            return members, (f"The rod stands in {names} alone, which keeps it upright by"
                             " the length of its bore.")
        if len(members) == 2:
            return members, f"The rod lies in {names}; the two share by the lever rule."
        return members, (f"The rod lies in {names}, which share as equally stiff supports of"
                         " a stiff rod.")

    def _grip(self, stations: list[Station], crank_mm: float) -> float:
        """Where along the crank's shaft the hand is: on the far side of the frame from the
        crank, in front of everything where there is frame on both sides."""
        frame = [s.middle_mm for s in stations if self.groups[s.part] in self.frame]
        if frame and max(frame) < crank_mm:
            return min(s.from_mm for s in stations) - GRIP_OUT_MM
        return max(s.to_mm for s in stations) + GRIP_OUT_MM


def _from_the_crank(sketch: Sketch, groups: dict[str, int], frame: set[int]) -> dict[str, int]:
    """How many joints every part is from the crank, not counting ways through the frame."""
    drive = sketch.drive
    if drive is None or drive.part not in groups:
        return {}
    ties = [{groups[part] for part in map(part_of, pin.at) if part in groups}
            for pin in sketch.pins]
    ties += [{groups[part] for part in map(part_of, refs) if part in groups} for refs in (
        *((s.point, s.along[0]) for s in sketch.slides),
        *((s.point, s.slot[0]) for s in sketch.slots),
        *((mesh.a, mesh.b) for mesh in sketch.meshes),
        *((belt.a, belt.b) for belt in sketch.belts))]
    far, edge = {groups[drive.part]: 0}, {groups[drive.part]}
    while edge:
        reached = {group for tie in ties if tie & edge for group in tie}
        edge = reached - far.keys() - frame
        step = 1 + max(far.values())
        far |= dict.fromkeys(edge, step)
    return {part: far[group] for part, group in groups.items() if group in far}


def loads(turn: Turn, effort: Effort, found: Sequence[Rod] | None = None,
          band: Band | None = None) -> tuple[RodLoad, ...]:
    """What acts on the rods of a turn, rod by rod.

    Parameters
    ----------
    found : the rods of the turn's sketch, when already known.
    band : take forces and torque with the largest friction from it
        (:func:`core.effort.friction_band`), else those without friction.

    Notes
    -----
    A part passes to the rod the opposite of what the pin and the locks on that pin do to it
    (Newton's third law); the hand's torque enters at its end and leaves at the crank.
    """
    sketch = turn.sketch
    known = rods(sketch) if found is None else found
    forces = effort.reactions if band is None else {k: v.force for k, v in band.high.items()}
    moments = effort.moments if band is None else {k: v.moment for k, v in band.high.items()}
    torque = effort.torque_nmm if band is None else band.high_nmm
    reach = hand_reach_mm(sketch)
    result = []
    for rod in known:
        force = np.stack([-np.sum([forces[joint][:, k] for joint, k in station.sources],
                                  axis=0) for station in rod.stations], axis=1)
        twist = np.stack([-np.sum([moments[joint][:, k] for joint, k in station.sources],
                                  axis=0) for station in rod.stations], axis=1)
        hand = np.zeros(turn.crank_rad.size)
        if rod.crank is not None:
            hand = sense_of(turn) * torque
            twist[:, rod.crank] -= hand
        push = np.abs(hand) / reach if reach else np.zeros_like(hand)
        result.append(RodLoad(rod, force, twist, hand, push))
    return tuple(result)


def hand_reach_mm(sketch: Sketch) -> float:
    """The arm at which torque enters the crank's shaft, mm: the handle's radius, or the
    radius of the last wheel between; 0 where that is not known yet."""
    steps = sketch.handle.steps
    if not steps:
        return sketch.handle.radius_mm
    last = steps[-1]
    if last.kind == "gears":
        return 0.5 * last.driven * (last.module_mm or 0.0)
    return 0.5 * last.driven
