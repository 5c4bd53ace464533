"""Which hold to choose: those that hold and fit first, each as one edit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from core.errors import SketchError
from core.making.locks import stock
from core.making.locks.capacity import COLLARED
from core.making.locks.check import LockCheck, Locks
from core.making.locks.drill import DRILL, KEY, Access, access
from core.making.locks.faces import FACES
from core.making.locks.holds import Hold, pin_way
from core.making.locks.words import named, to_do
from core.model import Lock, Sketch, edits
from core.units import MM_PER_INCH, show_length, show_torque

#: Kinds from the least trouble to the most (common practice, no source).
BY_TROUBLE = (FACES, "glued", "pinned", "spring-pinned", "cottered", "screwed", "clamped",
              "square", "hex", "flat", "keyed")
#: A cross pin takes no more of the shaft than this; a set screw no more than that.
_PIN_MOST, _SCREW_MOST = 0.4, 0.6
#: Shafts and sheets that are tried when nothing fits, mm (common practice, no source).
SHAFTS_MM = (4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0)
SHEETS_MM = (4.0, 6.5, 9.0, 12.0, 15.0, 18.0, 24.0)
SHAFTS_IN, SHEETS_IN = (tuple(each * MM_PER_INCH / 16 for each in sixteenths)
                        for sixteenths in ((3, 4, 5, 6, 8, 10), (2, 4, 6, 8, 10, 12, 16)))
#: "good": holds in use and in a jam, and fits. "jam": fits, but may slip in a jam (or has
#: little in hand). "room": would hold, but does not fit. "slips": fits, but may slip in use.
Standing = Literal["good", "jam", "room", "slips", "neither"]
STANDINGS: tuple[Standing, ...] = get_args(Standing)


@dataclass(frozen=True)
class Option:
    """A way to hold all parts of a lock.

    `size_mm`, `length_mm` as in :class:`core.model.Lock`; `checks` one for each part held.
    `lacks` says what room is missing. `access` tells of the drill or the key, where one is
    needed.
    """

    kind: str
    size_mm: float
    length_mm: float | None
    checks: tuple[LockCheck, ...]
    lacks: tuple[str, ...]
    access: Access | None
    name: str
    to_do: str
    lock: str
    pin: str
    parts: tuple[str, ...]

    @property
    def part(self) -> str:
        """The part that is held worst."""
        return self.worst.hold.part

    @property
    def worst(self) -> LockCheck:
        """The part that is held worst."""
        return max(self.checks, key=lambda check: check.share)

    @property
    def use_safety(self) -> tuple[float, float]:
        """Safety while cranking, of the part with the least."""
        return min(check.use_safety for check in self.checks)

    @property
    def jam_safety(self) -> tuple[float, float] | None:
        """Safety in a jam, of the part with the least."""
        return min((check.jam_safety for check in self.checks if check.jam_safety),
                   default=None)

    @property
    def fits(self) -> bool:
        """Whether there is room."""
        return not self.lacks

    @property
    def holds(self) -> bool:
        """Whether it holds in use, with what should be in hand, and in a jam."""
        return all(c.in_use == "holds" and c.in_jam == "holds" for c in self.checks)

    @property
    def spacing_mm(self) -> float:
        """Free length to leave beside the part, along the shaft."""
        return max(check.room.need.along for check in self.checks)

    @property
    def around_mm(self) -> float:
        """Free radius to leave about the shaft there."""
        return max(check.room.need.around for check in self.checks)

    @property
    def missing_mm(self) -> float:
        """Spacing that is not there yet."""
        return max(check.room.missing_mm for check in self.checks)

    @property
    def label(self) -> str:
        """For a button or an undo step."""
        return f"Hold {' and '.join(self.parts)} by {self.name}"

    def edit(self, sketch: Sketch) -> Sketch:
        """The sketch held so. Raises EditError when the lock is no longer there."""
        kind = "glued" if self.kind == FACES else self.kind
        size = None if kind == "glued" else self.size_mm
        if self.lock:
            return edits.change(sketch, "locks", self.lock, kind=kind, size_mm=size,
                                length_mm=self.length_mm,
                                pin="" if self.kind == FACES else self.pin)
        return edits.add(sketch, "locks", Lock(
            id=edits.fresh_id(sketch, "lock"), parts=self.parts, kind=self.kind,
            pin=self.pin, size_mm=size, length_mm=self.length_mm))

    @property
    def standing(self) -> Standing:
        """How it stands; see :data:`Standing`."""
        if self.fits:
            return "good" if self.holds else "jam" if self.use_safety[0] >= 1.0 else "slips"
        return "room" if self.holds else "neither"

    @property
    def tier(self) -> int:
        """0 for the best standing, and up."""
        return STANDINGS.index(self.standing)


@dataclass(frozen=True)
class Advice:
    """Options, the best first, and what to change where none holds and fits."""

    holds: tuple[Hold, ...]
    options: tuple[Option, ...]
    changes: tuple[str, ...]

    @property
    def best(self) -> Option | None:
        """The best that holds and fits; None when none does."""
        return next((one for one in self.options if one.fits and one.holds), None)


def advise(locks: Locks, lock_or_part: str) -> Advice:
    """Options for a lock with all its parts, or for the crank that nothing holds yet.

    Parameters
    ----------
    lock_or_part : id of a lock, or of a part that is held.

    Raises
    ------
    SketchError
        When nothing of that name is held on a shaft.
    """
    found = [hold for hold in locks.holds if hold.part and lock_or_part in (
        hold.lock, *locks.held_by(hold))]
    held = tuple(hold for hold in found if hold.lock == found[0].lock)
    if not held:
        raise SketchError(f"{lock_or_part!r} holds nothing on a shaft",
                          mend="choose a lock on a pin, or the crank")
    faces = held
    if held[0].role == "faces":
        held = locks.as_pinned(held[0])
    options = []
    for kind in BY_TROUBLE:
        tried = list(_tried(locks, faces[:1] if kind == FACES else held, kind))
        if tried:
            options.append(_reached(locks, min(tried, key=lambda one: (
                one.tier, one.worst.share if one.tier else 0.0))))
    options.sort(key=lambda one: (one.tier, BY_TROUBLE.index(one.kind) if one.tier == 0
                                  else one.worst.share))
    changes = () if not options or options[0].tier == 0 else tuple(
        _changes(locks, held, options))
    return Advice(held, tuple(options), changes)


def _tried(locks: Locks, held: tuple[Hold, ...], kind: str) -> Iterator[Option]:
    """One kind in the sizes and lengths worth trying, the simplest first."""
    sketch = locks.turn.sketch
    d = held[0].rod.diameter_mm
    if kind == FACES and held[0].rod.grip_mm is not None and held[0].role != "faces":
        return  # the hand turns the shaft: what it drives has to be fast on it
    thick = [sketch.part(hold.part).thickness_mm for hold in held]
    for boss in (False, True):
        if boss and kind in (*COLLARED, FACES):
            return
        for size in _sizes(kind, d, min(thick), sketch.units):
            lengths: tuple[float | None, ...] = (None,)
            if boss:
                lengths = ((max(thick) + math.ceil(3.0 * size),) if "pinned" in kind
                           else (2.0 * max(thick), 3.0 * max(thick)))
            for length in lengths:
                try:
                    yield _option(locks, held, kind, size, length)
                except SketchError:
                    return


def _sizes(kind: str, d: float, thick: float, units: str) -> tuple[float, ...]:
    usual = stock.usual_mm(kind, d, thick, units)
    if kind in ("pinned", "spring-pinned"):
        sold = stock.pins(units) if kind == "pinned" else tuple(stock.ISO_8752_KN)
        return (usual, *(s for s in sold if usual < s <= _PIN_MOST * d))
    if kind == "screwed":
        return (usual, *(s for s in stock.SCREWS_MM if usual < s <= _SCREW_MOST * d))
    return (usual,)


def _option(locks: Locks, held: tuple[Hold, ...], kind: str, size: float,
            length: float | None) -> Option:
    sketch = locks.turn.sketch
    checks = tuple(locks.check(hold, kind, size, length) for hold in held)
    parts = tuple(hold.part for hold in held)
    if kind == FACES:
        parts = next(lock.parts for lock in sketch.locks if lock.id == held[0].lock)
    lacks = [line for check in checks for line in check.room.lacks]
    worst = max(checks, key=lambda check: check.share)
    return Option(kind, size, length, checks, tuple(lacks), None,
                  named(kind, size, sketch.units), to_do(sketch, worst, length, parts),
                  held[0].lock, held[0].rod.id, parts)


def _reached(locks: Locks, option: Option) -> Option:
    """The option with what is known of drill or key; it lacks room where neither can come."""
    if option.lacks:
        return option
    reach = _reach(locks, option.checks)
    if reach is None or reach.reaches or not reach.captive:
        return replace(option, access=reach)
    return replace(option, access=reach, lacks=(
        f"no tool reaches it between the frames: {reach.by} is in the way at every crank"
        " angle",))


def _reach(locks: Locks, checks: tuple[LockCheck, ...]) -> Access | None:
    """The worst access of a drill or a key to the parts of a lock."""
    found = []
    for check in checks:
        kind, hold, station = check.bears.kind, check.hold, check.hold.seat_of
        if station is None or kind not in ("pinned", "spring-pinned", *COLLARED):
            continue
        need, way = check.room.need, None
        at, out = station.middle_mm, need.around
        if need.along:
            up = check.room.free.side == "above"
            at = station.to_mm + need.along / 2 if up else station.from_mm - need.along / 2
        else:
            way, wall = pin_way(locks.turn.sketch, hold)
            out = hold.rod.diameter_mm / 2 + wall
        found.append(access(locks.turn, hold, at, check.bears.size_mm, out,
                            KEY if kind in COLLARED else DRILL, way))
    return min(found, key=lambda one: (one.reaches, not one.captive), default=None)


def _changes(locks: Locks, held: tuple[Hold, ...],
             options: list[Option]) -> Iterator[str]:
    """What to change so that something holds and fits: spacing, the part, the shaft."""
    roomy = [one for one in options if one.holds and one.missing_mm > 0.0
             and all("beside" in line for line in one.lacks)]
    if roomy:
        one = min(roomy, key=lambda option: option.missing_mm)
        more = show_length(round(one.missing_mm, 1), locks.turn.sketch.units)
        yield (f"Leave {more} more beside {one.part} (washers, a spare layer), and {one.name}"
               " fits and holds.")
    sketch = locks.turn.sketch
    part, units = held[0].part, sketch.units
    now_thick = min(sketch.part(hold.part).thickness_mm for hold in held)
    sold_shafts, sold_sheets = (SHAFTS_IN, SHEETS_IN) if units == "in" else (
        SHAFTS_MM, SHEETS_MM)
    sheets = [size for size in sold_sheets if size > now_thick + 1e-9]
    shafts = [size for size in sold_shafts if size > held[0].rod.diameter_mm + 1e-9]
    told = False
    tries: Sequence[tuple[float | None, float | None]]
    for tries in ([(None, sheet) for sheet in sheets], [(shaft, None) for shaft in shafts],
                  [(shaft, sheet) for shaft in shafts for sheet in sheets]):
        spare = told and all(None not in one for one in tries)
        found = None if spare else _first(locks, held, tries)
        if found is not None:
            shaft, sheet, name = found
            what = " and ".join(filter(None, (
                "" if shaft is None else f"use a shaft of {show_length(shaft, units)}",
                "" if sheet is None else f"make {part} {show_length(sheet, units)} thick")))
            yield f"{what[0].upper()}{what[1:]}, and {name} fits and holds."
            told = True
    if not told and not roomy:
        near = min(options, key=lambda option: option.worst.share)
        rest = ("The torque of that jam is an estimate near a dead point: take the nearest,"
                " which holds while cranking." if near.worst.through.toggled and
                near.use_safety[0] >= 1.0 else "Lessen the torque, or set the hand a limit.")
        yield ("Nothing known here does, on shafts up to"
               f" {show_length(sold_shafts[-1], units)}: nearest is {near.name}, which bears"
               f" {show_torque(near.worst.bears.low, units)} at least. {rest}")


def _first(locks: Locks, held: tuple[Hold, ...],
           tries: Sequence[tuple[float | None, float | None]]
           ) -> tuple[float | None, float | None, str] | None:
    """The first of some shafts and sheets with which a hold fits and holds, and its name."""
    for shaft, sheet in tries:
        for kind in BY_TROUBLE[1:]:
            try:
                checks = [locks.check(hold, kind, shaft_mm=shaft, thickness_mm=sheet)
                          for hold in held]
            except SketchError:
                continue
            if all(c.room.fits and c.in_use == "holds" and c.in_jam == "holds" for c in checks):
                return shaft, sheet, named(kind, checks[0].bears.size_mm,
                                           locks.turn.sketch.units)
    return None
