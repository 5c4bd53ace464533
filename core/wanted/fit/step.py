"""One step of a constrained least-squares fit, and the way back onto the constraints.

minimise ½‖J p + r‖² + ½ μ ‖p‖²  subject to  A p = −c  and  G p ≤ −g.

Equations are eliminated by the null space of A; what is left becomes a least distance
problem with inequalities, solved by non-negative least squares (C. L. Lawson and R. J.
Hanson, *Solving Least Squares Problems*, ch. 23, from memory). Its multipliers say what
holds the fit back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Singular values below this share of the largest count as 0.
_RANK = 1e-10
ROUNDS = 60

#: At a point: values and slopes of the equations, then of the inequalities.
Held = tuple[Floats, Floats, Floats, Floats]


@dataclass(frozen=True)
class Step:
    """p (D,), the gain ½‖r‖² − ½‖J p + r‖² it promises, and a multiplier ≥ 0 of each
    inequality: how fast ½‖r‖² would fall with the inequality let go, per mm."""

    p: Floats
    gain: float
    multipliers: Floats


def step(r: Floats, jacobian: Floats, mu: float, held: Held) -> Step | None:
    """The best step; None when the linearised inequalities contradict each other or the
    equations."""
    c, equal, g, below = held
    count = jacobian.shape[1]
    onto, null = _eliminated(c, equal, count)
    multipliers = np.zeros(len(g))
    if not null.shape[1]:
        p = onto
        if len(g) and (g + below @ p).max() > 1e-9 * (1.0 + np.abs(g).max()):
            return None
    else:
        matrix = np.vstack([jacobian @ null, np.sqrt(mu) * np.eye(null.shape[1])])
        right = -np.concatenate([r + jacobian @ onto, np.zeros(null.shape[1])])
        q, upper = np.linalg.qr(matrix)
        free = q.T @ right
        inverse = np.linalg.solve(upper, np.eye(len(upper)))
        w = inverse @ free
        room = -g - below @ onto
        sides = below @ null
        if len(g) and (sides @ w > room).any():
            way = sides @ inverse
            nearest = _least_distance(-way, -(room - way @ free))
            if nearest is None:
                return None
            w = inverse @ (free + nearest[0])
            multipliers = nearest[1]
        p = onto + null @ w
    after = r + jacobian @ p
    return Step(p, 0.5 * float(r @ r - after @ after), multipliers)


def _eliminated(c: Floats, equal: Floats, count: int) -> tuple[Floats, Floats]:
    """The shortest p with A p = −c (as nearly as can be, where rows contradict each other)
    and a basis of all that A takes to 0."""
    if not len(c):
        return np.zeros(count), np.eye(count)
    left, value, way = np.linalg.svd(equal)
    rank = int((value > _RANK * max(1.0, value.max(initial=0.0))).sum())
    onto = way[:rank].T @ ((left.T @ -c)[:rank] / value[:rank])
    return onto, way[rank:].T


def _least_distance(sides: Floats, least: Floats) -> tuple[Floats, Floats] | None:
    """The shortest y with sides · y ≥ least, and the multipliers; None when there is none."""
    from scipy.optimize import nnls  # only a fit needs scipy, the window opens without

    scale = np.maximum(np.linalg.norm(sides, axis=1), 1e-12)
    sides, least = sides / scale[:, None], least / scale
    size = max(float(np.abs(least).max()), 1e-12)
    matrix = np.vstack([sides.T, least / size])
    goal = np.zeros(len(matrix))
    goal[-1] = 1.0
    u, misfit = nnls(matrix, goal, maxiter=20 * matrix.shape[1] + 50)
    if misfit < 1e-9:
        return None
    rest = goal - matrix @ u
    y = -rest[:-1] / rest[-1] * size
    return y, u / rest[-1] * size / scale


def restore(w: Floats, look: Callable[[Floats], Held], size: float) -> Floats | None:
    """The nearest point at which all constraints hold, linearised anew each round; None
    when that does not come about. Met to about 1e-13 of `size`."""
    worst, start = np.inf, w
    zero = np.zeros(0)
    for turn in range(ROUNDS):
        held = look(w)
        before, worst = worst, max(float(np.abs(held[0]).max(initial=0.0)),
                                   float(held[2].max(initial=0.0)))
        if worst <= 1e-14 * size or (worst <= 1e-11 * size and worst >= before / 2):
            return w
        if turn > 20 and worst > before:
            return None
        # From where it came: the nearest, not only some, place on the constraints.
        back = w - start if turn < 8 else np.zeros(len(w))
        found = step(back, np.eye(len(w)), 0.0, held) if turn < 8 else \
            step(zero, np.zeros((0, len(w))), 1.0, held)
        if found is None or not np.isfinite(found.p).all():
            return None
        w = w + found.p
    return None
