"""Which crank angle brings a grabbed place nearest to the cursor."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from core.motion.turn import Turn

#: How far the crank may go in one mouse move.
_REACH_RAD = math.radians(75.0)


class Follower:
    """Follows the cursor with one place of one part, along its own path.

    Near a turning point of the path, where two crank angles serve as well, the crank
    goes on in the sense it was going.
    """

    def __init__(self, turn: Turn, part_id: str, drawn: complex, crank_rad: float) -> None:
        self._path: NDArray[np.complex128] = turn.place(part_id, drawn)
        self._crank = turn.crank_rad
        drive = turn.sketch.drive
        self._cycle = 2 * math.pi * turn.crank_turns
        self._closed = bool(drive is not None and drive.kind == "turn")
        self._at = crank_rad
        self._sense = 0.0

    @property
    def moves(self) -> bool:
        """False for a place that stays where it is all the turn."""
        sound = self._path[np.isfinite(self._path)]
        return sound.size > 1 and float(np.ptp(sound.real) + np.ptp(sound.imag)) > 1e-6

    def to(self, target: complex, tie_mm: float) -> float:
        """The crank angle (rad, near the last one) that brings the place nearest to
        `target` (mm); distances that differ less than `tie_mm` count as the same."""
        steps, angles = self._window()
        if steps.size == 0:
            return self._at
        away = np.abs(self._path[steps] - target)
        away = np.where(np.isfinite(away), away, np.inf)
        best = int(np.argmin(away))
        if self._sense:
            ahead = (angles - self._at) * self._sense > 0
            good = np.flatnonzero(ahead & (away <= away[best] + tie_mm))
            if good.size and (angles[best] - self._at) * self._sense <= 0:
                best = int(good[np.argmin(away[good])])
        if not math.isfinite(away[best]):
            return self._at
        angle = self._refined(steps, angles, best, target)
        if abs(angle - self._at) > 1e-9:
            self._sense = math.copysign(1.0, angle - self._at)
        self._at = angle
        return angle

    def _window(self) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
        """Steps within reach of the last angle, in order, and their unwrapped angles."""
        off = self._crank - self._at
        if self._closed:
            off = (off + self._cycle / 2) % self._cycle - self._cycle / 2
        near = np.flatnonzero(np.abs(off) <= _REACH_RAD)
        order = near[np.argsort(off[near])]
        return order, self._at + off[order]

    def _refined(self, steps: NDArray[np.intp], angles: NDArray[np.float64], best: int,
                 target: complex) -> float:
        """Between the steps: the foot of the cursor on the chords either side."""
        found, least = float(angles[best]), abs(self._path[steps[best]] - target)
        for other in (best - 1, best + 1):
            if not 0 <= other < len(steps):
                continue
            start, end = self._path[steps[best]], self._path[steps[other]]
            span = end - start
            if not np.isfinite(span) or abs(span) == 0:
                continue
            share = ((target - start) * span.conjugate()).real / abs(span) ** 2
            share = min(max(share, 0.0), 1.0)
            away = abs(start + share * span - target)
            if away < least:
                least = away
                found = float(angles[best] + share * (angles[other] - angles[best]))
        return found
