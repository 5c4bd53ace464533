"""What is bought to hold a part on a shaft: pins, set screws, collars, keys, and their
usual sizes. Lengths mm, forces N."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from core.materials import Figure
from core.units import MM_PER_INCH, N_PER_LBF

#: Diameters of solid cross pins and of drills for them (common practice, no source).
PINS_MM = (1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0)
PINS_IN = tuple(part * MM_PER_INCH / 64 for part in (4, 5, 6, 8, 10, 12, 16))
#: Least force in double shear of slotted spring pins, kN: heavy pins of ISO 8752, of
#: spring steel and of austenitic steel; three makers' tables that agree.
ISO_8752_KN: Mapping[float, float] = {
    1.0: 0.70, 1.5: 1.58, 2.0: 2.82, 2.5: 4.38, 3.0: 6.32, 3.5: 9.06, 4.0: 11.24, 5.0: 17.54,
    6.0: 26.04}
ISO_8752_AUSTENITIC_KN: Mapping[float, float] = {
    1.5: 0.98, 2.0: 1.81, 2.5: 2.84, 3.0: 4.07, 4.0: 7.25, 5.0: 10.75}
ISO_8752_SOURCE = "ISO 8752, heavy slotted spring pins, double shear, as makers' tables give it"

#: Set screws, M: diameters that are sold with a hexagon socket.
SCREWS_MM = (2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
#: How hard a cup-point set screw holds along the shaft: diameter mm, low table, high table,
#: lbf. #8, #10 and 1/4 inch; between and beyond them force goes with diameter squared.
_SET_SCREWS = ((0.164 * MM_PER_INCH, 150.0, 385.0), (0.190 * MM_PER_INCH, 200.0, 540.0),
               (0.250 * MM_PER_INCH, 400.0, 1000.0))
SET_SCREW_SOURCE = ("holding force of cup-point set screws: the low end from a table on the web"
                    " (read), the high end Shigley, Mechanical Engineering Design, table of"
                    " set screws (from memory)")

#: Shaft -> outer diameter and width of a bought collar with a set screw (DIN 705 light, from
#: memory); between and beyond them twice the shaft, as wide as thick.
COLLARS_MM: Mapping[float, tuple[float, float]] = {
    3.0: (7.0, 5.0), 4.0: (8.0, 5.0), 5.0: (10.0, 6.0), 6.0: (12.0, 8.0), 8.0: (16.0, 8.0),
    10.0: (20.0, 10.0), 12.0: (22.0, 12.0)}
#: A collar that carries wood has a flange that is screwed to it: its thickness, how far it
#: stands out round the collar, and the wood screws in it (common practice, no source).
FLANGE_MM, FLANGE_OUT_MM, FLANGE_SCREWS, FLANGE_SCREW_MM = 2.0, 7.0, 3, 3.0

#: Largest shaft for a key -> width and height of it (DIN 6885, from memory).
_KEYS = ((8.0, 2.0, 2.0), (10.0, 3.0, 3.0), (12.0, 4.0, 4.0), (17.0, 5.0, 5.0),
         (22.0, 6.0, 6.0), (30.0, 8.0, 7.0))
#: Screws of clamp collars: stress area mm² by diameter (ISO 898-1, from memory).
_CLAMP_AREA = {2.5: 3.39, 3.0: 5.03, 4.0: 8.78, 5.0: 14.2, 6.0: 20.1}
_CLAMP_MPA = Figure(145.0, 290.0, "screw of class 8.8 drawn by hand to a quarter or a half of"
                    " its proof stress; common practice, no source", "practice")


@dataclass(frozen=True)
class Collar:
    """A bought collar: outer diameter and width, mm."""

    outer_mm: float
    width_mm: float


def collar(shaft_mm: float) -> Collar:
    """The collar bought for a shaft, diameter in mm: from `COLLARS_MM`, else of usual
    proportions (common practice, no source)."""
    outer, width = COLLARS_MM.get(shaft_mm, (2.0 * shaft_mm, max(5.0, shaft_mm)))
    return Collar(outer, width)


def flange_radius_mm(shaft_mm: float) -> float:
    """Radius, mm, of the flange of a collar that is screwed to wood, for a shaft, mm."""
    return 0.5 * collar(shaft_mm).outer_mm + FLANGE_OUT_MM


def holding_n(screw_mm: float) -> Figure:
    """Force, N, along its shaft that a cup-point set screw holds; a range of two tables."""
    table = _SET_SCREWS
    upper = next((k for k, row in enumerate(table) if row[0] >= screw_mm), len(table) - 1)
    ends = []
    for column in (1, 2):
        if upper == 0 or screw_mm > table[-1][0]:
            row = table[upper]
            ends.append(row[column] * (screw_mm / row[0]) ** 2)
        else:
            a, b = table[upper - 1], table[upper]
            share = (screw_mm**2 - a[0] ** 2) / (b[0] ** 2 - a[0] ** 2)
            ends.append(a[column] + share * (b[column] - a[column]))
    return Figure(ends[0] * N_PER_LBF, ends[1] * N_PER_LBF, SET_SCREW_SOURCE, "from memory")


def clamp_n(screw_mm: float) -> Figure:
    """Force, N, with which the screw of a clamp collar draws it together."""
    area = _CLAMP_AREA.get(screw_mm, 0.56 * screw_mm**2)
    return _CLAMP_MPA.times(area)


def clamp_screw_mm(shaft_mm: float) -> float:
    """The screw of a bought clamp collar (common practice, no source)."""
    return 2.5 if shaft_mm < 6.0 else 3.0 if shaft_mm <= 10.0 else 4.0 if (
        shaft_mm <= 16.0) else 5.0


def key_mm(shaft_mm: float) -> tuple[float, float]:
    """Width and height, mm, of the key for a shaft, mm: DIN 6885 (from memory), else of the
    same proportions."""
    for most, width, height in _KEYS:
        if shaft_mm <= most:
            return width, height
    return 0.25 * shaft_mm, 0.2 * shaft_mm


def largest(sizes: Sequence[float], most_mm: float) -> float:
    """The largest size not above `most_mm`; the smallest of all when none is."""
    return max((size for size in sizes if size <= most_mm + 1e-9), default=min(sizes))


def pins(units: str) -> tuple[float, ...]:
    """Diameters of solid cross pins where lengths are in mm or in inches."""
    return PINS_IN if units == "in" else PINS_MM


def step_mm(units: str) -> float:
    """What filed flats are rounded down to, mm: half a millimetre, or 1/64 inch."""
    return MM_PER_INCH / 64 if units == "in" else 0.5


def usual_mm(kind: str, shaft_mm: float, thickness_mm: float, units: str = "mm") -> float:
    """The usual size of a hold, see :class:`core.model.Lock`; 0 where it has none.

    A cross pin of a third of the shaft, a set screw of half of it, a cotter of an eighth; a
    pin through the edge of a sheet of a third of its thickness at most (common practice, no
    source). The largest square and hexagon that a round shaft can be filed to.
    """
    step = step_mm(units)
    if kind in ("pinned", "spring-pinned"):
        sizes = pins(units) if kind == "pinned" else tuple(ISO_8752_KN)
        return largest(sizes, min(shaft_mm, thickness_mm) / 3.0)
    if kind == "screwed":
        return largest(SCREWS_MM, shaft_mm / 2.0)
    if kind == "clamped":
        return clamp_screw_mm(shaft_mm)
    if kind == "keyed":
        return key_mm(shaft_mm)[0]
    if kind == "square":
        return math.floor(shaft_mm / math.sqrt(2.0) / step) * step
    if kind == "hex":
        return math.floor(shaft_mm * math.cos(math.pi / 6.0) / step) * step
    if kind == "flat":
        return 0.9 * shaft_mm
    if kind == "cottered":
        return shaft_mm / 8.0
    return 0.0
