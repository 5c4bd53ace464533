"""The sketch: everything the user made, as one frozen value."""

from __future__ import annotations

from typing import Literal

import msgspec

from core.model.guards import Guard
from core.model.hand import Handle
from core.model.joints import Belt, Lock, Mesh, Pin, PinInSlot, Slide
from core.model.loads import Drive, Force, Gravity, Spring, Torque, TorsionSpring
from core.model.parts import Part, Point
from core.model.refs import join_ref, split_ref
from core.model.stuff import OwnMaterial
from core.model.wanted import FitRules, LengthRule, WantedMotion, Zone

FORMAT: Literal["crankwright"] = "crankwright"
VERSION = 1


class Underlay(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
               forbid_unknown_fields=True):
    """A picture under the sketch. (x, y) is its lower left corner, mm; `path` is
    absolute or relative to the sketch file."""

    path: str
    mm_per_px: float = 0.5
    x: float = 0.0
    y: float = 0.0
    angle_deg: float = 0.0
    opacity: float = 0.4


class Twin(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True):
    """A mirrored group that follows its original: pairs (original id, copy id) of
    parts, and of joints, loads and points ("part.point") of parts both sides share,
    and the mirror line through (x, y)."""

    id: str
    parts: tuple[tuple[str, str], ...]
    others: tuple[tuple[str, str], ...] = ()
    x: float = 0.0
    y: float = 0.0
    angle_deg: float = 90.0


class Sketch(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
             forbid_unknown_fields=True):
    """A whole mechanism. mm, kg, N, degrees; counter-clockwise positive; y up.

    `units` is only how lengths are shown. `friction` is the range of the
    coefficient at pins. `gap_mm` is the smallest gap wanted between parts that
    share a layer. `turns` is the number of crank turns shown when the motion does
    not repeat within 64. `wanted`, `zones`, `length_rules` and `fit` say what motion is
    asked for and how it may be had. `handle` is what the hand holds; `guards` what was
    decided about pinch places; `for_children` a machine small children will reach;
    `materials` are the user's own, which come before the table's.
    """

    format: Literal["crankwright"] = "crankwright"
    version: int = VERSION
    title: str = ""
    author: str = ""
    note: str = ""
    units: Literal["mm", "in"] = "mm"
    parts: tuple[Part, ...] = ()
    pins: tuple[Pin, ...] = ()
    slides: tuple[Slide, ...] = ()
    slots: tuple[PinInSlot, ...] = ()
    locks: tuple[Lock, ...] = ()
    meshes: tuple[Mesh, ...] = ()
    belts: tuple[Belt, ...] = ()
    drive: Drive | None = None
    gravity: Gravity = Gravity()
    forces: tuple[Force, ...] = ()
    torques: tuple[Torque, ...] = ()
    springs: tuple[Spring, ...] = ()
    torsion_springs: tuple[TorsionSpring, ...] = ()
    friction: tuple[float, float] = (0.2, 0.6)
    gap_mm: float = 1.0
    grid_mm: float = 5.0
    turns: int = 1
    underlay: Underlay | None = None
    twins: tuple[Twin, ...] = ()
    wanted: tuple[WantedMotion, ...] = ()
    zones: tuple[Zone, ...] = ()
    length_rules: tuple[LengthRule, ...] = ()
    fit: FitRules = FitRules()
    handle: Handle = Handle()
    guards: tuple[Guard, ...] = ()
    for_children: bool = False
    materials: tuple[OwnMaterial, ...] = ()

    def part(self, part_id: str) -> Part:
        """The part of that id; raises KeyError when there is none."""
        for part in self.parts:
            if part.id == part_id:
                return part
        raise KeyError(part_id)

    def point(self, ref: str) -> Point:
        """The point ``"part.point"``; raises KeyError when there is none."""
        part, point = split_ref(ref)
        return self.part(part).point(point)

    def place(self, ref: str) -> complex:
        """Where the point ``"part.point"`` is drawn, x + iy mm; raises as `point`."""
        return self.point(ref).place

    def places(self) -> dict[str, complex]:
        """Where every point is drawn, x + iy mm, by its reference."""
        return {join_ref(part.id, point.id): point.place
                for part in self.parts for point in part.points}

    def layer_of(self, part_id: str) -> int:
        """The layer of a part; one without a layer has its place in the list."""
        for place, part in enumerate(self.parts):
            if part.id == part_id:
                return place if part.layer is None else part.layer
        raise KeyError(part_id)


#: Sketch fields that hold a tuple of things with an id, in file order.
GROUPS = ("parts", "pins", "slides", "slots", "locks", "meshes", "belts", "forces",
          "torques", "springs", "torsion_springs", "twins", "wanted", "zones",
          "length_rules", "guards")


