"""Every place where something is fast on a rod: what holds it, and what it sits on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely

from core.making.locks.capacity import Seat
from core.making.rods import Rod, Station
from core.model import LOCK_KINDS, Part, Sketch
from core.model.stuff import material_of
from core.motion.turn import Complexes, Floats
from core.space import outline_of
from core.space.grain import grain_of
from core.space.necks import bores_of
from core.space.rays import edges_of, first_hits

#: "locked": a lock says how. "crank": the crank on its own shaft, and nothing says how;
#: "handle": the arm of the handle, or the last wheel of its steps, on that shaft. "faces":
#: two parts on one rod glued to each other, whatever the rod does.
Role = Literal["locked", "crank", "handle", "faces"]
#: What is assumed of a handle's arm (common practice, no source).
ARM_MM, ARM_OF = 9.0, "birch-plywood"
#: Directions in which walls are measured and drills are tried.
DIRECTIONS = 24


@dataclass(frozen=True)
class Hold:
    """Something fast on a rod.

    `part` is its id, "" for the handle; `station` its place on the rod, None for the handle.
    `lock` is the id of the lock that says how it is held, "" where none does and `kind` is
    only assumed. `size_mm` and `length_mm` as in :class:`core.model.Lock`. `called` is what
    is no part of the sketch.
    """

    rod: Rod
    station: int | None
    part: str
    role: Role
    lock: str
    kind: str
    size_mm: float | None = None
    length_mm: float | None = None
    called: str = "the handle"

    @property
    def key(self) -> tuple[str, str]:
        """Its rod and its part, which it shares with no other hold."""
        return self.rod.id, self.part

    @property
    def name(self) -> str:
        """What it is, for a sentence."""
        return self.part or self.called

    @property
    def seat_of(self) -> Station | None:
        """Where on the rod it sits; None for the handle."""
        return None if self.station is None else self.rod.stations[self.station]


def holds(sketch: Sketch, found: Sequence[Rod]) -> tuple[Hold, ...]:
    """The holds on some rods, rod by rod from the lowest part up, a handle last.

    Locks of kinds nothing is known of are left out, and so are those on no shaft, but for
    two parts on one rod that are glued to each other: these are one hold.
    """
    locks = {lock.id: lock for lock in sketch.locks}
    result = []
    for rod in found:
        for k, station in enumerate(rod.stations):
            if station.hold == "locked":
                lock = locks[station.lock]
                if lock.kind in LOCK_KINDS:
                    result.append(Hold(rod, k, station.part, "locked", lock.id, lock.kind,
                                       lock.size_mm, lock.length_mm))
            elif station.hold == "driven":
                result.append(Hold(rod, k, station.part, "crank", "", "glued"))
        result += [Hold(rod, rod.parts.index(lock.parts[0]), lock.parts[0], "faces", lock.id,
                        lock.kind) for lock in sketch.locks
                   if not lock.pin and lock.kind == "glued" and len(lock.parts) == 2
                   and set(lock.parts) <= set(rod.parts)]
        if rod.grip_mm is not None:
            last = "the last wheel of the hand's steps"
            result.append(Hold(rod, None, "", "handle", "", "glued",
                               called=last if sketch.handle.steps else "the handle"))
    return tuple(result)


def seat(sketch: Sketch, hold: Hold, length_mm: float | None = None,
         shaft_mm: float | None = None, thickness_mm: float | None = None) -> Seat:
    """What a hold of some length (None: as thick as its part) sits in, perhaps on another
    shaft or in a part of another thickness.

    Raises SketchError for a material nobody knows, or a part without a sound outline.
    """
    shaft = material_of(sketch.materials, hold.rod.material)
    d = hold.rod.diameter_mm if shaft_mm is None else shaft_mm
    if hold.station is None:
        steps = sketch.handle.steps
        thick = thickness_mm or (steps[-1].face_mm if steps else ARM_MM)
        hub = material_of(sketch.materials, steps[-1].material if steps else ARM_OF)
        return Seat(d, length_mm or thick, thick, shaft, hub, d)
    part = sketch.part(hold.part)
    hub, thick = material_of(sketch.materials, part.material), thickness_mm or part.thickness_mm
    if length_mm is not None and length_mm > thick:
        return Seat(d, length_mm, thick, shaft, hub, d)
    way, wall = pin_way(sketch, hold)
    more = 0.5 * (hold.rod.diameter_mm - d)
    return Seat(d, length_mm or thick, thick, shaft, hub, min(max(wall + more, 0.0), d),
                way + math.pi / 2 - grain_of(part))


def directions() -> Complexes:
    """Directions round a shaft, (24,) complex of length 1, in the drawn pose."""
    ways: Complexes = np.exp(2j * math.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    return ways


def walls(sketch: Sketch, hold: Hold) -> Floats:
    """Wood from the shaft to the nearest edge or bore of the part, (24,) mm, in all
    :func:`directions`; 0 where the shaft is outside the part."""
    part = sketch.part(hold.part)
    bores = tuple(bore for bore in bores_of(sketch).get(part.id, ())
                  if abs(bore[0] - hold.rod.place) > 1e-6)
    return _walls(part, hold.rod.place, hold.rod.diameter_mm, bores)


@lru_cache(maxsize=512)
def _walls(part: Part, place: complex, diameter_mm: float,
           bores: tuple[tuple[complex, float], ...]) -> Floats:
    wood = outline_of(part)
    if not wood.contains(shapely.Point(place.real, place.imag)):
        return np.zeros(DIRECTIONS)
    rays = directions()
    far, _ = first_hits(np.full(rays.size, place), rays, *edges_of(wood))
    for middle, bore in bores:
        to = middle - place
        along = (to * rays.conj()).real
        aside = np.abs((to * rays.conj()).imag)
        half = np.sqrt(np.maximum((bore / 2) ** 2 - aside**2, 0.0))
        far = np.where((aside < bore / 2) & (along > 0), np.minimum(far, along - half), far)
    return np.maximum(far - diameter_mm / 2.0, 0.0)


def pin_way(sketch: Sketch, hold: Hold) -> tuple[float, float]:
    """The best direction for a cross pin, rad in the drawn pose, and the wall on its
    thinner side, mm: the most wood up to a shaft's diameter, then the shortest way in."""
    wall = walls(sketch, hold)
    both = np.minimum(wall, np.roll(wall, -DIRECTIONS // 2))
    enough = np.minimum(both, hold.rod.diameter_mm)
    good = np.flatnonzero(enough > enough.max() - 1e-6)
    best = int(good[np.argmin(wall[good])])
    return 2.0 * math.pi * best / DIRECTIONS, float(both[best])
