"""How a turn meets the wishes of its sketch: for the strip, the panels and the findings."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from msgspec.structs import replace

from core.model import Sketch, WantedPose, WantedRatio
from core.model.wanted import WantedMotion
from core.motion import Turn, pose_at, rates
from core.wanted.attached import attached
from core.wanted.goals import Dense, Goals, Instants, Seen, goals
from core.wanted.goals.plan import Share
from core.wanted.goals.residuals import centred, raw
from core.wanted.goals.turned import dense_of, eased, value_of
from core.wanted.measure.lanes import lane_of
from core.wanted.measure.words import met_text

Floats = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass(frozen=True)
class Met:
    """How a wish is met.

    Attributes
    ----------
    wish : its id.
    rms, worst : root mean square and largest error, in `unit`; infinite where the crank
        does not reach what is asked.
    unit : "mm", "deg", or "" for a time ratio. A pose has errors in mm and degrees: told
        is the kind that is larger in tolerances.
    tolerance : the wish's, in `unit`.
    crank_rad : crank angle of the largest error, in the sketch's reading.
    met : whether no error is above its tolerance.
    error : root mean square error of all kinds, in tolerances.
    lane : (N,) error at every step of the turn, in `unit`; NaN where nothing is asked of
        that step. None for wishes that ask for single instants only.
    at_rad, errors : (K,) the crank angles at which the wish was compared, within the turn,
        and the errors there, in `unit`.
    text : one sentence.
    """

    wish: str
    rms: float
    worst: float
    unit: str
    tolerance: float
    crank_rad: float
    met: bool
    error: float
    lane: Floats | None
    at_rad: Floats
    errors: Floats
    text: str


def measure(turn: Turn) -> tuple[Met, ...]:
    """How a turn meets the wishes of its sketch, in their order.

    Wishes that are not attached, or to something that is no longer there, are left out.
    Readings of the crank count as they are: their zero is not free here. Values between
    the steps are interpolated (polynomials of degree 7, to about 1e-12 of the sketch's
    size at 720 steps).
    """
    wishes = attached(turn.sketch)
    if not wishes or turn.crank_rad.size < 3:
        return ()
    drive = turn.sketch.drive
    sense = -1 if drive is not None and drive.rpm < 0.0 else 1
    found = _compiled(wishes, sense, turn.crank_turns if turn.repeats else 1)
    dense = dense_of(turn, found.channels)
    if dense.cycle_rad or found.timed.any() or turn.solution is None or not turn.reached.all():
        instants = found.match(dense)
        seen = Seen(*dense.at_each(instants.channel, instants.crank_rad)[:2])
    else:  # a rocking crank may turn back just before it locks
        instants, seen = _rocking(turn, found)
    rows, _, slide, missed = raw(found, instants, seen)
    rows, _, _ = centred(found, rows, None, slide, np.where(missed, 0.0, 1.0))
    off = np.where(missed, np.inf, np.abs(rows))[0] / found.row_worth
    return tuple(_met(turn, found, share, wish, dense, instants, off)
                 for share, wish in zip(found.shares, wishes, strict=True))


def _rocking(turn: Turn, found: Goals) -> tuple[Instants, Seen]:
    """The instants of wishes without readings on a swing, and what is seen then, exactly."""
    crank = turn.crank_rad
    instants = eased(found, turn, float(crank[0]), float(crank[-1]), crank.size, exact=True)
    pose = pose_at(turn, np.nan_to_num(instants.crank_rad[0], nan=float(crank[0])))
    speed = rates(pose)
    value, slope = np.zeros((2, 1, pose.crank_rad.size), np.complex128)
    for number, channel in enumerate(found.channels):
        at = instants.channel == number
        value[0, at] = value_of(pose, channel)[at]
        slope[0, at] = (speed.slope(channel.ref)[0] if channel.kind == "point"
                        else speed.spin[pose.row(channel.ref)])[at]
    return instants, Seen(value, slope)


def overall(mets: Iterable[Met], sketch: Sketch) -> float:
    """Root mean square error in tolerances over all wishes that were measured, by their
    weights; 0 without any, infinite where one is out of reach."""
    weights = {wish.id: wish.weight for wish in sketch.wanted}
    pairs = [(weights.get(met.wish, 0.0), met.error) for met in mets]
    whole = sum(weight for weight, _ in pairs)
    if whole <= 0.0:
        return 0.0
    return math.sqrt(sum(weight * error**2 for weight, error in pairs if weight) / whole)


@lru_cache(maxsize=16)
def _compiled(wishes: tuple[WantedMotion, ...], sense: int, turns: int) -> Goals:
    """The goals of wishes, each with a weight of one."""
    return goals([replace(wish, weight=1.0) for wish in wishes], sense=sense,
                 start_free=False, turns=turns)


def _met(turn: Turn, found: Goals, share: Share, wish: WantedMotion, dense: Dense,
         instants: Instants, off: Floats) -> Met:
    """One wish, from the rows of all, `off` (R,) in tolerances."""
    samples = np.arange(share.samples.start, share.samples.stop)
    rows = np.arange(share.rows.start, share.rows.stop)
    own = found.row_sample[rows]
    square = np.bincount(own - samples[0], off[rows] ** 2, samples.size)
    used = np.isin(samples, own)
    samples, errors = samples[used], np.sqrt(square[used])
    error = math.sqrt(float(square.sum()) / max(share.count, 1))
    worst = int(np.argmax(errors))
    unit, tolerance = _unit(found, wish, int(samples[worst]))
    told = np.array([_unit(found, wish, int(k))[0] == unit for k in samples])
    rms = error * tolerance
    if isinstance(wish, WantedPose):
        rms = float(np.sqrt((errors[told] ** 2).mean())) * tolerance
    cycle = dense.cycle_rad
    at = instants.crank_rad[0, samples[told]]
    if cycle:
        at = dense.crank_rad[0] + (at - dense.crank_rad[0]) % cycle
    largest = float(errors[worst])
    crank = float(at[int(np.flatnonzero(np.flatnonzero(told) == worst)[0])])
    if not math.isfinite(crank):
        crank = float(dense.crank_rad[0])
    met = largest <= 1.0 + 1e-9
    lane = lane_of(turn, found, share, wish, dense, instants)
    return Met(wish.id, rms, largest * tolerance, unit, tolerance, crank, met, error, lane, at,
               errors[told] * tolerance,
               met_text(turn.sketch, wish, largest * tolerance, unit, crank, met))


def _unit(found: Goals, wish: WantedMotion, sample: int) -> tuple[str, float]:
    """Unit and tolerance of the errors of a sample."""
    if isinstance(wish, WantedRatio):
        return "", wish.tolerance
    if found.angles[sample]:
        return "deg", wish.tolerance_deg  # type: ignore[union-attr]
    return "mm", wish.tolerance_mm  # type: ignore[union-attr]
