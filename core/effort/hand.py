"""What the hand feels at the grip: the crank's torque through its steps and its handle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from core.effort.frames import Floats, sense_of
from core.effort.push_limits import limit_of
from core.effort.runaway import below_zero
from core.effort.torque import Effort
from core.model import Handle, HandStep
from core.motion import Turn

#: A push of less than this share of the limit is none: rounding gives it any sign.
_NOTHING = 1e-6
Spans = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Felt:
    """A push (N,) N along the circle of the grip, positive: the hand pushes the way it
    goes, negative: it holds back. `low_n` with the least friction and loss, `high_n` with
    the most; NaN where the crank does not come or jams."""

    low_n: Floats
    high_n: Floats


@dataclass(frozen=True)
class Hand:
    """What the hand feels over the turn; N crank steps, NaN where not reached.

    Attributes
    ----------
    force_low_n, force_high_n : (N,) N along the circle of the grip, as :class:`Felt`:
        cranking in the driving direction, with the least and the most friction of the
        joints and loss of the steps.
    plain_n : (N,) N without friction and loss.
    mean_n : mean over the turn of the most the hand must push (`force_high_n`, holding
        back counted as none), N; NaN when nothing is reached.
    ratio : turns of the handle for one of the crank; `turns` of it for the whole cycle.
    sense : +1 when the grip goes counter-clockwise, −1 for clockwise (a rocking drive:
        from `from_deg` towards `to_deg`).
    rpm : turns of the handle in a minute, at the drive's speed.
    limit_n, limit_source : the hardest push it may ask for, and where that is from.
    peak_n, peak_rad : greatest `force_high_n` and the crank angle there; NaN when there is
        none.
    hold_n, hold_rad : the most the hand must hold back, with the least friction, and where;
        0 and NaN when nowhere.
    over : crank intervals (from_rad, to_rad) in which it must push, or hold back, more than
        the limit; as ``Effort.runaway``.
    backlash_rad : play of the handle while the crank stands, all steps together; None when
        the module of a gear step is not chosen.
    knocks_rad : crank angles at which the play is run through because the push changes its
        sign, with the least friction; `surely_knocks_rad` with the most too. Empty without
        play or steps.
    jam_torque_nmm : the most torque the limit push can put on the crank while a part is
        blocked: through the ratio, with the least loss.

    Notes
    -----
    A step of ratio i and efficiency η hands on i·η times the torque of the hand; where the
    mechanism drives the hand, the hand holds η / i times the torque of the mechanism (any
    textbook of machine elements). The inertia of the steps' wheels and the weight of the
    handle are left out.
    """

    turn: Turn
    handle: Handle
    force_low_n: Floats
    force_high_n: Floats
    plain_n: Floats
    sense: int
    limit_n: float
    limit_source: str
    backlash_rad: float | None

    @property
    def ratio(self) -> float:
        return ratio_of(self.handle)

    @property
    def turns(self) -> float:
        return self.ratio * self.turn.crank_turns

    @property
    def rpm(self) -> float:
        drive = self.turn.sketch.drive
        return abs(drive.rpm) * self.ratio if drive is not None else math.nan

    @cached_property
    def _peak(self) -> int | None:
        fine = np.isfinite(self.force_high_n)
        return int(np.nanargmax(self.force_high_n)) if fine.any() else None

    @property
    def peak_n(self) -> float:
        return math.nan if self._peak is None else float(self.force_high_n[self._peak])

    @property
    def peak_rad(self) -> float:
        return math.nan if self._peak is None else float(self.turn.crank_rad[self._peak])

    @cached_property
    def _hold(self) -> int | None:
        held = np.isfinite(self.force_low_n) & (self.force_low_n < 0.0)
        return int(np.nanargmin(self.force_low_n)) if held.any() else None

    @property
    def hold_n(self) -> float:
        return 0.0 if self._hold is None else -float(self.force_low_n[self._hold])

    @property
    def hold_rad(self) -> float:
        return math.nan if self._hold is None else float(self.turn.crank_rad[self._hold])

    @cached_property
    def mean_n(self) -> float:
        push = self.force_high_n[np.isfinite(self.force_high_n)]
        return float(np.maximum(push, 0.0).mean()) if push.size else math.nan

    @cached_property
    def over(self) -> Spans:
        return below_zero(self.turn, self.limit_n - np.fmax(self.force_high_n,
                                                            -self.force_low_n))

    @cached_property
    def knocks_rad(self) -> tuple[float, ...]:
        return self._knocks(self.force_low_n)

    @cached_property
    def surely_knocks_rad(self) -> tuple[float, ...]:
        return self._knocks(self.force_high_n)

    @property
    def jam_torque_nmm(self) -> float:
        return (self.limit_n * self.handle.radius_mm * self.ratio
                * efficiency_of(self.handle)[1])

    def _knocks(self, push: Floats) -> tuple[float, ...]:
        """Where a push changes its sign, in the order of the crank angle."""
        if not self.handle.steps or self.backlash_rad == 0.0:
            return ()
        drive, crank = self.turn.sketch.drive, self.turn.crank_rad
        cycle = 2.0 * math.pi * self.turn.crank_turns
        rocks = drive is not None and drive.kind == "rock"
        held = below_zero(self.turn, push, _NOTHING * self.limit_n)
        ends = [end for span in held for end in span]
        if rocks or not self.turn.repeats:
            # The first and the last step are no change of sign.
            return tuple(sorted(end for end in ends if crank[0] < end < crank[-1]))
        if len(ends) == 2 and math.isclose(ends[1] - ends[0], cycle):
            return ()
        return tuple(sorted(end % cycle for end in ends))


def hand(turn: Turn, effort: Effort) -> Hand:
    """What the hand feels over a turn whose effort is known, through the sketch's handle.

    A few array operations: quick enough for every step of a drag.
    """
    handle = turn.sketch.handle
    push = felt(handle, effort.torque_low_nmm, effort.torque_high_nmm)
    limit, source = limit_of(handle)
    turned = sense_of(turn) * math.prod(-1 if step.reverses else 1 for step in handle.steps)
    return Hand(turn, handle, push.low_n, push.high_n, effort.torque_nmm / arm_of(handle),
                1 if turned > 0 else -1, limit, source, backlash_of(handle.steps))


def felt(handle: Handle, low_nmm: Floats, high_nmm: Floats) -> Felt:
    """The push at the grip for torques (N,) N·mm at the crank, with the least and the most
    friction, either way of cranking (see :func:`core.effort.friction_band`)."""
    worst, best = efficiency_of(handle)
    arm = arm_of(handle)
    return Felt(np.where(low_nmm > 0.0, low_nmm / best, low_nmm * best) / arm,
                np.where(high_nmm > 0.0, high_nmm / worst, high_nmm * worst) / arm)


def ratio_of(handle: Handle) -> float:
    """Turns of the handle for one of the crank; 1 without steps."""
    return math.prod(step.ratio for step in handle.steps)


def efficiency_of(handle: Handle) -> tuple[float, float]:
    """Least and best share of the power that all steps together hand on; 1 without any."""
    return (math.prod(step.efficiency[0] for step in handle.steps),
            math.prod(step.efficiency[1] for step in handle.steps))


def arm_of(handle: Handle) -> float:
    """N·mm at the crank for one newton at the grip, without loss."""
    return handle.radius_mm * ratio_of(handle)


def backlash_of(steps: Sequence[HandStep]) -> float | None:
    """Play of the handle, rad, while the crank stands: that of each gear pair along its
    pitch circle, seen through the steps outside it. Belts have none. None when the module
    of a pair is not chosen, so that its size is not known."""
    found, turned = 0.0, 1.0
    for step in steps:
        if step.kind == "gears" and step.backlash_mm:
            if step.module_mm is None:
                return None
            found += turned * step.backlash_mm / (0.5 * step.driver * step.module_mm)
        turned *= step.ratio
    return found
