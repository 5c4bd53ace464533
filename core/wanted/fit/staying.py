"""Walking back: of all sketches about as good as the best, the one nearest to what was drawn.

Many mechanisms make nearly the same motion, and the way down to the errors' minimum wanders
along them. From there every step goes as near to the drawn places as the linearised errors
allow without passing a bound: minimise ‖w‖ with ‖r(w)‖² within the bound, all that must hold
holding (sequential programming with one quadratic constraint; its multiplier by bisection, as
in the trust regions of J. J. Moré and D. C. Sorensen 1983, from memory). What the bends of
r(w) add beyond the bound is taken back by short steps across, before a step is judged.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.model.wanted import WantedAngle, WantedPath
from core.wanted.fit.descent import descend
from core.wanted.fit.looking import Look, Task
from core.wanted.fit.step import Held, step

Floats = NDArray[np.float64]

#: The error (root mean square, tolerances) may rise by this share, and what is met exactly is
#: met to so much of a tolerance.
SHARE, LEAST = 1e-5, 1e-6
#: Curves drawn by hand that lie within their tolerance all along may be met by this much
#: worse, tolerances, but never twice as badly.
GIVEN = 0.1
#: Below this error such curves are met well enough to look nowhere else.
WELL = 0.5
#: Curves that lie within so much of their tolerance stay within it, others where they are.
INSIDE = 0.9
#: Below this error (tolerances) wishes that are met exactly are met so again at the end, in
#: at most so many steps.
EXACT, AGAIN = 1e-3, 12
#: No penalty rises by more than this, tolerances.
STRICT = 0.01
#: At most so many steps back, the first of this share of the size.
MOST, FIRST = 40, 0.1
#: Short steps across after one back.
ACROSS = 2
#: Errors so many times above the bound are not tried to be mended.
FAR = 1e4
#: Halvings of the range of the multiplier's decimal logarithm, 0 to −16.
HALVINGS = 9
#: It is over when two steps shorten the way by less than this share, or a step comes to
#: less than this share of the size.
WORTH, SHORT = 0.003, 1e-4
#: What must hold over the turn may come to be off by this share of the size.
HOLDS = 1e-9

#: Derivatives of the errors, of penalties, and of what must hold over the turn.
_Slopes = tuple[Floats, Floats, Floats]


def worst(task: Task, look: Look) -> float:
    """The largest error of any sample, in tolerances."""
    goals = task.goals
    off = np.bincount(goals.row_sample, (look.r / np.maximum(goals.row_worth, 1e-300)) ** 2,
                      goals.samples)
    return math.sqrt(off.max(initial=0.0))


def by_hand(task: Task) -> bool:
    """Whether all that is wished are whole curves. Places, poses and reaches are numbers
    somebody gave: they are met as exactly as can be."""
    return all(isinstance(wish, WantedPath | WantedAngle) and wish.curve != "places"
               for wish in task.wishes)


def well(task: Task, look: Look) -> bool:
    """Whether a sketch draws its curves so well that nobody would look elsewhere."""
    return by_hand(task) and worst(task, look) <= INSIDE and _holds(task, look) and \
        _error(task, look) <= WELL and \
        float(np.linalg.norm(look.penalty.value)) <= WELL


@dataclass(frozen=True)
class Bounds:
    """Up to where a sketch is as good as another: `missed`, the sum of squared errors, and
    the penalty of each cause, `over` of what must hold over the turn, and the `worst` error;
    `exact` where the wishes are met exactly."""

    missed: float
    penalty: dict[tuple[str, int], float]
    over: float
    worst: float
    exact: bool

    def keeps(self, task: Task, look: Look) -> bool:
        """Whether a look is within them."""
        return look.missed <= self.missed and look.over <= self.over \
            and bool((look.penalty.value <= self.caps(look) + STRICT).all()) \
            and worst(task, look) <= self.worst

    def caps(self, look: Look) -> Floats:
        """What each penalty of a look may come to."""
        return np.array([self.penalty.get((cause.kind, cause.number), 0.0)
                         for cause in look.penalty.causes[:len(look.penalty.value)]])


def bounds_of(task: Task, look: Look, own: Look | None) -> Bounds:
    """What is as good as this look; not as the sketch itself, `own`, was, where it was worse:
    of what was won against it at least half is kept."""
    weight, error, most = task.goals.weight, _error(task, look), math.inf
    more = error * SHARE
    if by_hand(task) and worst(task, look) <= 1.0 and _holds(task, look):
        won = math.inf if own is None else max(0.0, _error(task, own) - error)
        more = max(more, min(GIVEN, error, 0.5 * won))
        most = max(INSIDE, worst(task, look))
    penalty: dict[tuple[str, int], float] = {}
    for cause, value in zip(look.penalty.causes, look.penalty.value, strict=False):
        key = cause.kind, cause.number
        penalty[key] = max(penalty.get(key, 0.0), float(value))
    return Bounds(look.missed + weight * max((error + more) ** 2 - error**2, LEAST**2),
                  penalty, max(look.over, HOLDS * task.freedom.size_mm), most, error < EXACT)


def _holds(task: Task, look: Look) -> bool:
    return look.over <= HOLDS * task.freedom.size_mm


def _error(task: Task, look: Look) -> float:
    return math.sqrt(look.missed / task.goals.weight)


def back(task: Task, start: Look, bounds: Bounds) -> Iterator[Look]:
    """Looks ever nearer to the drawn sketch (w = 0), each within the bounds; none where
    there is nothing to be gained."""
    here, size = start, task.freedom.size_mm
    slopes = task.slopes(here)
    reach, idle = FIRST * size, 0
    for _ in range(MOST):
        way = _way(task, here, slopes, bounds, bounds.missed, here.w)
        if way is None:
            return
        moved = float(np.abs(task.freedom.velocities @ way).max(initial=0.0))
        if moved < SHORT * size:
            return
        there = _tried(task, here, way * min(1.0, reach / moved), bounds)
        was = float(np.linalg.norm(here.w))
        if there is None or float(np.linalg.norm(there.w)) >= was:
            reach = min(reach, moved) / 4.0
            if reach < SHORT * size:
                return
            continue
        idle = idle + 1 if np.linalg.norm(there.w) > was * (1.0 - WORTH) else 0
        reach, here = 2.0 * reach, there
        yield here
        if idle > 1:
            return
        slopes = task.slopes(here)


def settled(task: Task, start: Look, here: Look, bounds: Bounds) -> Look:
    """The look where a walk back has ended, matched anew and, what `start` met exactly, met
    exactly again; `start` itself if that fails."""
    here = task.matched(here)
    if bounds.exact:
        for place in descend(task, here, AGAIN):
            here = place.look
    else:
        task.slopes(here)  # an instant found between steps is then found exactly
        here = task.look(here.w, here) or here
    nearer = np.linalg.norm(here.w) < np.linalg.norm(start.w)
    return here if nearer and bounds.keeps(task, here) else start


def _tried(task: Task, here: Look, way: Floats, bounds: Bounds) -> Look | None:
    """The look after a step and, where that passes the bounds, steps across; None where it
    does not come back within them."""
    inner = 0.5 * (bounds.missed + min(here.missed, bounds.missed))
    w = here.w + way
    for turn in range(ACROSS + 1):
        restored = task.restored(w)
        there = None if restored is None else task.look(restored, here)
        if there is not None and not bounds.exact:
            there = task.matched(there)  # instants that went along may miss where it strays
        if there is None or bounds.keeps(task, there):
            return there
        if turn == ACROSS or there.missed > FAR * (bounds.missed + 1e-3):
            return None
        across = _way(task, there, task.slopes(there), bounds, inner, np.zeros(len(w)))
        if across is None:
            return None
        w = there.w + across
    return None


def _way(task: Task, here: Look, slopes: _Slopes, bounds: Bounds, bound: float, off: Floats
         ) -> Floats | None:
    """The step p of the least ‖off + p‖ whose linearised errors are within the bound, or as
    little above it as can be, penalties where they are or within theirs."""
    matrix, penalty, over = slopes
    c, equal, g, below = task.held(here.w)
    spare = here.penalty.value - np.maximum(bounds.caps(here), 0.0)
    whole: Held = (c, equal, np.concatenate([g, here.penalty.over, spare]),
                   np.vstack([below, over, penalty]))
    q, upper = np.linalg.qr(matrix)  # as many rows as numbers, however many errors
    turned = q.T @ here.r
    rest = here.missed - float(turned @ turned)
    scale = float((upper * upper).sum(axis=0).max(initial=0.0)) or 1.0

    def at(decades: float) -> tuple[Floats, float] | None:
        pull = math.sqrt(scale * 10.0**decades)
        found = step(np.concatenate([turned, pull * off]),
                     np.vstack([upper, pull * np.eye(len(off))]), 0.0, whole)
        if found is None or not np.isfinite(found.p).all():
            return None
        after = turned + upper @ found.p
        return found.p, rest + float(after @ after)

    low, high = -16.0, 0.0
    best = at(low)
    if best is None or best[1] > bound:
        return None if best is None else best[0]
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        found = at(middle)
        if found is not None and found[1] <= bound:
            low, best = middle, found
        else:
            high = middle
    return best[0]
