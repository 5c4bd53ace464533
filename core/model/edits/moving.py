"""Carry parts and loads through plane similarities: shift, turn, mirror, scale.

A map takes the place z to ``turn·z + shift`` (or of the conjugate of z when it
mirrors); all complex, mm.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from typing import TypeVar

import msgspec

from core.model.loads import Force, Torque, TorsionSpring
from core.model.outline import Bar, Disc, Outline, Plate, Polygon
from core.model.parts import Mass, Part, Weight

replace = msgspec.structs.replace
T = TypeVar("T", bound=msgspec.Struct)


@dataclass(frozen=True)
class Carry:
    """The map z → turn·z + shift, with z conjugated first when `mirrored`."""

    turn: complex = 1.0
    shift: complex = 0.0
    mirrored: bool = False

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Where the place (x, y) goes."""
        z = complex(x, -y if self.mirrored else y)
        z = self.turn * z + self.shift
        return z.real, z.imag

    def direction(self, x: float, y: float) -> tuple[float, float]:
        """Where the unit of direction (x, y) goes: turned and mirrored, not scaled."""
        z = self.turn / abs(self.turn) * complex(x, -y if self.mirrored else y)
        return z.real, z.imag

    @property
    def scale(self) -> float:
        """The factor on lengths."""
        return abs(self.turn)


def shifting(dx: float, dy: float) -> Carry:
    """A plain shift by (dx, dy) mm."""
    return Carry(shift=complex(dx, dy))


def mirroring(x: float, y: float, angle_deg: float) -> Carry:
    """The mirror image in the line through (x, y) at `angle_deg` to the x axis."""
    quarters = angle_deg / 45.0
    # Upright, level and diagonal lines mirror without rounding.
    along = (1j ** int(quarters % 4) if quarters == int(quarters)
             else cmath.exp(2j * math.radians(angle_deg)))
    through = complex(x, y)
    return Carry(turn=along, shift=through - along * through.conjugate(), mirrored=True)


def carry_outline(outline: Outline | None, carry: Carry) -> Outline | None:
    """The outline taken along; widths and radii are scaled."""
    match outline:
        case Polygon():
            return Polygon(
                outer=tuple(carry.place(x, y) for x, y in outline.outer),
                holes=tuple(tuple(carry.place(x, y) for x, y in ring)
                            for ring in outline.holes),
            )
        case _ if carry.scale == 1.0 or abs(carry.scale - 1.0) < 1e-12:
            return outline
        case Bar():
            return replace(outline, width_mm=outline.width_mm * carry.scale)
        case Plate():
            return replace(outline, margin_mm=outline.margin_mm * carry.scale)
        case Disc():
            return replace(outline, radius_mm=outline.radius_mm * carry.scale)
        case _:
            return outline


def carry_mass(mass: Mass | None, carry: Carry) -> Mass | None:
    """The typed mass with its centre taken along; kg and inertia stay."""
    if mass is None:
        return None
    x, y = carry.place(mass.x, mass.y)
    return replace(mass, x=x, y=y)


def carry_weights(weights: tuple[Weight, ...], carry: Carry) -> tuple[Weight, ...]:
    """The weights with their centres taken along; kg and sizes stay."""
    places = [carry.place(each.x, each.y) for each in weights]
    return tuple(replace(each, x=x, y=y)
                 for each, (x, y) in zip(weights, places, strict=True))


def carry_grain(grain_deg: float | None, carry: Carry) -> float | None:
    """The direction of the grain taken along, within half a turn: it has no sense."""
    if grain_deg is None or (carry.turn == carry.scale and not carry.mirrored):
        return grain_deg
    along = cmath.rect(1.0, math.radians(grain_deg))
    return math.degrees(cmath.phase(complex(*carry.direction(along.real, along.imag)))) % 180.0


def carry_part(part: Part, carry: Carry) -> Part:
    """The whole part taken along: points, outline, typed mass, weights and grain."""
    points = []
    for point in part.points:
        x, y = carry.place(point.x, point.y)
        points.append(replace(point, x=x, y=y))
    return replace(part, points=tuple(points), outline=carry_outline(part.outline, carry),
                   mass=carry_mass(part.mass, carry),
                   weights=carry_weights(part.weights, carry),
                   grain_deg=carry_grain(part.grain_deg, carry))


def carry_load(item: T, carry: Carry) -> T:
    """A load or joint taken along: forces turn, and a mirror image turns the other
    way round. Things without a direction of their own come back unchanged."""
    sign = -1.0 if carry.mirrored else 1.0
    match item:
        case Force():
            fx, fy = carry.direction(item.fx_n, item.fy_n)
            return replace(item, fx_n=fx, fy_n=fy)
        case Torque():
            return replace(item, torque_nmm=sign * item.torque_nmm)
        case TorsionSpring():
            return replace(item, free_deg=sign * item.free_deg)
        case _:
            return item
