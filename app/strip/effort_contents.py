"""What the lanes of torque and of the hand's push show of a study."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from app.session import Session
from app.strip.contents import in_units
from app.strip.force_lanes import CAUSES, BothWaysLane, CausesLane
from app.strip.lane import Lane, spread
from core import units
from core.drawing.plots import within

if TYPE_CHECKING:
    from core.study import Study

Floats = NDArray[np.float64]
NO_CRANK = "needs a crank that turns"
#: A share of the torque is shown when it reaches so much of the largest.
SHOWN = 1e-3
#: More knocks are not counted up.
MOST_KNOCKS = 3


def _flag(lane: Lane, study: Study, deg: Floats,
          spans: Sequence[tuple[float, float]]) -> None:
    whole = 360.0 * study.turn.crank_turns if study.turn is not None else 360.0
    lane.flagged.set_spans(within([(math.degrees(a), math.degrees(b)) for a, b in spans],
                                  deg[0], deg[0] + whole))


def _torque_unit(study: Study) -> float:
    """N·mm in one of the unit torques of the sketch are shown in: 1 N·m or 1 lbf·in."""
    return units.NMM_PER_LBF_IN if study.sketch.units == "in" else 1000.0


def _backwards(lane: Lane, deg: Floats,
               back: tuple[Floats, Floats] | None) -> tuple[float, ...]:
    """The dashed curve of a lane, least and most, (N,) each in its unit; None: not known yet.
    Returns the values its range has to hold besides."""
    if not isinstance(lane, BothWaysLane):
        return ()
    if not lane.both_ways or back is None:
        nothing = np.empty(0)
        lane.set_back(nothing, nothing, nothing)
        return ()
    low, high = back
    lane.set_back(deg, low, high)
    return (*spread(low), *spread(high))


def torque(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """Torque at the crank: the frictionless line in the band that friction makes of it."""
    effort, states = study.effort, study.states
    if effort is None:
        lane.clear(NO_CRANK)
        return
    shown, one = study.sketch.units, _torque_unit(study)
    plain, low, high = (np.asarray(a) / one for a in
                        (effort.torque_nmm, effort.torque_low_nmm, effort.torque_high_nmm))
    lane.set_text(partial(in_units, units.show_torque, one, shown))
    lane.band.set_data(deg, np.minimum(low, high), np.maximum(low, high))
    wider = _backwards(lane, deg, None if states is None else (
        states.back_low_nmm / one, states.back_high_nmm / one))
    lane.set_data(deg, plain, keep=(0.0, *spread(low), *spread(high), *wider))
    _flag(lane, study, deg, effort.runaway)
    words = f"peak {units.show_torque(effort.peak_nmm, shown)}"
    lane.more.setText(f"{words}; dashed: backwards" if wider else words)


def causes(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """What the torque is made of, and from which pace on inertia counts."""
    effort = study.effort
    if effort is None or not isinstance(lane, CausesLane):
        lane.clear(NO_CRANK)
        return
    shown, one = study.sketch.units, _torque_unit(study)
    least, most = effort.friction_nmm
    every = {**effort.shares, "friction": least, "more friction": most - least}
    size = max(float(np.nanmax(np.abs(each), initial=0.0)) for each in every.values())
    stacked = [(name, every[name] / one) for name, *_ in CAUSES
               if float(np.nanmax(np.abs(every[name]), initial=0.0)) > SHOWN * size]
    low, high = lane.stack.set_data(deg, stacked)
    lane.set_text(partial(in_units, units.show_torque, one, shown))
    lane.set_data(deg, effort.torque_nmm / one,
                  keep=(0.0, *spread(np.array([low, high]))))
    lane.more.setText("")
    lane.legend.set_shown([name for name, _ in stacked])
    lane.say_also(pace(study))


def pace(study: Study) -> str:
    """From which pace on inertia counts, in words; empty when nothing is known of it."""
    states = study.states
    if states is None or study.turn is None or study.turn.limits:
        return ""
    begins = states.pace.begins_rpm[0]
    if not math.isfinite(begins):
        return "Inertia asks for nothing at any pace."
    if begins <= 0.0:
        return "Inertia is all it asks for."
    return f"Cranked slower than {begins:.2g} turns a minute, inertia hardly counts."


def push(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """The push at the grip in its band, and the hardest that is wanted."""
    hand, states = study.hand, study.states
    if hand is None:
        lane.clear(NO_CRANK)
        return
    shown = study.sketch.units
    one = units.N_PER_LBF if shown == "in" else 1.0
    plain, low, high = (np.asarray(a) / one for a in
                        (hand.plain_n, hand.force_low_n, hand.force_high_n))
    lane.set_text(partial(in_units, units.show_force, one, shown))
    lane.band.set_data(deg, np.fmin(low, high), np.fmax(low, high))
    wider = _backwards(lane, deg, None if states is None else (
        states.back_hand.low_n / one, states.back_hand.high_n / one))
    limit = hand.limit_n / one
    lane.level.setPos(limit)
    lane.level.setVisible(True)
    lane.set_data(deg, high, keep=(0.0, limit, *spread(low), *spread(plain), *wider))
    _flag(lane, study, deg, hand.over)
    words = [f"limit {units.show_force(hand.limit_n, shown)}"]
    if math.isfinite(hand.peak_n):
        words.insert(0, f"peak {units.show_force(hand.peak_n, shown)}")
    knocks = [f"{math.degrees(at):.0f}°" for at in hand.knocks_rad]
    if knocks:
        words.append(f"knocks at {', '.join(knocks[:MOST_KNOCKS])}"
                     + (" …" if len(knocks) > MOST_KNOCKS else ""))
    if wider:
        words.append("dashed: backwards")
    lane.more.setText("; ".join(words))


def stay(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """What is over to hold a crank that is let go, in the band of friction."""
    states = study.states
    if states is None:
        lane.clear(NO_CRANK if study.effort is None else "")
        return
    shown, one = study.sketch.units, _torque_unit(study)
    low, high = states.spare_low_nmm / one, states.spare_high_nmm / one
    lane.set_text(partial(in_units, units.show_torque, one, shown))
    lane.band.set_data(deg, low, high)
    lane.set_data(deg, low, keep=(0.0, *spread(high)))
    _flag(lane, study, deg, states.surely_leaves)
    where = "nowhere" if not states.may_leave else (
        "surely" if states.surely_leaves else "with little friction")
    lane.more.setText(f"sets off by itself: {where}")
