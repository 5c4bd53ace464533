"""How strength and stiffness fall with the angle between load and grain.

Angles are radians between the direction of the load and the grain, of any sign; arrays of
any shape are worked through at once.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HANKINSON = "Hankinson's formula"
SLOPES = "USDA Wood Handbook, bending strength by slope of grain"
NORRIS = "Norris's interaction formula for plywood at an angle to the face grain"

#: Slope of the grain (rise over run) and the share of bending strength left.
_SLOPE = np.array([0.0, 1 / 25, 1 / 20, 1 / 15, 1 / 10, 1 / 5])
_LEFT = np.array([1.0, 0.96, 0.93, 0.89, 0.81, 0.55])
_STEEPEST = math.atan(1 / 5)


def hankinson(along: Any, across: Any, angle_rad: Any, power: Any = 2.0) -> Floats:
    """Strength at an angle to the grain from the strengths along and across it.

    N = P Q / (P sinⁿθ + Q cosⁿθ), in the unit of `along` and `across`; arguments broadcast.
    Method: Hankinson 1921 for compression with n = 2; with n of 1.5 to 2 for tension and
    bending.
    """
    sine, cosine = np.abs(np.sin(angle_rad)), np.abs(np.cos(angle_rad))
    return np.asarray(along * across / (along * sine**power + across * cosine**power))


def bending_left(angle_rad: Any, across: float = 0.05) -> Floats:
    """Share of the bending (or tension) strength left where the grain runs at an angle to
    the length of a member of solid wood; 1 at no angle.

    Up to a slope of 1 in 5 the published table (1:25 96 %, 1:20 93 %, 1:15 89 %, 1:10 81 %,
    1:5 55 %, from memory), straight lines between its rows. Beyond it Hankinson's formula
    ending at `across`, the strength across the grain as a share of that along it, with the
    power that meets the table at 1:5.
    """
    turned = np.abs(np.arctan(np.tan(np.asarray(angle_rad, dtype=float))))
    sine, cosine = math.sin(_STEEPEST), math.cos(_STEEPEST)
    power = 2.0
    for _ in range(40):  # contracts quickly: cosⁿ hardly moves
        power = math.log(across * (1 / _LEFT[-1] - cosine**power)) / math.log(sine)
    steep = hankinson(1.0, across, np.maximum(turned, _STEEPEST), power)
    with np.errstate(over="ignore"):
        table = np.interp(np.tan(turned), _SLOPE, _LEFT)
    return np.asarray(np.where(turned <= _STEEPEST, table, steep))


def norris(along: Any, across: Any, shear: Any, angle_rad: Any) -> Floats:
    """Strength of plywood pulled or pressed in its plane at an angle to the face grain.

    1/f² = cos⁴θ/f₀² + sin⁴θ/f₉₀² + sin²θ cos²θ/fᵥ², all in one unit; arguments broadcast.
    Method: Norris 1950 (from memory): at 45° the panel's shear strength governs.
    """
    c2, s2 = np.cos(angle_rad) ** 2, np.sin(angle_rad) ** 2
    return np.asarray((c2**2 / along**2 + s2**2 / across**2 + c2 * s2 / shear**2) ** -0.5)


def ply_stretch(along: Any, across: Any, shear: Any, angle_rad: Any) -> Floats:
    """Elastic modulus of plywood in its plane at an angle to the face grain, in one unit.

    1/E = cos⁴θ/E₀ + sin⁴θ/E₉₀ + sin²θ cos²θ/G: theory of orthotropic plates with the
    cross contraction of plywood, which is small, taken as none.
    """
    c2, s2 = np.cos(angle_rad) ** 2, np.sin(angle_rad) ** 2
    return np.asarray(1.0 / (c2**2 / along + s2**2 / across + c2 * s2 / shear))
