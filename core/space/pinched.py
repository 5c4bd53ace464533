"""A place where a finger could be caught, over the whole turn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.space.finger_rules import Rule

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Kind = Literal["crush", "shear", "hinge"]
Decided = Literal["", "guarded", "accepted"]


@dataclass(frozen=True, eq=False)
class Pinch:
    """Where two bodies squeeze what is between them hardest, over the turn.

    Attributes
    ----------
    a, b : part ids, or ``"pin ID"`` for the rod of a pin, in alphabetical order; `parts`
        are the parts themselves and those on the rod, `pair` the two a guard is put
        between.
    kind : "crush" in one layer, "shear" between neighbouring layers, "hinge".
    smallest_mm, widest_mm : room for something round between the two edges, when shut (0:
        the edges pass each other) and when it begins to be squeezed, mm.
    shut_rad, open_rad : crank angles of these. With `backwards` it closes only when the
        crank goes against its driving direction.
    place : where it shuts, complex mm.
    rule, source : what it is held against.
    guarded : "" or what the user decided, "guarded" or "accepted".
    turn_per_mm : crank angle, rad, for a millimetre of closing, on average from where
        something of THICK_MM (less where less fits) is touched until it is shut: times
        the torque at the crank, the force of the squeeze (virtual work).
    crank_rad, lane_mm : (T,) some steps of the turn, and the room that is closing there below
        the rule's safe size, NaN where none is.
    cycle_rad : crank angle after which the motion repeats; infinite where it does not.
    where, across : (T,) complex mm, the middle of that room, and from there to one edge.
    """

    a: str
    b: str
    parts: tuple[str, ...]
    pair: tuple[str, str]
    kind: Kind
    smallest_mm: float
    widest_mm: float
    shut_rad: float
    open_rad: float
    backwards: bool
    place: complex
    rule: Rule
    guarded: Decided
    turn_per_mm: float
    crank_rad: Floats
    lane_mm: Floats
    where: Complexes
    across: Complexes
    cycle_rad: float

    @property
    def source(self) -> str:
        """Where the rule is from, and how far it can be trusted."""
        return self.rule.source

    @property
    def squeeze_mm(self) -> float:
        """By how much it closes on the thickest finger that it catches, mm."""
        return min(self.widest_mm, self.rule.safe_mm) - self.smallest_mm

    def at(self, crank_rad: float) -> Closing | None:
        """What is closing at a crank angle, at the nearest step looked at, if anything is;
        about where it shuts, what was there last."""
        away = np.abs(self.crank_rad - crank_rad)
        away = np.minimum(away, np.abs(self.cycle_rad - away))
        away[np.isnan(self.lane_mm)] = np.inf
        step = int(away.argmin())
        a_step = float(self.crank_rad[1] - self.crank_rad[0])
        if away[step] > 1.5 * a_step:
            return None
        last = _apart(self.shut_rad, crank_rad, self.cycle_rad) <= a_step
        room = self.smallest_mm if last else float(self.lane_mm[step])
        return Closing(room, complex(self.where[step]), complex(self.across[step]))


@dataclass(frozen=True)
class Closing:
    """Room between two edges at a crank angle, mm, its middle, and from there to one edge,
    complex mm."""

    room_mm: float
    middle: complex
    across: complex


def _apart(one_rad: float, other_rad: float, cycle_rad: float) -> float:
    away = abs(one_rad - other_rad)
    return min(away, abs(cycle_rad - away))
