"""When each sample is compared: the instants that suit the wishes best."""

from __future__ import annotations

import math

import numpy as np

from core.wanted.goals.angles import tamed
from core.wanted.goals.assign import HUGE, assign_line, assign_loop
from core.wanted.goals.compile import about_rad
from core.wanted.goals.dense import Bools, Complexes, Dense, Floats, Instants, Ints
from core.wanted.goals.lap import Lap, settle
from core.wanted.goals.plan import Run, Share, Tables

#: Places tried between two matched samples for where the trace strays most.
_TRIED = 8
#: Steps of a lap that samples are laid on; finer ones are thinned out for it.
_MATCHED = 180
#: Between which places stray samples lie, (M, S) each: along a lap, or crank angles.
Spans = tuple[Floats, Floats, Lap | None]
#: Why an instant cannot move, beside 1: a neighbour is in its way.
_AT_BOUND = 2
#: Directions tried for the longest way of a point.
_DIRECTIONS = 36


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
            offset = _offset(goals, forward, timed, reading)
        crank[:, timed] = reading[timed] + offset[:, None]
    for run in goals.runs:
        channel = int(goals.channel[run.samples[0]])
        target = goals.target[run.samples]
        if run.bounds is None:
            at, stop, total, spans = _loose(run, forward, channel, target, most)
        else:
            at, stop, total, spans = _tied(run, forward, channel, target, goals.sense, offset)
            tied[:, run.samples] = stop == _AT_BOUND
        crank[:, run.samples], blocked[:, run.samples] = at, stop > 0
        misfit += total * run.scale**2
        if run.strays.size:
            crank[:, run.strays] = _strays(run, forward, channel, spans)
    for extreme in goals.extremes:
        crank[:, extreme.sample] = _extreme(
            forward, int(goals.channel[extreme.sample]), extreme.way)
    for ratio in goals.ratios:
        if ratio.point:
            crank[:, ratio.samples] = _longest(forward, int(goals.channel[ratio.samples[0]]))
        crank[:, ratio.about] = about_rad(crank[:, ratio.samples])
    value, bend = _looked(goals, forward, crank)
    if goals.sense < 0:
        crank, offset = -crank, -offset
    return Instants(crank, goals.channel, goals.free, offset, value, bend, blocked, tied,
                    misfit, dense.cycle_rad)


def _looked(goals: Tables, dense: Dense, crank: Floats) -> tuple[Complexes, Complexes]:
    """Values and second derivatives at all instants."""
    value, bend = (np.full(crank.shape, np.nan, np.complex128) for _ in range(2))
    for channel in range(len(goals.channels)):
        mine = np.flatnonzero(goals.channel == channel)
        if mine.size:
            value[:, mine], _, bend[:, mine] = dense.at(channel, crank[:, mine])
    return value, np.nan_to_num(bend)


