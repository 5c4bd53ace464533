"""What does not fit in wanted motion: paths without length, lines on two parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from core.model.problem import Problem, quoted
from core.model.refs import part_of
from core.model.sketch import Sketch
from core.model.wanted import (
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedSwing,
)

#: The most places of a path and knots of a curve, far beyond any drawn by hand.
MOST_PLACES = 5000


def wish_misfits(sketch: Sketch) -> Iterator[Problem]:
    """Misfits of wishes, zones and length rules; none is fatal."""
    for index, wish in enumerate(sketch.wanted):
        for field, what, mend in _wish(wish):
            where = f"wanted[{index}]" + (f".{field}" if field else "")
            yield Problem(where, f"{quoted(wish.id)} {what}", mend, fatal=False)
    for index, zone in enumerate(sketch.zones):
        if not zone.corners or (len(zone.corners) < 3 and zone.keep == "out"):
            yield Problem(f"zones[{index}].corners", f"the region {quoted(zone.id)} has no "
                          "inside", "give it three corners or more", fatal=False)
    bodies = {part.id: "" if part.fixed else part.id for part in sketch.parts}
    for index, rule in enumerate(sketch.length_rules):
        place = f"length_rules[{index}].ends"
        if len(rule.ends) % 2 or not rule.ends:
            yield Problem(place, f"{quoted(rule.id)} needs two ends for each length",
                          "name two points for each", fatal=False)
        for one, other in zip(rule.ends[::2], rule.ends[1::2], strict=False):
            if bodies.get(part_of(one)) != bodies.get(part_of(other)):
                yield Problem(place, f"{quoted(one)} and {quoted(other)} are not on one part",
                              "name two points of one part", fatal=False)
        low, high = rule.shortest_mm, rule.longest_mm
        if low is not None and high is not None and low > high:
            yield Problem(f"length_rules[{index}]", f"{quoted(rule.id)} has a longest length "
                          "below its shortest", "swap them", fatal=False)
    low, high = sketch.fit.shortest_mm, sketch.fit.longest_mm
    if low is not None and high is not None and low > high:
        yield Problem("fit", "the longest length is below the shortest", "swap them",
                      fatal=False)


def _wish(wish: Any) -> Iterator[tuple[str, str, str]]:
    """Field, what is wrong and the mend."""
    match wish:
        case WantedPath():
            yield from _path(wish)
        case WantedAngle():
            yield from _line(wish.part, wish.line)
            yield from _count("knots", wish.knots, 1 if wish.curve == "places" else 2)
            if len({knot.crank_deg for knot in wish.knots}) < len(wish.knots):
                yield "knots", "has two knots at one crank angle", "take one of them out"
        case WantedPose():
            if bool(wish.at) != bool(wish.toward):
                yield "toward", "needs two points of a part", "name both, or neither"
            elif wish.at and (part_of(wish.at) != part_of(wish.toward)
                              or wish.at == wish.toward):
                yield "toward", "needs two points of one part", "name another point of it"
        case WantedSwing():
            yield from _line(wish.part, wish.line)
        case WantedDwell() | WantedRatio():
            if wish.part and wish.point:
                yield "point", "is of a part and of a point", "keep one of them"
        case _:
            pass


def _path(wish: WantedPath) -> Iterator[tuple[str, str, str]]:
    yield from _count("through", wish.through,
                      1 if wish.curve == "places" else 3 if wish.closed else 2)
    last = len(wish.through) - (0 if wish.closed and wish.curve != "places" else 1)
    if any(tick.at > last for tick in wish.ticks):
        yield "ticks", "has a tick beyond its end", f"keep ticks between 0 and {last}"


def _count(field: str, entries: Sequence[Any],
           least: int) -> Iterator[tuple[str, str, str]]:
    few = {1: "one", 2: "two", 3: "three"}[least]
    if len(entries) < least:
        yield field, f"has fewer than {few} entries", "add some or take it out"
    elif len(entries) > MOST_PLACES:
        yield field, f"has more than {MOST_PLACES} entries", "thin it out"


def _line(part: str, line: tuple[str, ...]) -> Iterator[tuple[str, str, str]]:
    if line and (len(line) != 2 or line[0] == line[1]
                 or any(part_of(ref) != part for ref in line)):
        yield "line", "needs a line of two points of its part", "name two, or none"
