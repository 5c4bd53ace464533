"""Which part lies in which layer: each has its own, in the order with the fewest clashes.

Parts in layers of their own never meet; what can meet are parts and the pins that pass
through their layer on the way from one part to another. All orders are tried, the few
parts of a mechanism allow it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, permutations

import numpy as np

from core.wanted.engine.mechanisms import Complexes, Floats

#: A pin that clashes weighs as much as so many layers of pin length.
_CLASH = 100


def stacked(bodies: Mapping[str, Sequence[str]], paths: Mapping[str, Complexes],
            clear_mm: float) -> list[str]:
    """The moving bodies in the order of their layers, lowest first, over the frame.

    Parameters
    ----------
    bodies : names of the points of every moving body, and under "" of the frame.
    paths : (N,) where every point is over the cycle.
    clear_mm : how near the middle of a pin may come to the lines of a body.
    """
    moving = [body for body in bodies if body]
    joints = {point: [body for body in bodies if point in bodies[body]] for point in paths}
    joints = {point: held for point, held in joints.items() if len(held) > 1}
    clash = {(point, body): distance(paths[point], [paths[name] for name in bodies[body]])
             < clear_mm for point, held in joints.items() for body in moving
             if body not in held}

    def cost(order: Sequence[str]) -> float:
        layer = {"": 0} | {body: place + 1 for place, body in enumerate(order)}
        total = 0.0
        for point, held in joints.items():
            at = [layer[body] for body in held]
            low, high = min(at), max(at)
            total += high - low + _CLASH * sum(
                clash[point, body] for body in order[low:high - 1] if body not in held)
        return total

    orders = list(permutations(moving))
    return list(orders[int(np.argmin([cost(order) for order in orders]))])


def distance(place: Complexes, corners: Sequence[Complexes]) -> float:
    """The least distance over the cycle of a place from a body: the lines between its
    points and the triangles they make, mm; everything (N,)."""
    if len(corners) == 1:
        return float(np.abs(place - corners[0]).min())
    least = min(float(_from_line(place, one, other).min())
                for one, other in combinations(corners, 2))
    for three in combinations(corners, 3):
        sides = [((three[k - 2] - three[k]).conj() * (place - three[k])).imag
                 for k in range(3)]
        if np.any(np.all(np.array(sides) > 0, axis=0) | np.all(np.array(sides) < 0, axis=0)):
            return 0.0
    return least


def _from_line(place: Complexes, start: Complexes, end: Complexes) -> Floats:
    side = end - start
    span = np.maximum(np.abs(side) ** 2, 1e-300)
    share = np.clip(((place - start) * side.conj()).real / span, 0.0, 1.0)
    gap: Floats = np.abs(place - start - share * side)
    return gap
