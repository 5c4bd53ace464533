"""Where a spring may be hooked in, and its length over the turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from core.errors import SketchError
from core.model import Part
from core.motion.turn import Complexes, Floats
from core.pleasant.ground import Ground, carried
from core.pleasant.options import SpringRules
from core.pleasant.places import bores_of
from core.space import outline_of

#: Wood round a hook's hole, mm; a grid of about so many places on a part and on the frame.
HOOK_MM = 4.0
ON_PART, ON_FRAME = 9, 24


@dataclass(frozen=True)
class Stretch:
    """Pairs of anchors, A of them: `a` on the part, `b` on the frame, complex mm, drawn
    pose; `length` and its derivative by the crank angle `slope`, (A, copies, N): one row for
    the part itself and for each mirror image."""

    part: str
    frame: tuple[str, ...]
    a: Complexes
    b: Complexes
    length: Floats
    slope: Floats

    @property
    def least(self) -> Floats:
        """(A,) the shortest length, mm."""
        least: Floats = self.length.min(axis=(1, 2))
        return least

    @property
    def most(self) -> Floats:
        """(A,) the longest length, mm."""
        most: Floats = self.length.max(axis=(1, 2))
        return most


def spots_on(ground: Ground, part: Part, about: int) -> Complexes:
    """About so many places of a part with wood all round for a hook, complex mm."""
    try:
        wood = outline_of(part)
    except SketchError:
        return np.zeros(0, dtype=np.complex128)
    safe = wood.buffer(-HOOK_MM)
    for bore in bores_of(ground.sketch, part):
        safe = safe.difference(bore.buffer(HOOK_MM))
    if safe.is_empty:
        return np.zeros(0, dtype=np.complex128)
    x0, y0, x1, y1 = safe.bounds
    pitch = max(math.sqrt(safe.area / about), 1.0)
    x, y = np.meshgrid(np.arange(x0, x1 + pitch / 2, pitch), np.arange(y0, y1 + pitch / 2,
                                                                       pitch))
    grid: Complexes = (x + 1j * y).ravel()
    every = max(1, int(shapely.get_num_coordinates(safe)) // about)
    rim = shapely.get_coordinates(safe)[::every]
    grid = np.concatenate([grid, rim[:, 0] + 1j * rim[:, 1]])
    near = shapely.dwithin(safe, shapely.points(grid.real, grid.imag), 1e-6)
    return np.asarray(grid[near], dtype=np.complex128)


def frame_spots(ground: Ground, rules: SpringRules) -> list[tuple[str, complex]]:
    """Places on the frame where a spring may be hooked in, with their parts."""
    fixed = [part for part in ground.sketch.parts if part.fixed]
    found: list[tuple[str, complex]] = []
    for part in fixed:
        if rules.box is None:
            found += [(part.id, complex(z)) for z in spots_on(ground, part, ON_FRAME)]
    if rules.box is not None and fixed:
        x0, y0, x1, y1 = rules.box
        x, y = np.meshgrid(np.linspace(x0, x1, 6), np.linspace(y0, y1, 6))
        found = [(fixed[0].id, complex(z)) for z in (x + 1j * y).ravel()]
    return found


def may_hook(ground: Ground, part_id: str, place: complex, rules: SpringRules) -> bool:
    """Whether a hook may go through a part there: wood all round, or in the user's box."""
    part = ground.sketch.part(part_id)
    if part.fixed and rules.box is not None:
        x0, y0, x1, y1 = rules.box
        return x0 <= place.real <= x1 and y0 <= place.imag <= y1
    at = shapely.Point(place.real, place.imag)
    try:
        wood = outline_of(part)
    except SketchError:
        return False
    return bool(wood.contains(at) and wood.boundary.distance(at) >= HOOK_MM - 1e-6
                and all(bore.distance(at) >= HOOK_MM - 1e-6
                        for bore in bores_of(ground.sketch, part)))


def stretch(ground: Ground, part_id: str, a: Complexes, frame: Sequence[str],
            b: Complexes) -> Stretch:
    """Lengths of springs from places `a` (A,) of a part to places `b` (A,) of fixed parts
    `frame`, and of their mirror images."""
    lengths, slopes = [], []
    for name, carry in ground.images(part_id):
        at = np.array([carried(carry, complex(z)) for z in a])
        hook = np.array([carried(carry, complex(z)) for z in b])
        place, rate = ground.places(name, 0j)
        beside, swing = ground.places(name, 1.0 + 0j)
        turned, turning = beside - place, swing - rate
        apart = at[:, None] * turned + place - hook[:, None]
        long = np.abs(apart)
        moved = at[:, None] * turning + rate
        lengths.append(long)
        slopes.append((apart.conj() * moved).real / np.maximum(long, 1e-12))
    return Stretch(part_id, tuple(frame), np.asarray(a), np.asarray(b),
                   np.stack(lengths, axis=1), np.stack(slopes, axis=1))


def unit_lanes(ground: Ground, found: Stretch, nil_mm: Floats,
               free_mm: Floats | None = None) -> Floats:
    """(A, N) N·mm torque of springs of 1 N/mm whose pull would be nothing at length
    `nil_mm` (A,), slack below `free_mm` (A,): T = pull · dL/dφ (virtual power)."""
    pull = found.length - nil_mm[:, None, None]
    free = nil_mm if free_mm is None else free_mm
    pull = np.where(found.length > free[:, None, None], pull, 0.0)
    lanes: Floats = ground.sense * (pull * found.slope).sum(axis=1)
    return lanes
