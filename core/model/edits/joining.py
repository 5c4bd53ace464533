"""Joining points with pins."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from core.errors import EditError
from core.model.edits.basics import add, change_point, fresh_id
from core.model.joints import Pin
from core.model.refs import split_ref
from core.model.sketch import Sketch

replace = msgspec.structs.replace


def pin_of(sketch: Sketch, ref: str) -> Pin | None:
    """The pin a point is on, or None."""
    return next((pin for pin in sketch.pins if ref in pin.at), None)


def connect(sketch: Sketch, refs: Iterable[str],
            diameter_mm: float = 6.0) -> tuple[Sketch, str]:
    """One pin through all the points named; they are drawn together onto the first.

    Pins the points are on already become one. Returns the sketch and the pin's id.

    Raises
    ------
    EditError
        When the points are not on at least two different parts, or two of them are
        on one part.
    """
    wanted = list(dict.fromkeys(refs))
    merged: list[str] = []
    old: list[Pin] = []
    for ref in wanted:
        pin = pin_of(sketch, ref)
        if pin is not None and pin not in old:
            old.append(pin)
        merged.extend(pin.at if pin is not None else (ref,))
    merged = list(dict.fromkeys(merged))
    owners = [split_ref(ref)[0] for ref in merged]
    if len(owners) < 2:
        raise EditError("a pin joins two parts", mend="choose points on different parts")
    if len(set(owners)) < len(owners):
        twice = next(owner for owner in owners if owners.count(owner) > 1)
        raise EditError(f"{twice!r} would be on this pin twice",
                        mend="choose one point of each part")
    home = sketch.point(wanted[0])
    for ref in merged:
        sketch = change_point(sketch, ref, x=home.x, y=home.y)
    if not old:
        pin = Pin(id=fresh_id(sketch, "pin"), at=tuple(merged), diameter_mm=diameter_mm)
        return add(sketch, "pins", pin), pin.id
    first = replace(old[0], at=tuple(merged))
    spare = {pin.id for pin in old[1:]}
    pins = tuple(first if pin.id == first.id else pin
                 for pin in sketch.pins if pin.id not in spare)
    drive = sketch.drive
    if drive is not None and drive.pin in spare:
        drive = replace(drive, pin=first.id)
    locks = tuple(replace(lock, pin=first.id) if lock.pin in spare else lock
                  for lock in sketch.locks)
    springs = tuple(replace(spring, pin=first.id) if spring.pin in spare else spring
                    for spring in sketch.torsion_springs)
    return replace(sketch, pins=pins, drive=drive, locks=locks,
                   torsion_springs=springs), first.id
