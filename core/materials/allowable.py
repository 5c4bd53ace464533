"""What a material bears: where it breaks or yields, and what may be built on.

`breaking` is the stress at which it gives way, as published; `allowable` is that divided by
the safety number of the kind of material. Whoever shows a safety divides `breaking` by the
stress there is; whoever needs a limit compares with `allowable`. Never divide twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from core.materials.angles import Floats
from core.materials.bearing import bearing_over
from core.materials.figure import Figure, Material, Stuff, Trust
from core.materials.giving import GIVING

#: "bending", "tension", "compression": in the plane of the sheet, at an angle to the grain
#: (of plywood: the face grain). "bending-flat": out of its plane. "shear": sliding in the
#: plane of the sheet in a direction at an angle to the grain, as where a rod tears out to
#: the edge; "panel-shear": the sheet sheared as a web; "rolling-shear": layers or fibres
#: rolling over each other. "bearing": a rod in a hole, pushing at an angle to the grain.
#: "elastic", "elastic-flat", "shear-modulus": moduli in MPa, in the plane and out of it.
Kind = Literal["bending", "tension", "compression", "bending-flat", "shear", "panel-shear",
               "rolling-shear", "bearing", "elastic", "elastic-flat", "shear-modulus"]
KINDS: tuple[Kind, ...] = get_args(Kind)
MODULI = ("elastic", "elastic-flat", "shear-modulus")

_SAFETY: dict[Stuff, tuple[float, float, str]] = {
    "wood": (3.0, 4.0, "strengths of wood are means of small clear pieces"),
    "plywood": (2.0, 3.0, "strengths of plywood are such as 95 of 100 sheets reach"),
    "board": (3.0, 4.0, "boards creep and vary"),
    "plastic": (3.0, 4.0, "plastics creep, and break at notches"),
    "metal": (1.5, 2.0, "against yielding"),
}


@dataclass(frozen=True)
class Figures:
    """A figure at many angles: `low` and `high` have the shape of the angles."""

    low: Floats
    high: Floats
    source: str
    trust: Trust

    def divided(self, number: Figure) -> Figures:
        """The range divided by the range of a safety number."""
        return Figures(self.low / number.high, self.high / number.low,
                       f"{self.source}; divided by {number.low:g} to {number.high:g},"
                       f" {number.source}", self.trust)


def safety_number(stuff: Stuff) -> Figure:
    """What published strengths of such a material are divided by before building on them, a
    plain number as a range (common practice, no source)."""
    low, high, why = _SAFETY[stuff]
    return Figure(low, high, f"common practice, no source: {why}", "practice")


def breaking_over(material: Material, kind: Kind, thickness_mm: float = 6.0,
                  angle_to_grain_rad: Floats | float = 0.0,
                  diameter_mm: float = 6.0) -> Figures:
    """The stress, MPa, at which a material gives way, for angles of any shape at once.

    Parameters
    ----------
    thickness_mm : of the sheet; matters for plywood.
    angle_to_grain_rad : between load and grain (plywood: face grain), any sign; see `Kind`.
    diameter_mm : of the rod, for bearing only.

    Sources and methods stand in the result. What the table lacks is estimated and then
    trusted as "practice". Metals are taken to give way when they yield, all else when it
    breaks; compression across the grain at its proportional limit. Moduli are MPa too.
    """
    angle = np.asarray(angle_to_grain_rad, dtype=float)
    if kind == "bearing":
        low, high, source, trust = bearing_over(material, diameter_mm, angle)
    else:
        low, high, source, trust = GIVING[material.stuff](material, kind, thickness_mm, angle)
    low = low * np.ones_like(angle)
    return Figures(low, np.maximum(low, high), source, trust)


def breaking(material: Material, kind: Kind, thickness_mm: float = 6.0,
             angle_to_grain_rad: float = 0.0, diameter_mm: float = 6.0) -> Figure:
    """The stress, MPa, at which a material gives way at one angle; see
    :func:`breaking_over`."""
    found = breaking_over(material, kind, thickness_mm, angle_to_grain_rad, diameter_mm)
    return Figure(float(found.low), float(found.high), found.source, found.trust)


def allowable_over(material: Material, kind: Kind, thickness_mm: float = 6.0,
                   angle_to_grain_rad: Floats | float = 0.0,
                   diameter_mm: float = 6.0) -> Figures:
    """The stress, MPa, that may be built on: :func:`breaking_over` divided by the
    material's :func:`safety_number`. Moduli are handed out undivided."""
    found = breaking_over(material, kind, thickness_mm, angle_to_grain_rad, diameter_mm)
    return found if kind in MODULI else found.divided(safety_number(material.stuff))


def allowable(material: Material, kind: Kind, thickness_mm: float = 6.0,
              angle_to_grain_rad: float = 0.0, diameter_mm: float = 6.0) -> Figure:
    """The stress, MPa, that may be built on at one angle; see :func:`allowable_over`."""
    found = allowable_over(material, kind, thickness_mm, angle_to_grain_rad, diameter_mm)
    return Figure(float(found.low), float(found.high), found.source, found.trust)
