"""The zero of the crank's reading that suits all timed samples best."""

from __future__ import annotations

import math

import numpy as np

from core.wanted.goals.angles import tamed
from core.wanted.goals.dense import Complexes, Dense, Floats, Ints
from core.wanted.goals.distances import HUGE, costs
from core.wanted.goals.plan import Run, Share, Tables

#: Of a curve in time so many samples, evenly, tell which shift of the crank is best.
_SCANNED = 24


def best_offset(goals: Tables, dense: Dense, timed: Ints, reading: Floats) -> Floats:
    """(M,) the common offset that suits all timed samples, and the runs between them, best.

    Every step of the crank is tried, values between steps by the chord; the best is
    improved between the steps.
    """
    shifts = dense.steps
    misfit = np.zeros((dense.count, shifts))
    for share in goals.shares:
        misfit += _shifted(goals, dense, share, reading)
    for run in goals.runs:
        if run.bounds is not None:
            misfit += _windowed(goals, dense, run)
    offset = np.argmin(misfit, axis=1) * dense.step_rad
    if not dense.cycle_rad:
        offset = offset - _rocked(dense)
    for _ in range(4):
        offset = offset + _slide(goals, dense, timed, reading, offset)
    if dense.cycle_rad:
        offset = offset - dense.cycle_rad * np.round(offset / dense.cycle_rad)
    return np.asarray(offset, np.float64)


def _rocked(dense: Dense) -> float:
    """A rocking crank may start before or behind: shifts begin at half its way less."""
    return dense.step_rad * (dense.steps // 2)


def _shifted(goals: Tables, dense: Dense, share: Share, reading: Floats) -> Floats:
    """(M, N) squared residuals of the timed rows of a wish, the crank shifted by 0 … N − 1
    steps."""
    rows = np.arange(share.rows.start, share.rows.stop)
    rows = rows[goals.timed[goals.row_sample[rows]]]
    total = np.zeros((dense.count, dense.steps))
    if not rows.size:
        return total
    samples = np.unique(goals.row_sample[rows])
    if samples.size > _SCANNED:
        samples = samples[::-(-samples.size // _SCANNED)]
        rows = rows[np.isin(goals.row_sample[rows], samples)]
    error = np.empty((dense.count, dense.steps, samples.size), np.complex128)
    for column, k in enumerate(samples):
        error[..., column] = _sliding(dense, int(goals.channel[k]), float(reading[k])) \
            - goals.target[k]
    spots = np.searchsorted(samples, share.angles[np.isin(share.angles, samples)])
    if spots.size:
        error[..., spots] = tamed(error[..., spots].real, share.wrap, share.absolute)
    where = np.searchsorted(samples, goals.row_sample[rows])
    part = (goals.row_way[rows].conj() * error[..., where]).real * goals.row_scale[rows]
    part = np.where(np.isnan(part), 1e4, part)
    for group in np.unique(goals.row_group[rows]):
        mine = goals.row_group[rows] == group
        square = (part[..., mine] ** 2).sum(axis=-1)
        if group >= 0:
            square = square - part[..., mine].sum(axis=-1) ** 2 / mine.sum()
        total += square
    return total


def _sliding(dense: Dense, channel: int, reading: float) -> Complexes:
    """(M, N) value at a reading of the crank shifted by 0 … N − 1 steps (for a rocking
    crank, by half its steps less), NaN where not reached."""
    n = dense.steps
    x = (reading - float(dense.crank_rad[0])) / dense.step_rad
    if not dense.cycle_rad:
        x -= n // 2
    low = math.floor(x)
    share, first = x - low, np.arange(n) + low
    value = np.where(dense.reached, np.asarray(dense.values[channel]), np.nan)
    gain = dense.gains[channel][:, None]
    ends = []
    for nodes in (first, first + 1):
        end = value[:, nodes % n] + gain * (nodes // n)
        if not dense.cycle_rad:
            end = np.where((nodes >= 0) & (nodes < n), end, np.nan)
        ends.append(end)
    return np.asarray(ends[0] + share * (ends[1] - ends[0]), np.complex128)


def _windowed(goals: Tables, dense: Dense, run: Run) -> Floats:
    """(M, N) for each shift the least a tied run can come to, its order let go."""
    assert run.bounds is not None
    low, high = sorted(goals.sense * bound for bound in run.bounds)
    n = dense.steps
    base = math.ceil((low - float(dense.crank_rad[0])) / dense.step_rad - 1e-9)
    width = max(1, min(n, round((high - low) / dense.step_rad)))
    cost = costs(dense, int(goals.channel[run.samples[0]]), goals.target[run.samples],
                 np.arange(n))
    if not dense.cycle_rad:
        base -= n // 2
    around = cost[:, (np.arange(n + width) + base) % n]
    if not dense.cycle_rad:
        inside = np.arange(n + width) + base
        around[:, (inside < 0) | (inside >= n)] = HUGE
    best, done = around, 1
    while done < width:
        hop = min(done, width - done)
        best = np.minimum(best[:, :best.shape[1] - hop], best[:, hop:])
        done += hop
    least: Floats = best[:, :n].sum(axis=0).T * run.scale**2
    return least


def _slide(goals: Tables, dense: Dense, timed: Ints, reading: Floats,
           offset: Floats) -> Floats:
    """(M,) a Gauss–Newton step of the offset, no longer than a step of the crank."""
    value = np.zeros((dense.count, goals.channel.size), np.complex128)
    slope = np.zeros_like(value)
    value[:, timed], slope[:, timed], _ = dense.at_each(
        goals.channel[timed], reading[timed] + offset[:, None])
    error = value - goals.target
    pull, stiff = np.zeros(dense.count), np.zeros(dense.count)
    for share in goals.shares:
        rows = np.arange(share.rows.start, share.rows.stop)
        rows = rows[goals.timed[goals.row_sample[rows]]]
        if not rows.size:
            continue
        angles = share.angles[goals.timed[share.angles]]
        if angles.size:
            error[:, angles] = tamed(error[:, angles].real, share.wrap, share.absolute)
        ways, scale = goals.row_way[rows].conj(), goals.row_scale[rows]
        r = np.nan_to_num((ways * error[:, goals.row_sample[rows]]).real * scale)
        s = np.nan_to_num((ways * slope[:, goals.row_sample[rows]]).real * scale)
        for group in np.unique(goals.row_group[rows]):
            mine = goals.row_group[rows] == group
            a, b = r[:, mine], s[:, mine]
            if group >= 0:
                b = b - b.mean(axis=1, keepdims=True)
            pull, stiff = pull + (a * b).sum(axis=1), stiff + (b * b).sum(axis=1)
    step = np.where(stiff > 0.0, pull / np.where(stiff > 0.0, stiff, 1.0), 0.0)
    return np.clip(-step, -dense.step_rad, dense.step_rad)
