"""From one start down to the nearest best: damped Gauss–Newton steps within what must hold.

Every step is tried on the whole turn. It is taken only if the crank still goes all the way,
no group came to be put together otherwise, and errors and penalties together fall. (K.
Levenberg 1944, D. W. Marquardt 1963; damping after H. B. Nielsen, *Damping Parameter in
Marquardt's Method*, 1999; steps under constraints as in sequential quadratic programming,
Nocedal & Wright, *Numerical Optimization*, ch. 18, from memory.)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.wanted.fit.looking import Look, Task
from core.wanted.fit.step import Held, Step, step

Floats = NDArray[np.float64]

#: Damping at the start and its bounds, by the largest squared column of the derivatives.
START, LEAST, MOST = 1e-3, 1e-15, 1e9
#: A cost (tolerances squared) that cannot be told from none, and a fall of it that counts.
EXACT, FALL = 1e-26, 1e-9
#: What must hold over the turn may stay off by this share of the size.
HOLDS = 1e-12
#: No node moves by more than this share of the size in a step.
LONGEST = 0.15


@dataclass
class Place:
    """Where a descent has come to: the look, and the multipliers of what holds it (static
    inequalities, then those over the turn) at its last step."""

    look: Look
    multipliers: Floats
    settled: bool = False


def descend(task: Task, start: Look, most: int = 60) -> Iterator[Place]:
    """Places ever nearer, one for each step tried; the last is settled when nothing falls
    any further. `most` is the number of steps tried."""
    here = start
    jacobian, penalty, over = task.slopes(here)
    mu, growth, price, idle = START, 2.0, 0.0, 0
    multipliers = np.zeros(0)
    for _ in range(most):
        rows = np.concatenate([here.r, here.penalty.value])
        matrix = np.vstack([jacobian, penalty])
        scale = float((matrix * matrix).sum(axis=0).max(initial=0.0)) or 1.0
        found = _step(task, here, rows, matrix, over, mu * scale)
        there = None
        if found is not None and np.isfinite(found.p).all():
            multipliers = found.multipliers
            if len(over) and len(multipliers):
                price = max(price, 4.0 * float(multipliers.max()))
            w = task.restored(here.w + _short(task, found.p))
            there = None if w is None else task.look(w, here)
        fall = -np.inf if there is None else (
            here.cost + price * here.over - there.cost - price * there.over)
        if there is not None and fall > 0.0:
            promised = 2.0 * found.gain + price * here.over if found is not None else 0.0
            gain = fall / promised if promised > 0 else 1.0
            mu = max(LEAST, mu * max(1.0 / 3.0, 1.0 - (2.0 * min(gain, 1.0) - 1.0) ** 3))
            growth = 2.0
            idle = idle + 1 if fall < FALL * here.cost else 0
            here = there
            jacobian, penalty, over = task.slopes(here)
        else:
            mu, growth = mu * growth, 2.0 * growth
        if there is None or fall <= FALL * here.cost:
            anew = task.matched(here)
            if anew.cost < here.cost * (1.0 - FALL):
                here, idle = anew, 0
                jacobian, penalty, over = task.slopes(here)
        done = (here.cost < EXACT and here.over <= HOLDS * task.freedom.size_mm) or idle > 2 \
            or mu > MOST or (found is not None and there is not None and _tiny(task, found))
        yield Place(here, multipliers, done)
        if done:
            return


def _step(task: Task, here: Look, rows: Floats, matrix: Floats, over: Floats, mu: float
          ) -> Step | None:
    """The step within all that must hold; where that contradicts itself, what must hold
    over the turn is let go for this step."""
    c, equal, g, below = task.held(here.w)
    whole: Held = (c, equal, np.concatenate([g, here.penalty.over]), np.vstack([below, over]))
    found = step(rows, matrix, mu, whole)
    if found is None and len(over):
        found = step(rows, matrix, mu, (c, equal, g, below))
    return found


def _short(task: Task, p: Floats) -> Floats:
    moved = np.abs(task.freedom.velocities @ p).max(initial=0.0)
    return p * min(1.0, LONGEST * task.freedom.size_mm / max(float(moved), 1e-300))


def _tiny(task: Task, found: Step) -> bool:
    return float(np.abs(found.p).max(initial=0.0)) < 1e-13 * task.freedom.size_mm


def last(places: Iterator[Place], go_on: Callable[[Place], bool]) -> Place | None:
    """The last place of a descent, or where `go_on` would not."""
    place = None
    for place in places:
        if not go_on(place):
            break
    return place
