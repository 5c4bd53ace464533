"""What weights can be bought or cut: discs of sheet, lengths of rod, washers, one's own."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from core.making import rings
from core.model import Part, Sketch
from core.model.stuff import material_of
from core.pleasant.options import WeightRules

#: Washers heavy enough to weigh with: bore, outside, thickness, mm.
WASHERS: dict[str, tuple[float, float, float]] = {
    f"M{size:g}": row for size, row in rings.WASHERS.items() if size >= 5.0}
#: Nuts ISO 4032 (from memory): across flats s, height m, mm.
NUTS: dict[str, tuple[float, float]] = {
    "M5": (8.0, 4.7), "M6": (10.0, 5.2), "M8": (13.0, 6.8), "M10": (16.0, 8.4),
    "M12": (18.0, 10.8), "M16": (24.0, 14.8),
}
#: More washers on one bolt are a nuisance.
MOST_WASHERS = 12
_STEEL = 7.85e-6


@dataclass(frozen=True)
class Piece:
    """A weight as it is bought or cut.

    `kg` is what it adds to the part (wood cut away for it is taken off); `sticks_out_mm` how
    far it stands out of the sheet on each side.
    """

    kg: float
    diameter_mm: float
    thickness_mm: float
    made_of: str
    sticks_out_mm: float


def washer_kg(size: str) -> float:
    """Mass of a steel washer, kg: a ring of its dimensions."""
    bore, outer, thick = WASHERS[size]
    return math.pi / 4.0 * (outer**2 - bore**2) * thick * _STEEL


def nut_kg(size: str) -> float:
    """Mass of a steel nut, kg: a hexagon with its bore, chamfers left out."""
    flats, high = NUTS[size]
    return (math.sqrt(3.0) / 2.0 * flats**2 - math.pi / 4.0 * _bolt(size) ** 2) * high * _STEEL


def _bolt(size: str) -> float:
    return float(size[1:])


def pieces(sketch: Sketch, part: Part, rules: WeightRules, room_mm: float,
           kg: float, flush: bool = False) -> list[Piece]:
    """Pieces near `kg` that fit in a circle of radius `room_mm`, the nearest first; with
    `flush` none that stands out of the sheet.

    Of each kind those just below and just above; equal ones in the order of the rules.
    Raises SketchError for an unknown material.
    """
    found: list[Piece] = []
    for kind in _kinds(sketch, part, rules, room_mm):
        sizes = [piece for piece in kind if not (flush and piece.sticks_out_mm)]
        near = sorted(sizes, key=lambda piece: abs(piece.kg - kg))[:2]
        found += near
    found = [piece for piece in found if 0.0 < piece.kg <= rules.heaviest_kg]
    found.sort(key=lambda piece: (round(abs(piece.kg - kg), 7), piece.sticks_out_mm))
    return found


def heaviest(sketch: Sketch, part: Part, rules: WeightRules, room_mm: float,
             flush: bool = False) -> float:
    """The heaviest piece that fits in a circle of radius `room_mm`, kg; 0 for none."""
    return min(rules.heaviest_kg, max(
        (piece.kg for kind in _kinds(sketch, part, rules, room_mm) for piece in kind
         if not (flush and piece.sticks_out_mm)), default=0.0))


def _kinds(sketch: Sketch, part: Part, rules: WeightRules,
           room_mm: float) -> Iterator[Iterator[Piece]]:
    wood = material_of(sketch.materials, part.material).density_kg_m3 * 1e-9
    deep = part.thickness_mm
    for name, thick in rules.sheets:
        if thick <= deep + 1e-9:
            yield _discs(sketch, name, thick, wood, room_mm)
    for name, wide in rules.rods:
        if wide / 2.0 <= room_mm:
            yield _rods(sketch, name, wide, wood, deep, rules.height_mm)
    for size in rules.washers:
        if max(WASHERS[size][1], NUTS[size][0] * 2.0 / math.sqrt(3.0)) / 2.0 <= room_mm:
            yield _washers(size, wood, deep, rules.height_mm)
    for own in rules.own:
        if own.diameter_mm / 2.0 <= room_mm and own.thickness_mm <= rules.height_mm:
            gone = math.pi / 4.0 * own.diameter_mm**2 * min(own.thickness_mm, deep) * wood
            yield iter([Piece(own.kg - gone, own.diameter_mm, own.thickness_mm, own.name,
                              max(own.thickness_mm - deep, 0.0))])


def _discs(sketch: Sketch, name: str, thick: float, wood: float,
           room_mm: float) -> Iterator[Piece]:
    stuff = material_of(sketch.materials, name)
    for wide in range(6, math.floor(2.0 * room_mm + 1e-9) + 1):
        kg = math.pi / 4.0 * wide**2 * thick * (stuff.density_kg_m3 * 1e-9 - wood)
        yield Piece(kg, float(wide), thick,
                    f"disc of {stuff.name}, {wide} × {thick:g} mm, let in", 0.0)


def _rods(sketch: Sketch, name: str, wide: float, wood: float, deep: float,
          tallest: float) -> Iterator[Piece]:
    stuff = material_of(sketch.materials, name)
    area = math.pi / 4.0 * wide**2
    for long in range(3, math.floor(tallest + 1e-9) + 1):
        kg = area * (long * stuff.density_kg_m3 * 1e-9 - min(long, deep) * wood)
        out = max(long - deep, 0.0)
        yield Piece(kg, wide, float(long),
                    f"{long} mm of {stuff.name} rod, {wide:g} mm, let in", out)


def _washers(size: str, wood: float, deep: float, tallest: float) -> Iterator[Piece]:
    """Washers on a bolt: a threaded rod as long as everything, and two nuts."""
    _, outer, thick = WASHERS[size]
    shank, nut = _bolt(size), NUTS[size][1]
    count = 1
    while (tall := count * thick) + 2.0 * nut <= tallest + 1e-9 and count <= MOST_WASHERS:
        rod = math.pi / 4.0 * shank**2 * ((deep + tall + 2.0 * nut) * _STEEL - deep * wood)
        kg = count * washer_kg(size) + 2.0 * nut_kg(size) + rod
        yield Piece(kg, outer, tall,
                    f"{count} washer{'s' if count > 1 else ''} {size} on a bolt with two nuts",
                    tall + nut)
        count += 1
