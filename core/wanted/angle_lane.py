"""A wanted angle beside the angle the part has: what a lane of the strip draws."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.model import WantedAngle
from core.motion.turn import Floats, Turn
from core.wanted.curves import angle_at
from core.wanted.starts import directions

#: Points of a lane where there is no turn to draw it along.
STEPS = 361


@dataclass(frozen=True)
class AngleLane:
    """Degrees throughout, counter-clockwise positive.

    Attributes
    ----------
    crank_deg : (N,) readings of the crank.
    angle_deg : (N,) the part's angle; NaN where the crank cannot go, everywhere when there
        is no such part or turn. Without a line only changes count: then it is moved as a
        whole to lie as near the wish as can be, else by whole turns only.
    wished_deg : (N,) the wished curve; NaN where nothing is wished, as between places.
    knots : index in ``wish.knots``, crank angle and angle of every knot to be seen, each
        turn of the crank anew where the curve repeats.
    """

    crank_deg: Floats
    angle_deg: Floats
    wished_deg: Floats
    knots: tuple[tuple[int, float, float], ...]


def angle_lane(turn: Turn, wish: WantedAngle) -> AngleLane:
    """The lane of a wish over a turn."""
    if turn.crank_rad.size > 1:
        crank = np.degrees(turn.crank_rad)
    else:
        crank = np.linspace(0.0, 360.0, STEPS)
    wished = angle_at(wish, crank)
    angle = np.full_like(crank, np.nan)
    if wish.part in turn.part_ids and crank.size == turn.crank_rad.size:
        angle = directions(turn, wish.part, wish.line)
        angle = angle + _shift(angle, crank, wished, wish)
    if wish.curve == "places":
        wished = np.full_like(crank, np.nan)
    return AngleLane(crank, angle, wished, _knots(wish, float(crank[0]), float(crank[-1])))


def _shift(angle: Floats, crank: Floats, wished: Floats, wish: WantedAngle) -> float:
    """What is added to the part's angle: by the knots for a wish of places."""
    off = wished - angle
    if wish.curve == "places":
        at = np.array([knot.crank_deg for knot in wish.knots])
        off = np.array([knot.angle_deg for knot in wish.knots]) - np.interp(at, crank, angle)
    off = off[np.isfinite(off)]
    if not off.size:
        return 0.0
    mean = float(off.mean())
    return 360.0 * round(mean / 360.0) if wish.line else mean


def _knots(wish: WantedAngle, low: float, high: float) -> tuple[tuple[int, float, float], ...]:
    """Every knot in view; of a closed curve those of every turn."""
    shown = []
    for index, knot in enumerate(wish.knots):
        turns = range(math.ceil((low - knot.crank_deg) / 360.0 - 1e-9),
                      math.floor((high + 1.0 - knot.crank_deg) / 360.0 + 1e-9) + 1)
        for turn in turns if wish.closed else (0,):
            crank = knot.crank_deg + 360.0 * turn
            value = knot.angle_deg if turn == 0 else float(angle_at(wish, crank))
            shown.append((index, crank, value))
    return tuple(shown)
