"""The nearest places that keep what is locked: a small constrained least squares."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.motion.redimension.nodes import Nodes

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]

#: How much nearer a dragged node keeps to the cursor than others to where they were.
DRAG_WEIGHT = 1e4
ROUNDS = 60


def settle(net: Nodes, targets: dict[int, complex]) -> Complexes | None:
    """Places of all nodes with the dragged ones as near their targets as the locks let
    them, the others moved as little as possible.

    Parameters
    ----------
    net : the nodes.
    targets : wanted place (complex mm) of each dragged node.

    Returns
    -------
    (K,) complex mm, or None when the locks leave no such place.

    Notes
    -----
    Weighted projection on the constraints by Gauss–Newton: minimise
    ‖x − x*‖_W subject to c(x) = 0, linearised anew each round (Nocedal & Wright,
    *Numerical Optimization*, 18.1: the SQP step for an equality-constrained problem).
    """
    wanted = net.place.copy()
    dragged = [node for node in targets if not net.locked[node]]
    for node in dragged:
        wanted[node] = targets[node]
    lengths, lines = _lengths(net), _held_lines(net)
    if not lengths and not lines:
        return wanted
    # The frame and the ends of slides yield only when nothing else can.
    firm = net.locked | net.ground
    firm[[end for line in lines for end in line[1:]]] = True
    firm[dragged] = False
    place = _project(net, wanted, dragged, firm, lengths, lines)
    return place if place is not None else _project(
        net, wanted, dragged, net.locked, lengths, lines)


def _project(net: Nodes, wanted: Complexes, dragged: list[int], held: NDArray[np.bool_],
             lengths: list[tuple[int, int, float]],
             lines: list[tuple[int, int, int]]) -> Complexes | None:
    """The nearest places to `wanted` that satisfy the constraints, `held` nodes fixed."""
    moving = np.flatnonzero(~held).tolist()
    weight = np.ones(len(net.place))
    weight[dragged] = DRAG_WEIGHT
    size = float(np.ptp(net.place.real) + np.ptp(net.place.imag)) or 1.0
    columns = {node: k for k, node in enumerate(moving)}
    half = len(moving)
    inverse = 1.0 / np.repeat(weight[moving][None], 2, axis=0).ravel()
    goal = np.concatenate([wanted[moving].real, wanted[moving].imag])
    x = goal.copy()
    place = wanted.copy()
    worst = np.inf
    for _ in range(ROUNDS):
        place[moving] = x[:half] + 1j * x[half:]
        value, slope = _constraints(place, lengths, lines, columns, half)
        before, worst = worst, float(np.max(np.abs(value)))
        # Stop at rounding: small, and no longer getting smaller.
        if worst <= 1e-10 * size and worst >= before / 2:
            return place
        if worst <= 1e-15 * size:
            return place
        right = value + slope @ (goal - x)
        scaled = slope * inverse
        pull = np.linalg.lstsq(scaled @ slope.T, right, rcond=1e-12)[0]
        x = goal - scaled.T @ pull
    return None


def _lengths(net: Nodes) -> list[tuple[int, int, float]]:
    """Distances that determine every rigid part: the first two nodes, then each other
    node to both."""
    kept = []
    for _, held in net.rigid:
        pairs = [(held[0], held[1])]
        pairs += [(anchor, node) for node in held[2:] for anchor in held[:2]]
        kept += [(i, j, float(abs(net.place[i] - net.place[j]))) for i, j in pairs]
    return kept


def _held_lines(net: Nodes) -> list[tuple[int, int, int]]:
    return [line for line in net.lines
            if len(set(line)) == 3 and abs(net.place[line[2]] - net.place[line[1]]) > 1e-9]


def _constraints(place: Complexes, lengths: list[tuple[int, int, float]],
                 lines: list[tuple[int, int, int]], columns: dict[int, int],
                 half: int) -> tuple[Floats, Floats]:
    """Values (M,) in mm and slopes (M, 2·half) of all constraints."""
    value = np.zeros(len(lengths) + len(lines))
    slope = np.zeros((len(value), 2 * half))

    def note(row: int, node: int, by: complex) -> None:
        column = columns.get(node)
        if column is not None:
            slope[row, column] += by.real
            slope[row, half + column] += by.imag

    for row, (i, j, length) in enumerate(lengths):
        apart = place[j] - place[i]
        now = abs(apart) or 1e-12
        value[row] = now - length
        note(row, j, apart / now)
        note(row, i, -apart / now)
    for row, (node, start, end) in enumerate(lines, start=len(lengths)):
        along = place[end] - place[start]
        length = abs(along) or 1e-12
        normal = 1j * along / length
        off = place[node] - place[start]
        value[row] = (off * normal.conjugate()).real
        share = (off * along.conjugate()).real / length**2
        note(row, node, normal)
        note(row, start, -(1 - share) * normal)
        note(row, end, -share * normal)
    return value, slope
