"""The finding of a crank too hard for the hand at its grip, and the handle that mends it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

import numpy as np

from core.effort import Hand, States, limit_of
from core.effort.push_limits import HARDEST_N, HARDEST_SOURCE, LONGEST_MM
from core.findings.finding import Finding, Mend, crank_part
from core.model import Handle, edits
from core.units import show_force, show_length

#: Handles are offered in steps of so much, mm.
_STEP_MM = 5.0
_WHOSE = {"adult": "is comfortable for a grown-up", "child": "a child should have to give"}


def stiff_findings(hand: Hand, states: States | None = None) -> Iterator[Finding]:
    """What the hand must give at most, when that is above its limit: a fault when even with
    the least friction no grown-up can give it. With `states`, of a crank that rocks, on its
    way back too."""
    holds = not hand.peak_n >= hand.hold_n  # a peak of NaN too: it jams everywhere
    worst, at = (hand.hold_n, hand.hold_rad) if holds else (hand.peak_n, hand.peak_rad)
    least = float(np.nanmax(hand.force_low_n, initial=0.0))
    back = _on_the_way_back(hand, states)
    if back is not None and not back[0] <= worst:
        (worst, at, least), holds = back, False
    if not worst > hand.limit_n:
        return
    handle, units = hand.handle, hand.turn.sketch.units
    does = "hold back" if holds else "push with"
    with_ = "" if holds else ", friction included"
    longer = longer_handle(hand, worst)
    text = (f"The hand must {does} up to {show_force(worst, units)} at"
            f" {math.degrees(at):.0f}°{with_}, on a handle of"
            f" {show_length(handle.radius_mm, units)}")
    surely = least > HARDEST_N
    if surely:
        text += ". That is too hard for anybody."
    elif handle.limit_n is not None:
        text += f": more than your limit of {show_force(hand.limit_n, units)}."
    else:
        text += f": more than the {show_force(hand.limit_n, units)} that {_WHOSE[handle.who]}."
    mend = ("“Make the crank pleasant” finds the weights, springs or gears for it; lighter"
            " parts help too")
    edit: tuple[Mend, ...] = ()
    if longer is not None:
        long = show_length(longer, units)
        mend = f"A handle of {long} brings it within the limit. {mend}"
        edit = (Mend(f"Handle of {long}", partial(edits.set_handle, radius_mm=longer)),)
    yield Finding("stiff-crank", "fault" if surely else "warning", text,
                  crank_part(hand.turn), math.degrees(at), worst,
                  HARDEST_N if surely else hand.limit_n, "N", mend + ".", edit,
                  source=HARDEST_SOURCE if surely else hand.limit_source)


def _on_the_way_back(hand: Hand, states: States | None) -> tuple[float, float, float] | None:
    """Of a crank that rocks, the hardest push back, where, and that with least friction."""
    drive = hand.turn.sketch.drive
    if states is None or drive is None or drive.kind != "rock":
        return None
    push = states.back_hand.high_n
    if not np.isfinite(push).any():
        return None
    at = int(np.nanargmax(push))
    return (float(push[at]), float(hand.turn.crank_rad[at]),
            float(np.nanmax(states.back_hand.low_n, initial=0.0)))


def longer_handle(hand: Hand, worst_n: float) -> float | None:
    """The shortest handle, mm, on whole 5 mm, at which so hard a push comes within the
    limit of that handle; None when that takes more than ``LONGEST_MM``. Exact: the push
    goes with one over the radius."""
    torque = worst_n * hand.handle.radius_mm
    first = math.floor(hand.handle.radius_mm / _STEP_MM) + 1
    for step in range(first, int(LONGEST_MM / _STEP_MM) + 1):
        if torque <= _limit(hand.handle, step * _STEP_MM) * step * _STEP_MM:
            return step * _STEP_MM
    return None


def _limit(handle: Handle, radius_mm: float) -> float:
    return limit_of(handle, radius_mm)[0]
