"""Running a plan: which solution each group keeps along the turn.

A group keeps the solution of the drawn pose. Where its two solutions only touch (a
parallelogram or kite stretched flat: the margin reaches zero without crossing it) the
smooth motion passes from the one to the other, so the sign changes there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.motion.branch import Branch
from core.motion.closed import Half, begin, finish, turn_body
from core.motion.newton import follow, solve_near
from core.motion.plan import Block, Plan, Turned
from core.motion.state import State
from core.motion.turn import Complexes, Floats
from core.motion.walk import Probe

#: Margins from here up to 0 count as touching: rounding in the drawn lengths.
TOUCH = -1e-10
#: A cross with less than this sine between its guides is off to infinity.
PARALLEL = 1e-4
#: Samples nearer than this (rad) to where a group's solutions touch are bridged from
#: their neighbours: there the closed forms lose half their digits.
BRIDGED = 1e-4
#: A group drawn with a margin below this is drawn flat: its sign cannot be read off.
FLAT = 1e-9


@dataclass
class Track:
    """How a group is solved along the turn.

    Attributes
    ----------
    sign : solution in the drawn pose (+1 or -1) of a group with two.
    touches : turns of the crank from the drawn pose where the sign changes, rising.
    dips : turns between samples where the margin is negative for a moment.
    branch : for Newton's method, the solution at the samples of the turn.
    """

    sign: float = 1.0
    touches: Floats = field(default_factory=lambda: np.empty(0))
    dips: list[float] = field(default_factory=list)
    branch: Branch | None = None

    def signs(self, turn: Floats) -> Floats | float:
        """The sign at turns of the crank."""
        if not len(self.touches):
            return self.sign
        passed = np.searchsorted(self.touches, turn) - np.searchsorted(self.touches, 0.0)
        return np.where(passed % 2, -self.sign, self.sign)


def run(plan: Plan, drawn: Sequence[complex], turn: Floats,
        warm: Sequence[Track] = (), closed: bool = False,
        spun: Complexes | None = None) -> tuple[State, list[Track]]:
    """Solve all groups along the turn, finding the tracks.

    Parameters
    ----------
    turn : (M,) turns of the crank from the drawn pose, rad; the last one is 0, the drawn
        pose, the others cover the turn evenly in any order.
    warm : tracks of a sketch of the same plan that is nearly this one, as a start for
        Newton's method.
    closed : the samples go round a whole cycle.
    spun : e^{i turn}, if known.
    """
    state = State(plan, drawn, turn, spun=spun)
    state.closed = closed
    tracks: list[Track] = []
    for step in plan.steps:
        if isinstance(step, Turned):
            turn_body(state, step)
            continue
        track = Track()
        if step.kind == "newton":
            start = warm[step.number].branch if warm else None
            ends = [end for other in tracks if other.branch for end in other.branch.ends]
            track.branch = follow(state, step, start, _prober(state, tracks), ends)
            track.touches = np.array(sorted(track.branch.touches))
        else:
            half = begin(state, step)
            if half is not None:
                track.sign = half.sign
                state.set_margin(step.number, half.margin)
                if step.kind != "cross":  # which has one solution only
                    _find_touches(state, step, half, track, tracks)
                if step.kind != "cross" and half.margin[-1] < FLAT:
                    track.sign = _smoother(state, step, half, track)
            finish(state, step, half, track.signs(turn))
        tracks.append(track)
    return state, tracks


def _smoother(state: State, block: Block, half: Half, track: Track) -> float:
    """The sign for a group drawn flat, where both solutions are the same: that of the
    motion that turns its parts least (a parallelogram, not its crossed twin)."""
    paths = []
    for sign in (1.0, -1.0):
        track.sign = sign
        finish(state, block, half, track.signs(state.turn))
        order = state.order
        turned = [np.broadcast_to(state.rotation[spin[0]], order.shape)[order]
                  for spin in block.spins]
        paths.append(sum(float(np.nansum(np.abs(np.diff(row)))) for row in turned))
    return 1.0 if paths[0] <= paths[1] else -1.0


def probe(grid: State, tracks: Sequence[Track], turn: Floats,
          before: Block | None = None) -> State:
    """Solve again at other turns of the crank, on the same tracks.

    With `before` only the steps before that group are run.
    """
    state = State(grid.plan, grid.drawn, turn, grid)
    for step in grid.plan.steps:
        if step is before:
            break
        if isinstance(step, Turned):
            turn_body(state, step)
        elif step.kind == "newton":
            branch = tracks[step.number].branch
            assert branch is not None
            solve_near(state, step, branch)
        else:
            half = begin(state, step, tracks[step.number].sign)
            if half is not None:
                state.set_margin(step.number, half.margin)
            finish(state, step, half, tracks[step.number].signs(turn))
    return state


def _prober(grid: State, tracks: list[Track]) -> Probe:
    def at(turn: Floats, before: Block) -> State:
        return probe(grid, tracks, turn, before)
    return at


def near_touches(tracks: Sequence[Track], turn: Floats, period: float, distance: float
                 ) -> list[int]:
    """Samples nearer than a distance (rad) to where the solutions of a group touch;
    `period` of the crank's turn, 0 for none."""
    touches = [track.touches for track in tracks if len(track.touches)]
    if not touches:
        return []
    off = turn[:, None] - np.concatenate(touches)
    if period:
        off -= period * np.round(off / period)
    return [int(at) for at in np.flatnonzero(np.abs(off).min(axis=1) < distance)]


