"""When each sample is compared: the instants that suit the wishes best."""

from __future__ import annotations

import math

import numpy as np

from core.wanted.goals.assign import assign_either, assign_line, assign_loop, closer
from core.wanted.goals.compile import about_rad
from core.wanted.goals.dense import Bools, Complexes, Dense, Floats, Instants, Ints
from core.wanted.goals.distances import HUGE, costs, distances
from core.wanted.goals.extremes import extreme, longest
from core.wanted.goals.lap import Lap, settle
from core.wanted.goals.offset import best_offset
from core.wanted.goals.order import in_order
from core.wanted.goals.plan import Run, Tables

#: Places tried between two matched samples for where the trace strays most.
_TRIED = 8
#: An instant is where the trace is nearest when that is within this share of a step.
_CLOSE = 0.1
#: A place come by twice is taken at the time that suits the others when it is there
#: nearer by no more than this share of the squared tolerance.
_NEAR = 0.01
#: Steps of a lap that samples are laid on; finer ones are thinned out for it.
_MATCHED = 180
#: Between which places stray samples lie, (M, S) each: along a lap, or crank angles.
Spans = tuple[Floats, Floats, Lap | None]
#: Why an instant cannot move, beside 1: a neighbour is in its way.
_AT_BOUND = 2


def match(goals: Tables, dense: Dense, most: int | None) -> Instants:
    """The best instants for M mechanisms; see `Goals.match`.

    All is worked out with the crank counted in the driving direction, and turned back at
    the end.
    """
    forward = dense if goals.sense > 0 else dense.turned()
    count, samples = dense.count, goals.channel.size
    crank = np.full((count, samples), np.nan)
    blocked = np.zeros((count, samples), bool)
    tied = np.zeros((count, samples), bool)
    misfit = np.zeros(count)
    reading = goals.sense * goals.reading_rad
    offset = np.zeros(count)
    timed = np.flatnonzero(goals.timed)
    if timed.size:
        if goals.start_free:
            offset = best_offset(goals, forward, timed, reading)
        crank[:, timed] = reading[timed] + offset[:, None]
    for run in goals.runs:
        channel = int(goals.channel[run.samples[0]])
        target = goals.target[run.samples]
        if run.bounds is None:
            at, stop, total, spans = _loose(run, forward.own_cycle(channel), 0, target, most)
        else:
            at, stop, total, spans = _tied(run, forward, channel, target, goals.sense, offset)
            tied[:, run.samples] = stop == _AT_BOUND
        crank[:, run.samples], blocked[:, run.samples] = at, stop > 0
        misfit += total * run.scale**2
        if run.strays.size:
            crank[:, run.strays] = _strays(run, forward, channel, spans)
    for one in goals.extremes:
        crank[:, one.sample] = extreme(forward, int(goals.channel[one.sample]), one.way)
    for ratio in goals.ratios:
        if ratio.point:
            crank[:, ratio.samples] = longest(forward, int(goals.channel[ratio.samples[0]]))
        crank[:, ratio.about] = about_rad(crank[:, ratio.samples])
    value, slope, bend = forward.at_each(goals.channel, crank)
    blocked |= goals.free & _astray(goals, value, slope, forward.step_rad)
    if goals.sense < 0:
        crank, offset = -crank, -offset
    return Instants(crank, goals.channel, goals.free, offset, value, np.nan_to_num(bend),
                    blocked, tied, misfit, dense.cycle_rad)


def _astray(goals: Tables, value: Complexes, slope: Complexes, step_rad: float) -> Bools:
    """(M, K) instants that are not where the trace is nearest, since an end of the crank's
    way, a lock, or a neighbour kept them from it."""
    with np.errstate(divide="ignore", invalid="ignore"):
        need = np.abs((slope.conj() * (value - goals.target)).real) / np.abs(slope) ** 2
    return np.asarray(need > _CLOSE * step_rad)


