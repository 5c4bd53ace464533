"""Wishes to begin with, read off how the sketch moves now: the maker then edits what is
wrong instead of stating all of it.

Angles of a part are directions of a line on it, or, without a line, its turn from the drawn
pose; degrees, counter-clockwise positive, continuous over the turn.
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
from core.wanted.stroke import thinned

replace = msgspec.structs.replace

#: A path that is read off keeps so near to its point, in tolerances.
NEAR = 0.1
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
#: Less motion than this is none, degrees and mm.
STILL = 1e-6


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


def directions(turn: Turn, part_id: str, line: tuple[str, ...] = ()) -> Floats:
    """(N,) the angle of a part at the steps of the turn, deg; NaN where not reached.

    With a `line` of two of its points the direction from the first to the second, else the
    turn from the drawn pose. KeyError for an unknown part or point.
    """
    turned = np.degrees(turn.angle_rad[:, turn.row(part_id)])
    if len(line) == 2:
        way = turn.sketch.place(line[1]) - turn.sketch.place(line[0])
        turned = turned + math.degrees(math.atan2(way.imag, way.real))
    return np.where(turn.reached, turned, np.nan)


def angle_as_it_moves(turn: Turn, part_id: str, wish_id: str) -> WantedAngle:
    """A curve of the part's present angle: through its ends, then a knot where it is
    furthest off until it keeps within a quarter of the tolerance.

    It is closed where the crank goes all round and everything is back after one turn of it.
    Raises EditError where the part does not move or the crank does not turn.
    """
    line = line_of(turn.sketch, part_id)
    crank, angle, closed = _first_turn(turn, directions(turn, part_id, line), "part", part_id)
    wish = WantedAngle(id=wish_id, part=part_id, line=line, knots=(), closed=closed)
    at = [float(each) for each in np.linspace(crank[0], crank[-1], 5)]
    if closed and abs(angle[-1] - angle[0]) < 180.0:  # it comes back
        at = [float(crank[angle.argmin()]) % 360.0, float(crank[angle.argmax()]) % 360.0]
    made = wish
    while len(at) <= MOST_KNOTS:
        made = _with_knots(wish, np.sort(at), np.interp(np.sort(at), crank, angle))
        miss = np.abs(angle_at(made, crank) - angle)
        worst = round(float(crank[miss.argmax()]))
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
    crank, angle, closed = _first_turn(turn, directions(turn, part_id, line), "part", part_id)
    if not closed:
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


def angle_held(turn: Turn, part_id: str, wish_id: str, crank_deg: float) -> WantedAngle:
    """The part's present curve with a rest about `crank_deg`; raises as
    `angle_as_it_moves`."""
    return hold(angle_as_it_moves(turn, part_id, wish_id), crank_deg)


def hold(wish: WantedAngle, crank_deg: float, wide_deg: float = HOLD_DEG) -> WantedAngle:
    """A wanted curve with a rest about `crank_deg`, at the angle it has there.

    Raises EditError where the curve says nothing there.
    """
    angle = float(angle_at(wish, crank_deg))
    if not math.isfinite(angle):
        raise EditError("the curve says nothing at this crank angle", wish.id,
                        "turn the crank to where it does")
    return held(wish, crank_deg, angle, wide_deg)


def swing_now(turn: Turn, part_id: str, wish_id: str) -> WantedSwing:
    """The swing the part makes now, to whole degrees; EditError where it has no ends."""
    line = line_of(turn.sketch, part_id)
    _, angle, _ = _first_turn(turn, directions(turn, part_id, line), "part", part_id)
    low, high = _ends(angle, part_id)
    return WantedSwing(id=wish_id, part=part_id, line=line, from_deg=float(round(low)),
                       to_deg=float(round(high)))


def stroke_now(turn: Turn, ref: str, wish_id: str) -> WantedStroke:
    """The two places of the point's path that lie farthest apart, to 0.1 mm."""
    path = _path(turn, ref)
    one, other = _farthest(path)
    return WantedStroke(id=wish_id, point=ref, start=corner(_rounded(path[one])),
                        end=corner(_rounded(path[other])))


