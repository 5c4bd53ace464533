"""What the sheets say in sentences: how to read the drawing, the state of things."""

from __future__ import annotations

import math

from core.drawing.labels import CROWDED
from core.drawing.subject import Subject
from core.units import show_angle, show_length, show_torque


def reading_notes(subject: Subject, extremes: bool, with_paths: bool) -> list[str]:
    """How to read the layout: datum, crank angle, usual bore, kinds of line."""
    units = subject.sketch.units
    notes = [f"Datum: {subject.datum_name}. X is positive to the right, Y upwards."]
    if subject.crank_deg is not None:
        notes.append(f"Drawn with the crank at {show_angle(subject.crank_deg)}.")
    if len(subject.pivots) > CROWDED:
        notes.append("Bores: see the hole table. Numbers in circles: see the part list.")
    elif subject.usual_bore_mm:
        bore = show_length(subject.usual_bore_mm, units)
        notes.append(f"Bores Ø{bore} unless noted. Numbers in circles: see the part list.")
    lines = ["Dashed: edge below another layer"]
    if subject.sketch.meshes:
        lines.append("chain circle: pitch circle")
    if with_paths:
        lines.append("dots: each 15° of crank")
    if extremes:
        lines.append("double-dot chain: furthest position")
    return [*notes, "; ".join(lines) + "."]


def state_of(subject: Subject) -> list[str]:
    """What the whole turn shows: reach, torque, gap, one sentence each."""
    study, units = subject.study, subject.sketch.units
    said: list[str] = []
    if study.structure is not None:
        said += [*study.structure.messages, study.structure.trouble]
    turn = study.turn
    if turn is not None:
        if turn.limits:
            where = ", ".join(
                f"{show_angle(_deg(limit.crank_rad))} ({', '.join(limit.parts)})"
                for limit in turn.limits)
            said.append(f"The crank stops at {where}.")
        elif bool(turn.reached.all()):
            turns = "one turn" if turn.crank_turns == 1 else f"{turn.crank_turns} turns"
            said.append(f"The crank goes all round; the motion repeats after {turns}."
                        if turn.repeats else
                        f"The crank goes round; {turns} are shown, the motion does not repeat.")
    if study.effort is not None:
        said.append("Driving torque without friction from "
                    f"{show_torque(study.effort.least_nmm, units)} to "
                    f"{show_torque(study.effort.peak_nmm, units)}.")
    if study.gaps is not None and study.gaps.pairs:
        least = min(study.gaps.pairs, key=lambda gap: gap.smallest_mm)
        said.append(f"Smallest gap {show_length(least.smallest_mm, units)} between {least.a} "
                    f"and {least.b} at {show_angle(_deg(least.crank_rad))}; wanted "
                    f"{show_length(subject.sketch.gap_mm, units)}.")
    return [sentence for sentence in said if sentence]


def _deg(rad: float) -> float:
    return math.degrees(float(rad))
