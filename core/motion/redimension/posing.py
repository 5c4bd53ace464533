"""Make the pose at some crank angle the drawn pose; twins across poses."""

from __future__ import annotations

import cmath
import math

import numpy as np

from core.errors import EditError
from core.model import Sketch, edits
from core.model.edits import Carry
from core.motion import pose_at, solve_turn
from core.motion.redimension.following import followed
from core.motion.redraw import redrawn
from core.motion.turn import Turn


def rebase(turn: Turn, crank_rad: float) -> Sketch:
    """The sketch of `turn` redrawn in its pose at a crank angle.

    Every part keeps its shape; the crank reads the same as before at every pose
    (``drive.drawn_deg`` follows), torsion springs and forces that turn with a part keep
    what they do. Parts the crank does not determine follow by as little as keeps their
    joints together.

    Raises
    ------
    EditError
        When the crank cannot come to that angle, or loose parts cannot follow it there.
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
    turned_rad = {part_id: float(pose.angle_rad[0, row])
                  for row, part_id in enumerate(pose.part_ids)}
    for body, (angle, shift) in followed(turn, crank_rad).items():
        for part_id in turn.solved.grid.plan.network.parts_of([body]):
            carry[part_id], turned_rad[part_id] = Carry(cmath.rect(1.0, angle), shift), angle
    return redrawn(sketch, carry, turned_rad, math.degrees(crank_rad))


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
