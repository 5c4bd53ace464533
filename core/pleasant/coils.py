"""Springs one can wind or buy: rate and stress from wire, mean diameter and turns.

Extension: k = G d⁴ / (8 D³ n), stress with the Bergsträsser factor, hooks by bending;
torsion: E d⁴ / (10.8 D n) for a turn (spring textbook, J. E. Shigley and others, *Mechanical
Engineering Design*, ch. 10; formulas and wire strength from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from core.materials import material
from core.model import Coil

#: Index D/d that can be wound well.
INDEX = (4.0, 12.0)
#: Outside diameters of the table, mm.
OUTSIDES = (3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 15.0, 18.0, 22.0)
#: Tensile strength of music wire is A/d^m: MPa with d in mm (textbook table, from memory).
WIRE_A, WIRE_M = 2211.0, 0.145
#: Shares of the tensile strength allowed: body and hook of an extension spring, a torsion
#: spring in bending (textbook, from memory).
BODY, HOOK, BENT = 0.45, 0.75, 0.78
#: A rate may be off by so much, as a share, before what a coil is taken for another.
_RATE_OFF = 0.03
_FEWEST, _MOST_TURNS = 4.0, 120.0


@dataclass(frozen=True)
class Wound:
    """An extension spring as wound. `shortest_mm` is its length inside the hooks when
    closed, `tension_n` the initial tension it is wound with, `most_n` the hardest pull."""

    coil: Coil
    rate_n_per_mm: float
    shortest_mm: float
    tension_n: float
    most_n: float


def tensile_mpa(wire_mm: float) -> float:
    """Tensile strength, MPa, of music wire of that diameter, mm (source: see the table)."""
    return float(WIRE_A / wire_mm**WIRE_M)


def extension_rate(wire_mm: float, mean_mm: float, turns: float) -> float:
    """Rate of an extension or compression spring, N/mm: G d⁴ / (8 D³ n)."""
    shear = material("music-wire").figures["shear_modulus_gpa"].middle * 1e3
    return shear * wire_mm**4 / (8.0 * mean_mm**3 * turns)


def torsion_rate(wire_mm: float, mean_mm: float, turns: float) -> float:
    """Rate of a torsion spring, N·mm per degree: E d⁴ / (10.8 D n) for a turn."""
    elastic = material("music-wire").figures["elastic_gpa"].middle * 1e3
    return elastic * wire_mm**4 / (10.8 * mean_mm * turns) / 360.0


def pull_limit(wire_mm: float, mean_mm: float) -> float:
    """The hardest pull of an extension spring, N: body in shear, hook in bending."""
    index = mean_mm / wire_mm
    strength = tensile_mpa(wire_mm)
    curved = (4.0 * index + 2.0) / (4.0 * index - 3.0)
    body = BODY * strength * math.pi * wire_mm**3 / (8.0 * mean_mm * curved)
    bent = (4.0 * index**2 - index - 1.0) / (4.0 * index * (index - 1.0))
    hook = HOOK * strength / (bent * 16.0 * mean_mm / (math.pi * wire_mm**3)
                              + 4.0 / (math.pi * wire_mm**2))
    return min(body, hook)


def initial_tension(wire_mm: float, mean_mm: float) -> float:
    """The initial tension usual for a close-wound spring, N: stress 231/exp(0.105 C) MPa
    (middle of the preferred range, textbook, from memory)."""
    stress = 231.0 / math.exp(0.105 * mean_mm / wire_mm)
    return stress * math.pi * wire_mm**3 / (8.0 * mean_mm)


def torsion_limit(wire_mm: float, mean_mm: float) -> float:
    """The hardest torque of a torsion spring, N·mm: bending with the inner curvature."""
    index = mean_mm / wire_mm
    inner = (4.0 * index**2 - index - 1.0) / (4.0 * index * (index - 1.0))
    return BENT * tensile_mpa(wire_mm) * math.pi * wire_mm**3 / (32.0 * inner)


def extension_coils(rate_n_per_mm: float, most_n: float, nil_mm: float,
                    wires: Iterable[float]) -> list[Wound]:
    """Coils of about that rate that bear `most_n` and whose pull, drawn out to nothing,
    ends at the length `nil_mm` or can be brought there by a link of wire; best rate first.
    """
    found = []
    for wire, mean in _sizes(wires):
        limit = pull_limit(wire, mean)
        if limit < most_n:
            continue
        turns = round(2.0 * extension_rate(wire, mean, 1.0) / rate_n_per_mm) / 2.0
        if not _FEWEST <= turns <= _MOST_TURNS:
            continue
        rate = extension_rate(wire, mean, turns)
        tension = initial_tension(wire, mean)
        short = (turns + 1.0) * wire + 2.0 * (mean - wire)
        if abs(rate / rate_n_per_mm - 1.0) > _RATE_OFF or short - tension / rate > nil_mm:
            continue
        found.append(Wound(Coil(wire_mm=wire, mean_mm=round(mean, 3), turns=turns), rate,
                           short, tension, limit))
    return sorted(found, key=lambda one: (round(abs(one.rate_n_per_mm / rate_n_per_mm - 1.0),
                                                3), one.coil.mean_mm, one.coil.wire_mm))


def torsion_coils(rate_nmm_per_deg: float, most_nmm: float, bore_mm: float,
                  wires: Iterable[float]) -> list[tuple[Coil, float]]:
    """Torsion coils of about that rate that bear the torque and go over a rod of
    `bore_mm`, with their rates; the best rate first."""
    found = []
    for wire, mean in _sizes(wires):
        turns = round(4.0 * torsion_rate(wire, mean, 1.0) / rate_nmm_per_deg) / 4.0
        # A tenth of room: the coil narrows when it is wound up.
        if (not 2.0 <= turns <= 40.0 or torsion_limit(wire, mean) < most_nmm
                or mean - wire < 1.1 * bore_mm):
            continue
        rate = torsion_rate(wire, mean, turns)
        if abs(rate / rate_nmm_per_deg - 1.0) <= 2.0 * _RATE_OFF:
            found.append((Coil(wire_mm=wire, mean_mm=round(mean, 3), turns=turns), rate))
    return sorted(found, key=lambda one: (round(abs(one[1] / rate_nmm_per_deg - 1.0), 3),
                                          one[0].mean_mm, one[0].wire_mm))


def softest(wires: Iterable[float]) -> float:
    """The least rate, N/mm, that can be wound of these wires; 0 without any."""
    return min((extension_rate(wire, mean, _MOST_TURNS) for wire, mean in _sizes(wires)),
               default=0.0)


def _sizes(wires: Iterable[float]) -> Iterator[tuple[float, float]]:
    for wire in wires:
        for outside in OUTSIDES:
            if INDEX[0] <= (outside - wire) / wire <= INDEX[1]:
                yield wire, outside - wire
