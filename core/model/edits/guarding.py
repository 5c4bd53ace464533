"""What is decided about places that could catch a finger: a guard, or to let them be."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

import msgspec

from core.errors import EditError
from core.model.edits.basics import first_free, ids
from core.model.guards import Guard
from core.model.sketch import Sketch

Why = Literal["guarded", "accepted"]


def guard_of(sketch: Sketch, a: str, b: str) -> Guard | None:
    """What is decided about two parts, whichever is named first; None: nothing yet."""
    return next((guard for guard in sketch.guards if {guard.a, guard.b} == {a, b}), None)


def decide(sketch: Sketch, pairs: Iterable[tuple[str, str]], why: Why,
           note: str = "") -> Sketch:
    """The sketch with the same decided about all these pairs of parts; what was decided
    about them before gives way, its note stays unless there is a new one. A part paired
    with itself, the crank, stands for the wheels between the handle and it.

    Raises
    ------
    EditError
        When a pair names a part that is not there.
    """
    parts = {part.id for part in sketch.parts}
    guards = {frozenset((guard.a, guard.b)): guard for guard in sketch.guards}
    taken = ids(sketch)
    for a, b in pairs:
        if not {a, b} <= parts:
            gone = a if a not in parts else b
            raise EditError(f"there is no part {gone!r} to guard",
                            mend="look at the findings again")
        pair = frozenset((a, b))
        old = guards.get(pair)
        if old is None:
            name = first_free("guard", taken)
            taken.add(name)
            guards[pair] = Guard(id=name, a=a, b=b, why=why, note=note)
        else:
            guards[pair] = msgspec.structs.replace(old, why=why, note=note or old.note)
    return msgspec.structs.replace(sketch, guards=tuple(guards.values()))


def undecide(sketch: Sketch, a: str, b: str) -> Sketch:
    """The sketch with nothing decided about two parts."""
    kept = tuple(guard for guard in sketch.guards if {guard.a, guard.b} != {a, b})
    return msgspec.structs.replace(sketch, guards=kept)
