"""Newton's method for the equations of a group, many samples at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.motion.system import System
from core.motion.turn import Floats

#: Residual, relative to the group's size, at which a sample is solved.
SOLVED = 1e-14
#: and the residual rounding may leave it at.
GOOD = 1e-11
#: Largest change between neighbouring samples: of a turn, rad; of a shift, by the group's
#: size or, far away, by the shift itself.
JUMP = 0.5


def correct(equations: System, guess: Floats, most: int = 15
            ) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Solutions (unknowns, M) near a guess, where found, and signs of determinants (0 for a
    group with spare joints)."""
    unknown = guess.copy()
    least = np.full(unknown.shape[1], np.inf)
    stuck = np.zeros(unknown.shape[1], np.intp)
    square = equations.equations == equations.unknowns
    tight, near = SOLVED * equations.size, 0.01 * GOOD * equations.size
    for _ in range(most):
        value, slope = equations.evaluate(unknown)
        worst = np.abs(value).max(axis=1, initial=0.0)
        # A sample that has not come closer for some rounds has no solution near by; one
        # that has one is as close as rounding lets it.
        stuck = np.where(worst < 0.9 * least, 0, stuck + 1)
        least = np.minimum(least, worst)
        if ((worst < tight) | (stuck > 4) | ((stuck > 0) & (worst < near))).all():
            break
        step = _step(value, slope, square)
        # A step of more than half a radian leaves the neighbourhood: shorten it.
        long = np.abs(step[:, :equations.spins]).max(axis=1, initial=0.0)
        share = np.where(worst < tight, 0.0, 1.0 / np.maximum(1.0, long / JUMP))
        unknown -= share * step.T
    value, slope = equations.evaluate(unknown)
    good = np.abs(value).max(axis=1, initial=0.0) < GOOD * equations.size
    facing = np.zeros(len(value))
    if square:
        facing = np.asarray(np.sign(np.linalg.det(slope)))
    return unknown, good, facing


def close(equations: System, unknown: Floats, guess: Floats) -> NDArray[np.bool_]:
    """Where unknowns (unknowns, M) are no farther from a guess than neighbours may be."""
    off = np.abs(unknown - guess) / scale(equations, guess)
    near: NDArray[np.bool_] = off.max(axis=0, initial=0.0) < JUMP
    return near


def scale(equations: System, unknown: Floats) -> Floats:
    """(unknowns, M): by how much unknowns count as changed, 1 rad for turns, the group's
    size and the way already gone for shifts."""
    spins = equations.spins
    found = np.ones_like(unknown)
    found[spins:] = equations.size + np.abs(unknown[spins:])
    return found


def _step(value: Floats, slope: Floats, square: bool) -> Floats:
    if square:
        try:
            return np.asarray(np.linalg.solve(slope, value[..., None])[..., 0])
        except np.linalg.LinAlgError:
            pass
    return np.asarray((np.linalg.pinv(slope) @ value[..., None])[..., 0])
