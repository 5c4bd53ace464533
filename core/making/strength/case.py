"""The loads of a turn in the shape the checks ask for: without friction, and behind it the
same turn with the largest."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from core.effort import Effort
from core.effort.frames import cross
from core.effort.inside import owners
from core.effort.loads import Load, loads_of
from core.effort.torque import Balance, Band, balance
from core.errors import SketchError
from core.making.rods import Rod, RodLoad, loads, rods
from core.materials import Figure, Kind, Material, breaking
from core.model import OwnMaterial, Part, Sketch, part_of
from core.model.stuff import material_of
from core.motion import Rates, Turn
from core.motion.turn import Complexes, Floats
from core.space.necks import bores_of
from core.space.outlines import outline_of

#: What is usual on the diameter for a metal rod that turns in wood, mm.
USUAL_PLAY_MM = 0.15
USUAL_PLAY = "play of 0.10 to 0.25 mm is usual in plywood (common practice, no source)"


@dataclass(frozen=True)
class Push:
    """A force on a part, in the part's drawn pose: `anchor` the drawn place it belongs to,
    `place` (N,) complex mm where it acts, `force` (N,) complex N, `moment` (N,) N·mm."""

    joint: str
    anchor: complex
    place: Complexes
    force: Complexes
    moment: Floats


class Case:
    """A turn and what acts in it; N stands for the steps of all its runs: one without
    friction and, with a band, one more with the largest."""

    def __init__(self, turn: Turn, effort: Effort, rates: Rates | None = None,
                 friction: bool = True) -> None:
        self.turn, self.effort, self.sketch = turn, effort, turn.sketch
        self._rates = rates
        self.band: Band | None = effort.band if friction else None
        self.runs = 1 if self.band is None else 2
        self.steps = turn.crank_rad.size
        self._sound: dict[str, bool] = {}

    def crank_rad(self, step: int) -> float:
        """The crank angle of a step of any run."""
        return float(self.turn.crank_rad[step % self.steps])

    @cached_property
    def rods(self) -> tuple[Rod, ...]:
        """The rods of the sketch."""
        return rods(self.sketch)

    @cached_property
    def rod_loads(self) -> tuple[RodLoad, ...]:
        """What acts on each rod, all runs behind each other."""
        plain = loads(self.turn, self.effort, self.rods)
        if self.band is None:
            return plain
        rubbing = loads(self.turn, self.effort, self.rods, self.band)
        return tuple(RodLoad(
            a.rod, np.concatenate([a.force_n, b.force_n]),
            np.concatenate([a.torque_nmm, b.torque_nmm]),
            np.concatenate([a.hand_nmm, b.hand_nmm]), np.concatenate([a.push_n, b.push_n]))
            for a, b in zip(plain, rubbing, strict=True))

    @cached_property
    def torque_nmm(self) -> Floats:
        """(N,) torque at the crank, positive where the hand pushes."""
        if self.band is None:
            return self.effort.torque_nmm
        return np.concatenate([self.effort.torque_nmm, self.band.high_nmm])

    def joint(self, joint_id: str) -> tuple[Complexes, Floats, Complexes]:
        """Forces, moments and places (N, k) of a joint on its parts."""
        of = self.effort
        force, moment = of.reactions[joint_id], of.moments[joint_id]
        place = of.places[joint_id]
        if self.band is None:
            return force, moment, place
        more = self.band.high[joint_id]
        return (np.concatenate([force, more.force]), np.concatenate([moment, more.moment]),
                np.concatenate([place, more.place]))

    @cached_property
    def back(self) -> Complexes:
        """(P, N) what turns a direction of the sketch into the part's drawn pose."""
        back = self.turn.rotation.conj()
        return back if self.runs == 1 else np.concatenate([back, back], axis=1)

    def drawn(self, part: str, vector: Complexes) -> Complexes:
        """A vector (N,) or (N, k) of the sketch frame as the part's drawn pose has it."""
        back = self.back[self.turn.row(part)]
        turned: Complexes = vector * (back if vector.ndim == 1 else back[:, None])
        return turned

    @cached_property
    def _ready(self) -> Balance:
        return balance(self.turn, self._rates)

    def pushes(self) -> dict[str, list[Push]]:
        """What the joints and the loads do to every part that is neither fixed nor loose."""
        found: dict[str, list[Push]] = {part.id: [] for part in self.sketch.parts
                                        if not part.fixed}
        places = self.sketch.places()
        refs = _refs(self.sketch)
        for name, parts in owners(self.sketch).items():
            force, moment, place = self.joint(name)
            for k, part in enumerate(parts):
                if part in found and np.isfinite(force[:, k]).any():
                    at = self._drawn_place(part, place[:, k])
                    ref = refs.get(name, {}).get(k)
                    middle = places[ref] if ref in places else complex(np.nanmean(at))
                    found[part].append(Push(name, middle, at, self.drawn(part, force[:, k]),
                                            moment[:, k]))
        for load in self._loads():
            if load.part in found:
                force = self._spread(load.force)
                moment = self._spread(load.moment).real
                at = self._drawn_place(load.part, self._spread(load.place))
                if np.any(force):
                    found[load.part].append(Push(
                        load.share, complex(np.nanmean(at)), at,
                        self.drawn(load.part, force), moment))
        return found

    def _loads(self) -> list[Load]:
        of = self.sketch
        if not (of.springs or of.torsion_springs or of.forces or of.torques):
            return []
        return loads_of(of, self._ready.plan, self._ready.frames)

    def _drawn_place(self, part: str, place: Complexes) -> Complexes:
        shift = self.turn.shift[self.turn.row(part)]
        shift = shift if self.runs == 1 else np.concatenate([shift, shift])
        return self.drawn(part, place - shift)

    def _spread(self, values: Complexes | Floats | complex) -> Complexes:
        whole = np.full(self.steps, np.nan, dtype=np.complex128)
        whole[self._ready.steps] = values
        return whole if self.runs == 1 else np.concatenate([whole, whole])

    def sound(self, part_id: str) -> bool:
        """Whether a part has a shape a sheet can have; others are findings of their own."""
        if part_id not in self._sound:
            try:
                self._sound[part_id] = not outline_of(self._parts[part_id]).is_empty
            except SketchError:
                self._sound[part_id] = False
        return self._sound[part_id]

    def part(self, part_id: str) -> Part:
        """The part of that id."""
        return self._parts[part_id]

    @cached_property
    def _parts(self) -> dict[str, Part]:
        return {part.id: part for part in self.sketch.parts}

    @cached_property
    def bores(self) -> dict[str, tuple[tuple[complex, float], ...]]:
        """Round holes of every part: (drawn place, diameter)."""
        return bores_of(self.sketch)

    def play(self, rod: Rod) -> tuple[float, bool]:
        """Play of a rod in its bores, on the diameter, mm, and whether that was given."""
        given = [pin.clearance_mm for pin in self.sketch.pins
                 if pin.id in rod.joints and pin.clearance_mm is not None]
        return max(given, default=USUAL_PLAY_MM), bool(given)

    def hole(self, joints: tuple[str, ...], part_id: str) -> complex | None:
        """Where the rod of some pins goes through a part, drawn pose; None where it is not a
        plain hole."""
        return self._holes.get((joints[0], part_id)) if joints else None

    @cached_property
    def _holes(self) -> dict[tuple[str, str], complex]:
        """By the first joint of a rod and the part."""
        places = self.sketch.places()
        found: dict[tuple[str, str], complex] = {}
        for rod in self.rods:
            for pin in self.sketch.pins:
                if pin.id in rod.joints:
                    for ref in pin.at:
                        found.setdefault((rod.joints[0], part_of(ref)), places[ref])
        return found

    def material(self, material_id: str) -> Material:
        """A material, the user's own first."""
        return material_of(self.sketch.materials, material_id)

    def bears(self, material_id: str, kind: Kind, thickness_mm: float = 6.0,
              angle_rad: float = 0.0) -> Figure:
        """The stress at which a material gives way, see :func:`core.materials.breaking`."""
        return _bears(self.sketch.materials, material_id, kind, thickness_mm, angle_rad)


@lru_cache(maxsize=8192)
def _bears(own: tuple[OwnMaterial, ...], material_id: str, kind: Kind, thickness_mm: float,
           angle_rad: float) -> Figure:
    return breaking(material_of(own, material_id), kind, thickness_mm, angle_rad)


def remainder(pushes: list[Push], centre: complex) -> tuple[Complexes, Floats]:
    """Force (N,) and moment (N,) about `centre` that weight and inertia must have for the
    part to be in balance with its pushes."""
    force = -np.sum([push.force for push in pushes], axis=0)
    moment = -np.sum([push.moment + cross(push.place - centre, push.force)
                      for push in pushes], axis=0)
    return force, moment


def _refs(sketch: Sketch) -> dict[str, dict[int, str]]:
    """The point each joint has on its k-th part."""
    found = {pin.id: dict(enumerate(pin.at)) for pin in sketch.pins}
    found |= {slide.id: {0: slide.point} for slide in sketch.slides}
    found |= {slot.id: {0: slot.point} for slot in sketch.slots}
    for mesh in sketch.meshes:
        found[mesh.id] = {0: mesh.a, 1: mesh.b}
    for belt in sketch.belts:
        found[belt.id] = {0: belt.a, 1: belt.b}
    return found
