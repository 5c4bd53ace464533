"""A proposal as its thumbnail needs it: where everything is at every step of the turn."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app import engine
from core.errors import CrankwrightError
from core.model import Part, Sketch, WantedPath, WantedPose, part_of, split_ref

#: Steps of one crank turn; more than the frames of one turn on the screen.
STEPS = 120
_FEW_MM = 1.0


@dataclass(frozen=True)
class Link:
    """A moving part: its corners are columns `at` of the places; `wheel_mm` is the radius
    of a wheel on it about the first corner, 0 without. `asked` counts the parts of which an
    angle, swing, rest or ratio is wished, from 1 in the order of the wishes; 0 for others."""

    part: str
    layer: int
    at: tuple[int, ...]
    wheel_mm: float = 0.0
    asked: int = 0


@dataclass(frozen=True)
class Moving:
    """A mechanism over its cycle, crank readings rising from `start_rad`.

    Attributes
    ----------
    places : (N, K) complex mm, every corner of every link at every step.
    links : the moving parts, lowest layer first.
    grounds : (G,) complex mm, fixed pivots.
    tracks : lines things slide on, pairs of ends, complex mm.
    paths : traced points that are wished something of, (N,) complex mm each.
    wished : wished paths as polylines, complex mm, closed ones back to their start.
    flags : places and directions of wished poses, (complex mm, rad).
    low, high : corners of the box everything moves in, complex mm.
    turns, start_rad : crank turns of the cycle, and the reading at its first step.
    """

    places: NDArray[np.complex128]
    links: tuple[Link, ...]
    grounds: NDArray[np.complex128]
    tracks: tuple[tuple[complex, complex], ...]
    paths: tuple[NDArray[np.complex128], ...]
    wished: tuple[NDArray[np.complex128], ...]
    flags: tuple[tuple[complex, float], ...]
    low: complex
    high: complex
    turns: int
    start_rad: float

    def step(self, crank_rad: float) -> int:
        """The step nearest to a reading of the crank."""
        share = (crank_rad - self.start_rad) / (2 * math.pi * self.turns)
        return round(share * len(self.places)) % len(self.places)


def moving(sketch: Sketch) -> Moving | None:
    """The sketch's motion for a thumbnail; None when it does not turn."""
    try:
        turn = engine.coarse_turn(sketch, STEPS)
    except CrankwrightError:
        return None
    if not turn.reached.all():
        return None
    columns: list[NDArray[np.complex128]] = []
    links = []
    wheels, asked = _wheels(sketch), _asked_parts(sketch)
    for part in sorted((p for p in sketch.parts if not p.fixed),
                       key=lambda p: sketch.layer_of(p.id)):
        drawn = np.array([point.place for point in part.points])
        if not len(drawn):
            continue
        places = turn.place(part.id, drawn)
        first = len(columns)
        columns += list(places.T)
        hub, radius = wheels.get(part.id, ("", 0.0))
        links.append(Link(part.id, sketch.layer_of(part.id),
                          tuple(first + k for k in _round(part, hub)), radius,
                          asked.index(part.id) + 1 if part.id in asked else 0))
    grounds = np.array([sketch.place(ref) for pin in sketch.pins for ref in pin.at
                        if sketch.part(part_of(ref)).fixed], np.complex128)
    tracks = tuple((sketch.place(slide.along[0]), sketch.place(slide.along[1]))
                   for slide in sketch.slides if sketch.part(part_of(slide.along[0])).fixed)
    paths = tuple(turn.place(part_of(ref), sketch.place(ref)) for ref in _wished_points(sketch))
    wished = tuple(engine.wished_line(wish) for wish in sketch.wanted
                   if isinstance(wish, WantedPath))
    flags = tuple((complex(wish.x, wish.y), math.radians(wish.angle_deg))
                  for wish in sketch.wanted if isinstance(wish, WantedPose))
    places = np.stack(columns, axis=1) if columns else np.zeros((1, 0), np.complex128)
    rims = [np.add.outer(places[:, link.at[0]], link.wheel_mm * np.array([1 + 1j, -1 - 1j]))
            for link in links if link.wheel_mm]
    everything = np.concatenate([places.ravel(), grounds, *paths, *wished,
                                 *(rim.ravel() for rim in rims),
                                 [place for place, _ in flags],
                                 [end for ends in tracks for end in ends]])
    low = complex(everything.real.min(), everything.imag.min())
    high = complex(everything.real.max(), everything.imag.max())
    few = complex(_FEW_MM, _FEW_MM)
    return Moving(places, tuple(links), grounds, tracks, paths, wished, flags, low - few,
                  high + few, turn.crank_turns, float(turn.crank_rad[0]))


def _round(part: Part, hub: str) -> list[int]:
    """The points of a part as corners in order round their middle, `hub` first."""
    places = [point.place for point in part.points]
    middle = sum(places) / len(places)
    order = sorted(range(len(places)), key=lambda k: (places[k] - middle == 0,
                                                      cmath.phase(places[k] - middle)))
    start = next((at for at, k in enumerate(order) if part.points[k].id == hub), 0)
    return order[start:] + order[:start]


def _wheels(sketch: Sketch) -> dict[str, tuple[str, float]]:
    """Part → name of the point in the middle of its wheel, and the wheel's radius, mm."""
    found = {}
    for mesh in sketch.meshes:
        radii = mesh.pitch_radii(abs(sketch.place(mesh.a) - sketch.place(mesh.b)))
        for ref, radius in zip((mesh.a, mesh.b), radii, strict=True):
            part, point = split_ref(ref)
            found[part] = (point, radius)
    for belt in sketch.belts:
        for ref, diameter in ((belt.a, belt.diameter_a_mm), (belt.b, belt.diameter_b_mm)):
            part, point = split_ref(ref)
            found[part] = (point, diameter / 2)
    return found


def _asked_parts(sketch: Sketch) -> list[str]:
    parts = [getattr(wish, "part", "") for wish in sketch.wanted]
    return list(dict.fromkeys(part for part in parts if part))


def _wished_points(sketch: Sketch) -> list[str]:
    refs = [getattr(wish, "point", "") or getattr(wish, "at", "") for wish in sketch.wanted]
    return list(dict.fromkeys(ref for ref in refs if ref))
