"""The whole turn of a sketch, and its pose at chosen crank angles."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import lru_cache

import numpy as np

from core.errors import MotionError, SketchError
from core.model import Drive, Sketch
from core.motion.cycle import MOST_TURNS, more_turns, turns_by_gears
from core.motion.network import Topology, network, topology
from core.motion.newton import back_after, joins
from core.motion.plan import Plan
from core.motion.planner import plan as make_plan
from core.motion.reach import Reach, Stop, reach
from core.motion.running import PARALLEL, probe, run
from core.motion.solution import Grid, Solution, bridge
from core.motion.state import State, drawn_points
from core.motion.turn import Complexes, Floats, Limit, Turn

#: Samples of a cycle of many crank turns, and the fewest per crank turn.
MOST_SAMPLES, FEWEST_STEPS = 5760, 90
#: Cycles are doubled up to this many turns before the most are tried.
PATIENT = 8
#: A reach below this (rad) is shown on one crank turn.
FULL = 2 * math.pi - 0.1
#: The fewest steps that can be asked for.
FEWEST = 8
#: Places farther out (mm) and pins with points farther apart (mm) cannot be turned.
FAR_MM, APART_MM = 1e7, 0.1


def solve_turn(sketch: Sketch, steps: int = 720, warm: Turn | None = None) -> Turn:
    """Where every part is over the whole cycle.

    Parameters
    ----------
    sketch : its drawn pose decides how the groups are put together.
    steps : samples per crank turn; cycles of many turns take fewer per turn.
    warm : the turn of a sketch nearly this one: a start for groups without a closed form.

    Raises
    ------
    MotionError
        When there is no crank: no drive, or a drive that does not turn on the frame; when
        joints of one part lie at one place, so that the place of others is undecided; for
        too few steps.
    SketchError
        For a joint at a point that does not exist, or is nowhere; for a pin whose points
        lie apart.
    """
    if steps < FEWEST:
        raise MotionError(f"{steps} steps do not show a turn", mend=f"ask for {FEWEST} or more")
    plan = plan_of(sketch)
    drive = usable_drive(sketch, plan)
    drawn = drawn_points(plan.network, sketch)
    _check_drawn(plan, drawn)
    last = _warm_grid(warm, plan)
    if drive.kind == "rock":
        grid, crank = _rock(plan, drawn, drive, steps, last)
        return _turn(sketch, grid, crank, 1, True)
    turns = turns_by_gears(plan)
    if turns is None or turns > MOST_TURNS:
        return _unclosed(sketch, plan, drawn, drive, steps)
    tried: set[int] = set()
    while True:
        grid, crank = _whole_turns(plan, drawn, drive, steps, turns, last)
        if len(grid.reach.stops) == 1 and 2 * turns <= MOST_TURNS:
            # Gears on parts that turn: the way back goes on for more than the cycle tried.
            turns *= 2
            continue
        if turns > 1 and not grid.reach.whole and grid.reach.high - grid.reach.low < FULL:
            # It locks within a turn: however long the cycle, there is no more to it.
            crank = _angles(steps, 1)
            state = probe(grid.state, grid.tracks, grid.sheet(crank))
            return _turn(sketch, grid, crank, 1, True, state)
        tried.add(turns)
        closes = _closes(grid, turns, tried) if grid.reach.whole else turns
        if closes is None or closes > MOST_TURNS:
            return _unclosed(sketch, plan, drawn, drive, steps)
        if closes == turns:
            return _turn(sketch, grid, crank, turns, True)
        turns = closes


def pose_at(turn: Turn, crank_rad: Floats) -> Turn:
    """The poses at other crank angles (K,), rad, any order, on the same motion as `turn`.

    Exact, not interpolated. Angles beyond the cycle are taken into it where the motion
    repeats; angles the crank does not reach are NaN.

    Raises
    ------
    MotionError
        For a turn that was not made by :func:`solve_turn`.
    """
    grid = turn.solved.grid
    crank = np.atleast_1d(np.asarray(crank_rad, np.float64))
    state = probe(grid.state, grid.tracks, grid.sheet(crank))
    return _turn(turn.sketch, grid, crank, turn.crank_turns, turn.repeats, state,
                 turn.limits)


def _check_drawn(plan: Plan, drawn: list[complex]) -> None:
    """Places exist and pins hold together; else nothing solved would mean anything."""
    net, places = plan.network, np.array(drawn, np.complex128)
    near = np.abs(places) < FAR_MM
    if not near.all():
        row, _ = net.points[int(np.argmin(near))]
        raise SketchError("a point is nowhere near the paper", where=net.part_ids[row],
                          mend="type its place anew")
    number, one, two = net.pairs
    apart = np.abs(places[one] - places[two])
    if apart.max(initial=0.0) > APART_MM:
        worst = int(np.argmax(apart))
        raise SketchError(f"its points lie {apart[worst]:.2f} mm apart",
                          where=f"pin {net.pins[number[worst]].id!r}",
                          mend="snap them together")


def plan_of(sketch: Sketch) -> Plan:
    """The plan of a sketch, kept while only coordinates change."""
    return _plan_of(topology(sketch))


@lru_cache(maxsize=64)
def _plan_of(topo: Topology) -> Plan:
    return make_plan(network(topo))


def usable_drive(sketch: Sketch, plan: Plan) -> Drive:
    """The drive, or a MotionError that says why the sketch has no crank."""
    drive = sketch.drive
    if drive is None:
        raise MotionError("there is no crank",
                          mend="choose a part pinned to the frame and make it the crank")
    if plan.network.crank >= 0:
        return drive
    part = next((part for part in sketch.parts if part.id == drive.part), None)
    if part is None:
        raise MotionError(f"the crank {drive.part!r} does not exist", where="drive.part",
                          mend="choose another part as the crank")
    if all(pin.id != drive.pin for pin in sketch.pins):
        raise MotionError(f"the crank's pin {drive.pin!r} does not exist",
                          where="drive.pin", mend="pin the crank to the frame")
    if plan.network.body_of[plan.network.part_ids.index(part.id)] == 0:
        raise MotionError(f"the crank {part.id!r} is fast to the frame", where="drive.part",
                          mend="free it from the frame or choose another crank")
    raise MotionError(f"the pin {drive.pin!r} does not join the crank {part.id!r} to the frame",
                      where="drive.pin", mend="pin the crank to a fixed part")


def _warm_grid(warm: Turn | None, plan: Plan) -> Grid | None:
    if warm is None or warm.solution is None or warm.solution.grid.plan is not plan:
        return None
    return warm.solution.grid


@lru_cache(maxsize=16)
def _angles(per_turn: int, turns: int) -> Floats:
    angles = np.arange(float(per_turn * turns)) * (2 * np.pi / per_turn)
    angles.flags.writeable = False
    return angles


def _per_turn(steps: int, turns: int) -> int:
    return steps if turns == 1 else min(steps, max(FEWEST_STEPS, MOST_SAMPLES // turns))


def _whole_turns(plan: Plan, drawn: list[complex], drive: Drive, steps: int, turns: int,
                 last: Grid | None) -> tuple[Grid, Floats]:
    """A cycle that closes. Turns of the crank are counted from the drawn pose half a cycle
    either way, or, where the crank locks, away from where it cannot go."""
    crank = _angles(_per_turn(steps, turns), turns)
    period = 2 * math.pi * turns
    home = math.radians(drive.drawn_deg) % period
    cut = last.cut if last is not None and last.period == period else -period / 2
    grid = _closed_grid(plan, drawn, crank, home, period, cut, last, True)
    if grid.reach.recut is not None:
        grid = _closed_grid(plan, drawn, crank, home, period, grid.reach.recut, last, False)
    return grid, crank


def _closed_grid(plan: Plan, drawn: list[complex], crank: Floats, home: float,
                 period: float, cut: float, last: Grid | None, recut: bool
                 ) -> Grid:
    turn, spun = _spun(len(crank), home, period, cut)
    state, tracks = run(plan, drawn, turn, last.tracks if last else (), closed=True,
                        spun=spun)
    found = reach(state, tracks, recut)
    return Grid(plan, state, tracks, found, home, period, cut)


@lru_cache(maxsize=4)
def _spun(count: int, home: float, period: float, cut: float) -> tuple[Floats, Complexes]:
    """Turns of the crank from the drawn pose, that pose last, and e^{i turn}."""
    crank = np.arange(count) * (period / count)
    turn = np.append((crank - home - cut) % period + cut, 0.0)
    spun = np.exp(1j * turn)
    for values in (turn, spun):
        values.flags.writeable = False
    return turn, spun


def _unclosed(sketch: Sketch, plan: Plan, drawn: list[complex], drive: Drive,
              steps: int) -> Turn:
    """As many crank turns as the sketch asks for, of a motion that does not come back."""
    turns = min(max(1, sketch.turns), MOST_TURNS)
    crank = _angles(_per_turn(steps, turns), turns)
    home = math.radians(drive.drawn_deg) % (2 * math.pi * turns)
    state, tracks = run(plan, drawn, np.append(crank - home, 0.0))
    grid = Grid(plan, state, tracks, reach(state, tracks), home, 0.0)
    return _turn(sketch, grid, crank, turns, False)


def _rock(plan: Plan, drawn: list[complex], drive: Drive, steps: int,
          last: Grid | None) -> tuple[Grid, Floats]:
    """To and fro; the way from the drawn pose to the swing is solved too."""
    low, high = sorted(map(math.radians, (drive.from_deg, drive.to_deg)))
    home = math.radians(drive.drawn_deg)
    crank = np.linspace(low, high, max(steps, 2))
    step = (high - low) / max(steps - 1, 1) or math.radians(0.5)
    way = np.empty(0)
    end = min(max(home, low), high)
    if end != home:
        if abs(end - home) > MOST_TURNS * 2 * math.pi:
            raise MotionError("the crank swings many turns away from where it is drawn",
                              where="drive", mend="bring its two angles near drawn_deg")
        count = min(math.ceil(abs(end - home) / step), MOST_SAMPLES)
        way = np.linspace(home, end, max(2, count) + 1)[1:-1]
    turn = np.concatenate([crank, way, [home]]) - home
    state, tracks = run(plan, drawn, turn, last.tracks if last else ())
    return Grid(plan, state, tracks, reach(state, tracks), home, 0.0), crank


def _closes(grid: Grid, turns: int, tried: set[int]) -> int | None:
    """Crank turns in which a cycle closes that goes all round in `turns`: as many if it
    does; twice as many after an odd number of touches (a kite comes back the other way
    round); None: never. Groups that are not back by then are followed on, but not for a
    number of turns tried before."""
    if any(len(track.touches) % 2 for track in grid.tracks):
        return 2 * turns
    open_ended = [(track.branch, block)
                  for block, track in zip(grid.plan.blocks, grid.tracks, strict=True)
                  if track.branch is not None and not joins(track.branch, block, grid.state)]
    if open_ended:
        sooner = math.lcm(*(back_after(branch, block, grid.state, turns)
                            for branch, block in open_ended))
        if sooner and sooner not in tried:
            return sooner
        # Only turns of a rational ratio are back after more than a turn or two.
        ever = turns < 2 or all(isinstance(factor, Fraction) for _, block in open_ended
                                for law in block.laws for _, factor in law.terms)
        if turns >= PATIENT:  # then as many as may be: `back_after` finds the fewest
            return MOST_TURNS // turns * turns if ever and 2 * turns <= MOST_TURNS else None
        return 2 * turns if ever else None
    times = more_turns(grid.state)
    return None if times is None else times * turns


def _turn(sketch: Sketch, grid: Grid, crank: Floats, turns: int, repeats: bool,
          state: State | None = None, limits: tuple[Limit, ...] | None = None) -> Turn:
    state = grid.state if state is None else state
    bridge(grid, state)
    solution = Solution(grid, state, crank)
    rotation, shift = solution.poses(0), solution.poses(1)
    reached = grid.reach.covers(state.turn[:len(crank)])
    if min(state.least, default=1.0) < PARALLEL:  # no number, no pose
        reached &= np.isfinite(rotation).all(axis=0) & np.isfinite(shift).all(axis=0)
    if not reached.all():
        moving = np.array(grid.plan.network.body_of) != 0
        lost = np.outer(moving, ~reached)
        rotation, shift = rotation.copy(), shift.copy()
        rotation[lost] = shift[lost] = np.nan
    if limits is None:
        limits = _limits(grid, grid.reach, 2 * math.pi * turns)
    return Turn(sketch=sketch, crank_rad=crank, reached=reached,
                part_ids=grid.plan.network.part_ids, rotation=rotation, shift=shift,
                crank_turns=turns, repeats=repeats, limits=limits, solution=solution)


def _limits(grid: Grid, reached: Reach, cycle: float) -> tuple[Limit, ...]:
    def limit(stop: Stop) -> Limit:
        crank = grid.home + stop.turn
        if grid.period:
            crank %= cycle
        return Limit(float(crank), stop.side, grid.plan.network.parts_of(stop.bodies),
                     (stop.bodies, stop.side) in lost)

    lost = {(block.moved, side) for block, track in zip(
        grid.plan.blocks, grid.tracks, strict=True) if track.branch is not None
        for side in track.branch.given_up}

    return tuple(sorted((limit(stop) for stop in reached.stops),
                        key=lambda one: (one.crank_rad, one.side)))
