"""Bores: the rod pressed into the wood, torn out to the edge, and the play in it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from core.making.strength.case import Case
from core.making.strength.check import Check, worst
from core.making.strength.edges import edge_distance
from core.making.strength.rod_checks import Strained
from core.materials import breaking_over, safety_number
from core.model import Part, Sketch
from core.motion.turn import Complexes, Floats
from core.space.grain import grain_of
from core.space.outlines import outline_of

_JOHANSEN = "a stiff rod in wood that gives all along the bore (Johansen 1949)"
_TEAR = "textbook, two planes from the hole to the edge"
#: What is usual on the diameter for a metal rod that turns in wood, mm.
USUAL_PLAY_MM = 0.15
_PLAY = "play of 0.10 to 0.25 mm is usual in plywood (common practice, no source)"


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
                f"{_JOHANSEN}; {gives.source}; {safe.source}", gives.trust, size_mm=d)
        yield from _torn(case, rod, part, push, size, angle)


def _torn(case: Case, rod: Strained, part: Part, push: Complexes, size: Floats,
          angle: Floats) -> Iterator[Check]:
    of, material = rod.load.rod, case.material(part.material)
    place = _place(case.sketch, of.joints, part.id)
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


def _place(sketch: Sketch, joints: tuple[str, ...], part: str) -> complex | None:
    """Where the rod goes through a part, drawn pose; None where it is not a plain hole."""
    for pin in sketch.pins:
        if pin.id in joints:
            for ref in pin.at:
                if ref.partition(".")[0] == part:
                    return sketch.place(ref)
    return None


def wag_checks(case: Case) -> Iterator[Check]:
    """How far the play of its bores lets a part wag towards its neighbours, out of its
    layer, at the place of its outline farthest from them.

    Play over length of the bore is the angle it can tilt by. A part on one rod tilts any
    way; one on several is held along the line of them, and tilts about it.
    """
    bores: dict[str, list[tuple[complex, float, float, str]]] = {}
    play = {pin.id: pin.clearance_mm for pin in case.sketch.pins}
    for rod in case.rods:
        given = [play[name] for name in rod.joints if play.get(name) is not None]
        for station in rod.stations:
            place = _place(case.sketch, rod.joints, station.part)
            if station.hold == "turns" and place is not None and station.length_mm > 0.0:
                clear = given[0] if given and given[0] is not None else USUAL_PLAY_MM
                bores.setdefault(station.part, []).append(
                    (place, clear / station.length_mm, station.length_mm, rod.id))
    for part_id, found in bores.items():
        part = case.part(part_id)
        if part.fixed or not case.sound(part_id):
            continue
        place, tilt, length, name = min(found, key=lambda one: one[1])
        rim = np.array(outline_of(part).exterior.coords) @ np.array([1.0, 1.0j]) - place
        others = [_place(case.sketch, rod.joints, part_id) for rod in case.rods
                  if part_id in rod.parts]
        spread = [other - place for other in others
                  if other is not None and abs(other - place) > 1e-6]
        if spread:
            along = max(spread, key=abs)
            rim = (rim * (along.conjugate() / abs(along))).imag + 0j
        far = float(np.abs(rim).max())
        wag = tilt * far
        gap = case.sketch.gap_mm
        known = any(play[pin] is not None for pin in play if pin == name)
        yield Check(
            "wag", f"{part_id} on {name}", (part_id,), (name,), wag, (gap, gap), (1.0, 1.0),
            "mm", float(case.turn.crank_rad[0]),
            f"play / length of the bore ({math.degrees(tilt):.2f}°) · distance to the farthest"
            f" place ({far:.0f} mm), against the gap wanted", "geometry" if known else _PLAY,
            "calculated" if known else "practice", size_mm=length, soft=True)
