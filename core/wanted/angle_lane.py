"""A wanted angle beside the angle the part has: what a lane of the strip draws."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.model import WantedAngle
from core.motion.turn import Floats, Turn
from core.wanted.curves import angle_at, gain_deg
from core.wanted.reading import directions

#: Points of a lane where there is no turn to draw it along.
STEPS = 361
#: More knots than this are shown in their own turn only.
MOST_SEEN = 1500


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
    cycle = _cycle(turn, wish)
    wished = _wished(wish, crank, cycle)
    angle = np.full_like(crank, np.nan)
    if wish.part in turn.part_ids and crank.size == turn.crank_rad.size:
        angle = directions(turn, wish.part, wish.line)
        angle = angle + _shift(angle, crank, wished, wish)
    if wish.curve == "places":
        wished = np.full_like(crank, np.nan)
    knots = _knots(wish, float(crank[0]), float(crank[-1]), cycle)
    return AngleLane(crank, angle, wished, knots)


def _cycle(turn: Turn, wish: WantedAngle) -> float:
    """Degrees after which the curve, or else the crank, comes round; 0 when neither does."""
    drive = turn.sketch.drive
    if wish.closed:
        return 360.0
    return 360.0 * turn.crank_turns if drive is not None and drive.kind == "turn" else 0.0


def _wished(wish: WantedAngle, crank: Floats, cycle: float) -> Floats:
    """The curve; of an open one also what lies before or after this cycle of the crank."""
    wished = angle_at(wish, crank)
    if not wish.closed and cycle:
        for lap in (cycle, -cycle):
            wished = np.where(np.isnan(wished), angle_at(wish, crank + lap), wished)
    return wished


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


def _knots(wish: WantedAngle, low: float, high: float,
           cycle: float) -> tuple[tuple[int, float, float], ...]:
    """Every knot in view, again after every `cycle` unless they are a crowd."""
    shown = [(index, knot.crank_deg, knot.angle_deg, 0)
             for index, knot in enumerate(wish.knots)]
    if cycle and len(shown) * ((high - low) / cycle + 1.0) <= MOST_SEEN:
        shown = [
            (index, crank + cycle * turn, angle, turn) for index, crank, angle, _ in shown
            for turn in range(math.ceil((low - crank) / cycle - 1e-9),
                              math.floor((high + 1.0 - crank) / cycle + 1e-9) + 1)]
    gain = gain_deg(wish)
    return tuple((index, crank, angle + turn * gain) for index, crank, angle, turn in shown)
