"""The involute of a circle, and the formulas of spur gears on arrays.

Lengths in mm, angles in rad, `shift`, `addendum`, `dedendum` in modules. Every argument may be
a number or an array, and they broadcast. Formulas are those of ISO 21771 (cylindrical involute
gears); equations (77) and (90), path of contact and contact ratio, as quoted in a code excerpt,
the others from memory and checked in ``tests/outside`` against worked examples.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def involute(angle_rad: ArrayLike) -> Floats:
    """inv α = tan α − α, rad, of pressure angles in (−π/2, π/2)."""
    angle = np.asarray(angle_rad, dtype=float)
    return np.asarray(np.tan(angle) - angle)


def inverse_involute(value: ArrayLike) -> Floats:
    """The pressure angle, rad in [0, π/2), whose involute function is `value` ≥ 0; NaN for
    negative values.

    Newton's method on tan α − α − value, whose start lies on the side from which it can only
    come nearer, so it converges for every value.
    """
    wanted = np.asarray(value, dtype=float)
    good = np.where(wanted >= 0, wanted, np.nan)
    # α³/3 < inv α: the cube root is an upper bound; for large values atan(v + π/2) is too,
    # and tan α − α is convex, so Newton goes down to the root from above and never past it.
    angle = np.minimum(np.cbrt(3 * good), np.arctan(good + np.pi / 2))
    for _ in range(50):
        slope = np.tan(angle) ** 2
        step = np.where(slope > 0, (involute(angle) - good) / np.where(slope > 0, slope, 1), 0)
        angle = angle - step
        if not np.any(np.abs(step) > 1e-15):
            break
    return np.asarray(np.maximum(angle, 0.0))


def pressure_at(base_mm: ArrayLike, radius_mm: ArrayLike) -> Floats:
    """Pressure angle, rad, where an involute of the base circle crosses a circle; 0 within
    the base circle, where there is no involute."""
    return np.asarray(np.arccos(np.minimum(np.divide(base_mm, radius_mm), 1.0)))


def thickness(
    teeth: ArrayLike, module_mm: ArrayLike, angle_rad: ArrayLike, shift: ArrayLike,
    radius_mm: ArrayLike,
) -> Floats:
    """Thickness of a tooth, mm, along the arc of a circle about the gear's centre.

    s(r) = 2r [(π/2 + 2x tan α)/z + inv α − inv α_r], cos α_r = r_b / r. Within the base
    circle the flank is taken as a radial line. Negative beyond where the flanks meet.
    """
    teeth, radius = np.asarray(teeth, dtype=float), np.asarray(radius_mm, dtype=float)
    base = np.asarray(module_mm) * teeth * np.cos(angle_rad) / 2
    half = (np.pi / 2 + 2 * np.asarray(shift) * np.tan(angle_rad)) / teeth
    return np.asarray(2 * radius * (half + involute(angle_rad)
                                    - involute(pressure_at(base, radius))))


def working_angle(
    teeth: ArrayLike, shifts: ArrayLike, angle_rad: ArrayLike
) -> Floats:
    """Working pressure angle, rad, of a pair without backlash, from the sums of teeth and of
    shifts: inv α' = inv α + 2 (x₁ + x₂) tan α / (z₁ + z₂). NaN where no centre is close
    enough (shifts far below zero)."""
    return inverse_involute(involute(angle_rad) + 2 * np.asarray(shifts) * np.tan(angle_rad)
                            / np.asarray(teeth, dtype=float))


def centre_distance(
    teeth: ArrayLike, module_mm: ArrayLike, angle_rad: ArrayLike, working_rad: ArrayLike
) -> Floats:
    """Distance of the centres, mm, at a working pressure angle:
    a' = m (z₁ + z₂)/2 · cos α / cos α'."""
    return np.asarray(np.asarray(module_mm) * np.asarray(teeth, dtype=float) / 2
                      * np.cos(angle_rad) / np.cos(working_rad))


def contact_path(
    tip_a_mm: ArrayLike, base_a_mm: ArrayLike, tip_b_mm: ArrayLike, base_b_mm: ArrayLike,
    centre_mm: ArrayLike, working_rad: ArrayLike,
) -> Floats:
    """Length of the path of contact, mm: from where the tip of one wheel meets the line of
    action to where the other's does; ISO 21771 (77)."""
    return np.asarray(reach(tip_a_mm, base_a_mm) + reach(tip_b_mm, base_b_mm)
                      - np.asarray(centre_mm) * np.sin(working_rad))


def reach(tip_mm: ArrayLike, base_mm: ArrayLike) -> Floats:
    """How far along the line of action, mm from where that touches the base circle, a tip
    reaches: √(r_a² − r_b²); 0 for a tip within the base circle."""
    gap = np.square(np.asarray(tip_mm, dtype=float)) - np.square(np.asarray(base_mm))
    return np.asarray(np.sqrt(np.maximum(gap, 0.0)))
