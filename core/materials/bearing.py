"""How hard a rod may push on the side of its hole."""

from __future__ import annotations

import math

import numpy as np

from core.materials.angles import HANKINSON, Floats, hankinson
from core.materials.estimates import figure_of, specific_gravity
from core.materials.figure import Material, Trust, joined, weakest
from core.units import MM_PER_INCH, MPA_PER_PSI

_NDS = "dowel bearing strength of the National Design Specification for wood"
#: What the design specification assumes of plywood.
_PLY_GRAVITY = 0.50
#: Give of a hole in metal or plastic beyond the yield or breaking stress, a rule of thumb.
_SNUG = (1.0, 1.5)


def bearing_over(
    material: Material, diameter_mm: float, angle_rad: Floats
) -> tuple[Floats, Floats, str, Trust]:
    """Low and high end of the pressure, MPa, force over diameter × thickness, at which a
    hole gives under a rod; source and trust.

    `angle_rad`: between the push and the grain, any shape. Wood, rods of 1/4 inch and
    more: 11 200 G along and 6 100 G^1.45/√D across the grain (psi, D in inches), Hankinson's
    formula between; thinner rods: 16 600 G^1.84 in all directions. Plywood: as wood, of a
    specific gravity between the 0.50 the specification takes and its own, the same in all
    directions. Boards have no published figure that was read: internal layers are crushed
    at about the bending strength, a rule of thumb. Metals and plastics: 1 to 1.5 times what
    they bear in tension. Wood values are at an offset of 5 % of the diameter, not working
    values.
    """
    ones = np.ones_like(angle_rad)
    if material.stuff not in ("wood", "plywood"):
        name = {"metal": "yield_mpa", "plastic": "tensile_mpa"}.get(material.stuff,
                                                                     "bending_mpa")
        found = figure_of(material, name)
        low, high = (0.6, 1.0) if material.stuff == "board" else _SNUG
        return (low * found.low * ones, high * found.high * ones,
                joined(found.source, f"{low:g} to {high:g} times that in a hole"), "practice")
    gravity = specific_gravity(material)
    if material.stuff == "plywood":
        spread = sorted((_PLY_GRAVITY, gravity.middle))
        low, high = (_any_way(g, diameter_mm) for g in spread)
        return low * ones, high * ones, _NDS, weakest("read", gravity.trust)
    if diameter_mm < 0.25 * MM_PER_INCH - 1e-9:
        value = _any_way(gravity.middle, diameter_mm) * ones
        return value, value, _NDS, gravity.trust
    along = 11_200 * gravity.middle * MPA_PER_PSI
    across = 6_100 * gravity.middle**1.45 / math.sqrt(diameter_mm / MM_PER_INCH) * MPA_PER_PSI
    value = hankinson(along, across, angle_rad)
    return value, value, joined(_NDS, HANKINSON), gravity.trust


def _any_way(gravity: float, diameter_mm: float) -> float:
    """Bearing strength, MPa, where direction does not matter: of a thin rod, and of any rod
    in plywood, where the thick rod's strength across the grain is the least there is."""
    thin = 16_600 * math.pow(gravity, 1.84) * MPA_PER_PSI
    if diameter_mm < 0.25 * MM_PER_INCH - 1e-9:
        return thin
    thick = 6_100 * math.pow(gravity, 1.45) / math.sqrt(diameter_mm / MM_PER_INCH)
    return min(thin, thick * MPA_PER_PSI)
