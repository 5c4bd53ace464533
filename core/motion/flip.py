"""The other way of putting a group of links together."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from core.errors import MotionError
from core.model import Sketch
from core.model.edits import Carry
from core.motion.branch import Branch
from core.motion.newton import solutions
from core.motion.plan import Block, Plan
from core.motion.reach import fits
from core.motion.redraw import redrawn
from core.motion.running import Track, probe, run
from core.motion.solve import plan_of, usable_drive
from core.motion.state import State, drawn_points

#: Groups with two solutions told apart by a sign.
SIGNED = ("pair", "ray")


def flip(sketch: Sketch, part_ids: Iterable[str]) -> Sketch:
    """The sketch with the groups of some parts put together the other way, at the drawn
    crank angle: the two links of a pair mirrored in the line through their outer pins.

    Nothing is deformed. Groups that hang on them follow, in the way they were put together
    before. A group without a closed form goes to its next solution, in a fixed order.

    Raises
    ------
    MotionError
        When none of the parts can be put together otherwise, or what hangs on them cannot
        follow; also without a crank.
    """
    plan = plan_of(sketch)
    drive = usable_drive(sketch, plan)
    chosen = set(part_ids)
    blocks = [block for block in plan.blocks if block.kind in (*SIGNED, "newton")
              and chosen & set(plan.network.parts_of(block.moved))]
    if not blocks:
        raise MotionError("these parts go together in one way only",
                          mend="select a link that two pins hold")
    here, tracks = run(plan, drawn_points(plan.network, sketch), np.zeros(1))
    for block in blocks:
        tracks[block.number] = _other(here, tracks, block)
    pose = probe(here, tracks, np.zeros(1))
    if not fits(pose)[0]:
        raise MotionError("what hangs on these parts cannot follow them",
                          mend="turn the crank to another place and try again")
    carry, turned = _carry(plan, pose)
    return redrawn(sketch, carry, turned, drive.drawn_deg)


def _other(here: State, tracks: list[Track], block: Block) -> Track:
    track = tracks[block.number]
    if block.kind in SIGNED:
        return replace(track, sign=-track.sign)
    assert track.branch is not None
    found = solutions(probe(here, tracks, np.zeros(1), block), block)
    if len(found) < 2:
        raise MotionError("these parts go together in one way only",
                          mend="select other links")
    now = int(np.argmin(np.abs(np.exp(1j * found) - 1).sum(axis=1)))
    unknown = found[(now + 1) % len(found)][:, None]
    return replace(track, branch=Branch(unknown, np.ones(1, bool), np.nan))


def _carry(plan: Plan, pose: State) -> tuple[dict[str, Carry], dict[str, float]]:
    carry, turned = {}, {}
    for part, body in zip(plan.network.part_ids, plan.network.body_of, strict=True):
        rotation, shift = (complex(np.ravel(values[body])[0])
                           for values in (pose.rotation, pose.shift))
        carry[part] = Carry(turn=rotation, shift=shift)
        turned[part] = math.atan2(rotation.imag, rotation.real)
    return carry, turned
