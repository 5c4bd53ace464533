"""Wishes to begin with, read off how the sketch moves now: the maker then edits what is
wrong instead of stating all of it.

Angles of a part are directions of a line on it, or, without a line, its turn from the drawn
pose; degrees, counter-clockwise positive.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np

from core.errors import EditError
from core.model import Sketch, part_of
from core.model.edits.angle_wishes import held, swinging
from core.model.edits.wishing import corner, pose_handles
from core.model.wanted import (
    Knot,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)
from core.motion.turn import Complexes, Floats, Turn
from core.wanted.curves import angle_at
from core.wanted.reading import read_angle, read_place
from core.wanted.stroke import thinned

replace = msgspec.structs.replace

#: A path that is read off keeps so near to its point, in tolerances.
NEAR = 0.1
#: Where the crank locks, one part in so many of the way is left out at each end.
CLEAR = 60
#: A curve gets no more knots than this.
MOST_KNOTS = 36
#: A rest begins as at least, and at most, so wide.
REST_DEG = (30.0, 150.0)
#: A rest put into a curve is so wide.
HOLD_DEG = 60.0
#: What moves less than this share of the whole swing or stroke is at rest.
REST_SHARE = 0.02
#: The quick way takes this share of the turn to begin with (a time ratio of 2).
QUICK_SHARE = 1.0 / 3.0


def line_of(sketch: Sketch, part_id: str) -> tuple[str, ...]:
    """The line that gives a part a direction: its two points farthest apart, from the one
    it is pinned to the frame by if it is one of them; empty when it has no two places."""
    try:
        one, other = pose_handles(sketch, part_id)
    except EditError:
        return ()
    fixed = {part.id for part in sketch.parts if part.fixed}
    pivots = {ref for pin in sketch.pins if any(part_of(at) in fixed for at in pin.at)
              for ref in pin.at}
    return (other, one) if other in pivots and one not in pivots else (one, other)


def angle_as_it_moves(turn: Turn, part_id: str, wish_id: str) -> WantedAngle:
    """A curve of the part's present angle: through its ends, then a knot where it is
    furthest off until it keeps within a quarter of the tolerance.

    It is closed where the crank goes all round and everything is back after one turn of it.
    Raises EditError where the part does not move or the crank does not turn.
    """
    line = line_of(turn.sketch, part_id)
    read = read_angle(turn, part_id, line)
    crank, angle, closed = read.crank_deg, read.values, read.closed
    wish = WantedAngle(id=wish_id, part=part_id, line=line, knots=(), closed=closed)
    at = [float(each) for each in np.linspace(crank[0], crank[-1], 5)]
    if closed and abs(angle[-1] - angle[0]) < 180.0:  # it comes back
        at = [float(crank[angle.argmin()]) % 360.0, float(crank[angle.argmax()]) % 360.0]
    made = wish
    while len(at) <= MOST_KNOTS:
        made = _with_knots(wish, np.sort(at), np.interp(np.sort(at), crank, angle))
        miss = np.abs(angle_at(made, crank) - angle)
        worst = min(max(round(float(crank[miss.argmax()])), crank[0]), crank[-1])
        if miss.max() <= wish.tolerance_deg / 4 or worst in at:
            break
        at.append(float(worst))
    return made


def angle_to_and_fro(turn: Turn, part_id: str, wish_id: str,
                     share: float = 0.5) -> WantedAngle:
    """A curve that swings once to and fro in a turn between the part's present ends,
    resting at neither; one way takes `share` of the turn, the one that is quicker now.

    Raises EditError as `angle_as_it_moves`, and for a part without two ends.
    """
    line = line_of(turn.sketch, part_id)
    read = read_angle(turn, part_id, line)
    crank, angle = read.crank_deg, read.values
    if not read.closed:
        raise EditError("a to and fro in every turn needs a crank that goes all round",
                        part_id, "choose the curve as it moves now")
    low, high = _ends(angle, part_id)
    start = float(crank[angle.argmin()])
    rise = (float(crank[angle.argmax()]) - start) % 360.0
    wish = WantedAngle(id=wish_id, part=part_id, line=line, knots=())
    if rise > 180.0:  # it falls quicker than it rises: so begin at the top
        return swinging(wish, float(crank[angle.argmax()]) % 360.0, high, low, share)
    return swinging(wish, start % 360.0, low, high, share)


def angle_quick_one_way(turn: Turn, part_id: str, wish_id: str) -> WantedAngle:
    """`angle_to_and_fro` with one way twice as quick as the other."""
    return angle_to_and_fro(turn, part_id, wish_id, QUICK_SHARE)


def hold(wish: WantedAngle, crank_deg: float, wide_deg: float = HOLD_DEG) -> WantedAngle:
    """A wanted curve with a rest about `crank_deg`, at the angle it has there.

    Raises EditError where the curve says nothing there.
    """
    laps = (0.0,) if wish.closed else (0.0, 360.0, -360.0)
    crank_deg = next((crank_deg + lap for lap in laps
                      if np.isfinite(angle_at(wish, crank_deg + lap))), crank_deg)
    angle = float(angle_at(wish, crank_deg))
    if not math.isfinite(angle):
        raise EditError("the curve says nothing at this crank angle", wish.id,
                        "turn the crank to where it does")
    return held(wish, crank_deg, angle, wide_deg)


def swing_now(turn: Turn, part_id: str, wish_id: str) -> WantedSwing:
    """The swing the part makes now, to whole degrees; EditError where it has no ends."""
    line = line_of(turn.sketch, part_id)
    low, high = _ends(read_angle(turn, part_id, line).values, part_id)
    return WantedSwing(id=wish_id, part=part_id, line=line, from_deg=float(round(low)),
                       to_deg=float(round(high)))


def stroke_now(turn: Turn, ref: str, wish_id: str) -> WantedStroke:
    """The two places of the point's path that lie farthest apart, to 0.1 mm."""
    path = read_place(turn, ref).values
    one, other = _farthest(path)
    return WantedStroke(id=wish_id, point=ref, start=corner(_rounded(path[one])),
                        end=corner(_rounded(path[other])))


