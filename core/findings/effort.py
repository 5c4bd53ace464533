"""Findings about effort: where the crank runs away, jams, or is too hard for a hand, and
what it does backwards and when it is let go."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

import numpy as np

from core.effort import Effort, Hand, States
from core.findings.finding import Finding, crank_part, intervals
from core.findings.grip import stiff_findings
from core.findings.standing import jam_findings, standing_findings
from core.motion.turn import Turn
from core.units import show_force, show_length, show_mass, show_torque

#: Running away below this share of the peak torque is not told; below this torque a hand
#: hardly feels it, and it is a note (common practice, no source).
_TOLD_SHARE, _FELT_NMM = 0.05, 20.0
_TOLD_SOURCE = ("below nothing the mechanism drives the hand; told from a twentieth of the"
                " peak: common practice, no source")
#: A counterweight is suggested when it takes this share off the gravity torque.
_WORTH = 0.25
#: One at 50 mm heavier than this, kg, is no weight for a crank; then the advisor is named.
_HEAVIEST_KG = 1.0


def effort_findings(turn: Turn, effort: Effort, hand: Hand,
                    states: States | None = None) -> Iterator[Finding]:
    """Runaway, jamming, hard cranking over the turn; with `states` also what the crank does
    backwards and when it is let go.

    None while the crank locks: no hand keeps its speed up to a lock, where the torque asked
    for grows without end.
    """
    if turn.limits:
        return
    yield from _runaway(turn, effort, hand)
    yield from jam_findings(turn, effort, states)
    yield from stiff_findings(hand, states)
    if states is not None:
        yield from standing_findings(states, hand)


def _runaway(turn: Turn, effort: Effort, hand: Hand) -> Iterator[Finding]:
    least = effort.least_nmm
    if not least < -max(_TOLD_SHARE * abs(effort.peak_nmm), 1e-6):
        return
    surely = bool(effort.surely_runaway)
    where = intervals(effort.surely_runaway if surely else effort.runaway, turn)
    pull = show_torque(-least, turn.sketch.units)
    if surely:
        text = (f"The crank runs away {where}: not even the largest friction holds it"
                f" (up to {pull} without friction).")
    else:
        text = (f"The crank would run away {where} with up to {pull}, but for the friction"
                " at the pins.")
    felt = least < -_FELT_NMM
    if not felt:
        text += " A hand hardly feels so little."
    elif surely and hand.hold_n > 0.0:
        text += (f" At the grip it must be held back with up to"
                 f" {show_force(hand.hold_n, turn.sketch.units)}.")
    yield Finding("runs-away", "warning" if surely and felt else "note", text,
                  crank_part(turn),
                  math.degrees(effort.least_rad), least / 1e3, 0.0, "N·m",
                  _balance_words(turn, effort), source=_TOLD_SOURCE)


def _balance_words(turn: Turn, effort: Effort) -> str:
    """What to do about a crank that runs away, by the share that drives it there."""
    worst = int(np.nanargmin(effort.torque_nmm))
    shares = {name: float(lane[worst]) for name, lane in effort.shares.items()}
    cause = min(shares, key=lambda name: shares[name])
    if cause == "inertia":
        return "Crank slower, or make the fast parts lighter."
    if cause == "springs":
        return "Weaken the springs, or add one that is being stretched there."
    if cause == "loads":
        return "Turn the loads about, or brake the crank."
    weight, reach = _counterweight(turn, effort), 50.0
    if weight is None:
        return ("Balance the heavy parts on their own pivots with weights or a spring (“Make"
                " the crank pleasant” finds them); a weight on the crank alone hardly helps.")
    moment, direction = weight
    if moment / reach > _HEAVIEST_KG:
        return ("Balance the heavy parts on their own pivots with weights or a spring (“Make"
                " the crank pleasant” finds them).")
    units = turn.sketch.units
    return (f"Add weight to the crank pointing to {direction}° in the drawn pose, such as"
            f" {show_mass(moment / reach, units)} at {show_length(reach, units)} from its pin.")


def _counterweight(turn: Turn, effort: Effort) -> tuple[float, int] | None:
    """Mass moment (kg·mm) and direction (whole degrees, drawn pose) of the weight on the crank
    that cancels the gravity torque at crank speed, if that takes enough off.

    A weight of moment m·r along β asks for m·g·r·sin(φ − φ₀ + β − δ) at crank angle φ,
    δ being the direction of gravity and φ₀ the drawn angle; its opposite is the part of
    the gravity torque that goes once round with the crank, its first Fourier term.
    """
    drive, pull = turn.sketch.drive, turn.sketch.gravity
    gravity = effort.shares["gravity"]
    if drive is None or drive.kind != "turn" or pull.g_m_s2 <= 0.0 or np.isnan(gravity).any():
        return None
    sense = -1.0 if drive.rpm < 0.0 else 1.0
    wave = np.exp(-1j * turn.crank_rad)
    first = 2.0 * np.mean(sense * gravity * wave)
    left = gravity - sense * (first / wave).real
    if np.abs(left).max() > (1.0 - _WORTH) * np.abs(gravity).max():
        return None
    drawn, down = math.radians(drive.drawn_deg), math.radians(pull.direction_deg)
    beta = cmath.phase(-first) + drawn + down + math.pi / 2
    return abs(first) / pull.g_m_s2, round(math.degrees(beta)) % 360
