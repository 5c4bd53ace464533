"""Findings about locks: parts that slip on their shafts, and holds that have no room."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from core.findings.finding import Finding, Grade, Mend
from core.making.locks import IN_USE, Advice, LockCheck, Locks, advise
from core.making.locks.words import NAMES, named
from core.materials.figure import joined
from core.units import show_torque

#: Torque that is hardly any, N·mm.
_FELT_NMM = 1.0


def lock_findings(locks: Locks, mends: bool = True) -> Iterator[Finding]:
    """What slips, may slip, slips in a jam, or has no room: one finding of each code for a
    lock, about the part that is held worst.

    `mends`: also seek the best hold for each.
    """
    advices: dict[str, Advice] = {}
    told: set[tuple[str, str]] = set()
    for check in sorted(locks.checks, key=lambda one: -one.share):
        for found in (_slips(locks, check), _no_room(check)):
            who = check.hold.lock or check.hold.name
            if found is None or (found.code, who) in told:
                continue
            told.add((found.code, who))
            if mends and check.hold.part:
                if who not in advices:
                    advices[who] = advise(locks, who)
                found = _mended(found, advices[who])
            yield found


def _slips(locks: Locks, check: LockCheck) -> Finding | None:
    grade = _grade(check)
    if grade is None:
        return None
    units, hold = locks.turn.sketch.units, check.hold

    def show(nmm: float) -> str:
        return show_torque(nmm, units)

    use, jam = check.through.use_nmm[1], check.through.jam_nmm
    in_jam = check.in_use in ("holds", "near") and check.in_jam != "holds" and jam is not None
    load = jam if in_jam and jam is not None else use
    bears = f"{show(check.bears.low)} to {show(check.bears.high)}"
    if check.bears.high - check.bears.low < 1e-3 * check.bears.high:
        bears = show(check.bears.low)
    how = named(check.bears.kind, check.bears.size_mm, units)
    if hold.lock:
        text = f"{hold.name}, held on the rod of {hold.rod.id} by {how}, bears {bears}"
    else:
        text = (f"Nothing says how {hold.name} is held on the rod of {hold.rod.id}. By {how} it"
                f" would bear {bears}")
    text += f" ({check.bears.weakest.name} first). " + (
        f"Cranking puts up to {show(use)} on it" if use > _FELT_NMM
        else "Cranking hardly loads it")
    if in_jam:
        text += (f"; when something beyond is blocked, the hand at its limit puts {show(load)}"
                 " on it")
        if check.through.toggled:
            text += ", near a dead point, where only play and give bound it (an estimate)"
        text += ", and it " + ("slips." if check.in_jam == "slips" else "may slip.")
    elif check.in_use == "near":
        text += f", {_fold(check.use_safety[0])}-fold safety; {IN_USE[0]:g}-fold is usual."
    else:
        text += ", and it " + ("slips." if check.in_use == "slips" else "may slip.")
    at = check.through.jam_rad if in_jam else check.through.use_rad
    source = check.bears.source
    if in_jam and locks.hand is not None:
        source = joined(source, f"push of the hand: {locks.hand.limit_source}")
    return Finding(
        "lock-slips", grade, text, (hold.part,) if hold.part else (),
        None if in_jam and check.through.jam_times == 1.0 else math.degrees(at),
        load / 1e3, check.bears.low / 1e3, "N·m",
        "Hold it by something stronger than glue alone, such as a cross pin, a square end or a"
        " clamp.", (),
        tuple(filter(None, (hold.lock, hold.rod.id))), source)


def _grade(check: LockCheck) -> Grade | None:
    """How grave it is; where nothing says how a part is held, it is no fault yet."""
    said = bool(check.hold.lock)
    if check.hold.role == "handle":  # no lock says how; a note, for it could not be mended
        return "note" if check.in_use in ("slips", "may") else None
    if check.in_use == "slips":
        return "fault" if said else "warning"
    if check.in_use == "may":
        return "warning"
    if check.in_jam != "holds":
        return "warning" if said and not check.through.toggled else "note"
    return "note" if check.in_use == "near" else None


def _no_room(check: LockCheck) -> Finding | None:
    hold, room = check.hold, check.room
    if not hold.lock or room.fits:
        return None
    there, needs = next(
        ((there, needs) for there, needs in (
            (room.free.along, room.need.along), (room.thick_mm, room.need.thick),
            (room.wall_mm, room.need.wall)) if there < needs - 1e-6), (0.0, 0.0))
    name = NAMES.get(check.bears.kind, check.bears.kind)
    return Finding(
        "lock-no-room", "warning",
        f"{hold.part} has no room for its {name}: it {'; it '.join(room.lacks)}.",
        (hold.part,), None, there, needs, "mm", "Leave the room, or hold it another way.",
        (), (hold.lock, hold.rod.id), "common practice, no source")


def _mended(found: Finding, advice: Advice) -> Finding:
    best = advice.best
    if best is None:
        return replace(found, mend=" ".join(advice.changes) or found.mend)
    return replace(found, mend=f"{best.label}. {best.to_do}",
                   edits=(Mend(best.label, best.edit),))


def _fold(times: float) -> str:
    return f"{times:.2g}"
