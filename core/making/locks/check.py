"""Every hold of a sketch against the torque it sees and the room it has."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from core.effort import Effort, Hand
from core.effort.torque import Band
from core.errors import SketchError
from core.making.locks.capacity import Capacity, capacity
from core.making.locks.faces import FACES, face_capacity, partner
from core.making.locks.holds import Hold, holds, seat
from core.making.locks.room import Free, Need, Room, Surroundings
from core.making.locks.torque import Through, through
from core.making.rods import Rod, rods
from core.motion import Rates, Turn
from core.motion import rates as rates_of

#: What a hold should bear, in times of the torque while cranking: strengths scatter, and
#: locks work loose under torque that comes and goes (common practice, no source).
IN_USE = (2.0, 3.0)
#: "slips": surely. "may": it may. "near": it holds, with less than `IN_USE` in hand.
Verdict = Literal["slips", "may", "near", "holds"]


@dataclass(frozen=True)
class LockCheck:
    """One hold: what it bears, what goes through it, what room it has."""

    hold: Hold
    bears: Capacity
    through: Through
    room: Room

    @property
    def use_safety(self) -> tuple[float, float]:
        """How many times the torque in use it bears, from low to high."""
        low, high = self.through.use_nmm
        return _times(self.bears.low, high), _times(self.bears.high, low)

    @property
    def jam_safety(self) -> tuple[float, float] | None:
        """The same for a jam; None where nothing is known of one."""
        jam = self.through.jam_nmm
        return None if jam is None else (_times(self.bears.low, jam),
                                         _times(self.bears.high, jam))

    @property
    def in_use(self) -> Verdict:
        """How it holds while cranking."""
        low, high = self.use_safety
        return ("slips" if high < 1.0 else "may" if low < 1.0 else
                "near" if low < IN_USE[0] else "holds")

    @property
    def in_jam(self) -> Verdict:
        """How it holds in a jam."""
        if self.jam_safety is None:
            return "holds"
        low, high = self.jam_safety
        return "slips" if high < 1.0 else "may" if low < 1.0 else "holds"

    @property
    def share(self) -> float:
        """Torque in use or a jam, the worse, over the least it bears."""
        worst = max(self.through.use_nmm[1], self.through.jam_nmm or 0.0)
        return worst / self.bears.low if self.bears.low > 0.0 else math.inf


def _times(bears: float, load: float) -> float:
    return bears / load if load > 0.0 else math.inf


class Locks:
    """The holds of a turn, ready to be checked as they are or with another kind.

    Parameters
    ----------
    hand : what the hand feels; None leaves out jams.
    found : the rods of the sketch, when already known.
    rates, band : of the turn, when already known; else the band of `effort`.
    """

    def __init__(self, turn: Turn, effort: Effort, hand: Hand | None = None,
                 found: Sequence[Rod] | None = None, rates: Rates | None = None,
                 band: Band | None = None) -> None:
        self.turn, self.hand = turn, hand
        self.rods = tuple(rods(turn.sketch) if found is None else found)
        self.holds = holds(turn.sketch, self.rods)
        self._room: dict[tuple[str, str], Surroundings] = {}
        self._through: dict[tuple[str, str], Through] = {}
        if self.holds:
            passed = through(
                turn, effort, rates_of(turn) if rates is None else rates, self.holds,
                None if hand is None else hand.jam_torque_nmm,
                effort.band if band is None else band)
            self._through = {hold.key: one
                             for hold, one in zip(self.holds, passed, strict=True)}

    @cached_property
    def checks(self) -> tuple[LockCheck, ...]:
        """Every hold as it is, in the order of rods; those in a part without a sound
        outline or of a material nobody knows are left out (findings of their own)."""
        found = []
        for hold in self.holds:
            try:
                kind = FACES if hold.role == "faces" else hold.kind
                found.append(self.check(hold, kind, hold.size_mm, hold.length_mm))
            except SketchError:
                continue
        return tuple(found)

    def check(self, hold: Hold, kind: str, size_mm: float | None = None,
              length_mm: float | None = None, shaft_mm: float | None = None,
              thickness_mm: float | None = None) -> LockCheck:
        """A hold with some kind, size (None: what is usual) and length (None: as thick as
        its part), perhaps on another shaft, or in a part of another thickness.

        Raises SketchError for a kind or material nobody knows.
        """
        if kind == FACES:
            return self._faces(hold)
        sits = seat(self.turn.sketch, hold, length_mm, shaft_mm, thickness_mm)
        bears = capacity(kind, sits, size_mm)
        return LockCheck(hold, bears, self._through[hold.key],
                         self.surroundings(hold).room(kind, sits, bears.size_mm))

    def held_by(self, hold: Hold) -> tuple[str, ...]:
        """All that the lock of a hold holds; its part alone where no lock does."""
        return next((lock.parts for lock in self.turn.sketch.locks if lock.id == hold.lock),
                    (hold.part,))

    def _faces(self, hold: Hold) -> LockCheck:
        other = partner(self.turn.sketch, hold, self.held_by(hold))
        if not other:
            raise SketchError(f"the parts of {hold.lock!r} do not lie face to face")
        return LockCheck(hold, face_capacity(self.turn.sketch, hold, other),
                         self._through[hold.key],
                         Room(Need(), Free("", math.inf, ""), math.inf, math.inf, ()))

    def as_pinned(self, hold: Hold) -> tuple[Hold, ...]:
        """The parts of two glued faces as if each were held on the rod."""
        found = []
        for part in self.held_by(hold):
            each = replace(hold, station=hold.rod.parts.index(part), part=part, role="locked")
            self._through[each.key] = self._through[hold.key]
            found.append(each)
        return tuple(found)

    def surroundings(self, hold: Hold) -> Surroundings:
        """What lies about a hold."""
        if hold.key not in self._room:
            self._room[hold.key] = Surroundings(self.turn, self.rods, hold)
        return self._room[hold.key]


def locks_of(turn: Turn, effort: Effort, hand: Hand | None = None,
             found: Sequence[Rod] | None = None, rates: Rates | None = None,
             band: Band | None = None) -> Locks | None:
    """The holds of a turn, parameters as :class:`Locks`; None where the crank locks, as
    torque grows without end there, or nothing turns."""
    if turn.limits or not turn.reached.any() or not turn.sketch.pins:
        return None
    return Locks(turn, effort, hand, found, rates, band)


def lock_checks(turn: Turn, effort: Effort, hand: Hand | None = None,
                found: Sequence[Rod] | None = None, rates: Rates | None = None,
                band: Band | None = None) -> tuple[LockCheck, ...]:
    """Every hold of a turn against torque and room, see :func:`locks_of`."""
    locks = locks_of(turn, effort, hand, found, rates, band)
    return () if locks is None else locks.checks
