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
    closes as the crank angle grows, −1 where it opens, 0 where neither.
    """

    on: Body
    other: Body
    place: Complexes
    room_mm: Floats
    closing: NDArray[np.int8]
    inside: Bools
    middle: Complexes


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
    middle = np.full(at.shape, np.nan + 0j)
    row, step = np.nonzero(around(other.solid, at, 1.5 * safe_mm) & np.isfinite(going))
    where = at[row, step]
    distance, away = signed_distances_from(other.solid, where)
    deep = distance <= 0.0
    inside[row[deep], step[deep]] = True
    facing = rim.normal[row] * seen[step]
    cosine = -(facing * away.conj()).real
    faces = np.flatnonzero(~deep & (cosine >= math.cos(NIP_RAD)))
    row, step, facing, away = row[faces], step[faces], facing[faces], away[faces]
    distance = distance[faces]
    room[row, step] = 2.0 * distance / (1.0 + cosine[faces])
    moves = rim.place[row] * turning[step] + going[step]
    one, two = -(moves * away.conj()).real, (moves * facing.conj()).real
    least = _TOWARDS * np.abs(moves)
    closing[row, step] = ((one > least) & (two > least)).astype(np.int8) - (
        (one < -least) & (two < -least))
    middle[row, step] = where[faces] - away * distance / 2.0
    return Rooms(on, other, rim.place, room, closing, inside, middle)


def comes_round(turn: Turn) -> bool:
    """Whether the first step follows on the last: not where the crank rocks."""
    drive = turn.sketch.drive
    return turn.repeats and (drive is None or drive.kind == "turn")


def _change(values: Complexes, turn: Turn) -> Complexes:
    """(T,) how something goes on from step to step; one-sided at the ends of a turn that does
    not come round, NaN beside steps not reached."""
    if comes_round(turn):
        return np.asarray(np.roll(values, -1) - np.roll(values, 1))
    change = np.empty_like(values)
    change[1:-1] = values[2:] - values[:-2]
    change[0], change[-1] = values[1] - values[0], values[-1] - values[-2]
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
    order = np.arange(total)[::sense]
    mask = rooms.closing[:, order] == sense
    if repeats:  # two laps, so that a stretch over the end of the turn is in one piece
        order, mask = np.tile(order, 2), np.tile(mask, (1, 2))
    padded = np.zeros((mask.shape[0], mask.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = mask
    row, edge = np.nonzero(np.diff(padded, axis=1))
    first, end = edge[0::2], edge[1::2]
    row = row[0::2]
    if repeats:
        # Whole ones: begun after the first step, or all the way round.
        whole = (first > 0) & (first < total) | (end - first >= 2 * total)
        row, first, end = row[whole], first[whole], end[whole]
    limit = mask.shape[1] - 1
    begin, last = order[first], order[end - 1]
    beyond = np.where(end <= limit, order[np.minimum(end, limit)], -1)
    passes = (beyond >= 0) & rooms.inside[row, beyond]
    return Runs(row, begin, last, beyond, rooms.room_mm[row, begin],
                 np.where(passes, 0.0, rooms.room_mm[row, last]))


def sees(turn: Turn, steps: NDArray[np.intp], rooms: Rooms, row: int, step: int) -> bool:
    """Whether nothing of the same body lies between a place on its edge and the other."""
    solid = rooms.on.solid
    if solid.free is None and len(solid.pieces) < 2:
        return True  # convex
    at = steps[step]
    middle = (turn.rotation[rooms.other.row, at] * rooms.middle[row, step]
              + turn.shift[rooms.other.row, at] - turn.shift[rooms.on.row, at])
    drawn = np.array([middle * turn.rotation[rooms.on.row, at].conj()])
    return bool(signed_distances_from(solid, drawn)[0][0] > 0.0)
