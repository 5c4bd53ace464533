"""Retaining rings and washers: which fits a rod, its groove, the room it takes at the end of
the rod, and the axial force it bears. Lengths mm, forces N."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from core.making.rods import Rod
from core.materials import Figure
from core.units import MM_PER_INCH, MPA_PER_PSI


@dataclass(frozen=True)
class Ring:
    """A ring that sits in a groove of a rod.

    Attributes
    ----------
    standard, name : of what is bought.
    groove_mm, width_mm : diameter and width of the groove.
    end_mm : least length of rod left beyond the groove.
    thick_mm : thickness of the ring. outer_mm: about how wide it is when it sits.
    load_n : axial force that the groove, or the ring, bears, a range; the low end may be for
        a thinner rod than this.
    """

    standard: str
    name: str
    groove_mm: float
    width_mm: float
    end_mm: float
    thick_mm: float
    outer_mm: float
    load_n: Figure

    @property
    def beyond_mm(self) -> float:
        """Rod needed beyond the last washer: groove and what is left behind it."""
        return self.width_mm + self.end_mm


@dataclass(frozen=True)
class Washer:
    """A plain washer: bore, outside, thickness, mm."""

    bore_mm: float
    outer_mm: float
    thick_mm: float
    source: str


_E_SOURCE = "DIN 6799, as a maker's table gives it"
#: Groove diameter -> smallest and largest rod, groove width, least rod beyond it, load kN at
#: a rod of so many mm.
_E_CLIPS: Mapping[float, tuple[float, float, float, float, float, float]] = {
    1.9: (2.5, 3.0, 0.54, 1.0, 0.10, 2.5), 2.3: (3.0, 4.0, 0.64, 1.0, 0.15, 3.0),
    3.2: (4.0, 5.0, 0.64, 1.0, 0.22, 4.0), 4.0: (5.0, 7.0, 0.74, 1.2, 0.25, 5.0),
    5.0: (6.0, 8.0, 0.74, 1.2, 0.90, 7.0), 6.0: (7.0, 9.0, 0.74, 1.2, 1.10, 8.0),
    7.0: (8.0, 11.0, 0.94, 1.5, 1.25, 9.0), 8.0: (9.0, 12.0, 1.05, 1.8, 1.42, 10.0)}
#: How wide an E-clip is, over its groove (from memory, about).
_E_WIDE = 2.1
_R_SOURCE = "DIN 471, as a table of rings gives it"
#: Rod -> groove diameter, width (H13), ring thickness, least rod beyond the groove.
_RINGS: Mapping[float, tuple[float, float, float, float]] = {
    3.0: (2.8, 0.5, 0.4, 0.3), 4.0: (3.8, 0.5, 0.4, 0.3), 5.0: (4.8, 0.7, 0.6, 0.3),
    6.0: (5.7, 0.8, 0.7, 0.5), 7.0: (6.7, 0.9, 0.8, 0.5), 8.0: (7.6, 0.9, 0.8, 0.6),
    9.0: (8.6, 1.1, 1.0, 0.6), 10.0: (9.6, 1.1, 1.0, 0.6)}
#: Pressure on the groove at which DIN 471 gives loads, and the safety in it (from memory).
_GROOVE_MPA, _GROOVE_SAFETY = 200.0, 1.2
#: Rings in inches for rods of 3/16 and 1/4: name, groove diameter, width, inches.
_INCH_RINGS = (
    (0.1875, "E-ring 3/16", 0.148, 0.029, "a maker's page"),
    (0.250, "E-ring 1/4", 0.207, 0.029, "from memory"))
_W_SOURCE = "ISO 7089 and DIN 125, from memory"
#: Nominal size of plain washers -> bore, outside, thickness, mm.
WASHERS: Mapping[float, tuple[float, float, float]] = {
    2.5: (2.7, 6.0, 0.5), 3.0: (3.2, 7.0, 0.5), 4.0: (4.3, 9.0, 0.8), 5.0: (5.3, 10.0, 1.0),
    6.0: (6.4, 12.0, 1.6), 8.0: (8.4, 16.0, 1.6), 10.0: (10.5, 20.0, 2.0),
    12.0: (13.0, 24.0, 2.5), 16.0: (17.0, 30.0, 3.0)}


def rings_for(rod_mm: float) -> tuple[Ring, ...]:
    """The rings that fit a rod, the ones usual for it first: E-clips, then shaft rings, then
    rings in inches. Empty for a rod thinner or thicker than all tables."""
    found = [_e_clip(groove, rod_mm) for groove, row in _E_CLIPS.items()
             if row[0] - 1e-9 <= rod_mm <= row[1] + 1e-9]
    found.sort(key=lambda ring: -ring.load_n.low)
    if rod_mm in _RINGS:
        found.append(_shaft_ring(rod_mm))
    for inches, name, groove, width, source in _INCH_RINGS:
        if abs(rod_mm - inches * MM_PER_INCH) < 0.02:
            found.append(_inch_ring(inches, name, groove, width, source))
    return tuple(found)


def _e_clip(groove: float, rod_mm: float) -> Ring:
    _, _, width, end, load, at = _E_CLIPS[groove]
    # The load is given at one rod: the groove bears by its area, which a thinner rod has less.
    area = (rod_mm**2 - groove**2) / (at**2 - groove**2)
    low, high = sorted((1000.0 * load * min(area, 1.0), 1000.0 * load))
    return Ring("DIN 6799", f"E-clip {groove:g}", groove, width, end, 0.9 * width,
                _E_WIDE * groove, Figure(low, high, _E_SOURCE, "read"))


def _shaft_ring(rod_mm: float) -> Ring:
    groove, width, thick, end = _RINGS[rod_mm]
    load = groove_load_n(rod_mm, groove)
    return Ring("DIN 471", f"shaft ring {rod_mm:g}", groove, width, end, thick,
                rod_mm + 2.0 * max(2.5, 0.35 * rod_mm), Figure(
                    load, load, f"{_R_SOURCE}; load from the groove's area at 200 MPa / 1.2,"
                    " from memory", "from memory"))


def groove_load_n(rod_mm: float, groove_mm: float) -> float:
    """Axial force on the shoulder of a groove as DIN 471 reckons it: 200 MPa on the ring of
    the groove, divided by 1.2."""
    area = math.pi / 4.0 * (rod_mm**2 - groove_mm**2)
    return _GROOVE_MPA * area / _GROOVE_SAFETY


def inch_groove_load_n(rod_mm: float, depth_mm: float, yield_mpa: float,
                       safety: float = 2.0, factor: float = 0.5) -> float:
    """Axial force a groove bears by the formula of makers of inch rings:
    P = Cf · B · t · Ys · π / K, Cf `factor` (0.5 for E-rings, which bear on part of the
    groove), B rod, t depth of the groove, Ys yield stress, K `safety`."""
    return factor * rod_mm * depth_mm * yield_mpa * math.pi / safety


def _inch_ring(inches: float, name: str, groove: float, width: float, source: str) -> Ring:
    rod, depth = inches * MM_PER_INCH, 0.5 * (inches - groove) * MM_PER_INCH
    load = inch_groove_load_n(rod, depth, 45_000.0 * MPA_PER_PSI)
    return Ring("inch", name, groove * MM_PER_INCH, width * MM_PER_INCH, 2.0 * depth,
                0.025 * MM_PER_INCH, _E_WIDE * groove * MM_PER_INCH, Figure(
                    load, load, f"{source}; load P = Cf · B · t · Ys · π / K with a rod that"
                    " yields at 45 000 psi, K = 2", "read" if "page" in source else
                    "from memory"))


def washer_for(rod_mm: float) -> Washer:
    """The plain washer a rod of that diameter goes through: the smallest of the table, or one
    of usual proportions where the rod is thicker than all."""
    size = next((size for size, row in WASHERS.items() if row[0] >= rod_mm), None)
    if size is None:
        return Washer(rod_mm + 1.0, 2.0 * rod_mm, 0.2 * rod_mm, "common practice, no source")
    return Washer(*WASHERS[size], _W_SOURCE)


@dataclass(frozen=True)
class Ends:
    """How a rod is kept: a ring beyond a washer at each end that is not held otherwise.

    `stack_mm` is what lies on the rod; `length_mm` to cut it to, washers, grooves and what
    is left beyond them included.
    """

    ring: Ring
    washer: Washer
    stack_mm: float
    length_mm: float


def ends(rod: Rod) -> Ends | None:
    """Ring, washer and length of a rod kept by a ring at both ends; None where no ring of
    the tables fits. The crank's shaft goes on to the handle by as much more."""
    fit = rings_for(rod.diameter_mm)
    if not fit:
        return None
    washer, stack = washer_for(rod.diameter_mm), rod.to_mm - rod.from_mm
    return Ends(fit[0], washer, stack, stack + 2.0 * (washer.thick_mm + fit[0].beyond_mm))
