"""Play in the bores: how far it lets parts wag out of their layer."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from core.making.rods import Rod
from core.making.strength.case import USUAL_PLAY, Case
from core.making.strength.check import Check
from core.space.outlines import outline_of
from core.units import show_length


@dataclass(frozen=True)
class _Held:
    """A bore that keeps a part upright: where it is, how far it lets it tilt (rad), over what
    length, on which rod, and whether its play is known."""

    place: complex
    tilt: float
    length_mm: float
    rod: str
    known: bool


def wag_checks(case: Case) -> Iterator[Check]:
    """How far the play of its bores lets each part wag towards its neighbours, at the place
    of its outline farthest from them.

    Play over length of the bore is the angle by which a part tilts on its rod, and a rod in
    its bearing with what is fast on it. A part on one rod tilts any way; one on several is
    held along the line of them and tilts about it. Washers and neighbours that hold it
    besides are left out.
    """
    for part_id, bores in _bores(case).items():
        if case.part(part_id).fixed or not case.sound(part_id):
            continue
        held = min(bores, key=lambda one: (round(one.tilt, 12), not one.known, one.rod))
        far = _farthest(case, part_id, held.place)
        gap = case.sketch.gap_mm
        yield Check(
            "wag", f"{part_id} on {held.rod}", (part_id,), (held.rod,), held.tilt * far,
            (gap, gap), (1.0, 1.0), "mm", float(case.turn.crank_rad[0]),
            f"play / length of the bore ({math.degrees(held.tilt):.2f}°) · distance to the"
            f" farthest place ({show_length(round(far), case.sketch.units)}), against the gap"
            " wanted",
            "geometry" if held.known else USUAL_PLAY,
            "calculated" if held.known else "practice", size_mm=held.length_mm,
            soft=True)


def _bores(case: Case) -> dict[str, list[_Held]]:
    """The bores that keep every part upright."""
    found: dict[str, list[_Held]] = {}
    for rod in case.rods:
        clear, known = case.play(rod)
        bearing = _bearing(rod)
        for station in rod.stations:
            length = bearing if station.held else station.length_mm
            place = case.hole(rod.joints, station.part)
            if place is not None and length is not None and length > 0.0:
                found.setdefault(station.part, []).append(
                    _Held(place, clear / length, length, rod.id, known))
    return found


def _bearing(rod: Rod) -> float | None:
    """The length over which a rod that turns in its supports is kept upright; None where it
    is fast in them."""
    supports = [rod.stations[k] for k in rod.supports]
    if any(station.held for station in supports):
        return None
    return max(s.to_mm for s in supports) - min(s.from_mm for s in supports)


def _farthest(case: Case, part_id: str, place: complex) -> float:
    """From a bore, or from the line through it and the next, to the farthest place of the
    outline, mm."""
    rim = np.array(outline_of(case.part(part_id)).exterior.coords) @ np.array([1.0, 1.0j])
    rim -= place
    others = [hole for rod in case.rods if part_id in rod.parts
              if (hole := case.hole(rod.joints, part_id)) is not None]
    along = max((other - place for other in others), key=abs, default=0j)
    if abs(along) > 1e-6:
        return float(np.abs((rim * (along.conjugate() / abs(along))).imag).max())
    return float(np.abs(rim).max())
