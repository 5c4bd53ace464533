"""What a round bit leaves of the spaces between gear teeth.

A bit of radius ρ leaves no inside corner tighter than ρ. A space is *cut* by it when the bit
forms both flanks down to where the mate uses them and the mate's tips go through what is left
without touching; for that the root may have to lie deeper than the standard's. Worked out by
the founders from the geometry of the involute; no source.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray
from shapely import Polygon, contains_xy

from core.making.gear_involute import pressure_at, thickness
from core.making.gears import FILLET, Gear, GearPair

Floats = NDArray[np.float64]

#: How much deeper than the standard root is tried, modules.
_DEEPER = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8)
#: Least clearance of the mate's tip over the middle of the root, modules; common practice,
#: no source (the standard's is 0.25).
CLEARANCE = 0.1
#: Sides of a polygon in place of curves: as much may a tip seem to enter, modules.
_ROUGH = 0.004


def fillet_bit_mm(module_mm: float) -> float:
    """Diameter of the largest bit that leaves the standard's fillet, 2 · 0.38 m."""
    return 2 * FILLET * module_mm


def entry_bit_mm(gear: Gear) -> float:
    """Diameter of the largest bit that gets down to the base circle (or the root, where that
    lies outside it): the straight width of the space there, mm; 0 where there is none."""
    radius = max(gear.base_mm, gear.root_mm)
    space = 2 * math.pi * radius / gear.teeth - gear.thickness_mm(radius)
    return 2 * radius * math.sin(max(space, 0.0) / (2 * radius))


def flank_bit_mm(
    teeth: ArrayLike, module_mm: ArrayLike, angle_rad: ArrayLike, shift: ArrayLike,
    radius_mm: ArrayLike,
) -> Floats:
    """Diameter, mm, of the bit that touches both flanks of a space at a radius at once: a
    larger one cannot form them so far down. Arrays broadcast; NaN where the flanks have met.

    The normal of an involute touches its base circle. With η half the space's angle at the
    base circle and t = tan α there, the bit's middle lies r_b / cos (η + t) from the gear's
    and its radius is r_b (tan (η + t) − t).
    """
    base = np.asarray(module_mm) * np.asarray(teeth, dtype=float) * np.cos(angle_rad) / 2
    angle = pressure_at(base, np.maximum(radius_mm, base))
    half = np.pi / np.asarray(teeth, dtype=float) - (
        thickness(teeth, module_mm, angle_rad, shift, base) / (2 * base))
    roll = np.tan(angle)
    swing = half + roll
    good = (half > 0) & (swing < np.pi / 2)
    return np.asarray(np.where(good, 2 * base * (np.tan(np.where(good, swing, 0.0)) - roll),
                               np.nan))


def cut_roots_mm(pair: GearPair, bit_mm: float) -> tuple[float, float] | None:
    """Radii of the roots, mm, to which this bit must cut the spaces of both gears, so that
    the pair runs; None when it cannot. The standard's roots where those will do."""
    one = _cut_root(pair, bit_mm)
    other = _cut_root(GearPair(pair.b, pair.a, pair.centre_mm), bit_mm)
    return None if one is None or other is None else (one, other)


def _cut_root(pair: GearPair, bit_mm: float) -> float | None:
    gear = pair.a
    widest = float(flank_bit_mm(gear.teeth, gear.module_mm, gear.angle_rad, gear.shift,
                                pair.lowest_mm[0]))
    # Thinner teeth leave wider spaces; the flanks stand apart by what was taken off.
    if not bit_mm <= widest + gear.thinned_mm:
        return None
    path = _tip_path(pair)
    for deeper in _DEEPER:
        root = gear.root_mm - deeper * gear.module_mm
        if root <= gear.pitch_mm / 4:
            return None
        cleared = _space(gear, root).buffer(-bit_mm / 2, quad_segs=24).buffer(
            bit_mm / 2 + _ROUGH * gear.module_mm, quad_segs=24)
        if not cleared.is_empty and bool(contains_xy(cleared, path.real, path.imag).all()):
            return root
    return None


def _space(gear: Gear, root_mm: float) -> Polygon:
    """The space between two teeth, its middle along +x, from the root out past the tips:
    involutes down to the base circle, radial lines below."""
    radii = np.linspace(max(gear.base_mm, root_mm), gear.tip_mm, 40)
    angle = np.pi / gear.teeth - np.array([gear.thickness_mm(r) / (2 * r) for r in radii])
    flank = radii * np.exp(1j * angle)
    # Straight on past the tip, along the flank: there the bit comes in, and a corner would be
    # in its way.
    slope = angle[-1] + float(pressure_at(gear.base_mm, gear.tip_mm))
    end = flank[-1] + 9 * gear.module_mm * np.exp(1j * slope)
    side = np.concatenate(([root_mm * np.exp(1j * angle[0])], flank, [end]))
    floor = root_mm * np.exp(1j * np.linspace(-angle[0], angle[0], 12))
    around = np.concatenate((floor, side, side[::-1].conj()))
    return Polygon(np.column_stack([around.real, around.imag]))


def _tip_path(pair: GearPair) -> NDArray[np.complex128]:
    """Places, mm, complex, that must be free for the tips of `b` in a space of `a` whose middle
    lies along +x, `a` at rest about 0: both corners of a tip as it passes through, and below
    the middle of the tip at its deepest the clearance."""
    a, b = pair.a, pair.b
    half = max(b.tip_land_mm, 0.0) / (2 * b.tip_mm)
    one, two = pair.working_mm
    roll = np.linspace(-1.2, 1.2, 241) * min(math.pi / 2, 2.5 * math.pi / b.teeth)
    corner = pair.centre_mm - b.tip_mm * np.exp(1j * (roll - half))
    # b turned by `roll`, so a by −roll·r_b/r_a; seen from a, everything turns back.
    seen = corner * np.exp(1j * roll * two / one)
    near = seen[np.abs(seen) < a.tip_mm]
    deepest = pair.centre_mm - b.tip_mm - CLEARANCE * a.module_mm
    return np.asarray(np.concatenate((near, near.conj(), [deepest + 0j])))
