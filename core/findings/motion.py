"""Findings about motion: what is loose, where the crank locks, where it pushes badly."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial

from msgspec.structs import replace

from core.errors import EditError, Going, always, go_on
from core.findings.crank import (
    crank_length,
    goes_round,
    is_good,
    longest_crank,
    shortened,
)
from core.findings.finding import Finding, Mend
from core.model import Drive, Lock, Pin, Sketch, part_of, split_ref
from core.model.edits import add, change_point, fresh_id, put
from core.model.links import items, parts_of, point_refs
from core.motion import FourBar, Overrun, Structure, Turn, four_bars, travel
from core.units import show_length
from core.wording import listed

#: Below this transmission angle a linkage pushes badly: 40° is the textbook limit (R. L.
#: Norton, Design of Machinery, on transmission angles; from memory).
LEAST_TRANSMISSION_DEG = 40.0
#: A mended crank is this share of the longest one that just goes round, which would pass
#: through a dead centre.
_SAFE = 0.97
_MOST_DRIVES, _MOST_FASTENED = 3, 2
#: A mended slide runs to this short of its end, mm; a mended rocking drive turns this far
#: short of a lock.
_SPARE_MM, _SHORT_OF_LOCK_DEG = 1.0, 2.0


def build_findings(sketch: Sketch, structure: Structure | None,
                   trouble: str) -> Iterator[Finding]:
    """What can be said before anything turns. `trouble` says why there is no turn."""
    if not sketch.parts:
        return
    if structure is not None and structure.trouble:
        trouble = structure.trouble
    if sketch.drive is None:
        yield _no_drive(sketch)
    elif trouble:
        yield Finding("does-not-turn", "fault", _sentence(trouble), (sketch.drive.part,),
                      mend="Put that right and it turns.")
    if structure is None:
        return
    if structure.loose and sketch.drive is not None:
        parts = tuple(sorted(structure.loose))
        them = "it stays" if len(parts) == 1 else "they stay"
        yield Finding("loose", "warning",
                      f"The crank does not decide where {listed(parts)} goes; {them} as"
                      " drawn.", parts,
                      mend="Pin it to one more part, slide it on something, lock it to a"
                           " part, or fix it to the frame.",
                      edits=tuple(_fastenings(sketch, parts))[:_MOST_FASTENED])
    if structure.redundant:
        joints = tuple(sorted(structure.redundant))
        yield Finding("one-too-many", "note",
                      f"{listed(joints)} could be left out: the rest already holds the"
                      " motion. It turns only as long as the lengths agree exactly.", (),
                      mend="Leave it out, or drill these holes in one go so that they"
                           " agree.", joints=joints)


def turn_findings(turn: Turn, structure: Structure, mends: bool = True,
                  going: Going = always) -> Iterator[Finding]:
    """What the whole turn shows. With `mends` the longest crank that goes round is sought;
    `going` is asked before every crank tried, and Stopped raised when it says no."""
    yield from _locks(turn, structure, mends, going)
    yield from _transmission(turn, structure, mends, going)
    yield from _overrun(turn)


def _fastenings(sketch: Sketch, loose: tuple[str, ...]) -> Iterator[Mend]:
    """Locks a loose part to the part it hangs on; fixes one that hangs on nothing."""
    for part in loose:
        pins = [pin for pin in sketch.pins if part in map(part_of, pin.at)]
        holders = sorted((held, pin.id) for pin in pins for held in map(part_of, pin.at)
                         if held not in loose)
        if holders:
            holder, pin_id = holders[0]
            yield Mend(f"Lock {part} to {holder}", partial(_lock, part, holder, pin_id))
        elif not any(part in parts_of(item) for group, item in items(sketch)
                     if group != "guards"):
            yield Mend(f"Fix {part} to the frame", partial(_fix, part))


def _lock(part: str, holder: str, pin_id: str, sketch: Sketch) -> Sketch:
    # Looked up, so that a part that is gone by now is noticed.
    parts = tuple(sketch.part(part_id).id for part_id in (holder, part))
    return add(sketch, "locks", Lock(id=fresh_id(sketch, "lock"), parts=parts, pin=pin_id))


def _fix(part_id: str, sketch: Sketch) -> Sketch:
    return put(sketch, replace(sketch.part(part_id), fixed=True))


def _no_drive(sketch: Sketch) -> Finding:
    """Offers the pins between the frame and one moving part as the crank's."""
    fixed = {part.id for part in sketch.parts if part.fixed}
    edits = []
    for pin in sketch.pins:
        moving = [part for part, _ in map(split_ref, pin.at) if part not in fixed]
        if len(moving) == 1 and len(pin.at) > 1:
            edits.append(Mend(f"Crank {moving[0]} about {pin.id}",
                              partial(_drive, pin.id, moving[0])))
    return Finding("no-drive", "warning", "Nothing turns yet: no part is the crank.", (),
                   mend="Choose a part that is pinned to the frame as the crank.",
                   edits=tuple(edits[:_MOST_DRIVES]))


