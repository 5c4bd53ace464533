"""One call from a sketch to everything known about it: turn, rates, effort, gaps, findings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from core.effort import Effort, Hand, States, effort, hand, states
from core.errors import CrankwrightError, Going, MotionError, SketchError, always, go_on
from core.findings import Finding, findings, goes_round
from core.model import Sketch, join_ref
from core.model.validate import problems
from core.motion import Rates, Structure, Turn, rates, solve_turn, structure
from core.motion.turn import Floats
from core.space import Gaps, gaps
from core.space.pinch import Pinch, pinches

if TYPE_CHECKING:
    from core.making.locks import LockCheck, Locks
    from core.making.strength import Check, Strength
    from core.wanted.measure import Met


@dataclass(frozen=True)
class Study:
    """A sketch and everything worked out from it.

    What could not be worked out is None and `findings` say why: a sketch without a crank,
    say, has a structure but no turn. `wanted` says how the turn meets each wish, `hand`
    what the effort is at the grip, `states` what the crank does backwards and let go,
    `strength` whether it holds, and `locks` whether what is
    fast on a shaft stays so, `pinches` where a finger could be caught (all four worked out
    with `refine`).
    """

    sketch: Sketch
    structure: Structure | None
    turn: Turn | None
    rates: Rates | None
    effort: Effort | None
    gaps: Gaps | None
    findings: tuple[Finding, ...]
    wanted: tuple[Met, ...] = ()
    hand: Hand | None = None
    strength: Strength | None = None
    locks: Locks | None = None
    states: States | None = None
    pinches: tuple[Pinch, ...] = ()


def study(sketch: Sketch, steps: int = 720, warm: Turn | None = None,
          refine: bool = True, going: Going = always) -> Study:
    """Everything about a sketch over the whole turn.

    Never raises for a sketch that can be drawn, however unfinished: what is wrong with it
    is among the findings.

    Parameters
    ----------
    steps : crank positions to a turn.
    warm : the last turn of nearly the same sketch, to start from; the whole turn of this
        very sketch with as many steps is used as it is.
    refine : seek smallest gaps between steps too, and work out mends that need trying.
        False is for while something is being dragged.
    going : asked between the rooms and within the longest of them, at rest only: whether
        the answer is still wanted.

    Raises
    ------
    Stopped
        Once `going` says no.
    """
    wrong = problems(sketch)
    if any(problem.fatal for problem in wrong):
        return Study(sketch, None, None, None, None, None, findings(sketch, problems=wrong))
    build, turn, trouble = _moved(sketch, steps, warm)
    if turn is None:
        found = findings(sketch, problems=wrong, structure=build, trouble=trouble)
        return Study(sketch, build, None, None, None, None, found)
    speed = rates(turn)
    strain = _effort(turn, speed)
    going = going if refine else always  # a drag's answer is shown, be it one step behind
    go_on(going)
    space = gaps(turn, refine=refine)
    push = None if strain is None else hand(turn, strain)
    loose, holds, fast, nips = (_at_rest(turn, strain, push, speed, space, going) if refine
                                else (None, None, None, ()))
    mets = _met_wishes(turn)
    found = findings(sketch, problems=wrong, structure=build, turn=turn, effort=strain,
                     gaps=space, wanted=mets, mends=refine, strength=holds,
                     locks=fast, hand=push, states=loose, pinches=nips, going=going)
    return Study(sketch, build, turn, speed, strain, space, found, mets, push, holds,
                 fast, loose, nips)


def _at_rest(turn: Turn, strain: Effort | None, push: Hand | None, speed: Rates, space: Gaps,
             going: Going) -> tuple[States | None, Strength | None, Locks | None,
                                    tuple[Pinch, ...]]:
    """What is worked out once the hand rests; raises Stopped."""
    go_on(going)
    loose = None if strain is None else states(turn, strain, speed)
    go_on(going)
    holds = _strength(turn, strain, push, speed, going)
    go_on(going)
    fast = _locks(turn, strain, push, speed)
    return loose, holds, fast, pinches(turn, space, going)


def _met_wishes(turn: Turn) -> tuple[Met, ...]:
    if not turn.sketch.wanted:
        return ()
    from core.wanted.measure import measure  # not before something is wanted

    return measure(turn)


def _effort(turn: Turn, speed: Rates) -> Effort | None:
    """The effort, or None for a mechanism that is nowhere or cannot be weighed: a part
    without a sound mass, gears about one centre, a slide without length (findings of the
    sketch)."""
    if not turn.reached.any():
        return None
    try:
        return effort(turn, speed)
    except (SketchError, ZeroDivisionError):
        return None


def _strength(turn: Turn, strain: Effort | None, push: Hand | None, speed: Rates,
              going: Going) -> Strength | None:
    """Whether it holds, or None where effort or materials are not known."""
    if strain is None:
        return None
    from core.making.strength import strength  # not before the hand rests

    try:
        return strength(turn, strain, push, speed, going=going)
    except SketchError:
        return None


def _locks(turn: Turn, strain: Effort | None, push: Hand | None,
           speed: Rates) -> Locks | None:
    """What is fast on its shaft, or None where effort or materials are not known."""
    if strain is None:
        return None
    from core.making.locks import locks_of  # not before the hand rests

    try:
        return locks_of(turn, strain, push, rates=speed)
    except SketchError:
        return None


def _moved(sketch: Sketch, steps: int,
           warm: Turn | None) -> tuple[Structure | None, Turn | None, str]:
    """Structure and turn as far as there are any, and the reason when there is no turn."""
    build = None
    try:
        build = structure(sketch)
        if warm is not None and warm.sketch is sketch and _is_whole(warm, steps):
            return build, warm, ""
        return build, solve_turn(sketch, steps=steps, warm=warm), ""
    except CrankwrightError as error:
        return build, None, error.sentence()


def _is_whole(turn: Turn, steps: int) -> bool:
    """Whether a turn is one of whole crank turns with so many steps to each."""
    drive, crank = turn.sketch.drive, turn.crank_rad
    if drive is None or drive.kind != "turn" or turn.solution is None:
        return False
    step = 2.0 * math.pi / steps
    last = 2.0 * math.pi * turn.crank_turns - step
    return (crank.size == steps * turn.crank_turns and crank[0] == 0.0
            and math.isclose(crank[-1], last, abs_tol=step / 100))


def report(study: Study) -> dict[str, Any]:
    """The study as plain numbers and words, ready for JSON: what `check` prints.

    Angles in degrees, lengths in mm, torques in N·m. Keys that could not be worked out
    are None. The keys are documented in the format document and stay.
    """
    from core.wanted.measure import overall

    turn, strain = study.turn, study.effort
    return {
        "title": study.sketch.title,
        "mobility": None if study.structure is None else study.structure.mobility,
        "crank_turns": None if turn is None else turn.crank_turns,
        "goes_round": None if turn is None else goes_round(turn),
        "limits": [] if turn is None else [
            {"crank_deg": _degrees(limit.crank_rad), "side": limit.side,
             "parts": list(limit.parts)} for limit in turn.limits],
        "findings": [_finding(one) for one in study.findings],
        "torque": None if strain is None else _torque(strain),
        "hand": None if study.hand is None else _hand(study.hand),
        "standing": None if study.states is None else _standing(study.states),
        "strength": None if study.strength is None else [
            _check(one) for one in study.strength.checks],
        "locks": None if study.locks is None else [_lock(one) for one in study.locks.checks],
        "gaps": [] if study.gaps is None else [
            {"a": gap.a, "b": gap.b, "layer": gap.layer,
             "smallest_mm": _plain(gap.smallest_mm), "crank_deg": _degrees(gap.crank_rad)}
            for gap in study.gaps.pairs],
        "pinches": [_pinch(one) for one in study.pinches],
        "wanted": [_met(met) for met in study.wanted],
        "error": _plain(overall(study.wanted, study.sketch)) if study.wanted else None,
    }


def turn_table(study: Study) -> tuple[tuple[str, ...], Floats]:
    """The turn as a table: what `turn --csv` writes.

    Returns
    -------
    header : ``crank_deg``, ``PART.POINT.x_mm`` and ``PART.POINT.y_mm`` for every point,
        ``PART.angle_deg`` for every moving part (turn from the drawn pose, continuous),
        ``torque_nm``.
    rows : (N, columns), NaN where the crank cannot go.

    Raises
    ------
    MotionError
        When the sketch has no turn; the sentence says why.
    """
    turn = study.turn
    if turn is None:
        faults = [one.text for one in study.findings if one.grade == "fault"]
        raise MotionError((faults or ["the sketch does not turn"])[0].rstrip("."))
    header, columns = ["crank_deg"], [np.degrees(turn.crank_rad)]
    for part in study.sketch.parts:
        for point in part.points:
            ref = join_ref(part.id, point.id)
            header += [f"{ref}.x_mm", f"{ref}.y_mm"]
            columns += list(turn.path(ref).T)
    for row, part in enumerate(study.sketch.parts):
        if not part.fixed:
            header.append(f"{part.id}.angle_deg")
            columns.append(np.degrees(turn.angle_rad[:, row]))
    header.append("torque_nm")
    columns.append(np.full(turn.crank_rad.size, np.nan) if study.effort is None
                   else study.effort.torque_nmm / 1e3)
    return tuple(header), np.column_stack(columns)


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "code": one.code, "grade": one.grade, "text": one.text, "parts": list(one.parts),
        "joints": list(one.joints),
        "crank_deg": None if one.crank_deg is None else _plain(one.crank_deg),
        "value": _plain(one.value), "limit": _plain(one.limit), "unit": one.unit,
        "source": one.source, "mend": one.mend,
    }


def _lock(one: LockCheck) -> dict[str, Any]:
    hold, jam = one.hold, one.jam_safety
    return {
        "lock": hold.lock, "part": hold.part, "pin": hold.rod.id, "role": hold.role,
        "kind": one.bears.kind, "size_mm": _plain(one.bears.size_mm or None),
        "bears_nm": [_plain(one.bears.low / 1e3), _plain(one.bears.high / 1e3)],
        "weakest": one.bears.weakest.name,
        "in_use_nm": _plain(one.through.use_nmm[1] / 1e3), "in_use": one.in_use,
        "crank_deg": _degrees(one.through.use_rad),
        "in_jam_nm": _plain(None if one.through.jam_nmm is None
                            else one.through.jam_nmm / 1e3),
        "in_jam": None if jam is None else one.in_jam, "lacks": list(one.room.lacks),
        "source": one.bears.source, "trust": one.bears.trust,
    }


def _pinch(one: Pinch) -> dict[str, Any]:
    return {
        "a": one.a, "b": one.b, "parts": list(one.parts), "kind": one.kind,
        "smallest_mm": _plain(one.smallest_mm), "widest_mm": _plain(one.widest_mm),
        "shut_deg": _degrees(one.shut_rad), "open_deg": _degrees(one.open_rad),
        "backwards": one.backwards, "x_mm": _plain(one.place.real),
        "y_mm": _plain(one.place.imag), "safe_mm": one.rule.safe_mm,
        "guarded": one.guarded, "source": one.source,
    }


def _met(met: Met) -> dict[str, Any]:
    return {
        "wish": met.wish, "met": met.met, "rms": _plain(met.rms), "worst": _plain(met.worst),
        "unit": met.unit, "tolerance": _plain(met.tolerance),
        "crank_deg": _degrees(met.crank_rad), "text": met.text,
    }


def _torque(strain: Effort) -> dict[str, Any]:
    return {
        "peak_nm": _plain(strain.peak_nmm / 1e3), "peak_at_deg": _degrees(strain.peak_rad),
        "least_nm": _plain(strain.least_nmm / 1e3), "least_at_deg": _degrees(strain.least_rad),
        "peak_with_friction_nm": _plain(strain.peak_high_nmm / 1e3),
        "runaway": [[_degrees(a), _degrees(b)] for a, b in strain.runaway],
    }


def _hand(push: Hand) -> dict[str, Any]:
    return {
        "radius_mm": push.handle.radius_mm, "turns_per_crank_turn": _plain(push.ratio),
        "counter_clockwise": push.sense > 0, "turns_a_minute": _plain(push.rpm),
        "peak_n": _plain(push.peak_n), "peak_at_deg": _degrees(push.peak_rad),
        "mean_n": _plain(push.mean_n),
        "holds_back_n": _plain(push.hold_n), "holds_back_at_deg": _degrees(push.hold_rad),
        "limit_n": _plain(push.limit_n), "limit_source": push.limit_source,
        "over_limit": [[_degrees(a), _degrees(b)] for a, b in push.over],
        "backlash_deg": None if push.backlash_rad is None else _degrees(push.backlash_rad),
        "knocks_at_deg": [_degrees(at) for at in push.knocks_rad],
        "jam_torque_nm": _plain(push.jam_torque_nmm / 1e3),
    }


def _check(one: Check) -> dict[str, Any]:
    return {
        "kind": one.kind, "thing": one.thing, "parts": list(one.parts),
        "joints": list(one.joints), "verdict": one.verdict,
        "value": _plain(one.value), "unit": one.unit, "crank_deg": _degrees(one.crank_rad),
        "gives_way": [_plain(end) for end in one.gives],
        "allowed": [_plain(end) for end in one.allowed],
        "safety": [_plain(end) for end in one.safety], "needed": list(one.needed),
        "formula": one.formula, "source": one.source, "trust": one.trust,
    }


def _standing(loose: States) -> dict[str, Any]:
    near, back = loose.lock, loose.turn.crank_rad[loose.back_jams]
    return {
        "sets_off": [[_degrees(a), _degrees(b)] for a, b in loose.may_leave],
        "surely_sets_off": [[_degrees(a), _degrees(b)] for a, b in loose.surely_leaves],
        "jams_backwards_at_deg": _degrees(back[0]) if back.size else None,
        "locks_at_coefficient": None if near is None else _plain(near.coefficient),
        "locks_at_deg": None if near is None else _degrees(near.crank_rad),
        "locks_by": None if near is None else near.joint,
        "inertia_counts_from_rpm": [_plain(rpm) for rpm in loose.pace.begins_rpm],
    }


def _degrees(angle_rad: float) -> float | None:
    return _plain(math.degrees(angle_rad))


def _plain(value: float | None) -> float | None:
    """A number JSON can hold, without the noise of the last digits."""
    return None if value is None or not math.isfinite(value) else round(float(value), 9) + 0.0