def _room_at(grid: State, tracks: Sequence[Track], block: Block, turn: Floats
             ) -> tuple[Floats, Floats]:
    """Room and margin of one group at other turns of the crank."""
    half = begin(probe(grid, tracks, turn, block), block)
    assert half is not None
    return half.margin if half.room is None else half.room, half.margin


def _find_touches(state: State, block: Block, half: Half, track: Track,
                  tracks: Sequence[Track]) -> None:
    """Find where the margin reaches zero between samples without staying below it."""
    margin = half.margin
    least = state.least[block.number] if half.room is None else float(half.room.min())
    # About a touch the room goes with the square of the distance; see `_low_points`.
    step = np.ptp(state.turn) / len(state.turn)
    if least > max(1e-3, 10 * step * step):
        return
    order = state.order[state.order != len(margin) - 1]  # without the drawn pose
    turn, along = state.turn[order], margin[order]
    low = _low_points(along if half.room is None else half.room[order])
    if not len(low):
        return
    where, lowest = _least(state, tracks, block, turn[low], float(step))
    track.touches = _distinct(sorted(where[np.abs(lowest) <= -TOUCH]))
    track.dips = list(where[(lowest < TOUCH) & (along[low] >= TOUCH)])


def _low_points(along: Floats) -> NDArray[np.intp]:
    """Samples next to which the margin may touch zero: local least values that are small
    against their neighbours, as they are about a double root."""
    before, after = np.roll(along, 1), np.roll(along, -1)
    low = (along <= before) & (along <= after) & (along > -1e-6)
    low &= along <= 0.25 * (before + after) + 1e-13
    return np.flatnonzero(low)


def _least(state: State, tracks: Sequence[Track], block: Block, near: Floats, step: float
           ) -> tuple[Floats, Floats]:
    """Where the margin is least next to some turns of the crank, and how much it is there:
    the vertex of ever narrower parabolas, all places at once."""
    where, width = near.copy(), np.full(len(near), step)
    for _ in range(7):
        turn = where + width * np.array([[-1.0], [0.0], [1.0]])
        left, middle, right = _room_at(state, tracks, block, turn.ravel())[0].reshape(3, -1)
        bend = left - 2 * middle + right
        with np.errstate(divide="ignore", invalid="ignore"):
            shift = np.where(bend > 0, width * (left - right) / (2 * bend), 0.0)
        where = where + np.clip(shift, -width, width)
        width = np.where(np.abs(shift) < width, np.maximum(width * 0.15, 1e-5), width)
        if (width <= 1e-5).all():
            break
    return where, _room_at(state, tracks, block, where)[1]


def _distinct(values: list[float]) -> Floats:
    kept: list[float] = []
    for value in values:
        if not kept or value - kept[-1] > 1e-6:
            kept.append(value)
    return np.array(kept)
