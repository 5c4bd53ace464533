"""Cranking backwards, letting go of the crank, and the pace at which inertia counts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.effort.frames import Floats
from core.effort.hand import Felt, Spans, felt
from core.effort.loads import SHARES
from core.effort.locking import FrictionLock, nearest_lock
from core.effort.runaway import below_zero
from core.effort.torque import Effort, torque_band
from core.motion import Rates, Turn
from core.motion import rates as rates_of

#: Inertia that asks for this share of what the crank asks for anyway begins to count.
BEGINS = 0.1
#: A torque below this share of what the loads ask for together moves nothing.
_NOTHING = 1e-9
#: Inertia that would count at this speed only is rounding.
_NEVER_RPM = 1e5


@dataclass(frozen=True)
class Pace:
    """Speeds of the crank, turns a minute, as a range over the coefficients of friction:
    at `begins_rpm` the largest torque of inertia is a tenth of the largest without it, at
    `equals_rpm` as large. Infinite where inertia asks for nothing."""

    begins_rpm: tuple[float, float]
    equals_rpm: tuple[float, float]


@dataclass(frozen=True)
class States:
    """What the crank does the other way round and when it is let go. N steps, N·mm.

    Attributes
    ----------
    back_low_nmm, back_high_nmm : (N,) torque against the driving direction, with the
        smallest and the largest friction; positive: the hand must push that way. NaN where
        it jams and where not reached.
    on_low_nmm, on_high_nmm, off_low_nmm, off_high_nmm : (N,) the same for a crank that
        stands and is about to be pushed on, or backwards: without inertia. Infinite where
        it jams; NaN where not reached, and at dead points of a group, where reactions have
        no sound value.
    back_jams : (N,) bool, no push backwards overcomes the largest friction.
    only_back_jams : (N,) bool, those of them where forwards it does not jam.

    Notes
    -----
    A crank that stands can take any torque from −off to on: friction adjusts itself
    between its two limits, at which the mechanism is about to move one way or the other
    (Coulomb; any textbook of statics). It stays where it is left while no torque at all
    lies in that interval. Joints that lock against each other can hold a little more than
    at those limits, of the second order in the coefficient: it is not counted on.
    """

    turn: Turn
    effort: Effort
    back_low_nmm: Floats
    back_high_nmm: Floats
    on_low_nmm: Floats
    on_high_nmm: Floats
    off_low_nmm: Floats
    off_high_nmm: Floats
    rates: Rates

    @cached_property
    def lock(self) -> FrictionLock | None:
        """Where the least friction locks it forwards; takes longer than all the rest."""
        return nearest_lock(self.turn, self.rates)

    @cached_property
    def back_lock(self) -> FrictionLock | None:
        """Where the least friction locks it backwards."""
        return nearest_lock(self.turn, self.rates, backwards=True)

    @property
    def back_jams(self) -> NDArray[np.bool_]:
        return np.isnan(self.back_high_nmm) & ~np.isnan(self.off_high_nmm)

    @property
    def only_back_jams(self) -> NDArray[np.bool_]:
        return self.back_jams & ~self.effort.jams

    @cached_property
    def back_hand(self) -> Felt:
        """What the hand feels backwards."""
        return felt(self.turn.sketch.handle, self.back_low_nmm, self.back_high_nmm)

    @property
    def spare_low_nmm(self) -> Floats:
        """(N,) torque at the crank by which the smallest friction holds it more than it
        must, negative: it sets off with so much."""
        return np.minimum(self.on_low_nmm, self.off_low_nmm)

    @property
    def spare_high_nmm(self) -> Floats:
        """The same for the largest friction."""
        return np.minimum(self.on_high_nmm, self.off_high_nmm)

    @cached_property
    def may_leave(self) -> Spans:
        """Crank intervals in which the smallest friction does not hold it, as
        ``Effort.runaway``."""
        return below_zero(self.turn, self.spare_low_nmm, self._nothing)

    @cached_property
    def surely_leaves(self) -> Spans:
        """Crank intervals in which not even the largest friction holds it."""
        return below_zero(self.turn, self.spare_high_nmm, self._nothing)

    @cached_property
    def _nothing(self) -> float:
        asked = sum(np.abs(self.effort.shares[name]) for name in SHARES
                    if name != "inertia")
        return max(_NOTHING * float(np.nanmax(asked, initial=0.0)), 1e-9)

    @cached_property
    def pace(self) -> Pace:
        """When inertia counts; by the square of the speed, which it goes with."""
        drive = self.turn.sketch.drive
        rpm = abs(drive.rpm) if drive is not None else 0.0
        inertia = _largest(self.effort.shares["inertia"])
        found = []
        for torque in (self.on_low_nmm, self.on_high_nmm):
            asked = _largest(torque)
            found.append(rpm * math.sqrt(asked / inertia)
                         if inertia * _NEVER_RPM**2 > asked * rpm**2 else math.inf)
        return Pace((found[0] * math.sqrt(BEGINS), found[1] * math.sqrt(BEGINS)),
                    (found[0], found[1]))


def _largest(values: Floats) -> float:
    return float(np.max(np.abs(values), where=np.isfinite(values), initial=0.0))


def states(turn: Turn, effort: Effort, rates: Rates | None = None) -> States:
    """Backwards, and standing, over a turn whose effort is known.

    About three times the work of the friction band in `effort`: not for every step of a
    drag.
    """
    rates = rates_of(turn) if rates is None else rates
    return States(turn, effort, *torque_band(turn, rates, backwards=True),
                  *torque_band(turn, rates, still=True),
                  *torque_band(turn, rates, backwards=True, still=True), rates)
