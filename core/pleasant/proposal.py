"""What the advisor hands out: proposals with lanes before and after."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.effort import Effort
from core.effort.hand import felt
from core.model import Handle, Sketch
from core.motion.turn import Floats
from core.pleasant.options import Aim, Kind


@dataclass(frozen=True, eq=False)
class Lanes:
    """Torque over the turn, (N,) N·mm at the crank; positive: the hand must push.

    `plain_nmm` without friction, `low_nmm` and `high_nmm` with the least and the most.
    """

    crank_rad: Floats
    plain_nmm: Floats
    low_nmm: Floats
    high_nmm: Floats

    @staticmethod
    def of(crank_rad: Floats, strain: Effort) -> Lanes:
        """The lanes of an effort over the crank angles (N,)."""
        return Lanes(crank_rad, strain.torque_nmm, strain.torque_low_nmm,
                     strain.torque_high_nmm)

    @property
    def peak_nmm(self) -> float:
        """The most the hand must push or hold back without friction, N·mm."""
        return float(np.nanmax(np.abs(self.plain_nmm)))

    @property
    def peak_high_nmm(self) -> float:
        """The same with friction: push at its most, or hold back at its least."""
        return float(max(np.nanmax(self.high_nmm), np.nanmax(-self.low_nmm)))

    @property
    def least_nmm(self) -> float:
        """The least torque without friction; negative where it runs away."""
        return float(np.nanmin(self.plain_nmm))

    @property
    def ripple_nmm(self) -> float:
        """Most less least torque without friction, N·mm."""
        return float(np.nanmax(self.plain_nmm) - np.nanmin(self.plain_nmm))

    def value(self, aim: Aim, friction: bool = True) -> float:
        """What the aim makes small, N·mm; with or without friction."""
        high, low = ((self.high_nmm, self.low_nmm) if friction
                     else (self.plain_nmm, self.plain_nmm))
        most, least = float(np.nanmax(high)), float(np.nanmin(low))
        spread = float(np.nanmax(high) - np.nanmin(high))
        return (aim.peak * max(most, -least) + aim.ripple * spread
                + aim.runaway * max(-least, 0.0))


def push(handle: Handle, lanes: Lanes) -> Floats:
    """(N,) N, the most the hand must push at the grip through its steps; where holding
    back is more, minus that."""
    found = felt(handle, lanes.low_nmm, lanes.high_nmm)
    worst: Floats = np.where(-found.low_n > found.high_n, found.low_n, found.high_n)
    return worst


@dataclass(frozen=True, eq=False)
class Proposal:
    """One way to a more pleasant crank; taking it is one undoable edit.

    Attributes
    ----------
    kind : what it is made of.
    title : a few words for its heading.
    words : sentences: what, where, why, what it costs, how it was rounded.
    sketch : the sketch after it.
    before, after : torque over the turn; `after` is of `sketch`, evaluated anew in full.
    push_before_n, push_after_n : (N,) N, the most the hand must push at the grip; where
        holding back (with the least friction) is more, minus that.
    value_before, value_after : what the aim makes small, with friction, N·mm at the crank
        (for gears and a flywheel: as the text says).
    plain_nmm : the aim's value without friction at the optimum of the programme, before
        anything was rounded; NaN where no programme was solved.
    bound_nmm : no choice among what was allowed can have a smaller value without friction
        (dual bound of the programme); NaN where there is none.
    added_kg : what it adds to the mechanism; `turns` turns of the handle for one of the
        crank after it.
    parts : ids of the parts it is about.
    """

    kind: Kind
    title: str
    words: tuple[str, ...]
    sketch: Sketch
    before: Lanes
    after: Lanes
    push_before_n: Floats
    push_after_n: Floats
    value_before: float
    value_after: float
    plain_nmm: float
    bound_nmm: float
    added_kg: float
    turns: float
    parts: tuple[str, ...]

    @property
    def gain(self) -> float:
        """Which share of the value before is gone, 0 to 1."""
        return 1.0 - self.value_after / self.value_before if self.value_before else 0.0


@dataclass(frozen=True)
class Declined:
    """Why there is no proposal of a kind, as a sentence with its number."""

    kind: Kind
    words: str


@dataclass(frozen=True, eq=False)
class Advice:
    """Everything the advisor has to say; `proposals` by kind, then best first."""

    sketch: Sketch
    before: Lanes
    push_before_n: Floats
    proposals: tuple[Proposal, ...]
    declined: tuple[Declined, ...]
    stopped: bool = False


@dataclass(frozen=True, eq=False)
class Progress:
    """How far the advisor is: `done` from 0 to 1, what it is at, and what it has so far."""

    done: float
    stage: str
    proposals: tuple[Proposal, ...]


#: Told now and then, from the same thread; False stops, what was found is kept.
Report = Callable[[Progress], bool]
