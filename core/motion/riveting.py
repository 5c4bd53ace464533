"""Parts that two pins hold to each other: they move as one body, as if locked."""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations

from core.model import Lock, Pin, Sketch, part_of

#: Two drawn places closer than this (mm) are one axis.
SAME_AXIS_MM = 1e-4


def riveted(sketch: Sketch) -> tuple[Lock, ...]:
    """A lock for every pair of bodies that share two pins at different places.

    The crank's own pin does not count: a second pin there is one too many, and is said to
    be. References must be sound; unknown ones are left to others to complain about.
    """
    crank = None if sketch.drive is None else sketch.drive.pin
    fixed = tuple(part.id for part in sketch.parts if part.fixed)
    if not _shared_twice(fixed, sketch.locks, sketch.pins, crank):
        return ()
    at = {f"{part.id}.{p.id}": complex(p.x, p.y) for part in sketch.parts for p in part.points}
    body = _bodies(fixed, sketch.locks)
    pins = [(pin, at[pin.at[0]]) for pin in sketch.pins
            if pin.id != crank and pin.at and all(ref in at for ref in pin.at)]
    found: list[Lock] = []
    while True:  # bodies that have become one may share two pins with a third
        lock = _next(pins, body)
        if lock is None:
            return tuple(found)
        found.append(lock)
        old, new = (body.get(part, part) for part in lock.parts)
        body |= {part: new for pin, _ in pins for part in map(part_of, pin.at)
                 if body.get(part, part) == old}


def _next(pins: list[tuple[Pin, complex]], body: dict[str, str]) -> Lock | None:
    """A lock for the first pair of bodies with two pins at different places."""
    first: dict[tuple[str, str], tuple[Pin, complex]] = {}
    for pin, place in pins:
        parts = {body.get(part, part): part for part in map(part_of, pin.at)}
        for pair in combinations(sorted(parts), 2):
            other, there = first.setdefault(pair, (pin, place))
            if abs(place - there) > SAME_AXIS_MM:
                return Lock(id=f"{other.id} and {pin.id}", kind="riveted",
                            parts=(parts[pair[0]], parts[pair[1]]))
    return None


@lru_cache(maxsize=64)
def _shared_twice(fixed: tuple[str, ...], locks: tuple[Lock, ...], pins: tuple[Pin, ...],
                  crank: str | None) -> bool:
    """Whether any two bodies share two pins, wherever these are; quick while dragging."""
    body, once = _bodies(fixed, locks), set[tuple[str, str]]()
    for pin in pins:
        held = {part.partition(".")[0] for part in pin.at}
        for pair in combinations(sorted({body.get(part, part) for part in held}), 2):
            if pin.id != crank and pair in once:
                return True
            once |= {pair} if pin.id != crank else set()
    return False


def _bodies(fixed: tuple[str, ...], locks: tuple[Lock, ...]) -> dict[str, str]:
    """The name of the body of every part that is fixed or locked."""
    body = dict.fromkeys(fixed, "")
    for lock in locks:
        names = {body.get(part, part) for part in lock.parts}
        name = min(names, default="")
        body |= {part: name for part in [*body, *lock.parts] if body.get(part, part) in names}
    return body
