"""Slides and slots run past their ends; parts that stand still and turn back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.model import Sketch, part_of
from core.motion.rates import Rates, rates
from core.motion.solve import pose_at
from core.motion.turn import Complexes, Floats, Turn

#: Overruns below this (mm) are rounding.
NOTHING_MM = 1e-6
#: Dead centres are found to this, rad.
EXACT = 1e-10


@dataclass(frozen=True)
class Overrun:
    """A slide or slot too short: by how much (mm) at which crank angle, and at which end,
    0 the first or 1 the second of its two points."""

    joint: str
    mm: float
    crank_rad: float
    end: int


def travel(turn: Turn) -> tuple[Overrun, ...]:
    """Slides and slots whose point runs past an end, worst place per end."""
    return tuple(over for joint, point, ends in _lines(turn.sketch)
                 for over in _overruns(turn, joint, point, ends))


def along(turn: Turn, joint: str) -> tuple[Floats, float]:
    """Where the point of a slide or slot is along it, (N,) mm from its first end, and its
    length, mm; raises KeyError for an unknown joint."""
    for name, point, ends in _lines(turn.sketch):
        if name == joint:
            return _along(turn, point, ends)
    raise KeyError(joint)


def _lines(sketch: Sketch) -> list[tuple[str, str, tuple[str, str]]]:
    return [*((slide.id, slide.point, slide.along) for slide in sketch.slides),
            *((slot.id, slot.point, slot.slot) for slot in sketch.slots)]


def _where(turn: Turn, ref: str) -> Complexes:
    return turn.place(part_of(ref), turn.sketch.place(ref))


def _along(turn: Turn, point: str, ends: tuple[str, str]) -> tuple[Floats, float]:
    start, end = (_where(turn, ref) for ref in ends)
    drawn = [turn.sketch.point(ref) for ref in ends]
    length = float(np.hypot(drawn[1].x - drawn[0].x, drawn[1].y - drawn[0].y))
    if not length:
        return np.zeros(len(turn.crank_rad)), 0.0
    return (np.conj(end - start) * (_where(turn, point) - start)).real / length, length


def _overruns(turn: Turn, joint: str, point: str, ends: tuple[str, str]) -> list[Overrun]:
    at, length = _along(turn, point, ends)
    found = []
    if turn.reached.any():
        for end, past in ((0, -at), (1, at - length)):
            worst = int(np.nanargmax(past))
            if past[worst] > NOTHING_MM:
                found.append(Overrun(joint, float(past[worst]),
                                     float(turn.crank_rad[worst]), end))
    return found


def dead_centres(turn: Turn, part: str) -> tuple[float, ...]:
    """Crank angles (rad, rising) at which a part stands still and turns back.

    A part that does not turn is watched along the direction in which it moves most.
    Found between steps to 1e-10; raises KeyError for an unknown part.
    """
    row = turn.row(part)
    if not turn.reached.any():
        return ()
    speed = rates(turn)
    axis = 0j
    if not np.nanmax(np.abs(speed.spin[row]), initial=0.0) > 1e-12:
        moved = speed.shift1[row]
        axis = complex(np.conj(moved[int(np.nanargmax(np.abs(moved)))]))
    value = _pace(speed, row, axis)
    following = np.roll(value, -1)
    with np.errstate(invalid="ignore"):
        changes = np.flatnonzero((value * following < 0) | (value == 0.0))
    step = turn.crank_rad[1] - turn.crank_rad[0] if len(value) > 1 else 0.0
    if not turn.solution or not turn.solution.grid.period:
        changes = changes[changes < len(value) - 1]
    return tuple(_still(turn, row, axis, float(turn.crank_rad[at]), step) for at in changes)


def _pace(speed: Rates, row: int, axis: complex) -> Floats:
    if axis:
        paced: Floats = (axis * speed.shift1[row]).real
        return paced
    spin: Floats = speed.spin[row]
    return spin


def _still(turn: Turn, row: int, axis: complex, low: float, step: float) -> float:
    high = low + step
    while high - low > EXACT:
        cuts = np.linspace(low, high, 17)
        value = _pace(rates(pose_at(turn, cuts)), row, axis)
        at = int(np.flatnonzero(np.sign(value) != np.sign(value[0]))[:1].sum()) or 16
        low, high = float(cuts[at - 1]), float(cuts[at])
    return (low + high) / 2
