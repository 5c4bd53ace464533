"""Edits of a wanted angle: its knots, and the shapes a maker begins with.

Knots stay in the order of their crank angles. Those of a closed curve lie within a turn of
the crank from the first to the last; where the last stands just a turn after the first, it
is the first again (a part that goes all round is then whole turns further), and the two
move as one. Functions with an `index` raise EditError when the curve has no such knot.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

import msgspec

from core.errors import EditError
from core.model.wanted import Knot, WantedAngle

replace = msgspec.structs.replace

#: Knots keep this far apart on the crank.
APART_DEG = 1.0
#: Knots beside a rest keep so far from it.
CLEAR_DEG = 12.0
TURN_DEG = 360.0


def knot_room(wish: WantedAngle, index: int) -> tuple[float, float]:
    """The crank angles between which a knot can be moved without passing another, deg;
    infinite where there is none."""
    _checked(wish, index)
    ring, _ = _opened(wish)
    turns, at = divmod(index, len(ring))
    turn = TURN_DEG if wish.closed else math.inf
    if len(ring) == 1:
        return -math.inf, math.inf
    low = ring[at - 1].crank_deg - (turn if at == 0 else 0.0)
    after = (at + 1) % len(ring)
    high = ring[after].crank_deg + (turn if after == 0 else 0.0)
    shift = turns * TURN_DEG
    return low + shift + APART_DEG, high + shift - APART_DEG


def move_knot(wish: WantedAngle, index: int, crank_deg: float,
              angle_deg: float) -> WantedAngle:
    """A knot at another crank angle and angle; it stops short of its neighbours, and stays
    on its crank angle where they leave no room."""
    low, high = knot_room(wish, index)
    old = wish.knots[index]
    crank_deg = min(max(crank_deg, low), high) if low <= high else old.crank_deg
    ring, gain = _opened(wish)
    turns, at = divmod(index, len(ring))
    knots = list(ring)
    knots[at] = Knot(crank_deg=crank_deg - turns * TURN_DEG,
                     angle_deg=angle_deg - turns * (gain or 0.0))
    return replace(wish, knots=_closed(knots, gain))


def add_knot(wish: WantedAngle, crank_deg: float,
             angle_deg: float) -> tuple[WantedAngle, int]:
    """One more knot, and its index; of a closed curve at the same place of the turn it
    has, wherever it is asked for.

    Raises
    ------
    EditError
        When a knot stands at that crank angle already.
    """
    knots, gain = _opened(wish)
    if wish.closed and knots:
        turns = math.floor((crank_deg - knots[0].crank_deg) / TURN_DEG)
        crank_deg -= turns * TURN_DEG
        angle_deg -= turns * (gain or 0.0)
    shifts = (-TURN_DEG, 0.0, TURN_DEG) if wish.closed else (0.0,)
    if any(abs(knot.crank_deg + shift - crank_deg) < APART_DEG for knot in knots
           for shift in shifts):
        raise EditError("there is a knot at that crank angle already", wish.id,
                        "move that one")
    index = sum(knot.crank_deg < crank_deg for knot in knots)
    new = Knot(crank_deg=crank_deg, angle_deg=angle_deg)
    return replace(wish, knots=_closed([*knots[:index], new, *knots[index:]], gain)), index


def remove_knot(wish: WantedAngle, index: int) -> WantedAngle:
    """The curve without a knot.

    Raises
    ------
    EditError
        When as few would be left as no curve can go through.
    """
    _checked(wish, index)
    knots, gain = _opened(wish)
    least = 1 if wish.curve == "places" or gain is not None else 2
    if len(knots) <= least:
        raise EditError("a curve needs that knot" if least == 1 else
                        "a curve needs two knots", wish.id, "remove the whole wish instead")
    at = index % len(knots)
    return replace(wish, knots=_closed(knots[:at] + knots[at + 1:], gain))


def set_knots(wish: WantedAngle, knots: Iterable[Knot]) -> WantedAngle:
    """The curve through other knots, brought into order.

    Raises
    ------
    EditError
        When two stand at one crank angle.
    """
    ordered = sorted(knots, key=_crank)
    for one, other in pairwise(ordered):
        if one.crank_deg == other.crank_deg:
            raise EditError("two knots would stand at one crank angle", wish.id,
                            "choose another crank angle")
    return replace(wish, knots=tuple(ordered))


def swinging(wish: WantedAngle, start_deg: float, first_deg: float, second_deg: float,
             share: float = 0.5) -> WantedAngle:
    """The wish as one swing to and fro in a turn: at the crank angle `start_deg` at the
    angle `first_deg`, after the `share` (0 … 1) of a turn at `second_deg`, then back.

    Each way is half a cosine wave through four knots: it starts and ends without a jerk.
    """
    knots = []
    for begin, span, one, other in (
            (start_deg, share * TURN_DEG, first_deg, second_deg),
            (start_deg + share * TURN_DEG, (1.0 - share) * TURN_DEG, second_deg, first_deg)):
        for third in range(3):
            ease = (1.0 - math.cos(math.pi * third / 3)) / 2
            knots.append(Knot(crank_deg=round(begin + span * third / 3, 2),
                              angle_deg=round(one + (other - one) * ease, 2)))
    return replace(wish, closed=True, curve="smooth", knots=_in_first_turn(knots, None))


def held(wish: WantedAngle, crank_deg: float, angle_deg: float,
         wide_deg: float) -> WantedAngle:
    """The wish with a rest at `angle_deg`, `wide_deg` wide about a crank angle: knots there
    and close by give way to the two ends of the rest."""
    half = wide_deg / 2
    knots, gain = _opened(wish)
    rest = [Knot(crank_deg=round(crank_deg + end, 2), angle_deg=round(angle_deg, 2))
            for end in (-half, half)]

    def clear(knot: Knot) -> bool:
        off = knot.crank_deg - crank_deg
        off = math.remainder(off, TURN_DEG) if wish.closed else off
        return abs(off) > half + CLEAR_DEG

    knots = [*filter(clear, knots), *rest]
    curve = "smooth" if wish.curve == "places" else wish.curve
    return replace(wish, curve=curve, knots=_in_first_turn(knots, gain) if wish.closed
                   else tuple(sorted(knots, key=_crank)))


def _checked(wish: WantedAngle, index: int) -> None:
    if not 0 <= index < len(wish.knots):
        raise EditError(f"{wish.id!r} has no knot {index + 1}", mend="choose one it has")


def _opened(wish: WantedAngle) -> tuple[list[Knot], float | None]:
    """The knots without a last that is the first again, and how much more its angle is
    then; None when there is no such knot."""
    knots = list(wish.knots)
    if wish.closed and len(knots) > 1 \
            and abs(knots[-1].crank_deg - knots[0].crank_deg - TURN_DEG) < 1e-6:
        return knots[:-1], knots[-1].angle_deg - knots[0].angle_deg
    return knots, None


def _closed(knots: list[Knot], gain: float | None) -> tuple[Knot, ...]:
    if gain is None:
        return tuple(knots)
    return (*knots, Knot(crank_deg=knots[0].crank_deg + TURN_DEG,
                         angle_deg=knots[0].angle_deg + gain))


def _in_first_turn(knots: list[Knot], gain: float | None) -> tuple[Knot, ...]:
    """Knots of a closed curve brought to crank angles from 0 to 360° and into order."""
    brought = []
    for knot in knots:
        turns = math.floor(knot.crank_deg / TURN_DEG + 1e-12)
        brought.append(Knot(crank_deg=round(knot.crank_deg - turns * TURN_DEG, 6) + 0.0,
                            angle_deg=knot.angle_deg - turns * (gain or 0.0)))
    return _closed(sorted(brought, key=_crank), gain)


def _crank(knot: Knot) -> float:
    return knot.crank_deg
