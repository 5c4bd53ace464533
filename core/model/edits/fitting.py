"""Edits of what a fit may change: which points it may move, and how the crank may go."""

from __future__ import annotations

import msgspec

from core.errors import EditError
from core.model.sketch import Sketch

replace = msgspec.structs.replace


def pinned_with(sketch: Sketch, ref: str) -> set[str]:
    """The point ``"part.point"`` and those pinned to it: they move as one."""
    found, grown = {ref}, True
    while grown:
        more = {at for pin in sketch.pins if not found.isdisjoint(pin.at) for at in pin.at}
        grown = not more <= found
        found |= more
    return found


def may_move(sketch: Sketch, ref: str) -> bool:
    """Whether a fit may move the point: it is not locked, and chosen when some are."""
    one = pinned_with(sketch, ref)
    if any(sketch.point(each).locked for each in one):
        return False
    return not sketch.fit.free or not one.isdisjoint(sketch.fit.free)


def let_move(sketch: Sketch, ref: str, on: bool) -> Sketch:
    """The sketch with a point, and all pinned to it, to be moved by a fit or not.

    Raises
    ------
    EditError
        When it is locked in place, or nothing would be left to move.
    """
    one, fit = pinned_with(sketch, ref), sketch.fit
    if on:
        if any(sketch.point(each).locked for each in one):
            raise EditError("it is locked in place", ref, "unlock it first")
        free = (*fit.free, ref) if fit.free and one.isdisjoint(fit.free) else fit.free
    else:
        chosen = fit.free or movable(sketch)
        free = tuple(each for each in chosen if each not in one)
        if not free:
            raise EditError("a fit needs something to move", ref, "leave one point free")
    if free and set(movable(sketch)) <= {each for ref in free
                                         for each in pinned_with(sketch, ref)}:
        free = ()
    return replace(sketch, fit=replace(fit, free=free))


def let_rock(sketch: Sketch, on: bool) -> Sketch:
    """The sketch with its crank allowed to rock in a fit, or to go all the way round only.
    How it is driven now stays until a fit changes it."""
    return replace(sketch, fit=replace(sketch.fit, rocking=on))


def movable(sketch: Sketch) -> tuple[str, ...]:
    """All points that are not locked, themselves or through a pin, in file order."""
    held = {each for ref in sketch.places() if sketch.point(ref).locked
            for each in pinned_with(sketch, ref)}
    return tuple(ref for ref in sketch.places() if ref not in held)
