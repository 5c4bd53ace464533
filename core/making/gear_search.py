"""The smallest pair of gears that gives a ratio and can be made."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.errors import SketchError
from core.making.gear_cutting import CLEARANCE, cut_roots_mm, fillet_bit_mm, flank_bit_mm
from core.making.gear_involute import (
    centre_distance,
    contact_path,
    inverse_involute,
    involute,
    reach,
    thickness,
)
from core.making.gears import LEAST_CONTACT, LEAST_TIP_LAND, MODULES, Gear, GearPair

Floats = NDArray[np.float64]

#: Fewest teeth looked at: with fewer, a tooth that is not undercut comes to a point.
FEWEST_TEETH = 7
_MOST_TEETH = 400


@dataclass(frozen=True)
class FoundPair:
    """A pair that can be made. `roots_mm`: how deep each gear's spaces must be cut with the
    bit given, as radii; the standard's without one. `fillet`: whether the bit leaves the
    standard's fillet too."""

    pair: GearPair
    roots_mm: tuple[float, float]
    fillet: bool

    @property
    def largest_mm(self) -> float:
        """Diameter over the tips of the larger gear."""
        return 2 * max(self.pair.a.tip_mm, self.pair.b.tip_mm)


def smallest_pairs(
    ratio: float, largest_mm: float, *, most: float | None = None,
    modules: Sequence[float] = MODULES, bit_mm: float | None = None,
    pressure_angle_deg: float = 20.0, least_contact: float = LEAST_CONTACT,
    shifted: bool = True, least_land: float = LEAST_TIP_LAND, play_mm: float = 0.0,
    top: int = 1,
) -> tuple[FoundPair, ...]:
    """Pairs of gears in which `a` turns `ratio` to `most` times (None: a quarter more) for one
    turn of `b`, smallest first: by the larger diameter over the tips, then by the distance of
    the centres, then by how near the ratio is to the least asked for.

    None of them is undercut, interferes, is pointed (tips at least `least_land` modules wide),
    has a contact ratio below `least_contact` at the centre distance that leaves `play_mm`, or
    a diameter above `largest_mm`. With `shifted`, few teeth are shifted outwards by what
    avoids undercut, and their mates inwards by as much as they can. With `bit_mm`, only pairs
    a round bit of that diameter can cut (see :mod:`core.making.gear_cutting`).

    Returns
    -------
    At most `top` pairs; none when there is none.

    Raises
    ------
    SketchError
        When what is asked for is no positive number.
    """
    most = 1.25 * ratio if most is None else most
    if not (0 < ratio <= most < math.inf and 0 < largest_mm < math.inf and play_mm >= 0):
        raise SketchError("a gear pair needs a ratio and a largest diameter above 0", "ratio",
                          "give both as positive numbers, the least ratio first")
    if not all(0 < m < math.inf for m in modules):
        raise SketchError("a module must be above 0", "modules", "give millimetres")
    found = []
    for pair in _good(ratio, most, largest_mm, np.array(sorted(modules)), bit_mm,
                      math.radians(pressure_angle_deg), least_contact, shifted, least_land,
                      play_mm):
        roots = (pair.a.root_mm, pair.b.root_mm) if bit_mm is None else cut_roots_mm(
            pair, bit_mm)
        if roots is not None:
            found.append(FoundPair(pair, roots, bit_mm is not None
                                   and bit_mm <= fillet_bit_mm(pair.a.module_mm) + 1e-9))
        if len(found) >= top:
            break
    return tuple(found)


def smallest_pair(
    ratio: float, largest_mm: float, *, most: float | None = None,
    modules: Sequence[float] = MODULES, bit_mm: float | None = None,
) -> FoundPair | None:
    """The first of :func:`smallest_pairs`, or None."""
    return next(iter(smallest_pairs(ratio, largest_mm, most=most, modules=modules,
                                    bit_mm=bit_mm)), None)


def _good(
    ratio: float, most: float, largest_mm: float, modules: Floats, bit_mm: float | None,
    angle: float, least_contact: float, shifted: bool, least_land: float, play: float,
) -> Iterator[GearPair]:
    """Pairs that meet all that formulas tell, smallest first."""
    za, zb, m = _candidates(ratio, most, largest_mm, modules)
    under = [1 - z * math.sin(angle) ** 2 / 2 for z in (za, zb)]
    xa, xb = (np.maximum(own, -np.maximum(other, 0.0)) if shifted else np.zeros_like(own)
              for own, other in (under, under[::-1]))
    working = inverse_involute(involute(angle) + 2 * (xa + xb) * math.tan(angle) / (za + zb))
    for _ in range(4 if play else 0):  # j = 2a' (inv α' − inv α'₀), see centre_for_play
        centre = centre_distance(za + zb, m, angle, working)
        working = inverse_involute(involute(angle) + 2 * (xa + xb) * math.tan(angle)
                                   / (za + zb) + play / (2 * centre))
    centre = centre_distance(za + zb, m, angle, working)
    line = centre * np.sin(working)
    tips, bases, reaches = [], [], []
    good = np.isfinite(centre)
    for z, x, lowest in ((za, xa, under[0]), (zb, xb, under[1])):
        tips.append(m * (z / 2 + 1 + x))
        bases.append(m * z * math.cos(angle) / 2)
        reaches.append(reach(tips[-1], bases[-1]))
        good &= (x >= lowest - 1e-12) & (reaches[-1] <= line + 1e-12 * m)
        good &= thickness(z, m, angle, x, tips[-1]) >= least_land * m - 1e-12
    for z, x, tip in ((za, xa, tips[1]), (zb, xb, tips[0])):
        good &= centre - tip - m * (z / 2 - 1.25 + x) >= CLEARANCE * m
    path = contact_path(tips[0], bases[0], tips[1], bases[1], centre, working)
    good &= path / (np.pi * m * math.cos(angle)) >= least_contact
    size = 2 * np.maximum(tips[0], tips[1])
    good &= size <= largest_mm + 1e-9
    if bit_mm is not None:
        for z, x, base, mate in zip((za, zb), (xa, xb), bases, reaches[::-1], strict=True):
            lowest = np.hypot(base, np.maximum(line - mate, 0.0))
            good &= flank_bit_mm(z, m, angle, x, lowest) >= bit_mm
    at = np.flatnonzero(good)
    at = at[np.lexsort((zb[at] / za[at], np.round(centre[at], 9), np.round(size[at], 9)))]
    deg = math.degrees(angle)
    for k in at:
        yield GearPair(Gear(int(za[k]), float(m[k]), deg, float(xa[k])),
                       Gear(int(zb[k]), float(m[k]), deg, float(xb[k])),
                       float(centre[k]) if play else None)


def _candidates(
    ratio: float, most: float, largest_mm: float, modules: Floats
) -> tuple[Floats, Floats, Floats]:
    """Teeth of a, of b, and modules, (n,) each, of pairs in the range of ratios and sizes."""
    columns = []
    for m in modules:
        highest = min(int(largest_mm / m) + 1, _MOST_TEETH)
        teeth = np.arange(FEWEST_TEETH, highest + 1, dtype=float)
        share = teeth / teeth[:, None]
        a, b = np.nonzero((share >= ratio * (1 - 1e-12)) & (share <= most * (1 + 1e-12)))
        columns.append((teeth[a], teeth[b], np.full(a.size, m)))
    za, zb, m = (np.concatenate(column) for column in zip(*columns, strict=True))
    return za, zb, m
