"""What is held against a sketch besides its errors: poor transmission, parts that come too
near each other, a hard crank; and the regions its points must keep to over the whole turn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.errors import CrankwrightError
from core.model import Sketch, part_of
from core.motion import (
    Turn,
    pose_at,
    sensitivity,
    solve_turn,
    transmission,
    transmission_slopes,
)
from core.wanted.borders import nearest_on
from core.wanted.fit.freedom import Freedom
from core.wanted.fit.holds import moving_zones, outside

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: A transmission angle this much below the limit counts as one tolerance.
POOR_RAD = math.radians(10.0)
#: Below this a group is all but locked, whatever limit was set: a wall of so many
#: tolerances for the last of it; and nothing nearer to locking is looked at.
WALL_RAD, WALL, LOCKED_RAD = math.radians(1.5), 10.0, math.radians(0.05)
#: The same of a crank that rocks and turns back where it comes near locking.
TURNING_BACK_RAD = math.radians(0.25)
#: Groups of more than two links are asked a quarter of the limit: the measure falls with
#: their size (chosen by trial on walking legs and eight-bars).
LARGE_GROUP = 0.25
#: A point this far off a line or place it should keep to counts as one tolerance, mm.
OFF_MM = 0.1
#: At most so many crank angles of one group or region are looked at.
MOST_PLACES = 4
#: Steps of w by which gaps and torque are differentiated, by the sketch's size.
DIFFERENCE = 1e-5
#: Steps of a cycle at which gaps and torque are measured, and the least of a crank turn.
MEASURED_STEPS, LEAST_STEPS = 90, 24


@dataclass(frozen=True)
class Cause:
    """Where a penalty comes from: a "transmission" of the group or a "line" or "zone" of
    that number, at a crank angle (rad), or something "measured". `slope` is that of the
    penalty by the group's angle, per rad."""

    kind: str
    number: int
    crank_rad: float = 0.0
    slope: float = 0.0


@dataclass(frozen=True)
class Rows:
    """`value` (H,): penalties in tolerances. `over` (Z,) mm: to be ≤ 0. `causes` of the
    first, then of the second."""

    value: Floats
    over: Floats
    causes: tuple[Cause, ...]


