"""What rests on the edge of one body while the edge of another closes on it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.motion.turn import Turn
from core.space.neighbours import Body
from core.space.rims import around, rim_of, signed_distances_from

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Bools = NDArray[np.bool_]

#: Edges at a greater angle push a finger out: twice atan 0.58, skin on wood (an estimate).
NIP_RAD = math.radians(60.0)
#: Of a speed, how much must be towards the other edge to count as closing.
_TOWARDS = 0.02


@dataclass(frozen=True)
class Rooms:
    """What rests on the edge of `on` and meets `other`: K places by T steps.

    `room_mm` between the two edges, NaN where they do not face each other at less than the
    angle of nip or the place lies in the other body (`inside`); `closing` +1 where it
    closes as the crank angle grows, −1 where it opens, 0 where neither. `seen` and `off`
    (T,) turn and shift the places into the drawn pose of `other`.
    """

    on: Body
    other: Body
    place: Complexes
    room_mm: Floats
    closing: NDArray[np.int8]
    inside: Bools
    seen: Complexes
    off: Complexes

    def middle(self, row: NDArray[np.intp], step: NDArray[np.intp]) -> Complexes:
        """Halfway between some places, at some steps, and the edge they meet, (C,) complex
        mm in the drawn pose of `other`."""
        where = self.place[row] * self.seen[step] + self.off[step]
        distance, away = signed_distances_from(self.other.solid, where)
        return np.asarray(where - away * distance / 2.0)


def rooms_between(turn: Turn, steps: NDArray[np.intp], on: Body, other: Body,
                  safe_mm: float) -> Rooms:
    """Rooms over some steps of a turn; wider ones than half as much again as `safe_mm` are
    left out."""
    rim = rim_of(on.solid)
    rotation, shift = turn.rotation[:, steps], turn.shift[:, steps]
    back = rotation[other.row].conj()
    seen, off = back * rotation[on.row], back * (shift[on.row] - shift[other.row])
    at = rim.place[:, None] * seen + off  # (K, T) in the other's drawn pose
    turning, going = _change(seen, turn), _change(off, turn)
    room = np.full(at.shape, np.nan)
    closing = np.zeros(at.shape, dtype=np.int8)
    inside = np.zeros(at.shape, dtype=bool)
    cells = np.flatnonzero(around(other.solid, at, 1.5 * safe_mm) & np.isfinite(going))
    distance, away = signed_distances_from(other.solid, at.ravel()[cells])
    deep = distance <= 0.0
    inside.ravel()[cells[deep]] = True
    facing = (rim.normal[:, None] * seen).ravel()[cells]
    cosine = -(facing.real * away.real + facing.imag * away.imag)
    faces = np.flatnonzero(~deep & (cosine >= math.cos(NIP_RAD)))
    cells, facing, away = cells[faces], facing[faces], away[faces]
    row, step = np.divmod(cells, at.shape[1])
    room.ravel()[cells] = 2.0 * distance[faces] / (1.0 + cosine[faces])
    moves = rim.place[row] * turning[step] + going[step]
    one = -(moves.real * away.real + moves.imag * away.imag)
    two = moves.real * facing.real + moves.imag * facing.imag
    least = _TOWARDS * np.abs(moves)
    closing.ravel()[cells] = ((one > least) & (two > least)).astype(np.int8) - (
        (one < -least) & (two < -least))
    return Rooms(on, other, rim.place, room, closing, inside, seen, off)


def comes_round(turn: Turn) -> bool:
    """Whether the first step follows on the last: not where the crank rocks."""
    drive = turn.sketch.drive
    return turn.repeats and (drive is None or drive.kind == "turn")


def _change(values: Complexes, turn: Turn) -> Complexes:
    """(T,) how something goes on from step to step; one-sided at the ends of a turn that does
    not come round, NaN beside steps not reached."""
    round_ = comes_round(turn)
    change = np.empty_like(values)
    change[1:-1] = values[2:] - values[:-2]
    change[0] = values[1] - values[-1 if round_ else 0]
    change[-1] = values[0 if round_ else -1] - values[-2]
    return change


@dataclass(frozen=True)
class Runs:
    """Stretches of steps over which the room at a place keeps closing, (R,) each: rows of
    places, steps where it is widest and where it ends, room there (0 where the edges then
    pass each other) and the next step, at which it no longer closes."""

    row: NDArray[np.intp]
    first: NDArray[np.intp]
    last: NDArray[np.intp]
    beyond: NDArray[np.intp]
    widest_mm: Floats
    smallest_mm: Floats

    def cells(self, chosen: Bools, sense: int,
              total: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Rows of places and steps, (C,) each, that the chosen stretches go through."""
        first = self.first[chosen]
        count = (self.last[chosen] - first) * sense % total + 1
        within = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
        return (np.repeat(self.row[chosen], count),
                (np.repeat(first, count) + sense * within) % total)


def runs_of(rooms: Rooms, sense: int, repeats: bool) -> Runs:
    """`sense` +1: as the crank angle grows; −1: as it falls. Steps are numbers of the turn
    as it is, whichever the sense."""
    total = rooms.room_mm.shape[1]
    mask = rooms.closing == sense
    before, after = np.zeros_like(mask), np.zeros_like(mask)
    before[:, 1:], after[:, :-1] = mask[:, :-1], mask[:, 1:]
    if repeats:
        before[:, 0], after[:, -1] = mask[:, -1], mask[:, 0]
    row, low = np.divmod(np.flatnonzero(mask & ~before), total)
    high = np.flatnonzero(mask & ~after) % total
    if repeats and row.size:
        # Where the last stretch of a row goes on over the end of the turn, its upper end is
        # the first of the row.
        of_row = np.searchsorted(row, row)
        count = np.bincount(row, minlength=mask.shape[0])[row]
        over = mask[row, 0] & mask[row, -1]
        high = high[of_row + (np.arange(row.size) - of_row + over) % count]
    begin, last = (low, high) if sense > 0 else (high, low)
    beyond = last + sense
    beyond = beyond % total if repeats else np.where(beyond < total, beyond, -1)
    passes = (beyond >= 0) & rooms.inside[row, beyond]
    return Runs(row, begin, last, beyond, rooms.room_mm[row, begin],
                 np.where(passes, 0.0, rooms.room_mm[row, last]))


def sees(turn: Turn, steps: NDArray[np.intp], rooms: Rooms, row: int, step: int) -> bool:
    """Whether nothing of the same body lies between a place on its edge and the other."""
    solid = rooms.on.solid
    if solid.free is None and len(solid.pieces) < 2:
        return True  # convex
    at = steps[step]
    middle = rooms.middle(np.array([row]), np.array([step]))[0]
    middle = (turn.rotation[rooms.other.row, at] * middle + turn.shift[rooms.other.row, at]
              - turn.shift[rooms.on.row, at])
    drawn = np.array([middle * turn.rotation[rooms.on.row, at].conj()])
    return bool(signed_distances_from(solid, drawn)[0][0] > 0.0)
