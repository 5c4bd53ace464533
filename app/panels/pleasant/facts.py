"""What a card says of a proposal, in the units of the sketch."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from core.units import show_force, show_torque

if TYPE_CHECKING:
    from core.pleasant import Lanes, Proposal

Floats = NDArray[np.float64]
#: Kinds that leave the torque at the crank as it is and change what the hand feels of it.
AT_THE_GRIP = ("gears", "flywheel")


@dataclass(frozen=True)
class Lane:
    """A band over the turn, (N,) each, in one unit; `middle` without friction."""

    low: Floats
    middle: Floats
    high: Floats


@dataclass(frozen=True)
class Facts:
    """Before and after as lanes and as words."""

    crank_deg: Floats
    before: Lane
    after: Lane
    of: str
    numbers: str
    share: str
    push: str
    bound: str


def facts(proposal: Proposal, units: str) -> Facts:
    """What is drawn and written of a proposal."""
    crank = np.degrees(proposal.before.crank_rad)
    push = (f"{show_force(peak(proposal.push_before_n), units)} → "
            f"{show_force(peak(proposal.push_after_n), units)} at the grip")
    bound = (f"proved bound {show_torque(proposal.bound_nmm, units)}"
             if math.isfinite(proposal.bound_nmm) else "")
    if proposal.kind in AT_THE_GRIP:
        old, new = proposal.push_before_n, proposal.push_after_n
        turns = f"{proposal.turns:.3g} turns of the handle for one of the crank" \
            if proposal.kind == "gears" else ""
        return Facts(crank, Lane(old, old, old), Lane(new, new, new), "push at the grip",
                     push, gained(peak(old), peak(new)), turns, bound)
    numbers = (f"{show_torque(proposal.value_before, units)} → "
               f"{show_torque(proposal.value_after, units)}")
    return Facts(crank, lane(proposal.before), lane(proposal.after), "torque at the crank",
                 numbers, gained(proposal.value_before, proposal.value_after), push, bound)


def lane(lanes: Lanes) -> Lane:
    """The band of friction and the line without it."""
    return Lane(lanes.low_nmm, lanes.plain_nmm, lanes.high_nmm)


def peak(push: Floats) -> float:
    """The most the hand must push or hold back, N."""
    return float(np.nanmax(np.abs(push)))


def gained(before: float, after: float) -> str:
    """How much less it is: "−38 %"."""
    if not before:
        return ""
    share = round(100.0 * (after / before - 1.0))
    return f"{'−' if share < 0 else '+' if share > 0 else ''}{abs(share)} %"
