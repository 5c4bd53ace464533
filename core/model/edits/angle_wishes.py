"""Edits of a wanted angle: its knots, and the shapes a maker begins with.

Knots stay in the order of their crank angles; those of a closed curve lie within one turn
of the crank from the first to the last. Functions with an `index` raise EditError when the
curve has no such knot.
"""

from __future__ import annotations

import math

import msgspec

from core.errors import EditError
from core.model.wanted import Knot, WantedAngle

replace = msgspec.structs.replace

#: Knots keep this far apart on the crank.
APART_DEG = 1.0
#: Knots about a rest keep so far from it.
CLEAR_DEG = 12.0
TURN_DEG = 360.0


def _checked(wish: WantedAngle, index: int) -> Knot:
    if not 0 <= index < len(wish.knots):
        raise EditError(f"{wish.id!r} has no knot {index + 1}", mend="choose one it has")
    return wish.knots[index]


def knot_room(wish: WantedAngle, index: int) -> tuple[float, float]:
    """The crank angles between which a knot can be moved without passing another, deg;
    infinite where there is none."""
    _checked(wish, index)
    knots, turn = wish.knots, TURN_DEG if wish.closed else math.inf
    if len(knots) == 1:
        return -math.inf, math.inf
    low = knots[index - 1].crank_deg - (turn if index == 0 else 0.0)
    after = (index + 1) % len(knots)
    high = knots[after].crank_deg + (turn if after == 0 else 0.0)
    return low + APART_DEG, high - APART_DEG


def move_knot(wish: WantedAngle, index: int, crank_deg: float,
              angle_deg: float) -> WantedAngle:
    """A knot at another crank angle and angle; it stops short of its neighbours."""
    low, high = knot_room(wish, index)
    if low > high:  # they stand closer than knots are set by hand: it stays
        crank_deg = wish.knots[index].crank_deg
    crank_deg = min(max(crank_deg, low), high) if low <= high else crank_deg
    knots = list(wish.knots)
    knots[index] = Knot(crank_deg=crank_deg, angle_deg=angle_deg)
    return replace(wish, knots=tuple(knots))


def add_knot(wish: WantedAngle, crank_deg: float,
             angle_deg: float) -> tuple[WantedAngle, int]:
    """One more knot, and its index.

    Raises
    ------
    EditError
        When a knot stands at that crank angle already.
    """
    knots = wish.knots
    if wish.closed and knots:
        crank_deg = knots[0].crank_deg + (crank_deg - knots[0].crank_deg) % TURN_DEG
    turns = (-TURN_DEG, 0.0, TURN_DEG) if wish.closed else (0.0,)
    if any(abs(knot.crank_deg + turn - crank_deg) < APART_DEG for knot in knots
           for turn in turns):
        raise EditError("there is a knot at that crank angle already", wish.id,
                        "move that one")
    index = sum(knot.crank_deg < crank_deg for knot in knots)
    new = Knot(crank_deg=crank_deg, angle_deg=angle_deg)
    return replace(wish, knots=(*knots[:index], new, *knots[index:])), index


def remove_knot(wish: WantedAngle, index: int) -> WantedAngle:
    """The curve without a knot.

    Raises
    ------
    EditError
        When as few would be left as no curve can go through.
    """
    _checked(wish, index)
    least = 1 if wish.curve == "places" else 2
    if len(wish.knots) <= least:
        raise EditError("a curve needs that knot" if least == 1 else
                        "a curve needs two knots", wish.id, "remove the whole wish instead")
    return replace(wish, knots=wish.knots[:index] + wish.knots[index + 1:])


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
    return replace(wish, closed=True, curve="smooth", knots=in_first_turn(knots))


def held(wish: WantedAngle, crank_deg: float, angle_deg: float,
         wide_deg: float) -> WantedAngle:
    """The wish with a rest at `angle_deg`, `wide_deg` wide about a crank angle: knots there
    give way to five on a level line."""
    half = wide_deg / 2
    rest = [Knot(crank_deg=round(crank_deg + half * step / 2, 2),
                 angle_deg=round(angle_deg, 2)) for step in range(-2, 3)]
    if wish.closed:
        kept = [knot for knot in wish.knots
                if abs(math.remainder(knot.crank_deg - crank_deg, TURN_DEG))
                > half + CLEAR_DEG]
        gain = _whole_turns(wish)
        return replace(wish, knots=in_first_turn([*kept, *rest], gain))
    kept = [knot for knot in wish.knots if abs(knot.crank_deg - crank_deg) > half + CLEAR_DEG]
    return replace(wish, knots=tuple(sorted([*kept, *rest], key=_crank)))


def in_first_turn(knots: list[Knot], gain_deg: float = 0.0) -> tuple[Knot, ...]:
    """Knots of a closed curve brought to crank angles from 0 to 360° and in order;
    `gain_deg` is what the curve adds in a turn."""
    brought = []
    for knot in knots:
        turns = math.floor(knot.crank_deg / TURN_DEG + 1e-12)
        brought.append(Knot(crank_deg=round(knot.crank_deg - turns * TURN_DEG, 6) + 0.0,
                            angle_deg=knot.angle_deg - turns * gain_deg))
    return tuple(sorted(brought, key=_crank))


def _crank(knot: Knot) -> float:
    return knot.crank_deg


def _whole_turns(wish: WantedAngle) -> float:
    """What a closed curve adds in a turn: the whole turns nearest to going on as it goes
    from the first knot to the last."""
    if len(wish.knots) < 3:
        return 0.0
    first, last = wish.knots[0], wish.knots[-1]
    span = last.crank_deg - first.crank_deg
    return TURN_DEG * round((last.angle_deg - first.angle_deg) / span) if span else 0.0
