"""The curves printed with a sketch: driving torque and smallest gap over the turn."""

from __future__ import annotations

import math

import numpy as np

from core.drawing.flow import Figure
from core.drawing.items import Floats
from core.drawing.plots import gap_plot, torque_plot
from core.drawing.subject import Subject
from core.motion.turn import Turn
from core.units import MM_PER_INCH, NMM_PER_LBF_IN, show_length, show_torque


def figures(subject: Subject) -> list[Figure]:
    """Torque and gap over the turn, as far as the study has them."""
    study, units = subject.study, subject.sketch.units
    made: list[Figure] = []
    if study.turn is None:
        return made
    if study.effort is not None and np.isfinite(study.effort.torque_nmm).any():
        made.append(_torque(subject, study.turn))
    space = study.gaps
    if space is not None and space.pairs and np.isfinite(space.smallest_mm).any():
        per = MM_PER_INCH if units == "in" else 1.0
        crank, smallest = _whole(study.turn, space.smallest_mm / per)
        made.append(Figure("Smallest gap over the turn", 44.0, gap_plot(
            crank, smallest, subject.sketch.gap_mm / per, units,
            lambda value: show_length(value * per, units))))
    return made


def _torque(subject: Subject, turn: Turn) -> Figure:
    effort, units = subject.study.effort, subject.sketch.units
    assert effort is not None
    per, name = (NMM_PER_LBF_IN, "lbf·in") if units == "in" else (1000.0, "N·m")
    crank, torque, low, high = _whole(turn, effort.torque_nmm / per,
                                      effort.torque_low_nmm / per, effort.torque_high_nmm / per)
    runaway = [(math.degrees(a), math.degrees(b)) for a, b in effort.runaway]
    least, most = subject.sketch.friction
    legend = (f"Line: without friction. Band: friction {least:g} to {most:g}. "
              "Hatched: the mechanism drives the crank.")
    return Figure("Driving torque over the turn", 54.0, torque_plot(
        crank, torque, low, high, runaway, name,
        lambda value: show_torque(value * per, units), legend))


def _whole(turn: Turn, *lanes: Floats) -> tuple[Floats, ...]:
    """Crank angles, degrees, and lanes, the first step repeated at the end of a turn that
    closes on itself."""
    crank = np.degrees(turn.crank_rad)
    if not (turn.repeats and turn.sketch.drive and turn.sketch.drive.kind == "turn"):
        return (crank, *lanes)
    return (np.append(crank, crank[0] + 360.0 * turn.crank_turns),
            *(np.append(lane, lane[:1]) for lane in lanes))
