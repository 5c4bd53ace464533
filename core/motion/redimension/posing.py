"""Make the pose at some crank angle the drawn pose; twins across poses."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from core.errors import EditError
from core.model import Force, Sketch, edits, split_ref
from core.model.edits import Carry, carry_part
from core.motion import pose_at, solve_turn
from core.motion.turn import Turn

replace = msgspec.structs.replace


def rebase(turn: Turn, crank_rad: float) -> Sketch:
    """The sketch of `turn` redrawn in its pose at a crank angle.

    Every part keeps its shape; the crank reads the same as before at every pose
    (``drive.drawn_deg`` follows), torsion springs and forces that turn with a part keep
    what they do.

    Raises
    ------
    EditError
        When the crank cannot come to that angle.
    """
    sketch = turn.sketch
    drive = sketch.drive
    if drive is None or crank_rad == math.radians(drive.drawn_deg):
        return sketch
    pose = pose_at(turn, np.array([crank_rad]))
    if not bool(pose.reached[0]):
        raise EditError(f"the crank does not reach {math.degrees(crank_rad):.2f}°",
                        mend="turn it back first")
    carry = {
        part_id: Carry(turn=complex(pose.rotation[row, 0]), shift=complex(pose.shift[row, 0]))
        for row, part_id in enumerate(pose.part_ids)
    }
    turned_deg = {part_id: math.degrees(pose.angle_rad[0, row])
                  for row, part_id in enumerate(pose.part_ids)}
    parts = tuple(part if part.fixed else carry_part(part, carry[part.id])
                  for part in sketch.parts)
    springs = tuple(
        replace(spring,
                free_deg=spring.free_deg - turned_deg[spring.b] + turned_deg[spring.a])
        for spring in sketch.torsion_springs
    )
    forces = tuple(_turned(force, carry) for force in sketch.forces)
    return replace(sketch, parts=parts, torsion_springs=springs, forces=forces,
                   drive=replace(drive, drawn_deg=math.degrees(crank_rad)))


def _turned(force: Force, carry: dict[str, Carry]) -> Force:
    if not force.turns_with_part:
        return force
    fx, fy = carry[split_ref(force.at)[0]].direction(force.fx_n, force.fy_n)
    return replace(force, fx_n=fx, fy_n=fy)


def follow_twins(old: Sketch, new: Sketch) -> Sketch:
    """`new` with every twin brought up to date after an edit of `old`, at whatever crank
    angle the edit was made.

    Twins are mirror images in the pose in which they were last drawn. When an edit has
    moved the drawn pose (see :func:`rebase`), the new sketch is turned back to the old
    drawn angle, the images follow there, and it is turned forth again.

    Raises
    ------
    EditError
        When the edited mechanism does not reach the pose in which the twin was drawn.
    """
    if not new.twins:
        return new
    if (old.drive is None or new.drive is None
            or old.drive.drawn_deg == new.drive.drawn_deg):
        return edits.follow_twins(old, new)
    here, there = (math.radians(sketch.drive.drawn_deg)  # type: ignore[union-attr]
                   for sketch in (new, old))
    back = rebase(solve_turn(new), there)
    followed = edits.follow_twins(old, back)
    if followed is back:
        return new
    return rebase(solve_turn(followed), here)
