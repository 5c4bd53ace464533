"""Bores: the rod pressed into the wood, torn out to the edge, and the play in it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from core.making.strength.case import Case
from core.making.strength.check import Check, worst
from core.making.strength.edges import edge_distance
from core.making.strength.rod_checks import Strained
from core.materials import breaking_over, safety_number
from core.model import Part
from core.motion.turn import Complexes, Floats
from core.space.grain import grain_of

_JOHANSEN = "a stiff rod in wood that gives all along the bore (Johansen 1949)"
_TEAR = "textbook, two planes from the hole to the edge"


def bore_checks(case: Case, rod: Strained) -> Iterator[Check]:
    """Pressure and tear-out in every part on a rod."""
    of = rod.load.rod
    lone = len({of.stations[k].layer for k in of.supports}) == 1
    for k, station in enumerate(of.stations):
        part = case.part(station.part)
        material = case.material(part.material)
        size = rod.force[:, k]
        if not (np.nanmax(size, initial=0.0) > 0.0 and station.length_mm > 0.0
                and case.sound(part.id)):
            continue
        # The push on the part is against that on the rod.
        push = -case.drawn(part.id, rod.load.force_n @ rod.beam.share[:, k])
        angle = np.angle(push) - grain_of(part)
        thick, d = station.length_mm, of.diameter_mm
        couple = rod.couple if lone and k in of.supports else np.zeros_like(size)
        even = (2.0 * couple + np.sqrt(4.0 * couple**2 + (thick * size) ** 2)) / thick**2
        gives = breaking_over(material, "bearing", thick, angle, d)
        safe = safety_number(material.stuff)
        step, value, low, high = worst(even / d, gives)
        names, joints = of.parts, of.joints
        if step >= 0:
            yield Check(
                "bearing", f"Bore of {of.id} in {part.id}", (part.id, *(
                    name for name in names if name != part.id)), joints, value, (low, high),
                (safe.low, safe.high), "MPa", case.crank_rad(step),
                "(2 · couple + √(4 · couple² + (length · force)²)) / (length² · diameter):"
                " force and tilting couple on the length of the bore, against the strength"
                " at the angle of the force to the grain",
                f"{_JOHANSEN}; {gives.source}; {safe.source}", gives.trust, size_mm=d,
                # Across the grain thick rods are borne by less of their width.
                power=0.5 if d > 6.0 and material.stuff in ("wood", "plywood") else 1.0)
        yield from _torn(case, rod, part, push, size, angle)


def _torn(case: Case, rod: Strained, part: Part, push: Complexes, size: Floats,
          angle: Floats) -> Iterator[Check]:
    of, material = rod.load.rod, case.material(part.material)
    place = case.hole(of.joints, part.id)
    if place is None:
        return
    wood = edge_distance(part, place, push) - of.diameter_mm / 2
    if not np.nanmin(wood) > 0.0:
        return  # the hole breaks the edge: a finding of its own
    stress = size / (2.0 * part.thickness_mm * wood)
    gives = breaking_over(material, "shear", part.thickness_mm, angle)
    safe = safety_number(material.stuff)
    step, value, low, high = worst(stress, gives)
    if step >= 0:
        yield Check(
            "tear-out", f"Wood of {part.id} round {of.id}", (part.id,), of.joints, value,
            (low, high), (safe.low, safe.high), "MPa", case.crank_rad(step),
            "force / (2 · thickness · wood between hole and edge in the direction of the"
            " force)", f"{_TEAR}; {gives.source}; {safe.source}", gives.trust,
            size_mm=float(wood[step]))
