"""Residuals of M mechanisms against the goals, with what is free eliminated.

Free are the instants of samples without timing, the common offset of all timed samples,
and the constants of angles of which only changes count. They are eliminated by variable
projection in Kaufman's form (L. Kaufman, BIT 15 (1975), after Golub & Pereyra 1973): rows
and Jacobian are projected off the directions of what is free, so that a Gauss–Newton step
of what is left is that of the whole problem.
"""

from __future__ import annotations

import numpy as np

from core.wanted.goals.angles import tamed
from core.wanted.goals.compile import ABOUT_RAD, about_rad
from core.wanted.goals.dense import Bools, Complexes, Floats, Instants, Ints, Seen
from core.wanted.goals.plan import Ratio, Run, Tables

#: The residual of a row whose instant the crank does not reach, in tolerances.
MISSED = 1e4
#: A free instant moves at most this share of the way to its neighbours, and so far, rad.
_ROOM_SHARE, _ROOM_RAD = 0.45, 0.25
_SLOW = 1e-9
#: The least share of the cycle that one of two strokes is taken to last.
_LEAST_SHARE = 1e-4
#: First derivative from values at −2, −1, 1 and 2 steps.
_STENCIL = np.array([1.0, -8.0, 8.0, -1.0]) / (12.0 * ABOUT_RAD)


def errors(goals: Tables, instants: Instants, seen: Seen) -> tuple[Complexes, Complexes]:
    """Error of every sample (value less target) and the way its row is measured along.

    Returns
    -------
    error : (M, K) complex; angles without the whole turns that do not count. NaN where not
        reached.
    way : (M, K) unit complex, for samples with free instants the normal of the trace
        (where such an instant cannot move as far as it should, the way of the error
        itself), for strays the normal of the curve; 1 for all others.
    """
    error = seen.value - goals.target
    way = np.ones(error.shape, np.complex128)
    if goals.angles.any():
        # Whole turns that were left out are those nearest to what was matched.
        turns = np.round((instants.value - seen.value).real[:, goals.angles] / (2.0 * np.pi))
        error[:, goals.angles] += 2.0 * np.pi * np.nan_to_num(turns)
        for share in goals.shares:
            if share.angles.size:
                error[:, share.angles] = tamed(error[:, share.angles].real, share.wrap,
                                               share.absolute)
    if goals.free.any():
        way[:, goals.free] = _normals(goals, instants, seen, error)
    for run in goals.runs:
        if run.strays.size:
            error[:, run.strays], way[:, run.strays] = _stray(run, seen)
    return error, way


def _normals(goals: Tables, instants: Instants, seen: Seen, error: Complexes) -> Complexes:
    free = goals.free
    slope, off = seen.slope[:, free], error[:, free]
    speed, length = np.abs(slope), np.abs(off)
    with np.errstate(divide="ignore", invalid="ignore"):
        normal = 1j * slope / speed
        straight = np.where(length > 0.0, off / length, 1.0)
        need = np.abs((slope.conj() * off).real) / speed**2
    size = np.nanmax(speed, axis=1, keepdims=True, initial=0.0)
    held = (speed <= _SLOW * size) | instants.blocked[:, free] \
        | (need > room(goals, instants)[:, free])
    return np.where(held, straight, normal)


def _stray(run: Run, seen: Seen) -> tuple[Complexes, Complexes]:
    """Error and way of strays."""
    return off_curve(seen.value[:, run.strays], run, np.arange(run.strays.size))


def off_curve(place: Complexes, run: Run, pieces: Ints) -> tuple[Complexes, Complexes]:
    """What places (…, S) are off by from the pieces (S,) of a run's curve, and the unit way
    to measure it along, both (…, S) complex: across the curve, and along it only what lies
    beyond the end of the piece."""
    fine, normal = run.fine[pieces], run.normal[pieces]
    distance = np.abs(place[..., None] - fine)
    nearest = np.argmin(np.where(np.isnan(distance), np.inf, distance), axis=-1)[..., None]
    shape = (*place.shape, fine.shape[-1])
    at, across = (np.take_along_axis(np.broadcast_to(one, shape), nearest, axis=-1)[..., 0]
                  for one in (fine, normal))
    spacing = np.abs(fine[..., 1] - fine[..., 0])
    off = (place - at) * across.conj()
    past = off.imag - np.clip(off.imag, -spacing, spacing)
    off = np.where(across == 0.0, place - at, (off.real + 1j * past) * across)
    length = np.abs(off)
    with np.errstate(divide="ignore", invalid="ignore"):
        straight = np.where(length > 0.0, off / length, 1.0)
    return off, np.where((past == 0.0) & (across != 0.0), across, straight)


