"""How much torque each kind of hold bears: of everything that could give way, the weakest.

Formulas are those of textbooks of machine elements; figures are where things give way, not
divided by any safety number. Torques N·mm, lengths mm, stresses MPa.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from core.errors import SketchError
from core.making.locks import stock
from core.materials import MATERIALS, Figure, Material, Trust, breaking
from core.materials.figure import joined, weakest
from core.model import LOCK_KINDS

#: Glue in a smooth bore on a smooth rod: far below what a lap joint bears.
GLUE_MPA = Figure(1.0, 2.0, "shop figure for glue between a smooth rod and a smooth bore, more"
                  " when both are roughened; common practice, no source", "practice")
_STEEL_RUB = Figure(0.10, 0.18, "friction of steel on steel, as found; from memory",
                    "from memory")
_WOOD_RUB = Figure(0.2, 0.6, "friction of wood on metal", "read")
#: Share of what wood bears under a rod with which a split end is wedged against it, and
#: share of the bore that it touches.
_WEDGED = Figure(0.2, 0.5, "a split end wedged into a bore; rule of thumb", "practice")
_TOUCHED = 0.6
#: What is left of a screw's grip in wood because it bends (one shear plane).
_BENDS = Figure(0.3, 0.5, "wood screws bend in their holes; rule of thumb", "practice")
#: A boss is so many times as wide as the shaft (common practice, no source).
BOSS_TIMES = 3.0
#: Kinds that need metal round the shaft: on any other part a bought collar with a flange.
COLLARED = ("screwed", "clamped")
_NOTCH = Figure(0.6, 0.75, "shaft with a keyway; textbook, from memory", "from memory")
_ON_SOFT = 0.5
_BOOK = "textbooks of machine elements"


@dataclass(frozen=True)
class Seat:
    """Where a hold sits: a shaft of `shaft_mm` in a hub.

    `length_mm` of the shaft is held; the part itself is `thickness_mm` thick. `wall_mm` of
    the hub is on each side of the shaft along a cross pin; `angle_rad` lies between the push
    of the pin and the grain. A hold longer than the part is thick has a boss on it, a disc
    of the same wood glued to its face; a cross pin then goes through the boss.
    """

    shaft_mm: float
    length_mm: float
    thickness_mm: float
    shaft: Material
    hub: Material
    wall_mm: float
    angle_rad: float = 0.0

    @property
    def boss_mm(self) -> float:
        """How far a boss stands out of the part; 0 without one."""
        return max(self.length_mm - self.thickness_mm, 0.0)

    @property
    def pin_room_mm(self) -> float:
        """Thickness of what a cross pin goes through."""
        return self.boss_mm or self.thickness_mm

    @property
    def metal_hub(self) -> bool:
        """Whether the part can take a screw's thread by itself."""
        return self.hub.stuff == "metal"


@dataclass(frozen=True)
class Member:
    """One thing that could give way, and the torque, N·mm, at which it does."""

    name: str
    bears: Figure
    formula: str


@dataclass(frozen=True)
class Capacity:
    """What a hold bears, N·mm: the range in which it gives way, and all its members, the
    weakest first."""

    kind: str
    size_mm: float
    members: tuple[Member, ...]

    @property
    def low(self) -> float:
        """The least torque at which it may give way."""
        return min(member.bears.low for member in self.members)

    @property
    def high(self) -> float:
        """The torque at which it surely has given way."""
        return min(member.bears.high for member in self.members)

    @property
    def weakest(self) -> Member:
        """What gives way first."""
        return self.members[0]

    @property
    def source(self) -> str:
        """Where its weakest member's figures are from."""
        return self.weakest.bears.source

    @property
    def trust(self) -> Trust:
        """How far they can be trusted."""
        return self.weakest.bears.trust


def capacity(kind: str, seat: Seat, size_mm: float | None = None,
             austenitic: bool = False) -> Capacity:
    """What a hold bears.

    Parameters
    ----------
    kind : one of :data:`core.model.LOCK_KINDS`.
    size_mm : as ``Lock.size_mm``; None: what is usual for the shaft.
    austenitic : spring pins of stainless steel.

    Raises
    ------
    SketchError
        For a kind of which nothing is known.
    """
    rule = _RULES.get(kind)
    if rule is None:
        raise SketchError(f"nothing is known of the hold {kind!r}",
                          mend=f"use one of {', '.join(LOCK_KINDS)}")
    size = stock.usual_mm(kind, seat.shaft_mm, seat.pin_room_mm) if (
        size_mm is None) else size_mm
    if austenitic and kind == "spring-pinned":
        found = list(_spring_pinned(seat, size, stock.ISO_8752_AUSTENITIC_KN))
    else:
        found = list(rule(seat, size))
    if seat.boss_mm and not seat.metal_hub and kind not in COLLARED:
        found.append(_boss(seat))
    found.sort(key=lambda member: (member.bears.low, member.bears.high))
    return Capacity(kind, size, tuple(found))


