"""Where a group's two solutions meet and it locks: a fold of its equations.

At a fold F(x, φ) = 0 and the derivatives J = ∂F/∂x are singular, J v = 0 with |v| = 1;
these are solved together by Newton's method (R. Seydel, *Practical Bifurcation and
Stability Analysis*, the branching system). Second derivatives are central differences:
an error in them slows the iteration, it does not move the fold.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from core.motion.system import System
from core.motion.turn import Floats

#: Steps of the central differences by the crank's turn (rad) and by scaled unknowns.
BY_TURN, BY_UNKNOWN = 1e-5, 1e-5
#: Change of the crank's turn (rad) at which the fold counts as found.
FOUND = 1e-12
#: Least singular value, by the largest, and residual below which a solution is the fold
#: itself; where branches cross, Newton's method comes nearer by halves only.
SINGULAR, MET = 1e-7, 1e-13
#: Longest step in the crank's turn (rad) and in scaled unknowns.
LONGEST_TURN, LONGEST = 0.02, 0.3


def find_fold(equations: Callable[[Floats], System], turn: float, unknown: Floats
              ) -> tuple[float, Floats] | None:
    """Turn of the crank (rad) and unknowns of the fold near a solution; None if not found.

    Parameters
    ----------
    equations : gives the group's equations at turns of the crank (M,).
    turn, unknown : a solution close to the fold.
    """
    direction: Floats | None = None
    for _ in range(24):
        here = equations(np.array([turn - BY_TURN, turn, turn + BY_TURN]))
        if here.equations != here.unknowns:
            return None
        scale = np.full(here.unknowns, here.size)
        scale[:here.spins] = 1.0
        value, slope = _scaled(here, np.tile(unknown[:, None], 3), scale)
        if not (np.isfinite(value).all() and np.isfinite(slope).all()):
            return None
        _, sizes, ways = np.linalg.svd(slope[1])
        if sizes[-1] < SINGULAR * sizes[0] and np.abs(value[1]).max() < MET:
            return turn, unknown
        if direction is None:
            direction = np.asarray(ways[-1])
        step = _step(here, value, slope, unknown, direction, scale)
        count = here.unknowns
        longest = max(np.abs(step[:count]).max() / LONGEST, abs(step[-1]) / LONGEST_TURN, 1.0)
        step /= longest
        unknown = unknown + step[:count] * scale
        direction = direction + step[count:-1]
        turn += float(step[-1])
        if longest == 1.0 and abs(step[-1]) < FOUND and np.abs(step[:count]).max() < 1e-7:
            return turn, unknown
    return None


def _scaled(here: System, unknown: Floats, scale: Floats) -> tuple[Floats, Floats]:
    """Residuals and derivatives by scaled unknowns, both as shares of the group's size."""
    value, slope = here.evaluate(unknown)
    return value / here.size, slope * (scale / here.size)


def _step(here: System, value: Floats, slope: Floats, unknown: Floats, direction: Floats,
          scale: Floats) -> Floats:
    """Newton's step in unknowns, direction and turn."""
    count = len(direction)
    offs = np.eye(count) * BY_UNKNOWN
    around = unknown[:, None] + scale[:, None] * np.hstack([offs, -offs])
    _, slopes = _scaled(here.take(np.ones(2 * count, np.intp)), around, scale)
    bent = (slopes[:count] - slopes[count:]) @ direction / (2 * BY_UNKNOWN)
    matrix = np.zeros((2 * count + 1, 2 * count + 1))
    matrix[:count, :count] = matrix[count:-1, count:-1] = slope[1]
    matrix[count:-1, :count] = bent.T
    matrix[:count, -1] = (value[2] - value[0]) / (2 * BY_TURN)
    matrix[count:-1, -1] = (slope[2] - slope[0]) @ direction / (2 * BY_TURN)
    matrix[-1, count:-1] = direction
    right = np.concatenate([value[1], slope[1] @ direction,
                            [(direction @ direction - 1) / 2]])
    try:
        return np.asarray(-np.linalg.solve(matrix, right))
    except np.linalg.LinAlgError:
        return np.asarray(-np.linalg.lstsq(matrix, right, rcond=None)[0])


def is_singular(here: System, unknown: Floats) -> bool:
    """Whether the first sample of a group's equations is at a fold or a crossing."""
    if here.equations != here.unknowns or not here.unknowns:
        return False
    scale = np.full(here.unknowns, here.size)
    scale[:here.spins] = 1.0
    sizes = np.linalg.svd(_scaled(here, unknown[:, None], scale)[1][0])[1]
    return bool(sizes[-1] < SINGULAR * sizes[0])