def room(goals: Tables, instants: Instants) -> Floats:
    """(M, K) how far a free instant may move, rad: not to its neighbours in the order of
    the path, nor to the bounds of its run."""
    space = np.full(instants.crank_rad.shape, _ROOM_RAD)
    for run in goals.runs:
        if run.any_order or run.samples.size == 0:
            continue
        crank = instants.crank_rad[:, run.samples]
        if run.bounds is None:
            gaps = np.abs(np.diff(crank, axis=1))
            wide = np.full((crank.shape[0], 1), np.inf)
            before, after = np.hstack([wide, gaps]), np.hstack([gaps, wide])
        else:
            ends = np.sort(np.array(run.bounds)) + instants.offset_rad[:, None]
            low, high = (ends[:, :1], ends[:, 1:]) if goals.sense > 0 \
                else (ends[:, 1:], ends[:, :1])
            gaps = np.abs(np.diff(np.hstack([low, crank, high]), axis=1))
            before, after = gaps[:, :-1], gaps[:, 1:]
        space[:, run.samples] = np.minimum(
            space[:, run.samples], _ROOM_SHARE * np.minimum(before, after))
    return space


def raw(goals: Tables, instants: Instants, seen: Seen
        ) -> tuple[Floats, Floats | None, Floats, Bools]:
    """Rows before the common offset and the constants are eliminated.

    Returns
    -------
    r : (M, R), 0 where missed.
    jacobian : (M, R, P) or None.
    slide : (M, R) derivative by the common offset; 0 for rows that do not move with it.
    missed : (M, R) rows whose instant is not reached.
    """
    error, way = errors(goals, instants, seen)
    at = goals.row_sample
    along = np.where(goals.row_way == 0.0, way[:, at], goals.row_way) * goals.row_scale
    r = along.real * error.real[:, at] + along.imag * error.imag[:, at]
    slide = np.zeros_like(r)
    if goals.start_free:
        slope = seen.slope[:, at]
        slides = goals.timed[at] | instants.tied[:, at]
        slide = np.where(slides, along.real * slope.real + along.imag * slope.imag, 0.0)
    jacobian = None
    if seen.deriv is not None:
        deriv = seen.deriv[:, at]
        jacobian = (along.real[..., None] * deriv.real + along.imag[..., None] * deriv.imag)
    for ratio in goals.ratios:
        _time_ratio(goals, ratio, instants, seen, r, jacobian)
    missed = ~np.isfinite(r)
    if missed.any():
        r[missed] = 0.0
        slide[missed] = 0.0
        if jacobian is not None:
            jacobian[missed] = 0.0
    return r, jacobian, np.nan_to_num(slide), missed


def residuals(goals: Tables, instants: Instants, seen: Seen) -> tuple[Floats, Floats | None]:
    """Rows with everything free eliminated; see `Goals.residuals`."""
    r, jacobian, slide, missed = raw(goals, instants, seen)
    seated = np.where(missed, 0.0, 1.0)
    r, jacobian, slide = centred(goals, r, jacobian, slide, seated)
    size = np.sqrt((slide * slide).sum(axis=1, keepdims=True))
    way = np.where(size > _SLOW, slide / np.where(size > _SLOW, size, 1.0), 0.0)
    r = r - way * (way * r).sum(axis=1, keepdims=True)
    if jacobian is not None:
        jacobian = jacobian - way[..., None] * (way[:, None] @ jacobian)
    r[missed] = MISSED * np.broadcast_to(goals.row_worth, r.shape)[missed]
    return r, jacobian


def centred(goals: Tables, r: Floats, jacobian: Floats | None, slide: Floats, seated: Floats
             ) -> tuple[Floats, Floats | None, Floats]:
    """Rows less the mean of their group: constants that are free are eliminated."""
    if not goals.groups.shape[0]:
        return r, jacobian, slide
    ways = goals.groups * seated[:, None]
    size = np.sqrt((ways * ways).sum(axis=-1, keepdims=True))
    ways = ways / np.where(size > 0.0, size, 1.0)
    back = ways.swapaxes(-1, -2)
    r = r - (back @ (ways @ r[..., None]))[..., 0]
    slide = slide - (back @ (ways @ slide[..., None]))[..., 0]
    if jacobian is not None:
        jacobian = jacobian - back @ (ways @ jacobian)
    return r, jacobian, slide


