"""The torque that goes through a hold: while cranking, and when something is blocked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.effort.torque import Band, Effort
from core.making.locks.holds import Hold
from core.making.rods import RodLoad, loads
from core.motion import Rates, Turn
from core.motion.turn import Floats

#: How far a blocked part still turns by play and the give of wood, rad (an estimate,
#: common practice, no source).
GIVE_RAD = math.radians(2.0)
#: A part that turns less than this for a turn of the crank stands still.
_STILL = 1e-9


@dataclass(frozen=True)
class Through:
    """Torque through a hold over the turn, N·mm.

    Attributes
    ----------
    use_nmm : greatest without friction, and greatest with the most friction.
    use_rad : crank angle of the latter.
    lane_nmm : (N,) the greater of both at every step, without sign; NaN where not reached.
    jam_nmm, jam_rad : with the hand at its limit and what lies beyond blocked; None where
        nothing is known of the hand or nothing turns.
    jam_times : that torque over the hand's at the crank.
    toggled : the worst is at a dead point, where only play and give bound it.
    """

    use_nmm: tuple[float, float]
    use_rad: float
    lane_nmm: Floats
    jam_nmm: float | None
    jam_rad: float
    jam_times: float
    toggled: bool


def through(turn: Turn, effort: Effort, rates: Rates, found: Sequence[Hold],
            jam_nmm: float | None, band: Band | None = None) -> tuple[Through, ...]:
    """The torque through each hold.

    Parameters
    ----------
    jam_nmm : what the hand can put on the crank when something is blocked; None: unknown.
    band : torques with the largest friction; None: reckon without.

    Notes
    -----
    In use the part passes to its rod what pins and locks pass to it (Newton–Euler). In a
    jam, virtual work: torque through the hold times the turn of its part equals torque of
    the hand times the turn of the crank, everything else being light against both. At a
    dead point the part stands still and the torque would have no bound: a part is taken to
    give by `GIVE_RAD` before it stands, so that its rate is √(rate² + 2 · |second
    derivative| · give) at least.
    """
    rods = list({hold.rod.id: hold.rod for hold in found}.values())
    plain = {load.rod.id: load for load in loads(turn, effort, rods)}
    rubbing = plain if band is None else {
        load.rod.id: load for load in loads(turn, effort, rods, band)}
    result = []
    for hold in found:
        if hold.role == "faces":
            row = next(lock.parts for lock in turn.sketch.locks
                       if lock.id == hold.lock).index(hold.part)
            bare = effort.moments[hold.lock][:, row]
            most = bare if band is None else band.high[hold.lock].moment[:, row]
        else:
            bare, most = (_of_rod(hold, each[hold.rod.id]) for each in (plain, rubbing))
        result.append(_through(turn, rates, hold, np.abs(bare), np.abs(most), jam_nmm))
    return tuple(result)


def _of_rod(hold: Hold, load: RodLoad) -> Floats:
    return load.hand_nmm if hold.station is None else load.torque_nmm[:, hold.station]


def _through(turn: Turn, rates: Rates, hold: Hold, bare: Floats, most: Floats,
             jam_nmm: float | None) -> Through:
    lane = np.fmax(bare, most)
    fine = np.isfinite(lane)
    step = int(np.nanargmax(lane)) if fine.any() else 0
    peak = float(lane[step]) if fine.any() else 0.0
    least = float(np.nanmax(bare)) if np.isfinite(bare).any() else peak
    jam, jam_step, times, toggled = _jammed(turn, rates, hold, jam_nmm)
    return Through((min(least, peak), peak), float(turn.crank_rad[step]), lane, jam,
                   float(turn.crank_rad[jam_step]), times, toggled)


def _jammed(turn: Turn, rates: Rates, hold: Hold,
            jam_nmm: float | None) -> tuple[float | None, int, float, bool]:
    if jam_nmm is None:
        return None, 0, math.nan, False
    if hold.role in ("crank", "handle") or hold.rod.grip_mm is not None:
        return jam_nmm, 0, 1.0, False  # on the crank's own shaft
    row = turn.row(hold.part)
    spin, bend = np.abs(rates.spin[row]), np.abs(rates.spin2[row])
    if not np.nanmax(spin, initial=0.0) > _STILL:
        return None, 0, math.nan, False
    moves = np.sqrt(spin**2 + 2.0 * bend * GIVE_RAD)
    moves = np.where(turn.reached & (moves > _STILL), moves, np.nan)
    step = int(np.nanargmin(moves))
    return (jam_nmm / float(moves[step]), step, 1.0 / float(moves[step]),
            bool(spin[step] < 0.9 * moves[step]))
