"""Room for a hold: along the shaft, around it, and in the wood of the part itself."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from core.errors import SketchError
from core.making.locks import stock
from core.making.locks.capacity import BOSS_TIMES, COLLARED, Seat
from core.making.locks.holds import Hold, walls
from core.making.rods import Rod, layer_heights
from core.model import Sketch
from core.motion import Turn
from core.motion.turn import Complexes, Floats
from core.space import outline_of
from core.space.neighbours import layers_of
from core.units import show_length

#: Room is measured at about so many crank positions to a turn.
_POSITIONS = 180
#: Outlines may be off by this here, mm.
_COARSE_MM = 0.05
#: A pin through the edge of a sheet wants a sheet of three of its diameters, form holds a
#: hub of twice the shaft, a wedge so much air to be driven in: common practice, no source.
PIN_TIMES, HUB_TIMES, WEDGE_MM = 3.0, 2.0, 20.0
_TOUCH = 1e-6


@dataclass(frozen=True)
class Need:
    """What a kind of hold needs, mm: `along` beside its part on one side of it, within
    `around` of the shaft's axis; the part `thick`, and `wall` of it round the shaft. `end`:
    it has to be the last thing on its rod."""

    along: float = 0.0
    around: float = 0.0
    thick: float = 0.0
    wall: float = 0.0
    end: bool = False


def need(kind: str, seat: Seat, size_mm: float) -> Need:
    """The room a hold of a size needs."""
    d = seat.shaft_mm
    if kind in COLLARED and not seat.metal_hub:
        return Need(stock.collar(d).width_mm + stock.FLANGE_MM, stock.flange_radius_mm(d))
    boss = Need(seat.boss_mm, BOSS_TIMES * d / 2.0) if seat.boss_mm else Need()
    wall = 0.0 if seat.boss_mm or kind == "glued" else (HUB_TIMES - 1.0) * d / 2.0
    if kind in ("pinned", "spring-pinned"):
        if seat.boss_mm:
            return Need(max(seat.boss_mm, PIN_TIMES * size_mm), boss.around)
        return Need(thick=PIN_TIMES * size_mm, wall=wall)
    if kind in COLLARED:
        return Need(boss.along, boss.around, 2.0 * size_mm, wall)
    if kind == "cottered":
        return Need(boss.along, boss.around, 0.0, wall, end=True)
    return Need(boss.along, boss.around, 0.0, wall)


@dataclass(frozen=True)
class Free:
    """What is free beside a part on its rod, mm, with whatever ends it ("" for nothing)."""

    side: str
    along: float
    by: str


@dataclass(frozen=True)
class Room:
    """Room needed and there, mm. `free` is the side that has more of it; `lacks` says what
    is missing, in words with numbers, nothing when it fits."""

    need: Need
    free: Free
    thick_mm: float
    wall_mm: float
    lacks: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether there is room enough."""
        return not self.lacks

    @property
    def missing_mm(self) -> float:
        """Spacing that would have to be added beside the part, mm."""
        return max(self.need.along - self.free.along, 0.0)


@dataclass(frozen=True)
class _Other:
    """Something that may be in the way: from where to where it reaches along the rods, and
    the nearest it comes to the rod's axis over the turn, mm."""

    name: str
    from_mm: float
    to_mm: float
    near_mm: float