def _drive(pin_id: str, part_id: str, sketch: Sketch) -> Sketch:
    pin: Pin = next(pin for pin in sketch.pins if pin.id == pin_id)
    hub = sketch.point(next(ref for ref in pin.at if split_ref(ref)[0] == part_id))
    tip = max(sketch.part(part_id).points,
              key=lambda point: math.hypot(point.x - hub.x, point.y - hub.y))
    drawn = math.degrees(math.atan2(tip.y - hub.y, tip.x - hub.x))
    return replace(sketch, drive=Drive(pin=pin_id, part=part_id, drawn_deg=drawn))


def _locks(turn: Turn, structure: Structure, mends: bool, going: Going) -> Iterator[Finding]:
    if not turn.limits:
        return
    sketch = turn.sketch
    edits = _shorter_crank(sketch, structure, going) if mends else ()
    advice = ("Shorten the crank, lengthen the links that bind, or move the fixed pivots"
              " nearer to each other.")
    if edits and edits[0].edit is not _shorten_enough:
        advice = f"{edits[0].label}: then it goes all the way."
    if sketch.drive is not None and sketch.drive.kind == "rock":
        edits = (*_rock_less(turn, sketch.drive), *edits)
    kinds = {loop.parts: _kind_words(loop) for loop in four_bars(turn)}
    for parts in sorted({limit.parts for limit in turn.limits}):
        # The same parts mostly bind both ways round: one finding, not two.
        limits = [limit for limit in turn.limits if limit.parts == parts]
        where = listed(f"at {math.degrees(limit.crank_rad):.2f}° turning"
                       f" {'counter-clockwise' if limit.side > 0 else 'clockwise'}"
                       for limit in limits)
        by = f": {listed(sorted(parts))} will not let it further" if parts else ""
        at = math.degrees(limits[0].crank_rad)
        text = f"The crank locks {where}{by}.{kinds.get(parts, '')}"
        if any(limit.lost for limit in limits):
            text = (f"The crank could be followed no further {where}: where"
                    f" {listed(sorted(parts))} go beyond was not found.")
        yield Finding("crank-locks", "fault", text,
                      tuple(sorted(parts)), at, at, None, "°", advice, edits)


def _kind_words(loop: FourBar) -> str:
    """What kind of four-bar binds, as a sentence; empty when it is none."""
    if loop.grashof is None:
        return ""
    if not loop.grashof:
        return " None of the four links of this four-bar goes all round (Grashof)."
    if loop.kind == "change point":
        return " The four links can be stretched out flat on one another (change point)."
    return " In this four-bar only the shortest link goes all round (Grashof)."


def _rock_less(turn: Turn, drive: Drive) -> tuple[Mend, ...]:
    """Rock only as far as it goes, short of the locks, where anything is left of that."""
    low, high = sorted((drive.from_deg, drive.to_deg))
    for limit in turn.limits:
        at = math.degrees(limit.crank_rad)
        if limit.side > 0:
            high = min(high, math.floor(at - _SHORT_OF_LOCK_DEG))
        else:
            low = max(low, math.ceil(at + _SHORT_OF_LOCK_DEG))
    if low >= high:
        return ()
    ends = (low, high) if drive.from_deg <= drive.to_deg else (high, low)
    return (Mend(f"Rock between {low:g}° and {high:g}°", partial(_rock, *ends)),)


def _rock(from_deg: float, to_deg: float, sketch: Sketch) -> Sketch:
    if sketch.drive is None:
        raise EditError("the sketch has no crank any more", mend="choose one")
    return replace(sketch, drive=replace(sketch.drive, from_deg=from_deg, to_deg=to_deg))


def _shorter_crank(sketch: Sketch, structure: Structure, going: Going) -> tuple[Mend, ...]:
    if not _is_quick(structure):
        return (Mend("Shorten the crank until it goes", _shorten_enough),)
    return _crank_that(sketch, goes_round, going)


def _is_quick(structure: Structure) -> bool:
    """Whether trying many cranks takes no seconds: all groups have a closed form."""
    return not any(group.kind == "newton" for group in structure.groups)


def _crank_that(sketch: Sketch, good: Callable[[Turn], bool],
                going: Going) -> tuple[Mend, ...]:
    """The longest crank whose turn is good, and a little shorter to be safe."""

    def wanted(turn: Turn) -> bool:
        go_on(going)
        return good(turn)

    longest = longest_crank(sketch, wanted)
    if longest is None or not is_good(shortened(sketch, _SAFE * longest), good):
        return ()
    length = show_length(round(_SAFE * longest * crank_length(sketch), 1), sketch.units)
    return (Mend(f"Shorten the crank to {length}", partial(_shorten, _SAFE * longest)),)