def rest_now(turn: Turn, wish_id: str, crank_deg: float, *, part_id: str = "",
             ref: str = "") -> WantedDwell:
    """A rest of a part or point about `crank_deg`: as wide as it nearly rests there now,
    within `REST_DEG`, to 5°."""
    if part_id:
        crank, values, closed = _first_turn(turn, directions(turn, part_id), "part", part_id)
        away = np.abs(values - np.interp(crank_deg, crank, values))
    else:
        path = _path(turn, ref)
        crank, closed = _cranks(turn)
        away = np.abs(path - path[np.abs(crank - crank_deg).argmin()])
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
    if part_id:
        crank, values, closed = _first_turn(turn, directions(turn, part_id), "part", part_id)
        _ends(values, part_id)
    else:
        path = _path(turn, ref)
        crank, closed = _cranks(turn)
        one, other = _farthest(path)
        way = path[other] - path[one]
        values = ((path - path[one]) * way.conjugate()).real
    if not closed:
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
    path = _path(turn, ref)
    _, closed = _cranks(turn)
    if closed and _retraced(path):
        one, other = _farthest(path)
        path = np.roll(path[:-1], -one)
        path, closed = path[: (other - one) % path.size + 1], False
    sense = -1 if turn.sketch.drive is not None and turn.sketch.drive.rpm < 0 else 1
    path = path[::sense]
    wish = WantedPath(id=wish_id, point=ref, through=(), closed=closed)
    places = thinned(path[:-1] if closed else path, NEAR * wish.tolerance_mm, closed,
                     smooth_mm=0.0)
    return replace(wish, through=tuple(corner(_rounded(place, 3)) for place in places))


# -- reading the turn ----------------------------------------------------------------


def _cranks(turn: Turn) -> tuple[Floats, bool]:
    """Crank readings of the first turn in reach, deg, its end added where it closes."""
    drive = turn.sketch.drive
    if drive is None or turn.crank_rad.size < 2 or not turn.reached.any():
        raise EditError("this needs a crank that turns",
                        mend="choose a crank and mend what stops it first")
    crank = np.degrees(turn.crank_rad)
    closed = drive.kind == "turn" and turn.crank_turns == 1 and bool(turn.reached.all()) \
        and turn.repeats
    return (np.append(crank, crank[0] + 360.0), True) if closed else \
        (crank[turn.reached], False)


def _first_turn(turn: Turn, angle: Floats, what: str,
                name: str) -> tuple[Floats, Floats, bool]:
    crank, closed = _cranks(turn)
    angle = angle[turn.reached]
    if closed:
        angle = np.append(angle, angle[0] + 360.0 * round(_gain(angle) / 360.0))
    if np.ptp(angle) <= STILL:
        raise EditError(f"this {what} does not move", name, "choose one that the crank moves")
    return crank, angle, closed


def _gain(angle: Floats) -> float:
    """What a closed motion adds in a turn: the last step is as long as those beside it."""
    return float(angle[-1] - angle[0] + (angle[-1] - angle[-2] + angle[1] - angle[0]) / 2)


def _path(turn: Turn, ref: str) -> Complexes:
    _, closed = _cranks(turn)
    path = turn.place(part_of(ref), turn.sketch.place(ref))[turn.reached]
    if np.abs(path - path[0]).max() <= STILL:
        raise EditError("this point does not move", ref, "choose one that the crank moves")
    return np.append(path, path[0]) if closed else path


def _ends(angle: Floats, name: str) -> tuple[float, float]:
    if abs(angle[-1] - angle[0]) > 180.0:
        raise EditError("this part goes all round and has no two ends", name,
                        "choose a part that swings")
    return float(angle.min()), float(angle.max())


def _farthest(path: Complexes) -> tuple[int, int]:
    """The steps of the two places farthest apart, the earlier first (to one in 240)."""
    some = np.unique(np.linspace(0, path.size - 1, 240).astype(int))
    apart = np.abs(path[some][:, None] - path[some][None, :])
    one, other = np.unravel_index(int(apart.argmax()), apart.shape)
    first, second = sorted((int(some[int(one)]), int(some[int(other)])))
    return first, second


def _retraced(path: Complexes) -> bool:
    """Whether a closed path goes to and fro on one line: it encloses nothing, and
    its way back lies on its way there."""
    one, other = _farthest(path)
    there, back = path[one: other + 1], np.concatenate([path[other:], path[1: one + 1]])
    size = np.abs(path[other] - path[one])
    some = back[:: max(back.size // 24, 1)]
    away = np.abs(some[:, None] - there[None, :]).min(axis=1).max()
    step = np.abs(np.diff(there)).max(initial=0.0)
    return bool(away <= 1e-3 * size + step / 2)


# -- writing the wish ----------------------------------------------------------------


def _with_knots(wish: WantedAngle, crank: Floats, angle: Floats) -> WantedAngle:
    knots = tuple(Knot(crank_deg=round(float(c), 2) + 0.0, angle_deg=round(float(a), 2) + 0.0)
                  for c, a in zip(crank, angle, strict=True))
    return replace(wish, knots=knots)


def _rounded(place: complex, digits: int = 1) -> complex:
    return complex(round(float(place.real), digits) + 0.0,
                   round(float(place.imag), digits) + 0.0)
