"""From a mechanism to a proposal: a complete sketch, turned all round and weighed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import msgspec
import numpy as np

from core.effort import effort
from core.errors import CrankwrightError
from core.model import Sketch
from core.model.validate import problems
from core.motion import Turn, solve_turn
from core.wanted.atlas.shape import Complexes
from core.wanted.engine import Mechanisms, View, moved, run
from core.wanted.families import Family
from core.wanted.find.clearance import meeting
from core.wanted.find.problem import Problem
from core.wanted.find.proposal import Proposal
from core.wanted.measure import measure, overall

replace = msgspec.structs.replace

#: Crank steps to a turn at which a proposal is looked over.
_STEPS = 360
#: Points of a path kept to tell kin by.
_PATH = 480
#: Longer side of a mechanism that may be of any size.
_HANDY_MM = 240.0


@dataclass(frozen=True)
class Candidate:
    """A mechanism with what its descent says of it: error in tolerances, smallest
    transmission angle, and by how much the crank's angle is ahead of its reading."""

    family: Family
    view: View
    mechanism: Mechanisms
    error: float
    transmission_deg: float
    offset_rad: float

    @property
    def key(self) -> bytes:
        """What tells its mechanism from all others."""
        return self.family.id.encode() + self.mechanism.params.tobytes()


def proposal(problem: Problem, one: Candidate) -> Proposal | None:
    """The proposal of a candidate, or None where the real sketch does not do what was
    promised: it locks, or does not come back after its cycle."""
    goals = problem.goals(one.family.recipe.turns)
    sketch = one.family.sketch(_sized(problem, one), goals=goals, view=one.view,
                               offset_rad=one.offset_rad, rpm=_rpm(problem))
    sketch = _surrounded(sketch, problem.sketch)
    turn = _turned(sketch, one.family.recipe.turns)
    if turn is None:
        return None
    mets = measure(turn)
    worst = max((met.worst / met.tolerance for met in mets), default=0.0)
    far = max((met.worst for met in mets if met.unit == "mm"), default=0.0)
    return Proposal(
        family=one.family.id, name=one.family.name, sketch=sketch,
        error=float(overall(mets, sketch)), worst=float(worst), worst_mm=float(far),
        transmission_deg=one.transmission_deg, size_mm=_size_mm(turn),
        peak_torque_nmm=_peak_nmm(turn), meets=meeting(turn))


#: A proposal and where its tracer goes, (N,); None where it is none.
Built = tuple[Proposal, Complexes] | None


def built(problem: Problem, one: Candidate, going: Callable[[], bool]) -> Built:
    """The proposal of a candidate and its path, in whatever process."""
    made = proposal(problem, one)
    return None if made is None else (made, _path(one))


def _path(one: Candidate) -> Complexes:
    """Where the tracer goes, (N,)."""
    recipe = one.family.recipe
    crank = 2 * np.pi * recipe.turns * np.arange(_PATH * recipe.turns) / _PATH
    path: Complexes = run(recipe, one.mechanism, crank, derive=False).point(
        one.family.tracer)[0]
    return path


def _sized(problem: Problem, one: Candidate) -> Mechanisms:
    """The mechanism, at a handy size where the wishes speak of no place."""
    rules = problem.limits
    if problem.size_mm > 0 or rules.shortest_mm or rules.longest_mm or rules.zones:
        return one.mechanism
    recipe = one.family.recipe
    crank = 2 * np.pi * recipe.turns * np.arange(36) / 36
    done = run(recipe, one.mechanism, crank, derive=False)
    places = np.concatenate([done.point(name)[0] for name in recipe.points])
    size = _HANDY_MM / max(float(np.ptp(places.real)), float(np.ptp(places.imag)), 1e-12)
    home = complex(places[0])
    return moved(recipe, one.mechanism, complex(size), home * (1 - size))


def _rpm(problem: Problem) -> float:
    drive = problem.sketch.drive
    return 20.0 * problem.sense if drive is None else drive.rpm


def _surrounded(sketch: Sketch, users: Sketch) -> Sketch:
    """The sketch in the surroundings of the maker's: units, gravity, friction, rules."""
    return replace(
        sketch, units=users.units, gravity=users.gravity, friction=users.friction,
        gap_mm=users.gap_mm, grid_mm=users.grid_mm, author=users.author,
        zones=tuple(zone for zone in users.zones if not zone.points),
        fit=replace(users.fit, free=()))


def _turned(sketch: Sketch, turns: int) -> Turn | None:
    """The whole turn, when there is nothing against it."""
    # A link without length is no fatal problem, but nothing to offer.
    if any(problem.fatal or problem.place.startswith("parts") for problem in problems(sketch)):
        return None
    try:
        turn = solve_turn(sketch, steps=_STEPS)
    except CrankwrightError:
        return None
    whole = bool(turn.reached.all()) and not turn.limits
    return turn if whole and turn.repeats and turns % turn.crank_turns == 0 else None


def _size_mm(turn: Turn) -> float:
    """The longer side of the box all points move in."""
    places = np.concatenate([
        turn.place(part.id, np.array([point.place for point in part.points])).ravel()
        for part in turn.sketch.parts if part.points])
    return float(max(np.ptp(places.real), np.ptp(places.imag)))


def _peak_nmm(turn: Turn) -> float:
    try:
        torque = effort(turn).torque_nmm
    except (CrankwrightError, ZeroDivisionError):
        return float("nan")
    torque = np.abs(torque[np.isfinite(torque)])
    return float(torque.max()) if torque.size else float("nan")
