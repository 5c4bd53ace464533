"""Four-bars that carry a body through three wished poses exactly, as seeds.

The crank's turns between the poses are wished, so its dyad is the only one there is; the
rocker's pin may be anywhere on the body, its fixed pivot follows (`core.wanted.dyads`).
"""

from __future__ import annotations

import numpy as np

from core.model import WantedPose
from core.wanted.dyads import dyad, fixed_pivots, pins_in_poses
from core.wanted.engine import Mechanisms, named, watch
from core.wanted.families import FAMILIES
from core.wanted.find.problem import Problem

#: Rocker pins are drawn by lot this far from the body's place, in sizes of the poses.
_REACH = 2.5
#: A seed keeps this transmission angle.
_LEAST_DEG = 5.0


def posed_four_bars(problem: Problem, rng: np.random.Generator, count: int) -> Mechanisms:
    """Up to `count` four-bars that go round and meet three of the wished poses (the first,
    a middle and the last by the crank), in the same assembly mode; none where fewer than
    three are wished or the zero of the crank's reading is not free."""
    family = FAMILIES["four-bar"]
    none = Mechanisms(np.zeros((0, len(family.parameters))), np.zeros((0, 1), np.int8))
    poses = sorted((wish for wish in problem.wishes if isinstance(wish, WantedPose)),
                   key=lambda pose: problem.sense * pose.crank_deg)
    if len(poses) < 3 or not problem.start_free:
        return none
    three = [poses[0], poses[len(poses) // 2], poses[-1]]
    places = np.array([complex(pose.x, pose.y) for pose in three])
    turns = np.radians([pose.angle_deg for pose in three])
    crank = np.radians([pose.crank_deg for pose in three])
    w, z = dyad(places, turns, crank)
    if not np.isfinite(w) or not np.isfinite(z) or abs(w) == 0:
        return none
    a = places[0] - z
    size = max(problem.size_mm, float(abs(w)), 1e-6)
    draws = 24 * count
    pins = places[0] + _REACH * size * np.sqrt(rng.random(draws)) * np.exp(
        2j * np.pi * rng.random(draws))
    pivots = fixed_pivots(places, turns, pins)
    a_all, b_all = pins_in_poses(places, turns, a), pins_in_poses(places, turns, pins)
    side = np.sign(((pivots[:, None] - a_all).conj() * (b_all - a_all)).imag)
    sound = (np.abs(side.sum(axis=1)) == 3) & (np.abs(pivots - places[0]) < 5 * size)
    coupler = pins - a
    tip = z * coupler.conj() / np.abs(coupler)
    columns = {
        "shaft.x": (a - w).real, "shaft.y": (a - w).imag,
        "pivot.x": pivots.real, "pivot.y": pivots.imag, "crank": abs(w),
        "coupler": np.abs(coupler), "rocker": np.abs(pins - pivots), "tip.u": tip.real,
        "tip.v": tip.imag}
    made = named(family.recipe, columns, side[:, :1])[sound]
    if not len(made):
        return none
    seen = watch(family.recipe, made, (("point", family.tracer),))
    return made[seen.steepest < np.cos(np.radians(_LEAST_DEG))][:count]
