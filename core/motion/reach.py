"""How far the crank can go from the drawn pose, and what stops it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.motion.cycle import groups_at_once
from core.motion.residual import joint_errors, sketch_size
from core.motion.running import BRIDGED, PARALLEL, TOUCH, Track, near_touches, probe
from core.motion.state import State
from core.motion.turn import Floats

#: Joint error, relative to the sketch's size, up to which a spare joint fits.
FITS = 1e-9
#: Limits are found to this, rad.
EXACT = 1e-11
#: Crank angles this little (rad) beyond a limit count as at it: rounding.
EDGE = 1e-12


@dataclass(frozen=True)
class Stop:
    """A turn of the crank (from the drawn pose, rad) where it locks, the side it comes
    from (+1: turning counter-clockwise), and the bodies that bind."""

    turn: float
    side: int
    bodies: tuple[int, ...]


@dataclass(frozen=True)
class Reach:
    """The stretch of the turn (from the drawn pose, rad) the crank can cover, and its
    ends; `whole` when it goes all round; spare joints that do not fit, and by how much (mm)
    at worst over the turn; `recut` where to cut a closed row of samples instead."""

    low: float
    high: float
    whole: bool
    stops: tuple[Stop, ...]
    misfits: tuple[tuple[str, float], ...] = ()
    recut: float | None = None

    def covers(self, turn: Floats) -> NDArray[np.bool_]:
        """Which turns of the crank are within reach."""
        if self.whole:
            return np.ones(turn.shape, bool)
        return (turn >= self.low - EDGE) & (turn <= self.high + EDGE)


def fits(state: State, exactly: bool = False, groups: int | None = None
         ) -> NDArray[np.bool_]:
    """(M,) where every group (or the first `groups`) can be put together; not `exactly`:
    but for rounding."""
    good = np.ones(len(state.turn), bool)
    for number, margin in enumerate(state.margin[:groups]):
        if margin is not None and not state.least[number] > PARALLEL:
            good &= margin >= _threshold(state, number, exactly)
    return good


def _threshold(state: State, number: int, exactly: bool) -> float:
    if state.plan.blocks[number].kind == "cross":
        return PARALLEL
    return 0.0 if exactly else TOUCH


def reach(state: State, tracks: Sequence[Track], recut: bool = False) -> Reach:
    """The stretch connected to the drawn pose. Samples as in :func:`running.run`.

    With `recut`, a stretch that runs on past the cut of a closed row of samples is not
    followed: the result only says where to cut instead.
    """
    if not state.plan.spare and min(state.least, default=1.0) > PARALLEL and not any(
            track.dips for track in tracks):
        return Reach(float(state.turn.min()), float(state.turn.max()), state.closed, ())
    good = fits(state)
    if not good[-1]:
        bodies = _binding(state, len(good) - 1)
        return Reach(0.0, -1.0, False, (Stop(0.0, 1, bodies), Stop(0.0, -1, bodies)))
    span = 2 * np.pi * np.round(np.ptp(state.turn) / (2 * np.pi)) if state.closed else 0.0
    sharp = good.copy()
    sharp[near_touches(tracks, state.turn, span, BRIDGED)] = False
    misfits = _misfits(state, sharp)
    if misfits:
        bodies = _bodies_of(state, [joint for joint, _ in misfits])
        return Reach(0.0, -1.0, False, (Stop(0.0, 1, bodies), Stop(0.0, -1, bodies)),
                     misfits)
    low, high = float(state.turn.min()), float(state.turn.max())
    # A crank that rocks never comes to where it would lock beyond its swing.
    dips = [dip for track in tracks for dip in track.dips
            if state.closed or low <= dip <= high]
    torn = ~fits(state, groups=groups_at_once(state.plan))
    bad = np.concatenate([state.turn[torn], dips])
    if good.all() and not len(dips):
        return Reach(low, high, state.closed, ())
    # The same places a cycle on and a cycle back; but what had to be followed from this
    # side may be come to from the other.
    bad = np.concatenate([state.turn[~good], bad, bad - span, bad + span])
    ahead, behind = bad[bad > 0].min(initial=np.inf), bad[bad < 0].max(initial=-np.inf)
    step = span / (len(state.turn) - 1)
    if recut and span and (ahead > high + 1.5 * step or behind < low - 1.5 * step):
        cut = behind - step / 4 if np.isfinite(behind) else ahead + step / 4 - span
        return Reach(low, high, False, (), recut=float(cut))
    stops = []
    for beyond, side in ((ahead, 1), (behind, -1)):
        if np.isfinite(beyond):
            stops.append(_locate(state, tracks, float(beyond), side))
            low, high = (low, stops[-1].turn) if side > 0 else (stops[-1].turn, high)
    return Reach(low, high, False, tuple(stops))


def _misfits(state: State, good: NDArray[np.bool_]) -> tuple[tuple[str, float], ...]:
    """Spare joints that do not fit wherever the rest goes."""
    spare = state.plan.spare
    if not spare:
        return ()
    allowed = FITS * sketch_size(state)
    wrong: dict[str, float] = {}
    for joint, error in joint_errors(state):
        wrong[joint] = max(float(error[good].max(initial=0.0)), wrong.get(joint, 0.0))
    wrong = {joint: error for joint, error in wrong.items() if error > allowed}
    # Which of several joints that contradict each other is the spare one is a choice.
    return tuple(each for each in wrong.items() if each[0] in spare) or tuple(wrong.items())


def _bodies_of(state: State, joints: Sequence[str]) -> tuple[int, ...]:
    net = state.plan.network
    bodies = [end.body for pin in net.pins if pin.id in joints for end in pin.ends]
    for line in net.lines:
        if line.id in joints:
            bodies += [line.point.body, line.start.body]
    bodies += [body for law in net.laws if law.id in joints for body, _ in law.terms]
    return tuple(sorted(set(bodies) - {0}))


def _binding(state: State, at: int, exactly: bool = False) -> tuple[int, ...]:
    """Bodies of the first group that cannot be put together at a sample."""
    for block in state.plan.blocks:
        margin = state.margin[block.number]
        if margin is not None and not margin[at] >= _threshold(
                state, block.number, exactly):
            return block.moved
    return ()


def _locate(state: State, tracks: Sequence[Track], bad: float, side: int) -> Stop:
    """The stop between the last good sample before `bad` and it, by repeated division."""
    turn = state.turn
    between = turn[(turn < bad) & (turn >= 0)] if side > 0 else \
        turn[(turn > bad) & (turn <= 0)]
    good = float(between.max() if side > 0 else between.min())
    found = _noted(state, tracks, good, bad, side)
    if found is not None:
        return found
    bodies: tuple[int, ...] = ()
    touching = any(len(track.touches) for track in tracks)
    exactly = not touching and bool(fits(probe(state, tracks, np.array([good])), True)[0])
    while abs(bad - good) > EXACT:
        cuts = np.linspace(good, bad, 33)
        fine = probe(state, tracks, cuts)
        wrong = np.flatnonzero(~fits(fine, exactly)[1:])
        if not len(wrong):
            break
        at = int(wrong[0]) + 1
        bodies = _binding(fine, at, exactly)
        good, bad = float(cuts[at - 1]), float(cuts[at])
    return Stop(good, side, bodies)


def _noted(state: State, tracks: Sequence[Track], good: float, bad: float, side: int
           ) -> Stop | None:
    """The lock Newton's method has found between a good sample and a bad one, if nothing
    else stops the crank before it."""
    ends = [(track.branch.ends[side > 0], number) for number, track in enumerate(tracks)
            if track.branch is not None]
    ends = [end for end in ends if min(good, bad) <= end[0] <= max(good, bad)]
    if not ends:
        return None
    turn, number = min(ends, key=lambda end: abs(end[0] - good))
    # Another group may lock just before: look closer towards the end.
    left = np.linspace(1, 0, 41)[:-1] ** 2
    if not fits(probe(state, tracks, turn + left * (good - turn))).all():
        return None
    block = state.plan.blocks[number]
    return Stop(turn, side, block.moved)