def _member(name: str, figure: Figure, factor: float, formula: str,
            *others: Figure) -> Member:
    """A figure times a factor (mm³ or mm), with further figures multiplied in."""
    low, high = figure.low * factor, figure.high * factor
    for other in others:
        low, high = low * other.low, high * other.high
    return Member(name, Figure(low, high,
                               joined(figure.source, *(o.source for o in others)),
                               weakest(figure.trust, *(o.trust for o in others))), formula)


def _boss(seat: Seat) -> Member:
    """The boss glued to the face of the part: wood fails beside the glue. With the stress
    rising from the middle, T = shear stress · π (R⁴ − r⁴) / (2 R)."""
    outer, inner = BOSS_TIMES * seat.shaft_mm / 2.0, seat.shaft_mm / 2.0
    return _member("the boss on the part", breaking(seat.hub, "rolling-shear",
                                                    seat.thickness_mm),
                   math.pi * (outer**4 - inner**4) / (2.0 * outer),
                   "shear stress · π · (R⁴ − r⁴) / (2 · R)")


def _shaft(seat: Seat, section: float, left: str) -> Member:
    """The shaft itself, twisted: polar section modulus, mm³."""
    return _member("the shaft", breaking(seat.shaft, "shear"), max(section, 0.0),
                   f"shear stress of the rod times its section modulus, {left}")


def _whole(seat: Seat) -> Member:
    return _shaft(seat, math.pi * seat.shaft_mm**3 / 16.0, "π · d³ / 16")


def _glued(seat: Seat, _: float) -> Iterator[Member]:
    bore = math.pi * seat.shaft_mm**2 * seat.length_mm / 2.0
    formula = "shear stress · π · d² · length / 2"
    yield _member("the glue", GLUE_MPA, bore, formula)
    along = breaking(seat.hub, "shear", seat.thickness_mm)
    rolling = breaking(seat.hub, "rolling-shear", seat.thickness_mm)
    yield _member("the wood at the glue" if not seat.metal_hub else "the hub", Figure(
        rolling.low, along.high, joined(rolling.source, along.source),
        weakest(rolling.trust, along.trust)), bore, formula)
    yield _whole(seat)


def _bored(seat: Seat, size: float) -> Iterator[Member]:
    """What all pins across a shaft have in common: shaft and hub under the pin."""
    d, s = seat.shaft_mm, seat.wall_mm
    yield _member("the hole in the shaft",
                  breaking(seat.shaft, "bearing", diameter_mm=size), size * d**2 / 6.0,
                  "pressure · pin · d² / 6")
    hub = breaking(seat.hub, "bearing", seat.thickness_mm, seat.angle_rad, size)
    yield _member("the hub under the pin", hub, size * s * (d + s),
                  "pressure · pin · wall · (d + wall), the wall on each side of the shaft")
    yield _shaft(seat, math.pi * d**3 / 16.0 - size * d**2 / 6.0,
                 "π · d³ / 16 − pin · d² / 6 (from memory)")


def _pinned(seat: Seat, size: float) -> Iterator[Member]:
    steel = breaking(MATERIALS["steel"], "shear")
    yield _member("the pin", steel, math.pi * size**2 * seat.shaft_mm / 4.0,
                  "shear stress of mild steel · π · pin² · d / 4, cut twice")
    yield from _bored(seat, size)


def _spring_pinned(seat: Seat, size: float,
                   table: Mapping[float, float] = stock.ISO_8752_KN) -> Iterator[Member]:
    fits = stock.largest(tuple(table), size)
    double = 1000.0 * table[fits] * min(1.0, (size / fits) ** 2)
    yield _member("the spring pin", Figure(double, double, stock.ISO_8752_SOURCE, "read"),
                  seat.shaft_mm / 2.0, "force in double shear · d / 2")
    yield from _bored(seat, size)


def _collared(seat: Seat) -> Iterator[Member]:
    """A collar's flange screwed to a part that is no metal."""
    if seat.metal_hub:
        return
    depth = min(seat.thickness_mm, 12.0)
    circle = stock.flange_radius_mm(seat.shaft_mm) - 1.2 * stock.FLANGE_SCREW_MM
    wood = breaking(seat.hub, "bearing", seat.thickness_mm, math.pi / 2,
                    stock.FLANGE_SCREW_MM)
    yield _member("the screws of the flange", wood,
                  stock.FLANGE_SCREWS * stock.FLANGE_SCREW_MM * depth * circle,
                  f"{stock.FLANGE_SCREWS} screws of {stock.FLANGE_SCREW_MM:g} mm · pressure ·"
                  " depth · radius of their circle · what is left as they bend", _BENDS)