def _shorten_enough(sketch: Sketch) -> Sketch:
    share = longest_crank(sketch)
    if share is None:
        raise EditError("no shorter crank goes all the way", mend="move the pivots by hand")
    return _shorten(_SAFE * share, sketch)


def _shorten(share: float, sketch: Sketch) -> Sketch:
    shorter = shortened(sketch, share)
    if shorter is None:
        raise EditError("the mechanism does not go together with a shorter crank",
                        mend="move the pivots by hand")
    return shorter


def _transmission(turn: Turn, structure: Structure, mends: bool,
                  going: Going) -> Iterator[Finding]:
    binding = {limit.parts for limit in turn.limits}
    poor = [loop for loop in four_bars(turn) if _pushes_badly(loop)
            and loop.parts not in binding]
    edits: tuple[Mend, ...] = ()
    if poor and mends and not turn.limits and _is_quick(structure):
        edits = _crank_that(turn.sketch, _pushes_well, going)
    for loop in poor:
        worst, at = math.degrees(loop.worst_rad), math.degrees(loop.crank_rad)
        yield Finding("poor-transmission", "warning",
                      f"{_loop_words(loop)} push at only {worst:.0f}° to each other at"
                      f" {at:.0f}°: hard to crank there, and play shows.",
                      tuple(sorted(loop.parts)), at, worst, LEAST_TRANSMISSION_DEG, "°",
                      f"{edits[0].label}: then it stays above 40°." if edits else
                      "Lengthen the driven link, shorten the crank, or move the fixed pivot"
                      " until the angle stays above 40°.", edits,
                      source="R. L. Norton, Design of Machinery, from memory")


def _pushes_badly(loop: FourBar) -> bool:
    """To the whole degree, as it is told: the limit is no sharper, and what was sought to
    keep it lies a little on either side."""
    return math.isfinite(loop.worst_rad) and (
        round(math.degrees(loop.worst_rad)) < LEAST_TRANSMISSION_DEG)


def _pushes_well(turn: Turn) -> bool:
    return goes_round(turn) and not any(map(_pushes_badly, four_bars(turn)))


def _loop_words(loop: FourBar) -> str:
    return listed(sorted(loop.parts))


def _overrun(turn: Turn) -> Iterator[Finding]:
    """One finding for each slide or slot, whichever ends its point runs past."""
    sketch = turn.sketch
    lines = {slide.id: slide.along for slide in sketch.slides}
    lines |= {slot.id: slot.slot for slot in sketch.slots}
    past: dict[str, list[Overrun]] = {}
    for over in travel(turn):
        past.setdefault(over.joint, []).append(over)
    for joint, overs in past.items():
        ends = lines[joint]
        part = part_of(ends[0])
        said = [(split_ref(ends[over.end])[1], show_length(over.mm, sketch.units))
                for over in overs]
        where = listed(f"{by} past {point} at {math.degrees(over.crank_rad):.0f}°"
                       for (point, by), over in zip(said, overs, strict=True))
        # An end that is also a pivot must stay where it is.
        free = [over for over in overs
                if sum(ends[over.end] in point_refs(item) for _, item in items(sketch)) == 1]
        edits: tuple[Mend, ...] = ()
        if len(free) == len(overs):
            more = [over.mm + _SPARE_MM for over in overs]
            longer = listed(show_length(mm, sketch.units) for mm in more)
            edits = (Mend(f"Lengthen {joint} by {longer}", partial(
                _lengthen, ends, tuple(over.end for over in overs), tuple(more))),)
        worst = max(overs, key=lambda over: over.mm)
        outward = listed(f"{point} by {by}" for point, by in said)
        yield Finding("overrun", "fault", f"{joint} on {part} runs {where}.", (part,),
                      math.degrees(worst.crank_rad), worst.mm, 0.0, "mm",
                      f"Move {outward} or more further out.", edits, (joint,),
                      "the ends as they are drawn")


def _lengthen(line: tuple[str, str], ends: tuple[int, ...], by_mm: tuple[float, ...],
              sketch: Sketch) -> Sketch:
    """The sketch with ends of a slide or slot moved outwards along it."""
    at = [sketch.place(ref) for ref in line]
    for end, mm in zip(ends, by_mm, strict=True):
        outward = at[end] - at[1 - end]
        place = at[end] + mm * outward / abs(outward)
        sketch = change_point(sketch, line[end], x=place.real, y=place.imag)
    return sketch


def _sentence(text: str) -> str:
    return text if text.endswith(".") else f"{text}."