def rest_now(turn: Turn, wish_id: str, crank_deg: float, *, part_id: str = "",
             ref: str = "") -> WantedDwell:
    """A rest of a part or point about `crank_deg`: as wide as it nearly rests there now,
    within `REST_DEG`, to 5°."""
    read = read_angle(turn, part_id) if part_id else read_place(turn, ref)
    crank, closed = read.crank_deg, read.closed and read.turns == 1
    crank_deg = read.near(crank_deg)
    away = np.abs(read.values - np.interp(crank_deg, crank, read.values))
    off = (crank - crank_deg + 180.0) % 360.0 - 180.0 if closed else crank - crank_deg
    moved = off[away > REST_SHARE * away.max()]
    least, most = REST_DEG
    behind = min(max(-moved[moved < 0].max(initial=-most), least / 2), most / 2)
    ahead = min(max(moved[moved > 0].min(initial=most), least / 2), most / 2)
    ends = (5.0 * round((crank_deg - behind) / 5), 5.0 * round((crank_deg + ahead) / 5))
    if closed:
        ends = (ends[0] % 360.0, ends[1] % 360.0)
    return WantedDwell(id=wish_id, part=part_id, point=ref, from_deg=ends[0], to_deg=ends[1])


def ratio_now(turn: Turn, wish_id: str, *, part_id: str = "", ref: str = "") -> WantedRatio:
    """The time ratio of the two strokes of a part or point now, to 0.05."""
    read = read_angle(turn, part_id) if part_id else read_place(turn, ref)
    crank, values = read.crank_deg, read.values
    if part_id:
        _ends(values, part_id)
    else:
        one, other = _farthest(values)
        values = ((values - values[one]) * np.conj(values[other] - values[one])).real
    if not read.closed or read.turns != 1:
        raise EditError("a time ratio needs a crank that goes all round", part_id or ref)
    span = float(crank[values.argmax()] - crank[values.argmin()]) % 360.0
    span = max(span, 360.0 - span)
    ratio = span / max(360.0 - span, 1e-3)
    return WantedRatio(id=wish_id, part=part_id, point=ref,
                       ratio=max(round(round(ratio / 0.05) * 0.05, 2), 1.0))


def path_as_it_moves(turn: Turn, ref: str, wish_id: str) -> WantedPath:
    """The point's present path through few handles; open for a point that goes to and fro
    on one line.

    Raises EditError where it does not move or the crank does not turn.
    """
    read = read_place(turn, ref)
    path, closed = read.values, read.closed
    if not read.turns and turn.limits:
        path = path[path.size // CLEAR: path.size - path.size // CLEAR]
    piece = _one_way(path, read.closed)
    if piece is not None:
        path, closed = piece, False
    sense = -1 if turn.sketch.drive is not None and turn.sketch.drive.rpm < 0 else 1
    path = path[::sense]
    wish = WantedPath(id=wish_id, point=ref, through=(), closed=closed)
    places = thinned(path[:-1] if closed else path, NEAR * wish.tolerance_mm, closed,
                     smooth_mm=0.0)
    return replace(wish, through=tuple(corner(_rounded(place, 3)) for place in places))


def _ends(angle: Floats, name: str) -> tuple[float, float]:
    if abs(angle[-1] - angle[0]) > 180.0:
        raise EditError("this part goes all round and has no two ends", name,
                        "choose a part that swings")
    return float(angle.min()), float(angle.max())


def _farthest(path: Complexes) -> tuple[int, int]:
    """The steps of two places farthest apart, the earlier first."""
    some = np.unique(np.linspace(0, path.size - 1, 240).astype(int))
    apart = np.abs(path[some][:, None] - path[some][None, :])
    one = int(some[int(np.unravel_index(int(apart.argmax()), apart.shape)[0])])
    for _ in range(4):  # those were one in some: now the very ends
        other = int(np.abs(path - path[one]).argmax())
        one, other = other, one
    first, second = sorted((one, other))
    return first, second


def _one_way(path: Complexes, closed: bool) -> Complexes | None:
    """The way from one end to the other of a path that goes to and fro on one line; None
    for any other path, and for one that turns round in between."""
    one, other = _farthest(path)
    there = path[one: other + 1]
    rest = np.concatenate([path[other:], path[1: one + 1]]) if closed else \
        np.concatenate([path[:one], path[other + 1:]])
    size = abs(path[other] - path[one])
    some = rest[:: max(rest.size // 24, 1)]
    away = np.abs(some[:, None] - there[None, :]).min(axis=1).max(initial=0.0)
    step = np.abs(np.diff(there)).max(initial=0.0)
    if away > 1e-3 * size + step / 2 or (not rest.size and not closed):
        return None
    move = np.diff(there)[1:-1]
    move = move[np.abs(move) > 1e-6 * size]
    turned = (move[1:] * move[:-1].conj()).real < 0.0
    return None if turned.any() else there


# -- writing the wish ----------------------------------------------------------------


def _with_knots(wish: WantedAngle, crank: Floats, angle: Floats) -> WantedAngle:
    knots = tuple(Knot(crank_deg=round(float(c), 2) + 0.0, angle_deg=round(float(a), 2) + 0.0)
                  for c, a in zip(crank, angle, strict=True))
    return replace(wish, knots=knots)


def _rounded(place: complex, digits: int = 1) -> complex:
    return complex(round(float(place.real), digits) + 0.0,
                   round(float(place.imag), digits) + 0.0)
