"""The error of a wish at every step of the turn: what the strip draws."""

from __future__ import annotations

import math

import numpy as np

from core.model import WantedAngle, WantedDwell, WantedPath, WantedStroke, WantedSwing
from core.model.wanted import WantedMotion
from core.motion import Turn
from core.wanted.curves import angle_at
from core.wanted.goals import Dense, Goals, Instants
from core.wanted.goals.compile import DWELL_SAMPLES
from core.wanted.goals.dense import Complexes, Floats, Ints
from core.wanted.goals.plan import Run, Share
from core.wanted.goals.residuals import off_curve

_TURN = 2.0 * math.pi


def lane_of(turn: Turn, goals: Goals, share: Share, wish: WantedMotion, dense: Dense,
            instants: Instants) -> Floats | None:
    """(N,) error at every step, mm or degrees, never negative; NaN where nothing is asked;
    None for wishes of single instants (places, poses, a time ratio).

    Of a path: how far the trace is from the piece of curve it should be on then, with the
    pieces beside it (a thirty-second of the curve each). Of a
    swing or stroke: how far beyond its ends, or beside its line.
    """
    channel = int(goals.channel[share.samples.start])
    value = np.where(turn.reached, np.asarray(dense.values[channel])[0], np.nan)
    match wish:
        case WantedPath() if wish.curve != "places":
            return _path(goals, share, dense, instants, value)
        case WantedAngle() if wish.curve != "places":
            return _angle(goals, share, wish, dense, instants, value.real)
        case WantedSwing():
            return _swing(goals, share, instants, value.real)
        case WantedStroke():
            start, end = complex(*wish.start), complex(*wish.end)
            along = (end - start) / abs(end - start) if end != start else 1.0 + 0j
            off = (value - start) / along
            beyond = np.maximum(np.maximum(off.real - abs(end - start), -off.real), 0.0)
            return np.hypot(beyond, off.imag)
        case WantedDwell():
            return _dwell(goals, share, wish, dense, instants, value)
        case _:
            return None


def _dwell(goals: Goals, share: Share, wish: WantedDwell, dense: Dense, instants: Instants,
           value: Complexes) -> Floats:
    """How far from its mean while it should rest, in every turn of the cycle by itself."""
    span = math.radians((wish.to_deg - wish.from_deg) % 360.0)
    ahead = dense.crank_rad - math.radians(wish.from_deg)
    means = instants.value[0, share.samples].reshape(-1, DWELL_SAMPLES).mean(axis=1)
    lap = np.zeros(ahead.size, np.intp)
    if dense.cycle_rad:
        lap = np.floor((ahead + 1e-9) / _TURN).astype(np.intp)
        ahead = ahead - _TURN * lap
    rests = (ahead >= -1e-9) & (ahead <= span + 1e-9)
    off = np.abs(value - means[lap % means.size])
    if goals.angles[share.samples.start]:
        off = np.degrees(np.abs(off - _TURN * np.round(off / _TURN)))
    return np.where(rests, off, np.nan)


def _steps_between(dense: Dense, ends: Floats) -> tuple[Ints, Ints]:
    """Which steps lie between pairs of crank angles (S, 2): the numbers of the pairs, and
    of the steps, one after the other."""
    lost = ~(np.isfinite(ends[:, 0]) & np.isfinite(ends[:, 1]))
    x = (np.where(lost[:, None], 0.0, ends) - dense.crank_rad[0]) / dense.step_rad
    if not dense.cycle_rad:
        x = np.clip(x, 0.0, dense.steps - 1.0)
    first = np.ceil(x[:, 0] - 1e-9).astype(np.intp)
    count = np.floor(x[:, 1] + 1e-9).astype(np.intp) - first + 1
    count = np.where(lost, 0, np.clip(count, 0, dense.steps))
    pairs = np.repeat(np.arange(count.size), count)
    within = np.arange(pairs.size) - np.repeat(np.cumsum(count) - count, count)
    return pairs, (first[pairs] + within) % dense.steps


def _path(goals: Goals, share: Share, dense: Dense, instants: Instants,
          value: Complexes) -> Floats:
    lane = np.full(value.size, np.nan)
    for run in goals.runs:
        if share.samples.start <= run.samples[0] < share.samples.stop:
            own = dense if run.bounds else dense.own_cycle(int(goals.channel[run.samples[0]]))
            ends = np.sort(_spans(goals, run, instants, own), axis=1)
            pieces, steps = _steps_between(own, ends)
            part = np.full(own.steps, np.nan)
            np.fmax.at(part, steps, _off(run, value[steps], pieces))
            lane = np.fmax(lane, np.tile(part, lane.size // part.size))
    return np.where(np.isnan(value), np.nan, lane)


def _off(run: Run, place: Complexes, pieces: Ints) -> Floats:
    """How far places are from their pieces of a curve, or from the one before or behind:
    where two meet, the nearest of the curve may lie on the other, and the error has no jump."""
    last = run.strays.size - 1
    errors = []
    for beside in (0, -1, 1):
        piece = pieces + beside
        piece = piece % (last + 1) if run.closed else np.clip(piece, 0, last)
        off, way = off_curve(place, run, piece)
        errors.append(np.abs((way.conj() * off).real))
    least: Floats = np.min(errors, axis=0)
    return least


def _spans(goals: Goals, run: Run, instants: Instants, dense: Dense) -> Floats:
    """(S, 2) crank angles between which the trace should be on each piece of the curve."""
    crank = instants.crank_rad[0, run.samples]
    if run.bounds is not None:
        low, high = run.bounds
        offset = instants.offset_rad[0]
        stops = np.concatenate([[low + offset], crank, [high + offset]])
        return np.asarray(stops[run.ends + 1])
    back = crank.size > 1 and goals.sense * (crank[-1] - crank[0]) < 0.0
    sense = -goals.sense if back else goals.sense
    stops = np.append(crank, crank[0] + sense * dense.cycle_rad)
    return np.asarray(stops[run.ends])


def _angle(goals: Goals, share: Share, wish: WantedAngle, dense: Dense, instants: Instants,
           value: Floats) -> Floats:
    wanted = np.radians(angle_at(wish, np.degrees(dense.crank_rad)))
    if not wish.closed and dense.cycle_rad:
        for lap in (-1.0, 1.0):
            other = np.radians(angle_at(
                wish, np.degrees(dense.crank_rad) + lap * math.degrees(dense.cycle_rad)))
            wanted = np.where(np.isnan(wanted), other, wanted)
    off = value - wanted
    error: Floats = np.degrees(np.abs(
        off - _constant(goals, share, instants, bool(wish.line))))
    return error


def _constant(goals: Goals, share: Share, instants: Instants, absolute: bool) -> float:
    """What errors of angles are counted from, rad: whole turns, or their mean."""
    error = (instants.value[0, share.samples] - goals.target[share.samples]).real
    mean = float(error.mean())
    return _TURN * round(mean / _TURN) if absolute and math.isfinite(mean) else mean


def _swing(goals: Goals, share: Share, instants: Instants, value: Floats) -> Floats:
    absolute = goals.row_group[share.rows.start] < 0
    value = value - _constant(goals, share, instants, absolute)
    high, low = goals.target[share.samples].real
    beyond: Floats = np.degrees(np.maximum(np.maximum(value - high, low - value), 0.0))
    return beyond
