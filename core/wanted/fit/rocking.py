"""A crank that rocks instead of going round: the stretch of its way that holds all wishes.

With the rule `rocking` a sketch need not go all the way round. What counts is the one
stretch of the crank, within its reach from the drawn pose, in which every wish is looked at:
there nothing may lock or come to be put together otherwise, and transmission and regions are
minded there alone. What comes of it is driven to and fro over that stretch, unless the whole
turn is as good.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable
from dataclasses import dataclass

import msgspec
import numpy as np
from numpy.typing import NDArray

from core.model import Sketch, WantedAngle, WantedPath, WantedRatio, WantedStroke, WantedSwing
from core.model.wanted import WantedMotion
from core.motion import Turn, pose_at
from core.wanted.goals import Goals, Instants
from core.wanted.goals.turned import dense_of, eased, piece_of

replace = msgspec.structs.replace
Floats = NDArray[np.float64]

#: A rocking crank stops so far (rad) before it locks.
BEFORE_LOCK_RAD = 1e-7
#: A reach shorter than this is no way to rock on, and no crank is said to rock on less.
LEAST_RAD = 0.02
FULL = 2.0 * math.pi


def may_rock(sketch: Sketch, wishes: Iterable[WantedMotion]) -> bool:
    """Whether the crank may rock: the rules say so, and no wish speaks of a whole turn."""
    drive = sketch.drive
    return sketch.fit.rocking and drive is not None and not of_whole_turn(wishes)


def of_whole_turn(wishes: Iterable[WantedMotion]) -> tuple[str, ...]:
    """Ids of wishes that speak of a whole turn: closed curves, swings, strokes and ratios."""
    return tuple(wish.id for wish in wishes
                 if isinstance(wish, WantedSwing | WantedStroke | WantedRatio)
                 or (isinstance(wish, WantedPath | WantedAngle)
                     and wish.closed and wish.curve != "places"))


def turning(sketch: Sketch) -> Sketch:
    """The sketch with its crank driven round, to see how far it can go."""
    drive = sketch.drive
    return sketch if drive is None or drive.kind == "turn" else replace(
        sketch, drive=replace(drive, kind="turn"))


def goes(turn: Turn) -> bool:
    """Whether the crank goes all the way it should."""
    return bool(turn.reached.all()) and not turn.limits


@dataclass(frozen=True)
class Swing:
    """Between which readings, rad, a crank rocks, and its reading in the drawn pose, all
    counted as the instants of the wishes are."""

    low: float
    high: float
    home: float


def reach_of(turn: Turn) -> tuple[float, float] | None:
    """Readings, rad, between which a crank that locks can go; None where that is next to
    nothing."""
    grid = turn.solved.grid
    low = grid.home + grid.reach.low + BEFORE_LOCK_RAD
    high = grid.home + grid.reach.high - BEFORE_LOCK_RAD
    return (low, high) if high - low > LEAST_RAD else None


def matched(goals: Goals, turn: Turn, steps: int) -> Instants | None:
    """The instants that suit the wishes best on the way of a crank that locks, the zero of
    its reading included where that is free."""
    reach = reach_of(turn)
    if reach is None:
        return None
    if not goals.timed.any():
        return eased(goals, turn, *reach, 2 * steps)
    # Any zero will do, so the middle of the readings is laid on the middle of the way.
    middle = 0.0
    if goals.start_free:
        readings = goals.reading_rad[goals.timed]
        middle = (float(readings.min() + readings.max()) - sum(reach)) / 2
    span = pose_at(turn, np.linspace(*reach, steps))
    ahead = piece_of(span, span.crank_rad + middle, goals.channels)
    instants = goals.match(ahead, exact=False)
    return dataclasses.replace(instants, crank_rad=instants.crank_rad - middle,
                               offset_rad=instants.offset_rad - middle)


def instants_of(goals: Goals, turn: Turn) -> Instants:
    """The instants of a solved turn, be it round or to and fro."""
    drive = turn.sketch.drive
    if goals.timed.any() or drive is None or drive.kind != "rock":
        return goals.match(dense_of(turn, goals.channels))
    crank = turn.crank_rad
    return eased(goals, turn, float(crank[0]), float(crank[-1]), crank.size, exact=True)


def swing_of(goals: Goals, turn: Turn, instants: Instants) -> Swing | None:
    """The one stretch that holds all instants; None where they need more than a turn, or
    the crank does not go there in one go."""
    crank = instants.crank_rad[0]
    if not np.isfinite(crank).all():
        return None
    grid, whole = turn.solved.grid, goes(turn)
    cycle = FULL * turn.crank_turns
    if goals.timed.any():
        low, high = float(crank.min()), float(crank.max())
        if high - low >= cycle:
            return None
    elif whole:
        low, high = _without_largest_gap(crank, cycle)
    else:
        middle = grid.home + (grid.reach.low + grid.reach.high) / 2
        near = crank + cycle * np.round((middle - crank) / cycle)
        low, high = float(near.min()), float(near.max())
    centre = (low + high) / 2
    low, high = min(low, centre - LEAST_RAD / 2), max(high, centre + LEAST_RAD / 2)
    if whole:
        return Swing(low, high, grid.home + cycle * round((centre - grid.home) / cycle))
    reached = grid.home + (grid.reach.low + grid.reach.high) / 2
    home = grid.home + cycle * round((centre - reached) / cycle)
    inside = home + grid.reach.low <= low and high <= home + grid.reach.high
    return Swing(low, high, home) if inside else None


def _without_largest_gap(crank: Floats, cycle: float) -> tuple[float, float]:
    """The shortest stretch round a cycle that holds all angles."""
    inside = np.sort(crank % cycle)
    gaps = np.diff(np.append(inside, inside[0] + cycle))
    first = int(np.argmax(gaps))
    low = float(inside[(first + 1) % len(inside)])
    return low, low + cycle - float(gaps[first])


def watched(turn: Turn, swing: Swing, steps: int) -> Turn:
    """The poses over the stretch."""
    return pose_at(turn, np.linspace(swing.low, swing.high, steps))


def rocked(sketch: Sketch, swing: Swing, late_rad: float) -> Sketch:
    """The sketch with its crank driven to and fro over the stretch, its readings as wished
    (by `late_rad` less than the crank's)."""
    drive = sketch.drive
    assert drive is not None
    low, high, home = (math.degrees(each - late_rad)
                       for each in (swing.low, swing.high, swing.home))
    return replace(sketch, drive=replace(drive, kind="rock", drawn_deg=home, from_deg=low,
                                         to_deg=high))
