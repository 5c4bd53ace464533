"""Making another pose the drawn one: parts are carried, nothing is deformed."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec

from core.model import Force, Sketch, split_ref
from core.model.edits import Carry, carry_part

replace = msgspec.structs.replace


def redrawn(sketch: Sketch, carry: Mapping[str, Carry], turned_rad: Mapping[str, float],
            drawn_deg: float) -> Sketch:
    """The sketch with its moving parts carried to another pose.

    Parameters
    ----------
    carry : per part id, from the old drawn pose to the new one.
    turned_rad : per part id, how far it turns on the way, full turns included.
    drawn_deg : crank angle of the new pose, degrees.

    Torsion springs and forces that turn with a part keep what they do at every pose.
    """
    parts = tuple(part if part.fixed else carry_part(part, carry[part.id])
                  for part in sketch.parts)
    springs = tuple(
        replace(spring, free_deg=spring.free_deg
                - math.degrees(turned_rad[spring.b] - turned_rad[spring.a]))
        for spring in sketch.torsion_springs)
    forces = tuple(_turned(force, carry) for force in sketch.forces)
    drive = sketch.drive and replace(sketch.drive, drawn_deg=drawn_deg)
    return replace(sketch, parts=parts, torsion_springs=springs, forces=forces, drive=drive)


def _turned(force: Force, carry: Mapping[str, Carry]) -> Force:
    if not force.turns_with_part:
        return force
    fx, fy = carry[split_ref(force.at)[0]].direction(force.fx_n, force.fy_n)
    return replace(force, fx_n=fx, fy_n=fy)
