"""From a wanted path to samples: places of the curve that the trace is to pass, and the
pieces of the curve that the trace is to keep to in between."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from core.model import WantedPath
from core.wanted.curves import Floats, PathCurve, curve_of
from core.wanted.goals.plan import FREE, STRAY, TIMED, Draft, Run, indices

#: Places on the piece of curve a stray is held against.
_WINDOW = 17
#: Matched samples from one stray to the next.
_STRIDE = 2


def draft_path(draft: Draft, wish: WantedPath, sense: int, fineness: int) -> int:
    """Draft a path; over how many errors its mean goes.

    Without ticks all samples form one run. With ticks, each tick is a timed sample and the
    samples between two ticks form a run between their readings; those before the first and
    after the last tick of an open path one each. Along a curve, "any order" can only mean
    either way.
    """
    curve, channel = curve_of(wish), draft.channel_of("point", wish.point, (), wish.id)
    pieces = list(_pieces(wish, curve, sense, fineness))
    places = sum(piece.at.size for piece in pieces) + len(_ticks(wish))
    strays = sum(len(_strays(wish, piece)) for piece in pieces)
    count = max(places + strays, 1)
    scale = math.sqrt(wish.weight / count) / max(wish.tolerance_mm, 1e-6)
    for at, crank in _ticks(wish):
        k = draft.sample(channel, TIMED, crank, complex(curve.place(at)))
        for way in (1.0, 1j):
            draft.row(k, way, scale)
    for piece in pieces:
        _run(draft, wish, curve, channel, piece, scale)
    return count


class Piece:
    """A piece of a path whose samples have free instants: `at` of its samples, `low` and
    `high` of the ticks beside it (None: there is none), the crank readings of these, and
    whether the whole is a closed curve without ticks."""

    def __init__(self, at: Floats, low: float | None = None, high: float | None = None,
                 bounds: tuple[float, float] | None = None, closed: bool = False) -> None:
        self.at, self.low, self.high, self.bounds = at, low, high, bounds
        self.closed = closed


def _ticks(wish: WantedPath) -> list[tuple[float, float]]:
    """Ticks in the order of the path: `at` and crank reading in rad; one for each place."""
    last = curve_of(wish).last
    ticks: dict[float, float] = {}
    for tick in wish.ticks:
        at = tick.at % last if curve_of(wish).closed else min(max(tick.at, 0.0), last)
        ticks.setdefault(round(at, 9), math.radians(tick.crank_deg))
    return sorted(ticks.items())


def _pieces(wish: WantedPath, curve: PathCurve, sense: int, fineness: int) -> Iterator[Piece]:
    ticks = _ticks(wish)
    if not ticks:
        at = _samples(wish, curve, 0.0, curve.last, fineness, True, not curve.closed)
        yield Piece(at, closed=curve.closed)
        return
    for (a, at_a), (b, at_b) in pairwise(ticks):
        at = _samples(wish, curve, a, b, fineness, False, False)
        if at.size:
            yield Piece(at, a, b, (at_a, at_a + sense * _ahead(at_b - at_a, sense)))
    (first, start), (last, end) = ticks[0], ticks[-1]
    around = _ahead(start - end, sense)
    if curve.closed or (wish.closed and wish.curve == "places"):
        at = np.concatenate([
            _samples(wish, curve, last, curve.last, fineness, False, not curve.closed),
            curve.last * curve.closed + _samples(wish, curve, 0.0, first, fineness, True,
                                                 False)])
        if at.size:
            yield Piece(at, last, first + curve.last * curve.closed,
                        (end, end + sense * around))
        return
    before = _samples(wish, curve, 0.0, first, fineness, True, False)
    after = _samples(wish, curve, last, curve.last, fineness, False, True)
    if before.size:
        yield Piece(before, None, first, (start - sense * around, start))
    if after.size:
        yield Piece(after, last, None, (end, end + sense * around))


def _ahead(way: float, sense: int) -> float:
    """How far the crank goes in the driving direction for a difference of readings: in
    (0, 2π]."""
    ahead = (sense * way) % (2.0 * math.pi)
    return ahead if ahead > 1e-9 else 2.0 * math.pi


def _samples(wish: WantedPath, curve: PathCurve, start: float, end: float, fineness: int,
             with_start: bool, with_end: bool) -> Floats:
    """Where a stretch of a path is sampled: at its places for a wish of places, else at
    even lengths, corners of a polyline included."""
    if wish.curve == "places":
        if len(wish.through) < 2:
            return np.zeros(1) if with_start and start == 0.0 else np.zeros(0)
        at = np.arange(math.ceil(start - 1e-9), math.floor(end + 1e-9) + 1.0)
    else:
        whole = int(np.clip(2 * curve.last, fineness, 4 * fineness))
        whole = whole if curve.closed else whole // 2
        share = (end - start) / max(curve.last, 1e-12)
        if curve.slopes is None and curve.last <= whole:
            at = _cornered(curve, start, end, whole)
        else:
            at = curve.even(max(2, round(whole * share)), start, end)
    if not with_start:
        at = at[at > start + 1e-6]
    if not with_end:
        at = at[at < end - 1e-6]
    return at


def _cornered(curve: PathCurve, start: float, end: float, whole: int) -> Floats:
    """Even pieces of every straight between two corners."""
    corners = np.unique(np.concatenate(
        [[start, end], np.arange(math.ceil(start), math.floor(end) + 1.0)]))
    length = curve.length_mm or 1.0
    pieces = [np.zeros(0)]
    for a, b in pairwise(corners):
        count = max(1, round(whole * float(abs(curve.place(b) - curve.place(a))) / length))
        pieces.append(np.linspace(a, b, count, endpoint=False))
    return np.append(np.concatenate(pieces), end)


def _strays(wish: WantedPath, piece: Piece) -> Floats:
    """(S, 2) of indices into the samples of a piece, −1 for the tick before, the number of
    samples for what comes after them: between which the trace is held to the curve."""
    if wish.curve == "places":
        return np.zeros((0, 2))
    stops = list(range(0, piece.at.size, _STRIDE))
    if stops and stops[-1] != piece.at.size - 1:
        stops.append(piece.at.size - 1)
    if piece.low is not None:
        stops = [-1, *stops]
    if piece.high is not None or piece.closed:
        stops.append(piece.at.size)
    return np.array(list(pairwise(stops)), float).reshape(-1, 2)


def _run(draft: Draft, wish: WantedPath, curve: PathCurve, channel: int, piece: Piece,
         scale: float) -> None:
    places = curve.place(piece.at)
    samples = [draft.sample(channel, FREE, target=place) for place in places]
    for k in samples:
        draft.row(k, 0.0, scale)
    ends = _strays(wish, piece).astype(np.intp)
    strays = [draft.sample(channel, STRAY) for _ in ends]
    for k in strays:
        draft.row(k, 0.0, scale)
    low = piece.low if piece.low is not None else float(piece.at[0])
    high = piece.high if piece.high is not None else (
        curve.last + float(piece.at[0]) if piece.closed else float(piece.at[-1]))
    stops = np.concatenate([[low], piece.at, [high]])
    at = np.linspace(stops[ends[:, 0] + 1], stops[ends[:, 1] + 1], _WINDOW, axis=-1)
    along = curve.along(at)
    size = np.abs(along)
    draft.runs.append(Run(
        samples=indices(samples), bounds=piece.bounds,
        either_way=wish.either_way or wish.any_order,
        any_order=wish.any_order and wish.curve == "places",
        strays=indices(strays), ends=ends, closed=piece.closed, fine=curve.place(at),
        normal=1j * along / np.where(size > 0.0, size, 1.0), scale=scale,
        tolerance_mm=wish.tolerance_mm))
