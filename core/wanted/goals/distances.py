"""How far the places of a path are from a trace known in steps."""

from __future__ import annotations

import numpy as np

from core.wanted.goals.dense import Bools, Complexes, Dense, Floats, Ints

#: What a step the crank does not reach costs, mm².
HUGE = 1e12


def costs(dense: Dense, channel: int, target: Complexes, steps: Ints) -> Floats:
    """(K, L, M) squared distances of targets from the trace about each of its steps (L,),
    which follow one another round (but for the ends of a rocking crank)."""
    place = np.asarray(dense.values[channel])[:, steps].T
    round_ = bool(dense.cycle_rad) or steps.size > dense.steps
    return distances(place, dense.reached[:, steps].T, target, round_)


def distances(place: Complexes, reached: Bools, target: Complexes, round_: bool) -> Floats:
    """(K, L, M) squared distances of targets (K,) from a trace (L, M) about each of its
    places: halfway to the next and back along its tangent, so that a coarse trace does as
    well as a fine one. HUGE where not reached."""
    tangent = 0.5 * (np.roll(place, -1, axis=0) - np.roll(place, 1, axis=0))
    if not round_:
        tangent[[0, -1]] = 0.0
    if not reached.all():
        beside = np.roll(reached, -1, axis=0) & np.roll(reached, 1, axis=0) & reached
        tangent = np.where(beside, tangent, 0.0)
    speed = np.maximum(tangent.real**2 + tangent.imag**2, 1e-300)
    x = target.real[:, None, None] - place.real
    y = target.imag[:, None, None] - place.imag
    ahead = np.clip((x * tangent.real + y * tangent.imag) / speed, -0.5, 0.5)
    x -= ahead * tangent.real
    y -= ahead * tangent.imag
    cost: Floats = x * x + y * y
    return cost if reached.all() else np.where(reached, cost, HUGE)
