"""Which part lies in which layer, so that as little as can be clashes.

Two things can clash: parts that share a layer, and a part with a pin that passes through
its layer on the way from one part to another. All ways to lay the few moving parts of a
mechanism over its frame are weighed: parts that meet over the turn never share a layer;
then the fewest clashes with pins, then the shortest pins.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, product

import numpy as np

from core.wanted.borders import nearest_on
from core.wanted.engine.mechanisms import Bools, Complexes, Floats, Ints

#: A pin that clashes weighs as much as so many layers of pin length, and every layer of
#: the whole as this part of one.
_CLASH, _HIGH = 100.0, 0.1


def stacked(bodies: Mapping[str, Sequence[str]], paths: Mapping[str, Complexes],
            width_mm: float, pin_mm: float, gap_mm: float = 1.5) -> dict[str, int]:
    """The layer of every moving body, 1 and up, the frame being in 0.

    Parameters
    ----------
    bodies : names of the points of every moving body, and under "" of the frame.
    paths : (N,) complex, where every point is over the cycle, mm.
    width_mm, pin_mm : of the bodies about the lines of their points, and of pins.
    gap_mm : left between what passes.
    """
    moving = [body for body in bodies if body]
    shapes = {body: [paths[point] for point in bodies[body]] for body in moving}
    column = {body: k for k, body in enumerate(["", *moving])}
    layers = _layers(len(moving))
    for one, other in combinations(moving, 2):
        if apart(shapes[one], shapes[other]) < width_mm + gap_mm:
            layers = layers[layers[:, column[one]] != layers[:, column[other]]]
    cost = _HIGH * layers.max(axis=1)
    for point in paths:
        held = [column[body] for body in bodies if point in bodies[body]]
        if len(held) < 2:
            continue
        low, high = layers[:, held].min(axis=1), layers[:, held].max(axis=1)
        cost = cost + (high - low)
        for body in moving:
            near = column[body] not in held and distance(
                paths[point], shapes[body]) < 0.5 * (width_mm + pin_mm) + gap_mm
            if near:
                at = layers[:, column[body]]
                cost = cost + _CLASH * ((low < at) & (at < high))
    best = layers[int(np.argmin(cost))]
    return {body: int(best[column[body]]) for body in moving}


def _layers(count: int) -> Ints:
    """All ways (A, 1 + count) to lay bodies in layers 1 … count, the frame in 0 first, no
    layer left empty below another."""
    ways = np.array(list(product(range(1, count + 1), repeat=count)), np.intp)
    full = [np.isin(ways, level).any(axis=1) | (ways.max(axis=1) < level)
            for level in range(1, count + 1)]
    ways = ways[np.all(full, axis=0)]
    return np.concatenate([np.zeros((len(ways), 1), np.intp), ways], axis=1)


def apart(one: Sequence[Complexes], other: Sequence[Complexes]) -> float:
    """The least distance over the cycle between two bodies, each the lines between its
    points and the triangles they make; 0 where they meet, mm."""
    for a, b in product(combinations(one, 2), combinations(other, 2)):
        if np.any(_cross(*a, *b)):
            return 0.0
    return min(*(distance(place, other) for place in one),
               *(distance(place, one) for place in other))


def distance(place: Complexes, corners: Sequence[Complexes]) -> float:
    """The least distance over the cycle of a place from a body, likewise."""
    if len(corners) == 1:
        return float(np.abs(place - corners[0]).min())
    for three in combinations(corners, 3):
        sides = np.array([_side(three[k - 2], three[k], place) for k in range(3)])
        if np.any(np.all(sides > 0, axis=0) | np.all(sides < 0, axis=0)):
            return 0.0
    return min(float(np.abs(nearest_on(place, start, end)[1]).min())
               for start, end in combinations(corners, 2))


def _side(start: Complexes, end: Complexes, place: Complexes) -> Floats:
    """Positive where a place is left of the way from start to end."""
    area: Floats = ((end - start).conj() * (place - start)).imag
    return area


def _cross(a: Complexes, b: Complexes, c: Complexes, d: Complexes) -> Bools:
    """Where the lines from a to b and from c to d cross."""
    crossing: Bools = ((_side(a, b, c) * _side(a, b, d) < 0)
                       & (_side(c, d, a) * _side(c, d, b) < 0))
    return crossing