def _offset(goals: Tables, dense: Dense, timed: Ints, reading: Floats) -> Floats:
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
    cost = _cost(dense, int(goals.channel[run.samples[0]]), goals.target[run.samples],
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
    for channel in range(len(goals.channels)):
        mine = timed[goals.channel[timed] == channel]
        if mine.size:
            value[:, mine], slope[:, mine], _ = dense.at(channel,
                                                         reading[mine] + offset[:, None])
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


def _cost(dense: Dense, channel: int, target: Complexes, steps: Ints) -> Floats:
    """(K, L, M) squared distances of targets from the trace about each of its steps (L,),
    which follow one another round (but for the ends of a rocking crank)."""
    place = np.asarray(dense.values[channel])[:, steps].T
    round_ = bool(dense.cycle_rad) or steps.size > dense.steps
    return _distances(place, dense.reached[:, steps].T, target, round_)


def _distances(place: Complexes, reached: Bools, target: Complexes, round_: bool) -> Floats:
    """(K, L, M) squared distances of targets (K,) from a trace (L, M) about each of its
    places: halfway to the next and back along its tangent, so that a coarse trace does as
    well as a fine one. HUGE where not reached."""
    tangent = 0.5 * (np.roll(place, -1, axis=0) - np.roll(place, 1, axis=0))
    if not round_:
        tangent[[0, -1]] = 0.0
    if not reached.all():
        beside = np.roll(reached, -1, axis=0) & np.roll(reached, 1, axis=0) & reached
        tangent = np.where(beside, tangent, 0.0)
    speed = np.maximum(tangent.real**2 + tangent.imag**2, 1e-300)
    x = target.real[:, None, None] - place.real
    y = target.imag[:, None, None] - place.imag
    ahead = np.clip((x * tangent.real + y * tangent.imag) / speed, -0.5, 0.5)
    x -= ahead * tangent.real
    y -= ahead * tangent.imag
    cost: Floats = x * x + y * y
    return cost if reached.all() else np.where(reached, cost, HUGE)


def _loose(run: Run, dense: Dense, channel: int, target: Complexes, most: int | None
           ) -> tuple[Floats, Ints, Floats, Spans]:
    """Instants of a run without ticks: of the best order, direction and start."""
    lap = Lap(dense)
    if run.any_order:
        cost = _cost(dense, channel, target, np.arange(dense.steps))
        steps = np.argmin(cost, axis=1)
        total = np.take_along_axis(cost, steps[:, None], axis=1)[:, 0].sum(axis=0)
        crank = settle(dense, channel, dense.crank_rad[steps.T], target, dense.step_rad)
        crank = np.where(total[:, None] < HUGE, crank, np.nan)
        none = np.zeros((dense.count, 0))
        return crank, np.zeros(crank.shape, np.intp), total, (none, none, lap)
    stride = max(1, lap.length // _MATCHED)
    round_ = _cost(dense, channel, target, lap.steps[::stride])
    steps, total = assign_loop(round_, most)
    back = np.zeros(dense.count, bool)
    if run.either_way:
        other, sum_ = assign_loop(round_[::-1], most)
        back = sum_ < total
        steps = np.where(back, other[::-1], steps)
        total = np.where(back, sum_, total)
    laps, steps = np.divmod(steps.T, round_.shape[1])
    steps = laps * lap.length + steps * stride
    if not dense.cycle_rad:
        steps = lap.nearest_legs(steps)
    x = steps.astype(np.float64)
    near = settle(dense, channel, lap.crank(x), target, stride * dense.step_rad)
    x += lap.way(steps) * (near - lap.crank(x)) / dense.step_rad
    x, stuck = _in_order(np.where(back[:, None], x[:, ::-1], x), float(lap.length))
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
    at, total = assign_line(_distances(value, ~np.isnan(value), target, False))
    start = np.take_along_axis(grid, at.T, axis=1)
    crank = settle(dense, channel, start, target, (high - low) / (steps - 1))
    ends = np.array([low, high]) + offset[:, None]
    crank, held = _in_order(np.clip(crank, ends[:, :1], ends[:, 1:]), np.inf)
    bound = (crank <= ends[:, :1]) | (crank >= ends[:, 1:])
    stuck = np.where(bound, _AT_BOUND, held.astype(np.intp))
    stops = np.concatenate([ends[:, :1], crank, ends[:, 1:]], axis=1)
    crank = np.where(total[:, None] < HUGE, crank, np.nan)
    spans: Spans = stops[:, run.ends[:, 0] + 1], stops[:, run.ends[:, 1] + 1], None
    return crank, stuck, total, spans


def _in_order(x: Floats, length: float) -> tuple[Floats, Bools]:
    """Rising along each row (M, K), the last at most `length` beyond the first, and which
    were held up for it or lie on a neighbour."""
    ordered = np.maximum.accumulate(x, axis=1)
    ordered = np.minimum(ordered, ordered[:, :1] + length)
    held = np.abs(ordered - x) > 1e-12
    tied = np.diff(ordered, axis=1) <= 0.0
    held[:, 1:] |= tied
    held[:, :-1] |= tied
    return ordered, held


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


def _extreme(dense: Dense, channel: int, way: complex) -> Floats:
    """(M,) the instant at which Re(conj(way) · value) is greatest."""
    reach = (np.conj(way) * np.asarray(dense.values[channel])).real
    reach = np.where(dense.reached, reach, -np.inf)
    steps = np.argmax(reach, axis=1)
    crank = dense.crank_rad[steps][:, None]
    return _level(dense, channel, np.full(crank.shape, way), crank)[:, 0]


def _level(dense: Dense, channel: int, way: Complexes, crank: Floats) -> Floats:
    """The extreme (M, K) near steps of the crank, where the slope along `way` is none."""
    start = crank
    for _ in range(4):
        _, slope, bend = dense.at(channel, crank)
        rise, curve = (way.conj() * slope).real, (way.conj() * bend).real
        step = np.where(curve < 0.0, rise / np.where(curve < 0.0, curve, 1.0), 0.0)
        crank = start + np.clip(crank - np.nan_to_num(step) - start, -dense.step_rad,
                                dense.step_rad)
        if not dense.cycle_rad:
            crank = np.clip(crank, dense.crank_rad[0], dense.crank_rad[-1])
    return np.asarray(crank)


def _longest(dense: Dense, channel: int) -> Floats:
    """(M, 2) the instants at the two ends of the longest way of a point."""
    place = np.where(dense.reached, np.asarray(dense.values[channel]), np.nan)
    ways = np.exp(1j * np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS)
    along = (ways.conj()[:, None, None] * place).real
    high = np.where(np.isnan(along), -np.inf, along)
    low = np.where(np.isnan(along), np.inf, along)
    way = ways[np.argmax(high.max(axis=-1) - low.min(axis=-1), axis=0)]
    for _ in range(3):
        along = (way.conj()[:, None] * place).real
        ends = np.stack([np.argmax(np.where(np.isnan(along), -np.inf, along), axis=-1),
                         np.argmin(np.where(np.isnan(along), np.inf, along), axis=-1)], axis=1)
        crank = dense.crank_rad[ends]
        apart = np.diff(np.take_along_axis(place, ends, axis=1), axis=1)[:, 0]
        way = np.where(np.abs(apart) > 0.0, -apart, way)
        way = way / np.abs(way)
    for _ in range(4):
        both = np.stack([way, -way], axis=1)
        crank = _level(dense, channel, both, crank)
        apart = np.diff(dense.at(channel, crank)[0], axis=1)[:, 0]
        way = np.where(np.abs(apart) > 0.0, -apart / np.abs(apart), way)
    return np.asarray(crank)
