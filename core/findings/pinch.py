"""Findings about fingers: gaps that close on them, and meshes that draw them in."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial

from core.effort import Hand
from core.findings.finding import Finding, Grade, Mend
from core.model import Sketch, split_ref
from core.model.edits.guarding import Why, decide, guard_of
from core.space.pinch import Pinch
from core.units import show_force, show_length
from core.wording import listed

#: What is told of by itself; of more there is one note on all.
MOST_TOLD, FEW = 6, 3
#: Beyond this push hand and fingers are hurt, and what shuts to less than this crushes or
#: shears whatever is in it (an estimate).
HURTS_N, HURTS_SOURCE = 140.0, "ISO/TS 15066: 140 N on hand and fingers, from memory"
FLAT_MM = 2.0
DRAWN_IN = "ISO 13854 does not cover drawing in; such places are guarded: ISO 13857, as quoted"


def pinch_findings(sketch: Sketch, pinches: Sequence[Pinch], hand: Hand | None,
                   loose: frozenset[str] = frozenset()) -> Iterator[Finding]:
    """What could catch a finger, unless the user has decided about it: a warning where it
    would be pressed hard and flat, or in a thing for children; else a note.

    `hand` says how hard, as far as it is known. Pairs with `loose` parts are left out.
    """
    open_ = [one for one in pinches if loose.isdisjoint(one.parts)
             and (not one.guarded or (sketch.for_children and one.guarded == "accepted"))]
    graded = [(one, _grade(sketch, one, _force_n(one, hand))) for one in open_]
    yield from (_told(sketch, one, grade, hand) for one, grade in graded if grade != "note")
    quiet = [one for one, grade in graded if grade == "note"]
    yield from (_told(sketch, one, "note", hand) for one in quiet[:MOST_TOLD])
    undecided = [one for one in quiet if not one.guarded]
    if len(undecided) > FEW:
        yield _together(sketch, undecided)


def _grade(sketch: Sketch, one: Pinch, force_n: float | None) -> Grade:
    if one.guarded:
        return "note"
    if sketch.for_children and one.rule.name != "finger":
        return "warning"
    hard = one.smallest_mm < FLAT_MM and force_n is not None and force_n >= HURTS_N
    return "warning" if hard else "note"


def _force_n(one: Pinch, hand: Hand | None) -> float | None:
    """How hard it presses, on average, when the hand pushes its limit: the crank's work on
    the way is the work of the squeeze (virtual work, friction left out)."""
    return None if hand is None else hand.jam_torque_nmm * one.turn_per_mm


def _told(sketch: Sketch, one: Pinch, grade: Grade, hand: Hand | None) -> Finding:
    units = sketch.units
    wide, tight = (show_length(round(mm, 1), units)
                   for mm in (one.widest_mm, one.smallest_mm))
    size = f"from {wide} to {tight if one.smallest_mm >= 0.05 else 'nothing'}"
    how = {"crush": f"The gap between {_said(one)} closes {size}",
           "shear": f"{_said(one)} pass each other like scissors: the room between their edges"
                    f" closes {size}",
           "hinge": f"The mouth at the hinge of {_said(one)} closes {size}"}[one.kind]
    way = " when cranked backwards" if one.backwards else ""
    text = f"{how}, shut at {math.degrees(one.shut_rad):.1f}°{way}."
    source = one.source
    force = _force_n(one, hand)
    if force is not None and force >= HURTS_N and one.smallest_mm < FLAT_MM:
        text += (f" A hand that pushes its limit presses a finger there with about"
                 f" {show_force(round(force, -1), units)}.")
        source = f"{source}; {HURTS_SOURCE}"
    if one.guarded:
        text += " It was let be, but this is for children."
    return Finding("pinch", grade, text, one.parts, math.degrees(one.shut_rad),
                   one.smallest_mm, one.rule.safe_mm, "mm", _advice(sketch, one),
                   _choices([one.pair])[:1 if one.guarded else 2], _rods(one), source)


def _advice(sketch: Sketch, one: Pinch) -> str:
    safe, tight = (show_length(each, sketch.units)
                   for each in (one.rule.safe_mm, one.rule.admits_mm))
    return f"Leave {safe} when it is shut, never open it by {tight}, or put a guard before it."


def _together(sketch: Sketch, quiet: list[Pinch]) -> Finding:
    worst = quiet[0]
    return Finding(
        "pinch", "note",
        f"In all, {len(quiet)} places could catch a finger, none of them hard and flat; the"
        f" first is between {_said(worst)}.", (), math.degrees(worst.shut_rad),
        float(len(quiet)), 0.0, "", "Decide about them one by one, or about all at once.",
        _choices([one.pair for one in quiet]), (), worst.source)


def _said(one: Pinch) -> str:
    return f"{_name(one.a)} and {_name(one.b)}"


def _name(body: str) -> str:
    return body.removeprefix("pin ") if body.startswith("pin pin") else body


def _rods(one: Pinch) -> tuple[str, ...]:
    return tuple(name.removeprefix("pin ") for name in (one.a, one.b)
                 if name.startswith("pin ") and name not in one.parts)


def _choices(pairs: list[tuple[str, str]]) -> tuple[Mend, ...]:
    """A guard, or let it be."""
    def edit(why: Why) -> Callable[[Sketch], Sketch]:
        return partial(decide, pairs=pairs, why=why)

    if len(pairs) == 1:
        return (Mend("A guard keeps fingers off", edit("guarded")),
                Mend("Let it be", edit("accepted")))
    return (Mend(f"Guards keep fingers off all {len(pairs)}", edit("guarded")),
            Mend(f"Let all {len(pairs)} be", edit("accepted")))


def mesh_findings(sketch: Sketch) -> Iterator[Finding]:
    """Meshes, belts and the wheels at the handle that draw fingers in, until the user has
    decided about them; warnings in a thing for children."""
    for mesh in sketch.meshes:
        pair = split_ref(mesh.a)[0], split_ref(mesh.b)[0]
        yield from _drawn_in(sketch, pair, mesh.id, f"The teeth of {listed(pair)} draw in a"
                             " finger where they meet.")
    for belt in sketch.belts:
        pair = split_ref(belt.a)[0], split_ref(belt.b)[0]
        yield from _drawn_in(sketch, pair, belt.id, f"{belt.id} draws in a finger where it runs"
                             f" on to {listed(pair)}.")
    steps, drive = sketch.handle.steps, sketch.drive
    if steps and drive is not None:
        what = "The wheels" if all(step.kind == "gears" for step in steps) else (
            "The wheels and belts")
        yield from _drawn_in(sketch, (drive.part, drive.part), "",
                             f"{what} between the handle and {drive.part} draw in a finger"
                             " where they meet.")


def _drawn_in(sketch: Sketch, pair: tuple[str, str], joint: str,
              text: str) -> Iterator[Finding]:
    guard = guard_of(sketch, *pair)
    if guard is not None and (guard.why == "guarded" or not sketch.for_children):
        return
    if guard is not None:
        text += " It was let be, but this is for children."
    grade: Grade = "warning" if sketch.for_children and guard is None else "note"
    mend, choices = "Cover the place where they meet from both sides", _choices([pair])
    if guard is None:
        mend += ", or say that it is let be"
    yield Finding("mesh-unguarded", grade, text, tuple(sorted(set(pair))), None, None, None, "",
                  f"{mend}.", choices[:2 if guard is None else 1],
                  (joint,) if joint else (), DRAWN_IN)
