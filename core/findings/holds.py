"""Findings about strength: rods, bores, parts, teeth and hinges that give way or may."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from core.findings.finding import Finding, Grade, Mend
from core.making.ranges import show_load
from core.making.rods import rods
from core.making.strength import Check, Strength, Verdict
from core.making.strength.words import sentence
from core.model import Bar, Sketch, edits
from core.space.outlines import default_outline, named_outline
from core.units import MM_PER_INCH, show_length

#: Rods that are sold, mm: whole ones, and fractions of an inch (common practice, no source).
RODS_MM = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0)
RODS_IN = tuple(sixteenths * MM_PER_INCH / 16 for sixteenths in (1, 2, 3, 4, 5, 6, 8, 10, 12))
#: What would have to be more than so many times as large is not advised.
_REACH = 4.0
_GRADES: dict[Verdict, Grade] = {"breaks": "fault", "doubtful": "warning", "near": "note"}


def hold_findings(sketch: Sketch, strength: Strength) -> Iterator[Finding]:
    """One finding for every thing that gives way, may, or has little in hand: the worst of
    the checks of one kind on it."""
    told: set[tuple[str, str]] = set()
    for check in strength.checks:
        grade = _GRADES.get(check.verdict)
        if grade is None or (check.soft and (check.trust == "practice" or grade == "note")):
            continue  # what is felt counts where the play is known, not guessed
        found = _finding(sketch, check, grade)
        if (found.code, check.thing) not in told:
            told.add((found.code, check.thing))
            yield found


def _finding(sketch: Sketch, check: Check, grade: Grade) -> Finding:
    edits_: tuple[Mend, ...] = ()
    if check.kind in ("rod-torsion", "rod-jam", "rod-bending", "rod-shear"):
        code = "rod-too-weak"
        mend, edits_ = _thicker(sketch, check)
        if check.kind == "rod-bending" and _stands_out(sketch, check):
            mend += " Or hold the rod on both sides of its parts."
    elif check.kind == "rod-twist":
        code = "rod-winds-up"
        mend, edits_ = _thicker(sketch, check)
    elif check.kind == "rod-slope":
        code = "rod-askew"
        mend, edits_ = _thicker(sketch, check)
    elif check.kind == "bearing":
        code = "bore-gives"
        mend, edits_ = _thicker(sketch, check)
        mend += " Or bush the bore, or use thicker wood."
    elif check.kind == "tear-out":
        code = "tears-out"
        mend = (f"Leave {_length(sketch, check)} of wood between the hole and the edge there."
                if _in_reach(check) else
                "More wood round the hole alone does not do it: lessen the load.")
    elif check.kind == "wag":
        code = "wags"
        mend = (f"Ream the bore closer, or make it {_length(sketch, check)} long with a bush or"
                " a boss.")
    elif check.kind in ("link-stress", "neck"):
        code = "part-too-weak"
        mend, edits_ = _wider(sketch, check)
    elif check.kind == "link-buckling":
        code = "buckles"
        mend = (f"Make it {_length(sketch, check)} thick, or shorter." if _in_reach(check)
                else "Thicker wood alone does not do it: lessen the load.")
    elif check.kind == "tooth":
        code = "tooth-breaks"
        mend = (f"Use wheels {_length(sketch, check)} thick, or fewer and larger teeth."
                if _in_reach(check) else "Thicker wheels alone do not do it: use fewer and"
                " larger teeth or metal wheels, or lessen the load.")
    else:
        code = "hinge-pulls-out"
        mend = f"Use screws with {_length(sketch, check)} of thread, more of them, or bolts."
    return Finding(code, grade, sentence(check, sketch.units), check.parts,
                   math.degrees(check.crank_rad), check.value, check.allowed[0],
                   check.unit, f"{mend} {_meant(sketch, check)}".strip(), edits_,
                   check.joints, check.source)


def _stands_out(sketch: Sketch, check: Check) -> bool:
    """Whether parts on the rod stand out beyond what holds it."""
    return any(rod.overhung for rod in rods(sketch) if rod.joints == check.joints)


def _meant(sketch: Sketch, check: Check) -> str:
    """What may be built on, where a safety number was asked for."""
    if check.soft or check.needed[1] <= 1.0:
        return ""
    low, high = check.needed
    return (f"With the {low:g}- to {high:g}-fold safety that is usual,"
            f" {show_load(check.allowed[0], check.unit, sketch.units)} may be built on.")


def _in_reach(check: Check) -> bool:
    """Whether more of the same, within reason, would do."""
    wanted, now = check.wanted_mm, check.size_mm
    return wanted is None or now is None or wanted <= _REACH * now


def _length(sketch: Sketch, check: Check) -> str:
    wanted = check.wanted_mm
    if wanted is None:
        return "more"
    step = MM_PER_INCH / 16 if sketch.units == "in" else 1.0
    return show_length(math.ceil(wanted / step - 1e-9) * step, sketch.units)


def next_rod_mm(wanted_mm: float, units: str) -> float | None:
    """The thinnest rod that is sold of at least that diameter; None when there is none."""
    rods = RODS_IN if units == "in" else RODS_MM
    return next((d for d in rods if d >= wanted_mm - 1e-6), None)


def _thicker(sketch: Sketch, check: Check) -> tuple[str, tuple[Mend, ...]]:
    wanted, now = check.wanted_mm, check.size_mm or 0.0
    d = None if wanted is None else next_rod_mm(max(wanted, now + 1e-3), sketch.units)
    if d is None or d > _REACH * now:
        return "A thicker rod alone does not do it: lessen the load.", ()
    joints, size = check.joints, show_length(d, sketch.units)

    def edit(before: Sketch) -> Sketch:
        for joint in joints:
            group = "slots" if any(slot.id == joint for slot in before.slots) else "pins"
            before = edits.change(before, group, joint, diameter_mm=d)
        return before

    rod = check.joints[0] if check.joints else ""
    return (f"Use a rod of {size} for {rod}.",
            (Mend(f"Make the rod of {rod} {size} thick", edit),))


def _wider(sketch: Sketch, check: Check) -> tuple[str, tuple[Mend, ...]]:
    part_id, wanted = check.parts[0], check.wanted_mm
    part = sketch.part(part_id)
    shape = default_outline(part)
    if wanted is None or not isinstance(shape, Bar):
        bare = "" if check.power == 2.0 else ", the hole not counted"
        return f"Make it {_length(sketch, check)} wide there{bare}, or thicker.", ()
    step = MM_PER_INCH / 16 if sketch.units == "in" else 1.0
    more = shape.width_mm + wanted - (check.size_mm or 0.0)
    width = math.ceil(more / step - 1e-9) * step

    def edit(before: Sketch) -> Sketch:
        old = named_outline(before.part(part_id))
        if not isinstance(old, Bar):
            return before
        return edits.change(before, "parts", part_id, outline=replace(old, width_mm=width))

    size = show_length(width, sketch.units)
    return (f"Make it {size} wide.", (Mend(f"Make {part_id} {size} wide", edit),))
