"""The table of what keeps things on their rods: rings, washers, and holds with their size."""

from __future__ import annotations

from core.drawing.flow import Table
from core.drawing.subject import Subject
from core.making.locks import LockCheck
from core.making.locks.words import named
from core.making.rings import ends
from core.making.rods import Rod, rods
from core.units import show_length, show_torque


def holding_table(subject: Subject) -> Table:
    """Every rod with its ring, washer and length to cut it to, then what is fast on it."""
    units = subject.sketch.units
    letters = {pivot.joint: pivot.letter for pivot in subject.pivots}
    checks = () if subject.study.locks is None else subject.study.locks.checks
    rows = []
    for rod in rods(subject.sketch):
        letter = letters.get(rod.id, "")
        rows += _rings(letter, rod, units)
        rows += [_hold(letter, check, units) for check in checks
                 if check.hold.rod.id == rod.id and check.hold.lock]
    return Table(
        "Rings and locks", ("Rod", "What", "Size", "Note"), rows, frozenset(),
        "A ring in a groove beyond a washer at each end, unless the end is held otherwise. The "
        "length is that of a rod with two such ends; the crank's shaft is longer, for the "
        "handle. Torque: between these it gives way.")


def _rings(letter: str, rod: Rod, units: str) -> list[tuple[str, str, str, str]]:
    kept = ends(rod)
    if kept is None:
        return []
    ring = kept.ring
    size = (f"groove Ø {show_length(ring.groove_mm, units)} ×"
            f" {show_length(ring.width_mm, units)}")
    return [(letter, f"2 {ring.name}, {ring.standard}; 2 washers"
             f" {show_length(kept.washer.bore_mm, units)}", size,
             f"rod {show_length(kept.length_mm, units)} long, {show_length(ring.end_mm, units)}"
             " at least beyond each groove")]


def _hold(letter: str, check: LockCheck, units: str) -> tuple[str, str, str, str]:
    low, high = (show_torque(each, units) for each in (check.bears.low, check.bears.high))
    length = check.hold.length_mm
    return (letter, f"{check.hold.part}: {named(check.bears.kind, check.bears.size_mm, units)}",
            "" if length is None else f"{show_length(length, units)} of the shaft",
            low if low == high else f"{low} to {high}")
