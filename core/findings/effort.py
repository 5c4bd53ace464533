"""Findings about effort: where the crank runs away, jams, or is too hard for a hand."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

import numpy as np

from core.effort import Effort
from core.findings.finding import Finding
from core.motion.turn import Turn
from core.units import show_force, show_length, show_mass, show_torque

#: A hand on a small crank, radius below 80 mm, copes with 9 to 22 N; on a large one of 125
#: to 200 mm with 22 to 45 N (Ivergård and Hunt, Handbook of Control Room Design and
#: Ergonomics, as read in a copy).
SMALL_CRANK_MM, EASY_PUSH_N = 80.0, 22.0
LARGE_CRANK_MM, HARD_PUSH_N = 200.0, 45.0
#: Running away below this share of the peak torque is not told; below this torque a hand
#: hardly feels it, and it is a note (common practice, no source).
_TOLD_SHARE, _FELT_NMM = 0.05, 20.0
#: A counterweight is suggested when it takes this share off the gravity torque.
_WORTH = 0.25


def effort_findings(turn: Turn, effort: Effort) -> Iterator[Finding]:
    """Runaway, jamming and hard cranking over the turn.

    None while the crank locks: no hand keeps its speed up to a lock, where the torque asked
    for grows without end.
    """
    if turn.limits:
        return
    yield from _runaway(turn, effort)
    yield from _jams(turn, effort)
    yield from _stiff(turn, effort)


def _runaway(turn: Turn, effort: Effort) -> Iterator[Finding]:
    least = effort.least_nmm
    if not least < -max(_TOLD_SHARE * abs(effort.peak_nmm), 1e-6):
        return
    surely = bool(effort.surely_runaway)
    where = _intervals(effort.surely_runaway if surely else effort.runaway,
                       360.0 * turn.crank_turns)
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
    yield Finding("runs-away", "warning" if surely and felt else "note", text, _crank(turn),
                  math.degrees(effort.least_rad), least / 1e3, 0.0, "N·m",
                  _balance_words(turn, effort))


def _intervals(intervals: tuple[tuple[float, float], ...], cycle_deg: float) -> str:
    spans = [f"between {_whole(a, cycle_deg)}° and {_whole(b, cycle_deg)}°"
             for a, b in intervals]
    if len(spans) > 3:
        return f"at {len(spans)} places of the turn, first {spans[0]},"
    return " and ".join(spans)


def _whole(crank_rad: float, cycle_deg: float) -> int:
    """Whole degrees; the end of the turn is its beginning."""
    return round(round(math.degrees(crank_rad)) % cycle_deg)


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
    weight = _counterweight(turn, effort)
    if weight is None:
        return ("Balance the heavy parts on their own pivots with weights or a spring; a"
                " weight on the crank alone hardly helps.")
    moment, direction = weight
    reach = 50.0
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


def _jams(turn: Turn, effort: Effort) -> Iterator[Finding]:
    steps = np.flatnonzero(effort.jams)
    if steps.size:
        at = math.degrees(turn.crank_rad[steps[0]])
        yield Finding(
            "jams", "fault",
            f"The crank jams at {at:.0f}°: with the largest friction no push on it moves the"
            " mechanism.", _crank(turn), at,
            mend="Use thinner pins or a smoother bearing, or move the pivots so that the"
                 " links meet less in line there.")


def _stiff(turn: Turn, effort: Effort) -> Iterator[Finding]:
    peak, limit = effort.peak_high_nmm, SMALL_CRANK_MM * EASY_PUSH_N
    if not peak > limit:
        return
    units = turn.sketch.units
    at = math.degrees(effort.peak_high_rad)
    text = (f"The hand must give up to {show_torque(peak, units)} at {at:.0f}°, friction"
            " included.")
    if peak > LARGE_CRANK_MM * HARD_PUSH_N:
        yield Finding("stiff-crank", "fault", text + " That is too hard for a hand crank.",
                      _crank(turn), at, peak / 1e3, LARGE_CRANK_MM * HARD_PUSH_N / 1e3, "N·m",
                      "Balance the heavy parts, gear the crank down, or lighten the parts.")
        return
    arm = show_length(round(peak / EASY_PUSH_N), units)
    yield Finding("stiff-crank", "warning",
                  f"{text} An easy push of {show_force(EASY_PUSH_N, units)} needs a handle"
                  f" {arm} from the pin.", _crank(turn), at, peak / 1e3, limit / 1e3, "N·m",
                  "Balance the heavy parts, gear the crank down, or give it a longer handle.")


def _crank(turn: Turn) -> tuple[str, ...]:
    return (turn.sketch.drive.part,) if turn.sketch.drive is not None else ()
