"""Reading off a turn how a part or point moves: one stretch of the crank without a gap, and
no longer than it takes to come round again."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.errors import EditError
from core.model import part_of
from core.motion.turn import Complexes, Floats, Turn

#: Less motion than this is none, degrees and mm.
STILL = 1e-6
#: Motions that differ by less than this share of their size are the same.
SAME = 1e-6


@dataclass(frozen=True)
class Reading:
    """Values at readings of the crank.

    Attributes
    ----------
    crank_deg : (n,) increasing; beyond 360° where a crank that locks passes 0°.
    values : (n,) degrees, continuous, or complex mm.
    closed : the motion comes round again: of a point after `turns` crank turns, of a part
        after one. The last value is then the first again (and whole turns of the part
        further).
    turns : crank turns after which it comes round again; 0 where it does not.
    """

    crank_deg: Floats
    values: Any
    closed: bool
    turns: int

    def near(self, crank_deg: float) -> float:
        """A reading of the crank as it is called here: within the stretch if it can be."""
        low, high = float(self.crank_deg[0]), float(self.crank_deg[-1])
        on = low + (crank_deg - low) % 360.0
        return crank_deg if low <= crank_deg <= high or on > high else on


def directions(turn: Turn, part_id: str, line: tuple[str, ...] = ()) -> Floats:
    """(N,) the angle of a part at the steps of the turn, deg; NaN where not reached.

    With a `line` of two of its points the direction from the first to the second, else the
    turn from the drawn pose. KeyError for an unknown part or point.
    """
    turned = np.degrees(turn.angle_rad[:, turn.row(part_id)])
    if len(line) == 2:
        way = turn.sketch.place(line[1]) - turn.sketch.place(line[0])
        turned = turned + math.degrees(math.atan2(way.imag, way.real))
    return np.where(turn.reached, turned, np.nan)


def read_angle(turn: Turn, part_id: str, line: tuple[str, ...] = ()) -> Reading:
    """How a part turns, as :func:`directions`.

    Raises
    ------
    EditError
        When the crank does not turn, or not the part.
    """
    index, crank, whole = _stretch(turn)
    angle = np.unwrap(directions(turn, part_id, line)[index], period=360.0)
    if np.ptp(angle) <= STILL:
        raise EditError("this part does not move", part_id, "choose one that the crank moves")
    if not whole:
        return Reading(crank, angle, False, 0)

    def gain(steps: int) -> float:
        return 360.0 * round(float(_next(angle, steps) - angle[0]) / 360.0)

    def same(steps: int) -> bool:
        off = angle[steps:] - angle[: angle.size - steps] - gain(steps)
        return bool(np.abs(off).max(initial=0.0) <= SAME * 360.0)

    turns, steps = _period(turn, same)
    return Reading(np.append(crank[:steps], crank[0] + 360.0 * turns),
                   np.append(angle[:steps], angle[0] + gain(steps)), turns == 1, turns)


def read_place(turn: Turn, ref: str) -> Reading:
    """How a point moves, mm.

    Raises
    ------
    EditError
        When the crank does not turn, or the point does not move.
    """
    index, crank, whole = _stretch(turn)
    path: Complexes = turn.place(part_of(ref), turn.sketch.place(ref))[index]
    size = float(np.abs(path - path[0]).max())
    if size <= STILL:
        raise EditError("this point does not move", ref, "choose one that the crank moves")
    if not whole:
        return Reading(crank, path, False, 0)

    def same(steps: int) -> bool:
        return bool(np.abs(path - np.roll(path, -steps)).max() <= SAME * size)

    turns, steps = _period(turn, same)
    return Reading(np.append(crank[:steps], crank[0] + 360.0 * turns),
                   np.append(path[:steps], path[0]), True, turns)


def _stretch(turn: Turn) -> tuple[NDArray[np.intp], Floats, bool]:
    """The steps the crank reaches, in order, their readings, deg, and whether they are a
    whole cycle after which everything comes again."""
    drive, reached = turn.sketch.drive, turn.reached
    if drive is None or turn.crank_rad.size < 2 or not reached.any():
        raise EditError("this needs a crank that turns",
                        mend="choose a crank and mend what stops it first")
    crank = np.degrees(turn.crank_rad)
    index = np.flatnonzero(reached)
    if drive.kind == "turn" and reached[0] and reached[-1] and not reached.all():
        start = int(np.flatnonzero(~reached)[-1]) + 1
        index = np.concatenate([np.arange(start, reached.size), index[index < start]])
        crank = np.where(np.arange(crank.size) < start,
                         crank + 360.0 * turn.crank_turns, crank)
    whole = drive.kind == "turn" and bool(reached.all()) and turn.repeats
    return index, crank[index], whole


def _period(turn: Turn, same: Callable[[int], bool]) -> tuple[int, int]:
    """The fewest crank turns, a divisor of the cycle, after which a motion is the `same`,
    and their steps."""
    count, size = turn.crank_turns, turn.crank_rad.size
    return next((turns, size * turns // count) for turns in range(1, count + 1)
                if count % turns == 0 and size * turns % count == 0
                and (turns == count or same(size * turns // count)))


def _next(angle: Floats, steps: int) -> float:
    """The angle so many steps on; just after the last, as far on as the steps about it."""
    if steps < angle.size:
        return float(angle[steps])
    return float(angle[-1] + (angle[-1] - angle[-2] + angle[1] - angle[0]) / 2)
