"""Parts that two axes hold to each other move as one body, as if locked.

An axis is a pin, or several pins at one place that share a body (two levers on pins of
their own through the same bearing). What a further pin on an axis says of bodies the axis
joins already is said twice, and left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from core.model import Lock, Pin, Sketch, part_of

#: Two drawn places closer than this (mm) are one axis.
SAME_AXIS_MM = 1e-4

Placed = list[tuple[Pin, complex]]


@dataclass(frozen=True)
class Rivets:
    """`locks` of bodies two axes hold together; `doubled`: pin id and reference of every
    end of a pin whose axis joins its body already."""

    locks: tuple[Lock, ...] = ()
    doubled: tuple[tuple[str, str], ...] = ()


@dataclass
class _Axis:
    """Pins at one place, and a part of every body they join."""

    pin: Pin
    place: complex
    parts: dict[str, str]


def riveted(sketch: Sketch) -> tuple[Lock, ...]:
    """A lock for every pair of bodies that share two axes at different places; see
    :func:`rivets`."""
    return rivets(sketch).locks


def rivets(sketch: Sketch) -> Rivets:
    """What axes shared twice come to.

    The crank's own pin does not count: a second pin there is one too many, and is said to
    be. References must be sound; unknown ones are left to others to complain about.
    """
    crank = None if sketch.drive is None else sketch.drive.pin
    fixed = tuple(part.id for part in sketch.parts if part.fixed)
    if not _closed_shortly(fixed, sketch.locks, sketch.pins, crank):
        return Rivets()
    at = sketch.places()
    body = _bodies(fixed, sketch.locks)
    pins = [(pin, at[pin.at[0]]) for pin in sketch.pins
            if pin.id != crank and pin.at and all(
                ref in at and abs(at[ref] - at[pin.at[0]]) < SAME_AXIS_MM for ref in pin.at)]
    found: list[Lock] = []
    while True:  # bodies that have become one may share two axes with a third
        lock = _next(pins, body)
        if lock is None:
            return Rivets(tuple(found), _doubled(pins, body))
        found.append(lock)
        old, new = (body.get(part, part) for part in lock.parts)
        body |= {part: new for pin, _ in pins for part in map(part_of, pin.at)
                 if body.get(part, part) == old}


def _next(pins: Placed, body: dict[str, str]) -> Lock | None:
    """A lock for the first pair of bodies with two axes at different places."""
    first: dict[tuple[str, str], _Axis] = {}
    for axis in _axes(pins, body):
        for pair in combinations(sorted(axis.parts), 2):
            other = first.setdefault(pair, axis)
            if other is not axis and abs(axis.place - other.place) > SAME_AXIS_MM:
                return Lock(id=f"{other.pin.id} and {axis.pin.id}", kind="riveted",
                            parts=(axis.parts[pair[0]], axis.parts[pair[1]]))
    return None


def _axes(pins: Placed, body: dict[str, str]) -> list[_Axis]:
    """Axes in the order of their first pins."""
    axes: list[_Axis] = []
    for pin, place in pins:
        parts = {body.get(part, part): part for part in map(part_of, pin.at)}
        same = [axis for axis in axes if abs(axis.place - place) < SAME_AXIS_MM
                and axis.parts.keys() & parts.keys()]
        if not same:
            axes.append(_Axis(pin, place, parts))
            continue
        for axis in same[1:]:
            axes.remove(axis)
            parts |= axis.parts
        same[0].parts = parts | same[0].parts
    return axes


def _doubled(pins: Placed, body: dict[str, str]) -> tuple[tuple[str, str], ...]:
    """Ends of pins that join on an axis what it joins already."""
    found: list[tuple[str, str]] = []
    joined: list[tuple[complex, set[str]]] = []
    for pin, place in pins:
        mine: set[str] = set()
        for ref in pin.at:
            name = body.get(part_of(ref), part_of(ref))
            near = [each for each in joined if abs(each[0] - place) < SAME_AXIS_MM]
            if mine and any(name in each and mine & each for _, each in near):
                found.append((pin.id, ref))
            else:
                mine |= {name}
        touching = [each for each in near if each[1] & mine]
        joined = [each for each in joined if each not in touching]
        joined.append((place, mine.union(*(each for _, each in touching))))
    return tuple(found)


@lru_cache(maxsize=64)
def _closed_shortly(fixed: tuple[str, ...], locks: tuple[Lock, ...], pins: tuple[Pin, ...],
                    crank: str | None) -> bool:
    """Whether any two bodies share two pins, or any three have a pin for every two,
    wherever these are; quick while dragging."""
    body, between = _bodies(fixed, locks), dict[tuple[str, str], str]()
    for pin in pins:
        held = {part.partition(".")[0] for part in pin.at} if pin.id != crank else set()
        for pair in combinations(sorted({body.get(part, part) for part in held}), 2):
            if between.setdefault(pair, pin.id) != pin.id:
                return True
    beside: dict[str, set[str]] = {}
    for one, two in between:
        beside.setdefault(one, set()).add(two)
        beside.setdefault(two, set()).add(one)
    return any(len({between[pair], between[min(one, third), max(one, third)],
                    between[min(two, third), max(two, third)]}) > 1
               for pair in between for one, two in [pair]
               for third in beside[one] & beside[two])


def _bodies(fixed: tuple[str, ...], locks: tuple[Lock, ...]) -> dict[str, str]:
    """The name of the body of every part that is fixed or locked."""
    body = dict.fromkeys(fixed, "")
    for lock in locks:
        names = {body.get(part, part) for part in lock.parts}
        name = min(names, default="")
        body |= {part: name for part in [*body, *lock.parts] if body.get(part, part) in names}
    return body
