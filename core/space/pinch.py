"""Places where a finger could be caught between two parts, over the whole turn.

Something soft rests on the edge of one body. It is squeezed while the edge of another comes
towards it and it cannot slip away: the angle between the two edges is small enough for skin
to grip both (twice the angle of friction, the angle of nip of any textbook on rolls and
jaws), and the gap closes whichever of the two edges it rests on. Where it closes as seen
from one edge only, a finger is drawn in and not crushed: nips of that kind are for guards.

Looked at are bodies in one layer, whose gap closes (`crush`), parts in layers next to each
other, whose edges pass like the blades of scissors (`shear`), and parts joined by a hinge
(`hinge`). What covers a place from the front or from behind is not looked at, so that more
is told than a finger can reach.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core import motion
from core.errors import Going, always, while_going
from core.model import Sketch, split_ref
from core.motion.turn import Turn
from core.space.finger_rules import FINGER, TOY, TOY_HINGE, Rule
from core.space.gaps import Gap, Gaps
from core.space.neighbours import Body, layers_of, neighbours, spans
from core.space.nips import Rooms, Runs, comes_round, rooms_between, runs_of, sees
from core.space.pinched import Decided, Kind, Pinch
from core.space.rims import rim_of, signed_distances_from

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

__all__ = ["FINGER", "TOY", "TOY_HINGE", "Kind", "Pinch", "Rule", "decided", "pinches"]


#: A gap that closes by less than this does not squeeze: flesh gives way (an estimate), mm.
SQUEEZE_MM = 2.0
#: Cranked backwards it is told of where it then squeezes so much more, mm.
BACKWARDS_MM = 3.0
#: Crank positions looked at in one turn of the crank, at most.
_STEPS = 240
#: A finger is at least so thick where it is squeezed hard (EN 71-1 takes 12 mm), mm.
THICK_MM = 12.0
#: A rod that comes hardly nearer than the part on it is not told besides, mm.
_THE_SAME_MM = 1.0
_TRIED, _GRID, _ROUNDS = 8, 17, 3


def pinches(turn: Turn, gaps: Gaps | None = None,
            going: Going = always) -> tuple[Pinch, ...]:
    """All pairs of bodies that could catch a finger, those that squeeze it most first.

    Parameters
    ----------
    turn : a solved turn; cranking both ways is looked at.
    gaps : the exact gaps over this turn, refined between steps; where a pair shuts at its
        smallest gap, that is the figure given.
    going : asked before every pair: whether to go on.

    Raises
    ------
    Stopped
        Once `going` says no.

    Notes
    -----
    Edges are looked at every EDGE_MM, at 240 crank angles a turn; the angle at which it
    shuts is then sought between them. Bodies that keep still to each other, gears in mesh
    and slides with what they slide along are left out.
    """
    steps = _coarse(turn)
    if steps.size < 2:
        return ()
    exact = {(gap.a, gap.b): gap for gap in gaps.pairs} if gaps is not None else {}
    near = list(_near(turn, steps, list(_pairs(turn.sketch))))
    rods = [pair for pair in near if pair.a.is_rod or pair.b.is_rod]
    parts = [pair for pair in near if not (pair.a.is_rod or pair.b.is_rod)]
    told = _told(turn, steps, while_going(going, parts), exact)
    # A rod would not be told where a part on it is shut as tightly as can be.
    tightest = {(one.a, one.b): one.smallest_mm for _, one in told}
    rods = [pair for pair in rods if _twins(pair, tightest) > _THE_SAME_MM]
    told += _told(turn, steps, while_going(going, rods), exact)
    told.sort(key=lambda one: (-round(one[1].squeeze_mm, 6), one[1].a, one[1].b))
    return tuple(_without_hidden_rods(told))


def _told(turn: Turn, steps: NDArray[np.intp], pairs: Iterator[_Pair],
          exact: dict[tuple[str, str], Gap]) -> list[tuple[_Worst, Pinch]]:
    """What is told of some pairs; `exact` are the gaps of the turn."""
    found = [worst for pair in pairs if (worst := _worst(turn, steps, pair)) is not None]
    ends: list[tuple[_Worst, float, float]] = []
    for worst, (shut_rad, room) in zip(found, _shut(turn, steps, found), strict=True):
        gap = exact.get((worst.pair.a.name, worst.pair.b.name))
        step = float(turn.crank_rad[steps[1]] - turn.crank_rad[steps[0]])
        if (gap is not None and worst.pair.kind != "shear" and gap.smallest_mm <= room
                and abs(math.remainder(gap.crank_rad - shut_rad,
                                       2.0 * math.pi * turn.crank_turns)) <= 2.0 * step):
            room, shut_rad = max(0.0, gap.smallest_mm), gap.crank_rad
        ends.append((worst, shut_rad, room))
    shut = motion.pose_at(turn, np.array([each[1] for each in ends])) if ends else turn
    return [(each[0], _pinch(turn, steps, *each, shut, row)) for row, each in enumerate(ends)]


@dataclass(frozen=True)
class _Pair:
    """Two bodies that may catch something, `a` and `b` in alphabetical order."""

    a: Body
    b: Body
    kind: Kind
    rules: tuple[Rule, ...]


def _pairs(sketch: Sketch) -> Iterator[_Pair]:
    close = neighbours(sketch, flat=True)
    layers = layers_of(sketch)
    rank = {layer: i for i, layer in enumerate(sorted(set(layers.values())))}
    low, high = spans(close.bodies, {part: rank[layer] for part, layer in layers.items()})
    hinged = [{split_ref(ref)[0] for ref in pin.at} for pin in sketch.pins
              if pin.hinge is not None]
    for i, j, still in zip(close.a, close.b, close.one_body, strict=True):
        if still:
            continue
        a, b = sorted((close.bodies[i], close.bodies[j]), key=lambda body: body.name)
        kind: Kind
        if any({a.name, b.name} <= parts for parts in hinged):
            kind = "hinge"
        elif low[i] <= high[j] and low[j] <= high[i]:
            kind = "crush"
        elif not (a.is_rod or b.is_rod) and abs(low[i] - low[j]) == 1:
            kind = "shear"
        else:
            continue
        toy = TOY_HINGE if kind == "hinge" else TOY
        yield _Pair(a, b, kind, (toy, FINGER) if sketch.for_children else (FINGER,))


def _coarse(turn: Turn) -> NDArray[np.intp]:
    """The steps looked at: not all of a fine turn."""
    a_turn = turn.crank_rad.size / max(turn.crank_turns, 1)
    stride = max(1, math.ceil(a_turn / _STEPS))
    steps = np.arange(0, turn.crank_rad.size, stride)
    if not comes_round(turn) and steps[-1] < turn.crank_rad.size - 1:
        steps = np.append(steps, turn.crank_rad.size - 1)  # what shuts at the end of a swing
    return np.asarray(steps if turn.reached.any() else steps[:0], dtype=np.intp)


def _near(turn: Turn, steps: NDArray[np.intp], pairs: list[_Pair]) -> Iterator[_Pair]:
    """Pairs whose circles come so near that a finger between them is touched by both."""
    rotation, shift = turn.rotation[:, steps], turn.shift[:, steps]
    bodies = {body.name: body for pair in pairs for body in (pair.a, pair.b)}
    at = {name: rotation[body.row] * body.solid.centre + shift[body.row]
          for name, body in bodies.items()}
    for pair in pairs:
        apart = np.abs(at[pair.a.name] - at[pair.b.name])
        reach = pair.a.solid.reach_mm + pair.b.solid.reach_mm + FINGER.safe_mm
        if np.fmin.reduce(apart, initial=np.inf) < reach:
            yield pair


@dataclass(frozen=True)
class _Worst:
    """The worst stretch of a pair, and the tightest room that closes at every step."""

    pair: _Pair
    rule: Rule
    on: Body
    other: Body
    drawn: complex
    normal: complex
    sense: int
    first: int
    last: int
    passes: bool
    widest_mm: float
    smallest_mm: float
    turn_per_mm: float
    lane_mm: Floats
    where: Complexes
    across: Complexes


def _worst(turn: Turn, steps: NDArray[np.intp], pair: _Pair) -> _Worst | None:
    """The stretch of a pair that squeezes most, by the first rule that any breaks."""
    ways = [rooms_between(turn, steps, pair.a, pair.b, FINGER.safe_mm),
            rooms_between(turn, steps, pair.b, pair.a, FINGER.safe_mm)]
    forward = 1 if turn.sketch.drive is None or turn.sketch.drive.rpm >= 0.0 else -1
    tried = [(rooms, sense, runs_of(rooms, sense, comes_round(turn)))
             for sense in (forward, -forward) for rooms in ways]
    for rule in pair.rules:
        best: tuple[float, float, int, int] | None = None
        for number, (rooms, _, runs) in enumerate(tried):
            squeeze = squeezes(runs, rule)
            # What is pressed flattest comes first, then what is closed on from farther.
            pressed = np.where(squeeze >= SQUEEZE_MM, np.minimum(runs.widest_mm, THICK_MM)
                               - runs.smallest_mm, -np.inf)
            order = np.lexsort((runs.first, -np.round(squeeze, 3), -np.round(pressed, 3)))
            for run in order[:_TRIED].tolist():
                if pressed[run] == -np.inf:
                    break
                if sees(turn, steps, rooms, int(runs.row[run]), int(runs.last[run])):
                    # Of both bodies' edges the tighter tells, whichever is named first.
                    one = (round(float(pressed[run]), 3), round(float(squeeze[run]), 3),
                           number, int(run))
                    more = BACKWARDS_MM if best is not None and number >= 2 > best[2] else 0.0
                    if best is None or one[0] - more > best[0] or (
                            not more and one[:2] > best[:2]):
                        best = one
                    break
        if best is not None:
            return _chosen(turn, steps, pair, rule, tried, best[2:])
    return None


def _chosen(turn: Turn, steps: NDArray[np.intp], pair: _Pair, rule: Rule,
            tried: list[tuple[Rooms, int, Runs]], best: tuple[int, int]) -> _Worst:
    (rooms, sense, runs), run = tried[best[0]], best[1]
    row, first, last = int(runs.row[run]), int(runs.first[run]), int(runs.last[run])
    total = steps.size
    count = (last - first) * sense % total + 1
    path = (first + sense * np.arange(count)) % total
    room = rooms.room_mm[row, path]
    smallest = float(runs.smallest_mm[run])
    thick = min(THICK_MM, float(room[0]), rule.safe_mm)
    # How far the crank goes while it closes on what is that thick, or on all there is.
    touched = int(np.searchsorted(-room, -max(thick, smallest + SQUEEZE_MM), side="left"))
    touched = min(touched, count - 1)
    step = float(turn.crank_rad[steps[1]] - turn.crank_rad[steps[0]])
    travel = (count - 1 - touched + (1.0 if smallest == 0.0 else 0.0)) * step
    closed = max(float(room[touched]) - smallest, 1e-9)
    rim = rim_of(rooms.on.solid)
    lanes = _lane(turn, steps, tried, rule)
    return _Worst(pair, rule, rooms.on, rooms.other, complex(rim.place[row]),
                  complex(rim.normal[row]), sense, first, last,
                  smallest == 0.0, float(room[0]), smallest, travel / closed, *lanes)


def _lane(turn: Turn, steps: NDArray[np.intp], tried: list[tuple[Rooms, int, Runs]],
          rule: Rule) -> tuple[Floats, Complexes, Complexes]:
    """The tightest room that is closing at every step, among the stretches that break the
    rule while the crank goes the way it is driven; its middle, and from there to an edge."""
    lane = np.full(steps.size, np.nan)
    where, across = np.full((2, steps.size), np.nan + 0j)
    rocks = turn.sketch.drive is not None and turn.sketch.drive.kind == "rock"
    for rooms, sense, runs in tried if rocks else tried[:2]:
        row, at = runs.cells(squeezes(runs, rule) >= SQUEEZE_MM, sense, steps.size)
        room = rooms.room_mm[row, at]
        order = np.lexsort((room, at))
        order = order[np.flatnonzero(np.diff(at[order], prepend=-1))]
        row, at, room = row[order], at[order], room[order]
        tighter = (room < rule.safe_mm) & ~(lane[at] <= room)
        row, at = row[tighter], at[tighter]
        lane[at] = room[tighter]
        where[at] = (turn.rotation[rooms.other.row, steps[at]] * rooms.middle(row, at)
                     + turn.shift[rooms.other.row, steps[at]])
        across[at] = (turn.rotation[rooms.on.row, steps[at]] * rooms.place[row]
                      + turn.shift[rooms.on.row, steps[at]] - where[at])
    return lane, where, across


def squeezes(runs: Runs, rule: Rule) -> Floats:
    """By how much every stretch closes on the thickest finger it catches, (R,) mm; minus
    infinity where the rule is kept."""
    breaks = (runs.widest_mm >= rule.admits_mm) & (runs.smallest_mm < rule.safe_mm)
    return np.where(breaks, np.minimum(runs.widest_mm, rule.safe_mm) - runs.smallest_mm,
                    -np.inf)


def _shut(turn: Turn, steps: NDArray[np.intp],
          found: list[_Worst]) -> list[tuple[float, float]]:
    """Crank angle and room where each shuts, sought between the steps."""
    if not found:
        return []
    step = float(turn.crank_rad[steps[1]] - turn.crank_rad[steps[0]])
    middle: Floats = np.array([float(turn.crank_rad[steps[one.last]])
                       + (0.5 * one.sense * step if one.passes else 0.0) for one in found])
    half = np.array([0.5 * step if one.passes else step for one in found])
    room: Floats = np.array([one.smallest_mm for one in found])
    first, last = turn.crank_rad[0], turn.crank_rad[-1]
    for _ in range(_ROUNDS):
        angle: Floats = middle[:, None] + half[:, None] * np.linspace(-1.0, 1.0, _GRID)
        if not comes_round(turn):
            angle = np.clip(angle, first, last)
        posed = motion.pose_at(turn, angle.ravel())
        for i, one in enumerate(found):
            rooms = _rooms_at(posed, slice(i * _GRID, (i + 1) * _GRID), one)
            if one.passes:
                away = np.flatnonzero(rooms[::one.sense] > 0.0)
                best = int(away[-1]) if away.size else 0
                best = best if one.sense > 0 else _GRID - 1 - best
            else:
                best = int(np.where(np.isnan(rooms), np.inf, rooms).argmin())
                room[i] = np.fmin(room[i], rooms[best])
            middle[i] = angle[i, best]
        half /= (_GRID - 1) / 2
    if comes_round(turn):
        middle = first + np.mod(middle - first, 2.0 * math.pi * turn.crank_turns)
    return [(float(a), float(b)) for a, b in zip(middle, room, strict=True)]


def _rooms_at(posed: Turn, some: slice, one: _Worst) -> Floats:
    """Room (G,) at the place of a stretch in some poses; 0 in the other body."""
    back = posed.rotation[one.other.row, some].conj()
    at = back * (posed.rotation[one.on.row, some] * one.drawn
                 + posed.shift[one.on.row, some] - posed.shift[one.other.row, some])
    facing = back * posed.rotation[one.on.row, some] * one.normal
    known = np.isfinite(at)
    distance, away = signed_distances_from(one.other.solid, np.where(known, at, 0.0))
    cosine = np.maximum(-(facing * away.conj()).real, 0.0)
    return np.where(known, np.maximum(2.0 * distance / (1.0 + cosine), 0.0), np.nan)


def _pinch(turn: Turn, steps: NDArray[np.intp], one: _Worst, shut_rad: float,
           room_mm: float, shut: Turn, row: int) -> Pinch:
    """The finished answer; `shut` has the pose where it shuts in its place `row`."""
    sketch, pair = turn.sketch, one.pair
    forward = 1 if sketch.drive is None or sketch.drive.rpm >= 0.0 else -1
    drive_rocks = sketch.drive is not None and sketch.drive.kind == "rock"
    place = shut.rotation[one.on.row, row] * one.drawn + shut.shift[one.on.row, row]
    parts = tuple(sorted(pair.a.parts | pair.b.parts))
    ends = min(pair.a.parts), min(pair.b.parts - pair.a.parts, default=min(pair.b.parts))
    return Pinch(pair.a.name, pair.b.name, parts, ends, pair.kind, room_mm, one.widest_mm,
                 shut_rad, float(turn.crank_rad[steps[one.first]]),
                 one.sense != forward and not drive_rocks, complex(place), one.rule,
                 decided(sketch, pair.a.parts, pair.b.parts), one.turn_per_mm,
                 turn.crank_rad[steps], one.lane_mm, one.where, one.across,
                 2.0 * math.pi * turn.crank_turns if comes_round(turn) else math.inf)


def _without_hidden_rods(told: list[tuple[_Worst, Pinch]]) -> Iterator[Pinch]:
    """Pinches, those of a rod left out where a part on it shuts as tightly on the other."""
    tightest = {(one.a, one.b): one.smallest_mm for _, one in told}
    for worst, one in told:
        rod = worst.pair.a.is_rod or worst.pair.b.is_rod
        if not (rod and _twins(worst.pair, tightest) <= one.smallest_mm + _THE_SAME_MM):
            yield one


def _twins(pair: _Pair, tightest: dict[tuple[str, str], float]) -> float:
    """How tightly the parts on the rods of a pair shut on each other, mm."""
    a, b = pair.a, pair.b
    return min((tightest.get((min(p, q), max(p, q)), math.inf)
                for p in {a.name} | a.parts for q in {b.name} | b.parts
                if (p, q) != (a.name, b.name)), default=math.inf)


def decided(sketch: Sketch, a: frozenset[str],
            b: frozenset[str]) -> Decided:
    """What the user decided about any of these parts against any of those: a guard comes
    before letting be."""
    why = {guard.why for guard in sketch.guards
           if (guard.a in a and guard.b in b) or (guard.a in b and guard.b in a)}
    return "guarded" if "guarded" in why else "accepted" if why else ""