def _screwed(seat: Seat, size: float) -> Iterator[Member]:
    if seat.shaft.stuff != "metal":
        nothing = Figure(0.0, 0.0, "a set screw crushes a shaft that is no metal", "practice")
        yield Member("the shaft under the screw", nothing, "none")
        return
    soft = seat.shaft.id.startswith("alumin")
    force = stock.holding_n(size)
    rule = Figure(_ON_SOFT, _ON_SOFT, "halved on aluminium; common practice, no source",
                  "practice")
    yield _member("the set screw", force, seat.shaft_mm / 2.0,
                  "holding force · d / 2, on a flat", *([rule] if soft else []))
    yield from _collared(seat)
    yield _whole(seat)


def _clamped(seat: Seat, size: float) -> Iterator[Member]:
    yield _member("the clamp", stock.clamp_n(size), seat.shaft_mm,
                  "friction · force of the screw · d", _STEEL_RUB)
    yield from _collared(seat)
    yield _whole(seat)


def _pressed(seat: Seat) -> Figure:
    """Pressure at which flats crush the hub: from its weaker direction to the mean of both,
    as they push along and across the grain at once."""
    if seat.hub.stuff == "metal":
        return breaking(seat.hub, "compression", seat.thickness_mm)
    ends = [breaking(seat.hub, "compression", seat.thickness_mm, angle)
            for angle in (0.0, math.pi / 2)]
    return Figure(min(end.low for end in ends), sum(end.high for end in ends) / 2.0,
                  joined(*(end.source for end in ends)), weakest(*(e.trust for e in ends)))


def _flats(seat: Seat, number: int, width: float) -> Member:
    """Flats of a width that press with half of it each, the pressure rising from nothing in
    the middle to its most at the edge: T = n · p · L · width² / 12. Four of a square give
    p · L · side² / 3, six of a hexagon p · L · across flats² / 6."""
    return _member("the bore on the flats", _pressed(seat),
                   number * seat.length_mm * width**2 / 12.0,
                   f"{number} flats · pressure · length · width² / 12, the pressure rising"
                   " towards the edges")


def _flat(seat: Seat, size: float) -> Iterator[Member]:
    d = seat.shaft_mm
    deep = min(max(d - size, 0.0), d / 2.0)
    yield _flats(seat, 1, 2.0 * math.sqrt(deep * (d - deep)))
    yield _shaft(seat, math.pi * d**3 / 16.0 * (1.0 - deep / d) ** 2,
                 "π · d³ / 16, less by the square of what is filed off (estimate)")


def _square(seat: Seat, size: float) -> Iterator[Member]:
    yield _flats(seat, 4, size)
    yield _shaft(seat, 0.208 * size**3, "0.208 · side³ (textbook)")


def _hex(seat: Seat, size: float) -> Iterator[Member]:
    yield _flats(seat, 6, size / math.sqrt(3.0))
    yield _shaft(seat, 0.188 * size**3, "0.188 · across flats³ (from memory)")


def _keyed(seat: Seat, size: float) -> Iterator[Member]:
    d, length = seat.shaft_mm, seat.length_mm
    height = stock.key_mm(d)[1]
    yield _member("the key", breaking(MATERIALS["steel"], "shear"), d * size * length / 2.0,
                  "shear stress · d · width · length / 2")
    yield _member("the keyway in the shaft", breaking(seat.shaft, "compression"),
                  d * height * length / 4.0, "pressure · d · height · length / 4")
    yield _member("the keyway in the hub", _pressed(seat), d * height * length / 4.0,
                  "pressure · d · height · length / 4")
    yield _member("the shaft", breaking(seat.shaft, "shear"), math.pi * d**3 / 16.0,
                  "shear stress · π · d³ / 16 · what the keyway leaves", _NOTCH)


def _cottered(seat: Seat, _: float) -> Iterator[Member]:
    bears = breaking(seat.hub, "bearing", seat.thickness_mm, math.pi / 2, seat.shaft_mm)
    yield _member("the grip of the split end", bears,
                  _TOUCHED * math.pi * seat.shaft_mm**2 * seat.length_mm / 2.0,
                  "friction · pressure of the wedge · 0.6 · π · d² · length / 2", _WEDGED,
                  _WOOD_RUB)
    yield _shaft(seat, 0.5 * math.pi * seat.shaft_mm**3 / 16.0,
                 "half of π · d³ / 16, as it is split (estimate)")


_RULES: dict[str, Callable[[Seat, float], Iterator[Member]]] = {
    "glued": _glued, "pinned": _pinned, "spring-pinned": _spring_pinned, "screwed": _screwed,
    "flat": _flat, "keyed": _keyed, "square": _square, "hex": _hex, "clamped": _clamped,
    "cottered": _cottered}