class Surroundings:
    """What lies and moves about the rod of a hold, over the turn."""

    def __init__(self, turn: Turn, rods: tuple[Rod, ...], hold: Hold) -> None:
        self.sketch, self.hold = turn.sketch, hold
        rod = hold.rod
        self.walls = walls(self.sketch, hold) if hold.part else np.zeros(0)
        steps = np.flatnonzero(turn.reached)
        steps = steps[:: max(1, steps.size // (_POSITIONS * turn.crank_turns))]
        axis = turn.place(rod.stations[0].part, rod.place)[steps]
        self._others = [*_parts(turn, hold, axis, steps), *_rods(turn, rods, rod, axis, steps)]

    def free(self, above: bool, around_mm: float) -> Free:
        """What is free within a radius of the axis, from the part's face to the first thing
        that comes there: above (towards the reader) or below."""
        station = self.hold.seat_of
        if station is None:
            return Free("outside", math.inf, "")
        side = "above" if above else "below"
        found, by = math.inf, ""
        for other in self._others:
            if other.near_mm >= around_mm - _TOUCH:
                continue
            gap = (other.from_mm - station.to_mm if above
                   else station.from_mm - other.to_mm)
            past = (other.to_mm <= station.to_mm + _TOUCH if above
                    else other.from_mm >= station.from_mm - _TOUCH)
            if not past and max(gap, 0.0) < found:
                found, by = max(gap, 0.0), other.name
        return Free(side, found, by)

    def room(self, kind: str, seat: Seat, size_mm: float) -> Room:
        """Room for a hold."""
        wants = need(kind, seat, size_mm)
        sides = [self.free(above, max(wants.around, seat.shaft_mm / 2 + 0.1))
                 for above in (True, False)]
        free = max(sides, key=lambda one: one.along)
        wall = float(self.walls.min()) if self.walls.size else math.inf
        if kind in ("pinned", "spring-pinned"):
            wall = seat.wall_mm
        lacks = []
        if wants.along > free.along + _TOUCH:
            lacks.append(f"needs {self._show(wants.along)} beside {self.hold.name}, where"
                         f" {self._show(free.along)} are free, up to {free.by}")
        if wants.thick > seat.thickness_mm + _TOUCH:
            lacks.append(f"needs a part {self._show(wants.thick)} thick, and it is"
                         f" {self._show(seat.thickness_mm)}")
        if wants.wall > wall + _TOUCH:
            lacks.append(f"needs {self._show(wants.wall)} of wood round the shaft, where"
                         f" {self._show(wall)} are")
        if wants.end and not self._at_end():
            lacks.append("has to be the last part on its shaft, with"
                         f" {self._show(WEDGE_MM)} free to drive the wedge")
        return Room(wants, free, seat.thickness_mm, wall, tuple(lacks))

    def _show(self, mm: float) -> str:
        return show_length(round(mm, 1), self.sketch.units)

    def _at_end(self) -> bool:
        k, rod = self.hold.station, self.hold.rod
        if k is None:
            return True
        ends = ([False] if k == 0 else []) + ([True] if k == len(rod.stations) - 1 else [])
        return any(self.free(above, rod.diameter_mm).along >= WEDGE_MM for above in ends)


def _parts(turn: Turn, hold: Hold, axis: Complexes,
           steps: np.ndarray[tuple[int], np.dtype[np.intp]]) -> list[_Other]:
    sketch = turn.sketch
    heights, layers = layer_heights(sketch), layers_of(sketch)
    on_rod = set(hold.rod.parts)
    found = []
    for row, part in enumerate(sketch.parts):
        if part.id == hold.part:
            continue
        bottom = heights[layers[part.id]][0]
        near = 0.0 if part.id in on_rod else _nearest(sketch, part.id, (
            axis - turn.shift[row][steps]) * turn.rotation[row][steps].conj())
        found.append(_Other(part.id, bottom, bottom + part.thickness_mm, near))
    return found


def _nearest(sketch: Sketch, part_id: str, places: Complexes) -> float:
    """The least distance of places (drawn pose) from a part's outline; 0 inside."""
    try:
        wood = outline_of(sketch.part(part_id)).simplify(_COARSE_MM)
    except SketchError:
        return math.inf
    shapely.prepare(wood)
    far: Floats = shapely.distance(wood, shapely.points(places.real, places.imag))
    return float(np.nanmin(far, initial=math.inf))


def _rods(turn: Turn, rods: tuple[Rod, ...], own: Rod, axis: Complexes,
          steps: np.ndarray[tuple[int], np.dtype[np.intp]]) -> list[_Other]:
    found = []
    for rod in rods:
        if rod.id != own.id:
            other = turn.place(rod.stations[0].part, rod.place)[steps]
            near = float(np.nanmin(np.abs(other - axis), initial=math.inf))
            found.append(_Other(f"the rod of {rod.id}", rod.from_mm, rod.to_mm,
                                near - rod.diameter_mm / 2.0))
    return found