def advance(goals: Tables, instants: Instants, seen: Seen, step: Floats | None) -> Instants:
    """Better instants; see `Goals.advance`."""
    r, jacobian, slide, _ = raw(goals, instants, seen)
    crank, offset = instants.crank_rad.copy(), instants.offset_rad
    moved = seen.value if step is None or seen.deriv is None \
        else seen.value + np.nan_to_num((seen.deriv @ step[..., None])[..., 0])
    if goals.start_free and goals.timed.any():
        ahead = r if step is None or jacobian is None else r + (jacobian @ step[..., None])[
            ..., 0]
        ahead, _, pull = centred(goals, ahead, None, slide, np.ones_like(r))
        stiff = (pull * pull).sum(axis=1)
        by = -(pull * ahead).sum(axis=1) / np.where(stiff > _SLOW**2, stiff, np.inf)
        by = np.clip(by, -_ROOM_RAD, _ROOM_RAD)
        offset = offset + by
        crank += np.where(goals.timed | instants.tied, by[:, None], 0.0)
    free = goals.free
    if free.any():
        slope = seen.slope[:, free]
        off = moved[:, free] - goals.target[free]
        speed = np.abs(slope) ** 2
        bent = (instants.bend[:, free].conj() * off).real
        stiff = np.maximum(speed + bent, 0.5 * speed)
        with np.errstate(divide="ignore", invalid="ignore"):
            by = np.nan_to_num(-(slope.conj() * off).real / stiff, posinf=0.0, neginf=0.0)
        still = instants.tied[:, free] | instants.blocked[:, free]
        space = np.where(still, 0.0, room(goals, instants)[:, free])
        crank[:, free] += np.clip(by, -space, space)
    for extreme in goals.extremes:
        k = extreme.sample
        rise = (np.conj(extreme.way) * seen.slope[:, k]).real
        curve = (np.conj(extreme.way) * instants.bend[:, k]).real
        crank[:, k] += _level(rise, curve)
    for ratio in goals.ratios:
        if ratio.point:
            a, b = ends = list(ratio.samples)
            way = (seen.value[:, a] - seen.value[:, b])[:, None]
            rise = np.nan_to_num((way.conj() * seen.slope[:, ends]).real)
            matrix = _ends_matrix(way, seen.slope[:, ends], instants.bend[:, ends])
            crank[:, ends] += np.clip(-_solved(matrix, rise[..., None])[..., 0], -0.05, 0.05)
        crank[:, ratio.about] = about_rad(crank[:, ratio.samples])
    value = instants.value + np.nan_to_num(
        seen.slope * (crank - instants.crank_rad)) * goals.angles
    return Instants(crank, instants.channel, instants.free, offset, value, instants.bend,
                    instants.blocked, instants.tied, instants.misfit, instants.cycle_rad)


def _level(rise: Floats, curve: Floats) -> Floats:
    """The step to where a slope is none, at most a little."""
    step = np.where(curve < 0.0, -rise / np.where(curve < 0.0, curve, 1.0), 0.0)
    return np.asarray(np.clip(np.nan_to_num(step), -0.05, 0.05))


def _time_ratio(goals: Tables, ratio: Ratio, instants: Instants, seen: Seen, r: Floats,
                jacobian: Floats | None) -> None:
    """Fill in the row of a time ratio.

    The instant θ of an extreme moves with a parameter p by −(∂s/∂p) / (∂s/∂θ), s the slope
    along the way; both derivatives of s are had from the samples about it. The two ends of
    the longest way of a point hang together: the way is from one to the other.
    """
    a, b = ratio.samples
    cycle = instants.cycle_rad
    if not cycle:  # there and back again take equally long
        r[:, ratio.row] = (1.0 - ratio.target) * ratio.scale
        return
    go = goals.sense * (instants.crank_rad[:, b] - instants.crank_rad[:, a])
    # What hardly moves may have both extremes at one instant: very poor, not infinite.
    share = np.clip((go % cycle) / cycle, _LEAST_SHARE, 1.0 - _LEAST_SHARE)
    long_first = share >= 0.5
    value = np.where(long_first, share / (1.0 - share), (1.0 - share) / share)
    rate = np.where(long_first, 1.0 / (1.0 - share) ** 2, -1.0 / share**2)
    r[:, ratio.row] = (value - ratio.target) * ratio.scale
    if jacobian is None or seen.deriv is None:
        return
    slope = seen.slope[:, ratio.about]
    bend = slope @ _STENCIL
    lean = np.einsum("mejp,j->mep", seen.deriv[:, ratio.about], _STENCIL)
    if ratio.point:
        way = (seen.value[:, a] - seen.value[:, b])[:, None]
        own = seen.slope[:, [a, b]]
        apart = (seen.deriv[:, a] - seen.deriv[:, b])[:, None]
        matrix = _ends_matrix(way, own, bend)
        pull = (way.conj()[..., None] * lean + own.conj()[..., None] * apart).real
    else:
        matrix, pull = bend.real[..., None] * np.eye(2), lean.real
    moves = -_solved(matrix, np.nan_to_num(pull))
    between = goals.sense * (moves[:, 1] - moves[:, 0]) / cycle
    jacobian[:, ratio.row] = (rate * ratio.scale)[:, None] * between


def _ends_matrix(way: Complexes, own: Complexes, bend: Complexes) -> Floats:
    """(M, 2, 2) derivatives of Re(conj(way) · slope) at both ends of a longest way by the
    instants of both: way (M, 1) from the second end to the first, own slopes and bends
    (M, 2)."""
    cross = own.conj()[:, :, None] * own[:, None] * np.array([1.0, -1.0])
    return np.asarray(((way.conj() * bend)[..., None] * np.eye(2) + cross).real)


def _solved(matrix: Floats, right: Floats) -> Floats:
    """Solutions (M, 2, P) of systems of two, 0 for those without one."""
    matrix = np.nan_to_num(matrix)
    flat = np.linalg.det(matrix) == 0.0
    safe = np.where(flat[:, None, None], np.eye(2), matrix)
    return np.where(flat[:, None, None], 0.0, np.linalg.solve(safe, right))