def _loose(run: Run, dense: Dense, channel: int, target: Complexes, most: int | None
           ) -> tuple[Floats, Ints, Floats, Spans]:
    """Instants of a run without ticks: of the best order, direction and start."""
    lap = Lap(dense)
    if run.any_order:
        cost = costs(dense, channel, target, np.arange(dense.steps))
        steps = np.argmin(cost, axis=1)
        total = np.take_along_axis(cost, steps[:, None], axis=1)[:, 0].sum(axis=0)
        crank = settle(dense, channel, dense.crank_rad[steps.T], target, dense.step_rad)
        crank = np.where(total[:, None] < HUGE, crank, np.nan)
        none = np.zeros((dense.count, 0))
        return crank, np.zeros(crank.shape, np.intp), total, (none, none, lap)
    stride = max(1, lap.length // _MATCHED)
    round_ = costs(dense, channel, target, lap.steps[::stride])
    if run.either_way and dense.cycle_rad:  # there and back is the same either way
        steps, total, back = assign_either(round_, most)
        steps = np.where(back, steps[::-1], steps)
    else:
        steps, total = assign_loop(round_, most)
        back = np.zeros(dense.count, bool)
    if dense.count == 1:
        order = -1 if back[0] else 1
        steps = closer(round_[::order, :, 0], steps[::order, 0], _NEAR * run.tolerance_mm**2,
                       run.tolerance_mm**2)[::order, None]
    laps, steps = np.divmod(steps.T, round_.shape[1])
    steps = laps * lap.length + steps * stride
    if not dense.cycle_rad:
        steps = lap.nearest_legs(steps)

    def near(start: Floats, target: Complexes, room: Floats) -> Floats:
        crank = lap.crank(start)
        moved = settle(dense, channel, crank, target, room * dense.step_rad) - crank
        return np.asarray(start + lap.way(start) * moved / dense.step_rad)

    target = np.where(back[:, None], target[::-1], target)
    x, stuck = in_order(np.where(back[:, None], steps[:, ::-1], steps).astype(np.float64),
                        target, float(stride), near)
    x = np.minimum(x, x[:, :1] + lap.length)
    x, stuck = (np.where(back[:, None], one[:, ::-1], one) for one in (x, stuck))
    crank = np.where(total[:, None] < HUGE, lap.crank(x), np.nan)
    first, last = _spans(run, x, back, float(lap.length))
    return crank, stuck.astype(np.intp), total, (first, last, lap)


def _spans(run: Run, x: Floats, back: Bools, length: float) -> tuple[Floats, Floats]:
    """(M, S) between which places along the lap each stray lies."""
    low = run.ends[:, 0]
    around = run.ends[:, 1] == x.shape[1]
    high = np.where(around, 0, run.ends[:, 1])
    first, last = x[:, low], x[:, high]
    lifted = np.where(around, length, 0.0)
    forward = (first, last + lifted)
    backward = (last, first + lifted)
    return (np.where(back[:, None], backward[0], forward[0]),
            np.where(back[:, None], backward[1], forward[1]))


def _tied(run: Run, dense: Dense, channel: int, target: Complexes, sense: int,
          offset: Floats) -> tuple[Floats, Ints, Floats, Spans]:
    """Instants of a run between two readings of the crank (M, K), counted forwards."""
    assert run.bounds is not None
    low, high = sorted(sense * bound for bound in run.bounds)
    steps = max(3, 1 + math.ceil((high - low) / dense.step_rad))
    grid = np.linspace(low, high, steps) + offset[:, None]
    value = dense.at(channel, grid)[0].T
    at, total = assign_line(distances(value, ~np.isnan(value), target, False))
    start = np.take_along_axis(grid, at.T, axis=1)
    ends = np.array([low, high]) + offset[:, None]

    def near(start: Floats, target: Complexes, room: Floats) -> Floats:
        crank = settle(dense, channel, start, target, room)
        return np.clip(crank, ends[:, :1], ends[:, 1:])

    crank, held = in_order(start, np.broadcast_to(target, start.shape),
                           (high - low) / (steps - 1), near)
    bound = (crank <= ends[:, :1]) | (crank >= ends[:, 1:])
    stuck = np.where(bound, _AT_BOUND, held.astype(np.intp))
    stops = np.concatenate([ends[:, :1], crank, ends[:, 1:]], axis=1)
    crank = np.where(total[:, None] < HUGE, crank, np.nan)
    spans: Spans = stops[:, run.ends[:, 0] + 1], stops[:, run.ends[:, 1] + 1], None
    return crank, stuck, total, spans


def _strays(run: Run, dense: Dense, channel: int,
            spans: Spans) -> Floats:
    """(M, S) where the trace is farthest from the piece of curve it should be on."""
    first, last, lap = spans
    inner = (np.arange(_TRIED) + 0.5) / _TRIED
    x = first[..., None] + (last - first)[..., None] * inner
    crank = x if lap is None else lap.crank(x)
    flat = crank.reshape(crank.shape[0], -1)
    place = dense.at(channel, flat)[0].reshape(crank.shape)
    near = np.full(crank.shape, np.inf)
    for column in range(0, run.fine.shape[1], 2):
        near = np.minimum(near, np.abs(place - run.fine[:, column, None]))
    worst = np.argmax(np.where(np.isnan(near), -1.0, near), axis=-1)
    return np.asarray(np.take_along_axis(crank, worst[..., None], axis=-1)[..., 0])
