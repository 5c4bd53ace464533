"""The walking leg the budgets are stated for: as a sketch, and solved without us.

Eleven lengths and two offsets of a published eight-link leg (three triangles of links on
one crank), read in several files; the closed form and the equations are written here by
hand so that there is something outside `core` to measure against.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import fsolve

from core.model import Bar, Drive, Part, Pin, Plate, Point, Sketch

Complexes = NDArray[np.complex128]

CRANK_MM = 15.0
PIVOT = complex(-38.0, -7.8)
#: From one known place to the next, mm.
THROW_TOP, PIVOT_TOP = 50.0, 41.5
THROW_KNEE, PIVOT_KNEE = 61.9, 39.3
PIVOT_TAIL, TOP_TAIL = 40.1, 55.8
TAIL_HEEL, KNEE_HEEL = 39.4, 36.7
HEEL_FOOT, KNEE_FOOT = 65.7, 49.0


def meet(a: Complexes, from_a: float, b: Complexes, from_b: float, side: int) -> Complexes:
    """Where circles about a and b cross, left (+1) or right (−1) of the way from a to b."""
    way = b - a
    square = way.real**2 + way.imag**2
    along = 0.5 + (from_a**2 - from_b**2) / (2 * square)
    across = np.sqrt(from_a**2 / square - along**2)
    return a + way * (along + side * 1j * across)


def by_hand(crank_rad: NDArray[np.float64]) -> tuple[Complexes, ...]:
    """Throw, top, knee, tail, heel and foot over the turn in closed form, complex mm (N,)."""
    throw = CRANK_MM * np.exp(1j * crank_rad)
    pivot = np.full_like(throw, PIVOT)
    top = meet(throw, THROW_TOP, pivot, PIVOT_TOP, -1)
    knee = meet(throw, THROW_KNEE, pivot, PIVOT_KNEE, 1)
    tail = meet(top, TOP_TAIL, pivot, PIVOT_TAIL, -1)
    heel = meet(tail, TAIL_HEEL, knee, KNEE_HEEL, -1)
    foot = meet(heel, HEEL_FOOT, knee, KNEE_FOOT, -1)
    return throw, top, knee, tail, heel, foot


def by_fsolve(crank_rad: NDArray[np.float64]) -> Complexes:
    """The foot over the turn by scipy's general solver, each step started from the last."""

    def errors(unknown: NDArray[np.float64], throw: complex) -> list[float]:
        top, knee, tail, heel, foot = unknown[0::2] + 1j * unknown[1::2]
        return [
            abs(top - throw) - THROW_TOP, abs(top - PIVOT) - PIVOT_TOP,
            abs(knee - throw) - THROW_KNEE, abs(knee - PIVOT) - PIVOT_KNEE,
            abs(tail - PIVOT) - PIVOT_TAIL, abs(tail - top) - TOP_TAIL,
            abs(heel - tail) - TAIL_HEEL, abs(heel - knee) - KNEE_HEEL,
            abs(foot - heel) - HEEL_FOOT, abs(foot - knee) - KNEE_FOOT,
        ]

    start = np.array([place[0] for place in by_hand(crank_rad[:1])[1:]])
    unknown = np.column_stack([start.real, start.imag]).ravel()
    feet = np.empty(len(crank_rad), dtype=np.complex128)
    for step, angle in enumerate(crank_rad):
        unknown = fsolve(errors, unknown, args=(cmath.rect(CRANK_MM, float(angle)),))
        feet[step] = complex(unknown[8], unknown[9])
    return feet


def walking_legs(count: int = 1) -> Sketch:
    """A sketch of so many legs on one crank, evenly spread in phase, each in layers of
    its own (all on one pair of pivots, as if seen along the shaft)."""
    drawn = [2 * math.pi * leg / count for leg in range(count)]
    frame = Part(id="frame", fixed=True, layer=0, thickness_mm=6.0,
                 points=(_point("shaft", 0j), _point("pivot", PIVOT)))
    throws = [_point(f"throw {leg}", cmath.rect(CRANK_MM, angle))
              for leg, angle in enumerate(drawn)]
    crank = Part(id="crank", layer=1, points=(_point("shaft", 0j), *throws))
    parts, pins = [frame, crank], [Pin(id="crankshaft", at=("frame.shaft", "crank.shaft"))]
    pivot = ["frame.pivot"]
    for leg, angle in enumerate(drawn):
        names = ("throw", "top", "knee", "tail", "heel", "foot")
        at = {name: complex(place[0]) for name, place in
              zip(names, by_hand(np.array([angle])), strict=True)} | {"pivot": PIVOT}
        layer = 2 + 4 * leg

        def link(name: str, ends: str, layer: int, at: dict[str, complex] = at,
                 leg: int = leg) -> Part:
            points = tuple(_point(end, at[end], trace=end == "foot") for end in ends.split())
            outline = Bar(width_mm=8.0) if len(points) == 2 else Plate(margin_mm=4.0)
            return Part(id=f"{name} {leg}", layer=layer, thickness_mm=4.0, outline=outline,
                        points=points)

        parts += [
            link("top link", "throw top", layer + 1),
            link("knee link", "throw knee", layer + 2),
            link("shoulder", "pivot top tail", layer),
            link("strut", "pivot knee", layer),
            link("tail link", "tail heel", layer + 1),
            link("shin", "knee heel foot", layer + 3),
        ]
        pivot += [f"shoulder {leg}.pivot", f"strut {leg}.pivot"]
        for joint, owners in (("top", "top link,shoulder"), ("tail", "shoulder,tail link"),
                              ("knee", "knee link,strut,shin"), ("heel", "tail link,shin")):
            pins.append(Pin(id=f"{joint} {leg}", diameter_mm=3.0,
                            at=tuple(f"{own} {leg}.{joint}" for own in owners.split(","))))
        pins.append(Pin(id=f"throw {leg}", diameter_mm=3.0, at=(
            f"crank.throw {leg}", f"top link {leg}.throw", f"knee link {leg}.throw")))
    pins.append(Pin(id="pivot", at=tuple(pivot)))
    return Sketch(title=f"{count} walking legs", parts=tuple(parts), pins=tuple(pins),
                  drive=Drive(pin="crankshaft", part="crank"))


def many_parts(count: int) -> Sketch:
    """A sketch of about so many parts for opening: legs on one crank."""
    return walking_legs(max(1, round((count - 2) / 6)))


def _point(name: str, at: complex, trace: bool = False) -> Point:
    return Point(id=name, x=at.real, y=at.imag, trace=trace)
