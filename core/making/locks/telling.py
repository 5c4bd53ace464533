"""What is shown of advice: short words for a table, whole sentences beside it."""

from __future__ import annotations

import math

from core.making.locks.advise import Advice, Option
from core.making.locks.capacity import Capacity, Member
from core.making.locks.check import IN_USE, LockCheck
from core.making.locks.words import named
from core.making.ranges import show_folds, show_range
from core.materials.names import TRUST_WORDS
from core.units import show_angle, show_length, show_torque


def grade(option: Option) -> str:
    """The grade of a finding it would be, "" for none."""
    if option.standing == "good":
        return ""
    return "fault" if option.use_safety[0] < 1.0 else "warning"


def word(option: Option) -> str:
    """How an option stands, in a few words."""
    if option.standing == "good":
        return "holds and fits"
    room = "" if option.fits else ", no room"
    if option.holds:
        return f"holds{room}"
    jam = option.jam_safety
    if option.use_safety[0] < 1.0:
        slips = "slips while cranking" if option.use_safety[1] < 1.0 else "may slip in use"
    elif jam is not None and jam[0] < 1.0:
        slips = "slips in a jam" if jam[1] < 1.0 else "may slip in a jam"
    else:
        slips = "little in hand"
    return f"{slips}{room}"


def bears_words(bears: Capacity | Member, units: str) -> str:
    """At which torque a hold, or one member of it, gives way: "0.6 N·m to 1.2 N·m"."""
    figure = bears.bears if isinstance(bears, Member) else bears
    return show_range(figure.low, figure.high, "N·mm", units)


def times(safety: tuple[float, float] | None) -> str:
    """A safety as "2.2 ×" or "0.4 to 0.7 ×"; "over 100 ×" where it hardly matters."""
    if safety is None:
        return "–"
    return f"{show_folds(*safety)} ×"


def room_words(option: Option, units: str) -> str:
    """The spacing to leave, or what is missing, in a few words."""
    along, around = option.spacing_mm, option.around_mm
    if option.missing_mm > 0.0 and math.isfinite(option.missing_mm):
        return f"{show_length(round(option.missing_mm, 1), units)} too little"
    if option.lacks:
        return "too little"
    if along:
        return (f"leave {show_length(along, units)}, Ø"
                f" {show_length(2.0 * around, units)}")
    return "nothing more"


def passes(check: LockCheck, units: str) -> str:
    """What goes through a hold, a sentence or two."""
    use, jam = check.through.use_nmm[1], check.through.jam_nmm
    at = show_angle(math.degrees(check.through.use_rad))
    text = f"Cranking puts up to {show_torque(use, units)} on {check.hold.name}, at {at}."
    if jam is not None:
        text += (f" With what lies beyond it blocked, the hand at its limit puts"
                 f" {show_torque(jam, units)} on it")
        if check.through.toggled:
            at = show_angle(math.degrees(check.through.jam_rad))
            text += (f", at {at} near a dead point, where only play and the give of the wood"
                     " bound it (an estimate)")
        text += "."
    return text


def details(option: Option, units: str) -> str:
    """Everything about an option, in sentences, a paragraph to each matter."""
    worst = option.worst
    lines = [option.to_do]
    if option.access is not None:
        lines.append(_access(option))
    if option.spacing_mm:
        lines.append(f"Leave {show_length(option.spacing_mm, units)} free along the shaft"
                     f" beside {option.part}, and {show_length(option.around_mm, units)} about"
                     " its axis, over the whole turn.")
    if option.lacks:
        lines.append("No room: " + "; ".join(option.lacks) + ".")
    bears = worst.bears
    lines.append(f"{named(option.kind, option.size_mm, units).capitalize()}:"
                 f" {bears.weakest.name} gives way first, at"
                 f" {bears_words(bears, units)} ({bears.weakest.formula}).")
    others = [f"{one.name} {bears_words(one, units)}"
              for one in bears.members[1:]]
    if others:
        lines.append("Then " + ", ".join(others) + ".")
    lines.append(f"While cranking it bears {times(option.use_safety)} the torque, where"
                 f" {IN_USE[0]:g} to {IN_USE[1]:g} × is usual (common practice, no source); in"
                 f" a jam {times(option.jam_safety)}.")
    lines.append(f"Source: {bears.source}. Trust: {TRUST_WORDS[bears.trust]}.")
    return "\n".join(lines)


def _access(option: Option) -> str:
    reach = option.access
    assert reach is not None
    tool = "A hexagon key" if option.kind in ("screwed", "clamped") else "A hand drill"
    if reach.reaches:
        return f"{tool} reaches it in the stack with the crank at" \
               f" {show_angle(math.degrees(reach.crank_rad))}."
    if reach.captive:
        return f"{tool} does not reach it in the stack: {reach.by} is in the way."
    done = "tighten" if tool.startswith("A hex") else "drill"
    return (f"{tool} does not reach it in the stack ({reach.by} is in the way): {done} it on"
            " the bench, before it goes in.")


def headline(advice: Advice, now: LockCheck | None, units: str) -> str:
    """What it must bear, how it is held now, and what to change where nothing holds."""
    most = max(advice.options[0].checks, key=lambda one: (
        one.through.jam_nmm or 0.0, one.through.use_nmm[1]))
    text = passes(most, units)
    if now is not None:
        text += f" Now: {named(now.bears.kind, now.bears.size_mm, units)}"
        text += "." if now.hold.lock else ", as nothing else is said."
    if advice.best is None:
        text += " Nothing holds in a jam and fits." + "".join(
            f" {line}" for line in advice.changes)
    return text
