"""Findings about friction: where the crank jams, forwards or backwards, how near it is to
that, and whether it stays where it is left."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from core.effort import Effort, FrictionLock, Hand, States
from core.effort.hand import arm_of
from core.findings.finding import Finding, Grade, crank_part, intervals
from core.motion import Turn
from core.units import show_torque

#: A lock with so many times the largest coefficients is told as near: friction of wood in a
#: damp room grows by as much (common practice, no source).
NEAR = 1.5
#: Setting off with less is hardly seen, N·mm (common practice, no source).
_SEEN_NMM = 20.0
_MEND = ("Use thinner pins or a smoother bearing, or move the pivots so that the links meet"
         " less in line there.")
_SOURCE = "the sketch's own range of friction"


def jam_findings(turn: Turn, effort: Effort, states: States | None) -> Iterator[Finding]:
    """Where no push at the crank overcomes friction; with `states` the joint that carries
    it, the coefficient from which on it does, and a lock that is only near."""
    steps = np.flatnonzero(effort.jams)
    lock = states.lock if states is not None else None
    if steps.size:
        even_low = np.isnan(effort.torque_low_nmm[steps]).any()
        known = lock if lock is not None and lock.share <= 1.0 else None
        yield _jam("fault" if even_low else "warning", turn, int(steps[0]), known, "", _MEND)
    elif lock is not None and lock.share <= NEAR:
        at = math.degrees(lock.crank_rad)
        yield Finding(
            "friction-lock", "note",
            f"A little more friction would lock the crank at {at:.0f}°: from a coefficient of"
            f" {lock.coefficient:.2f} at {lock.joint!r} on, {lock.share:.2g} times the"
            " largest allowed for, no push moves it.", crank_part(turn), at,
            lock.coefficient, lock.coefficient / lock.share, "", _MEND, joints=(lock.joint,),
            source=_SOURCE)


def standing_findings(states: States, hand: Hand) -> Iterator[Finding]:
    """What the crank does backwards, and when it is let go."""
    turn = states.turn
    steps = np.flatnonzero(states.only_back_jams)
    if steps.size:
        drive = turn.sketch.drive
        rocks = drive is not None and drive.kind == "rock"
        lock = states.back_lock
        known = lock if lock is not None and lock.share <= 1.0 else None
        yield _jam("warning" if rocks else "note", turn, int(steps[0]), known, " backwards",
                   _MEND if rocks else f"Mark the crank with an arrow. {_MEND}")
    yield from _leaves(states, hand)
    yield from _fast(states)


def _jam(grade: Grade, turn: Turn, step: int, lock: FrictionLock | None, way: str,
         mend: str) -> Finding:
    code = "jams"
    if way:
        code = "jams-backwards"
    at = math.degrees(turn.crank_rad[step] if lock is None else lock.crank_rad)
    text = (f"Cranked{way}, it jams" if way else "The crank jams") + (
        f" at {at:.0f}°: with the largest friction no push on it moves the mechanism.")
    if lock is None:
        return Finding(code, grade, text, crank_part(turn), at, mend=mend)
    text += (f" {lock.joint!r} bears the most of it; it needs a coefficient below"
             f" {lock.coefficient:.2f} there.")
    return Finding(code, grade, text, crank_part(turn), at,
                   lock.coefficient / lock.share, lock.coefficient, "", mend,
                   joints=(lock.joint,), source=_SOURCE)


def _leaves(states: States, hand: Hand) -> Iterator[Finding]:
    """Where the crank sets off when it is let go."""
    turn, spare = states.turn, states.spare_low_nmm
    worst = float(np.nanmin(np.where(np.isnan(spare), np.inf, spare), initial=0.0))
    if not -worst > _SEEN_NMM or not states.may_leave:
        return
    step = int(np.nanargmin(spare))
    surely = bool(states.surely_leaves)
    sets_off = "sets off" if surely else "may set off"
    where = intervals(states.surely_leaves if surely else states.may_leave, turn)
    on = states.on_low_nmm[step] < states.off_low_nmm[step]
    text = (f"Let go, the crank {sets_off} by itself {where}:"
            f" {'forwards' if on else 'backwards'} with up to"
            f" {show_torque(-worst, turn.sketch.units)} at"
            f" {math.degrees(turn.crank_rad[step]):.0f}°.")
    hard = float(np.nanmin(np.where(np.isnan(states.spare_high_nmm), np.inf,
                                    states.spare_high_nmm)))
    whips = -hard > hand.limit_n * arm_of(hand.handle)
    yield Finding(
        "would-not-stay", "warning" if whips else "note", text, crank_part(turn),
        math.degrees(turn.crank_rad[step]), worst / 1e3, 0.0, "N·m",
        "Balance it (“Make the crank pleasant”), or give the shaft a washer of leather or"
        " felt that brakes." + (" Keep fingers away while it is let go." if whips else ""),
        source="statics with the sketch's own range of friction")


def _fast(states: States) -> Iterator[Finding]:
    """A crank turned so fast that inertia asks for more than a little."""
    drive = states.turn.sketch.drive
    begins, equals = states.pace.begins_rpm[0], states.pace.equals_rpm[0]
    if drive is None or not abs(drive.rpm) > begins > 0.0:
        return
    text = (f"At {abs(drive.rpm):.3g} turns a minute inertia asks for more than a tenth of"
            f" what the crank asks for anyway; slower than {begins:.2g} it hardly counts")
    if abs(drive.rpm) > equals:
        text += f", and from {equals:.2g} on it is the greater part"
    yield Finding("inertia-counts", "note", text + ".", crank_part(states.turn), None,
                  abs(drive.rpm), begins, "1/min", "Crank slower, or make the fast parts"
                  " lighter.", source="a tenth: common practice, no source")