class Penalties:
    """Penalties of a sketch by its own rules."""

    def __init__(self, sketch: Sketch, freedom: Freedom) -> None:
        self.sketch, self.freedom = sketch, freedom
        self.least = math.radians(sketch.fit.transmission_deg)
        self.zones = moving_zones(sketch)
        self.costly = sketch.fit.mind_gaps or sketch.fit.mind_torque
        self.torque_nmm = 0.0
        self._warm: Turn | None = None

    def rows(self, w: Floats, turn: Turn, *, ends: bool = False) -> Rows | None:
        """All of them at w; None where something cannot be worked out. With `ends` the turn
        is a stretch over which the crank rocks, not a round."""
        wall = TURNING_BACK_RAD if ends else WALL_RAD
        value: list[float] = []
        over: list[float] = []
        causes: list[Cause] = []
        zones: list[Cause] = []
        for group in transmission(turn):
            limit = self._limit(group.kind)
            for step in _dips(group.angle_rad, max(limit, wall), ends):
                angle = float(group.angle_rad[step])
                if angle < LOCKED_RAD:
                    return None
                value.append(max(limit - angle, 0.0) / POOR_RAD
                             + WALL * max(1.0 - angle / wall, 0.0))
                slope = -(angle < limit) / POOR_RAD - WALL / wall * (angle < wall)
                causes.append(Cause("transmission", group.number,
                                    float(turn.crank_rad[step]), slope))
        for number, (zone, ref) in enumerate(self.zones):
            path = turn.place(part_of(ref), turn.sketch.place(ref))
            corners = np.array([complex(x, y) for x, y in zone.corners])
            if len(corners) < 3:
                for step in range(0, len(path), max(1, len(path) // 24)):
                    value.append(float(_off(corners, path[step])[0]) / OFF_MM)
                    causes.append(Cause("line", number, float(turn.crank_rad[step])))
                continue
            far = outside(corners, path)[0] * (1.0 if zone.keep == "in" else -1.0)
            for step in _dips(-far, 0.05 * float(np.ptp(far)) + 1e-9, ends):
                zones.append(Cause("zone", number, _peak(turn, far, step, ends)))
        if zones:
            pose = pose_at(turn, np.array([cause.crank_rad for cause in zones]))
            over = [self._outside(pose, cause.number, row) for row, cause in enumerate(zones)]
        if self.costly:
            more = self.measured(w)
            if more is None:
                return None
            value += more
            causes += [Cause("measured", k) for k in range(len(more))]
        return Rows(np.array(value), np.array(over), (*causes, *zones))

    def _outside(self, pose: Turn, number: int, row: int) -> float:
        """How far a zone's point is on its wrong side at one crank angle, mm."""
        zone, ref = self.zones[number]
        at = pose.place(part_of(ref), pose.sketch.place(ref))[row:row + 1]
        corners = np.array([complex(x, y) for x, y in zone.corners])
        return float(outside(corners, at)[0][0]) * (1.0 if zone.keep == "in" else -1.0)

    def _limit(self, kind: str) -> float:
        """The transmission angle asked of a group, rad."""
        return self.least * (LARGE_GROUP if kind == "newton" else 1.0)

    def slopes(self, w: Floats, turn: Turn, rows: Rows) -> tuple[Floats, Floats]:
        """(H, D) and (Z, D): derivatives by w, at the crank angles of `rows` (which are
        the worst, so that these may stay)."""
        count = self.freedom.count
        value, over = np.zeros((len(rows.value), count)), np.zeros((len(rows.over), count))
        exact = [k for k, cause in enumerate(rows.causes) if cause.kind != "measured"]
        if exact:
            pose = pose_at(turn, np.array([rows.causes[k].crank_rad for k in exact]))
            sensitive = sensitivity(pose, self.freedom.moves)
            groups = {cause.number for cause in rows.causes if cause.kind == "transmission"}
            angles = {number: transmission_slopes(sensitive, number) for number in groups}
            for row, k in enumerate(exact):
                cause = rows.causes[k]
                if cause.kind == "transmission":
                    value[k] = cause.slope * angles[cause.number][row]
                    continue
                zone, ref = self.zones[cause.number]
                corners = np.array([complex(x, y) for x, y in zone.corners])
                at = pose.place(part_of(ref), pose.sketch.place(ref))[row]
                moved = sensitive.place(ref)[row]
                if cause.kind == "line":
                    value[k] = (np.conj(_off(corners, at)[1]) * moved).real / OFF_MM
                    continue
                outward = outside(corners, np.array([at]))[1][0]
                sign = 1.0 if zone.keep == "in" else -1.0
                over[k - len(rows.value)] = sign * (np.conj(outward) * moved).real
        measured = [k for k, cause in enumerate(rows.causes) if cause.kind == "measured"]
        if measured:
            value[measured] = self._differences(w, rows.value[measured])
        return value, over

    def measured(self, w: Floats) -> list[float] | None:
        """Penalties of gaps and of the peak torque; None where they cannot be told."""
        from core.effort import driving_torque
        from core.space import gaps

        rules, found = self.sketch.fit, []
        try:
            sketch = self.freedom.finished(w)
            turn = self._warm = solve_turn(sketch, self._steps, self._warm)
            if rules.mind_gaps:
                wanted = max(sketch.gap_mm, 1e-3)
                short = [max(0.0, 1.0 - pair.smallest_mm / wanted) for pair in gaps(turn).pairs]
                found.append(math.sqrt(sum(each * each for each in short)))
            if rules.mind_torque:
                peak = float(np.nanmax(np.abs(driving_torque(turn))))
                self.torque_nmm = self.torque_nmm or peak
                found.append(peak / self.torque_nmm if self.torque_nmm else 0.0)
        except CrankwrightError:
            return None
        return found if np.isfinite(found).all() else None

    @cached_property
    def _steps(self) -> int:
        """Steps of a crank turn at which gaps and torque are measured: fewer where many
        turns make a cycle."""
        turns = solve_turn(self.sketch, LEAST_STEPS).crank_turns
        return max(LEAST_STEPS, MEASURED_STEPS // turns)

    def _differences(self, w: Floats, now: Floats) -> Floats:
        by = DIFFERENCE * self.freedom.size_mm
        slope = np.zeros((len(now), self.freedom.count))
        for k in range(self.freedom.count):
            moved = w.copy()
            moved[k] += by
            more = self.measured(moved)
            if more is not None:
                slope[:, k] = (np.array(more) - now) / by
        return slope


def _dips(values: Floats, limit: float, ends: bool = False) -> list[int]:
    """Steps where values going round (or, with `ends`, to and fro) are locally least and
    below a limit, the worst first."""
    before, after = np.roll(values, 1), np.roll(values, -1)
    if ends:
        before[0] = after[-1] = np.inf
    low = (values < limit) & (values <= before) & (values < after)
    steps = np.flatnonzero(low)
    if not len(steps) and (values < limit).any():
        steps = np.array([int(np.nanargmin(values))])
    return [int(step) for step in steps[np.argsort(values[steps])][:MOST_PLACES]]


def _peak(turn: Turn, values: Floats, step: int, stretch: bool = False) -> float:
    """The crank angle, rad, of the peak of values going round at a step: that of the
    parabola through it and its neighbours."""
    left, here, right = values[step - 1], values[step], values[(step + 1) % len(values)]
    bend = left - 2 * here + right
    shift = float(np.clip((left - right) / (2 * bend), -0.5, 0.5)) if bend < 0 else 0.0
    apart = float(turn.crank_rad[1] - turn.crank_rad[0])
    rocks = turn.sketch.drive is not None and turn.sketch.drive.kind == "rock"
    ends = (rocks or stretch) and step in (0, len(values) - 1)
    return float(turn.crank_rad[step]) + (0.0 if ends else shift * apart)


def _off(corners: Complexes, place: complex) -> tuple[float, complex]:
    """How far a place is from one corner, or from the line between two, and the unit way."""
    away = complex(nearest_on(place, complex(corners[0]), complex(corners[-1]))[1])
    return abs(away), away / abs(away) if away else 1 + 0j
