"""Findings about gaps: parts that run into each other, or come nearer than wanted."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from functools import partial

from msgspec.structs import replace

from core.findings.finding import Finding, Grade, Mend
from core.model import Point, Sketch, join_ref, split_ref
from core.model.edits import add_point, change, fresh_point, put
from core.motion.turn import Turn
from core.space.gaps import TOUCH_MM, Gap, Gaps
from core.space.layers import Place, free_places
from core.space.neighbours import Body, neighbours
from core.space.outlines import named_outline
from core.units import show_length
from core.wording import listed

#: Parts that free layers are sought for; past these the worst faults come first anyway.
MOST_MENDED = 12


def gap_findings(turn: Turn, gaps: Gaps, mends: bool = True) -> Iterator[Finding]:
    """A finding for every pair that overlaps or comes nearer than the sketch's wanted gap.

    With `mends`, layers are sought in which nothing touches over this turn, and offered.
    """
    sketch = turn.sketch
    bodies = {body.name: body for body in neighbours(sketch).bodies}
    seeker = _Seeker(turn, mends)
    told = set()
    for gap in gaps.pairs:
        if gap.smallest_mm >= sketch.gap_mm - TOUCH_MM:
            break
        # Pins of one shaft run into the same part together: once is enough.
        pair = bodies[gap.a].shaft, bodies[gap.b].shaft
        if pair not in told:
            told.add(pair)
            yield _finding(sketch, gap, bodies[gap.a], bodies[gap.b], seeker)


class _Seeker:
    """Finds free places, once for each part, for the first few parts asked about."""

    def __init__(self, turn: Turn, active: bool) -> None:
        self._turn, self._left = turn, MOST_MENDED if active else 0
        self._known: dict[str, Place | None] = {}

    def place(self, part_id: str) -> Place | None:
        """The nearest place free of everything over the turn, if there is one."""
        if part_id not in self._known:
            if self._left == 0:
                return None
            self._left -= 1
            sketch = self._turn.sketch
            # A hair more than wanted, so that nothing is found between steps either.
            found = free_places(self._turn, part_id, sketch.gap_mm + 1e-3)
            own = sketch.layer_of(part_id)
            self._known[part_id] = next(  # its own may seem free: gaps go on between steps
                (one for one in found if one.new or one.layer != own), None)
        return self._known[part_id]

    def mends(self, part_ids: list[str]) -> tuple[Mend, ...]:
        """Moves that free one of the parts, the first two found, the smaller change first."""
        sketch = self._turn.sketch
        found = (place for part in part_ids if (place := self.place(part)) is not None)
        places = list(itertools.islice(found, 2))
        places.sort(key=lambda one: (
            one.new, sketch.part(one.part_id).fixed,
            abs(one.layer - sketch.layer_of(one.part_id)), one.part_id))
        return tuple(Mend(_label(place), place.apply) for place in places)


def _label(place: Place) -> str:
    kind = "a new layer" if place.new else "layer"
    return f"Move {place.part_id} to {kind} {place.layer}"


def _finding(sketch: Sketch, gap: Gap, a: Body, b: Body, seeker: _Seeker) -> Finding:
    rods = [body for body in (a, b) if body.is_rod]
    if len(rods) == 1 and a.held & b.held and gap.smallest_mm < -TOUCH_MM:
        return _undrilled(sketch, gap, rods[0], b if rods[0] is a else a)
    flat = sorted(body.name for body in (a, b) if not body.is_rod)
    edits = seeker.mends([*flat, *sorted((a.parts | b.parts).difference(flat))])
    degrees = math.degrees(gap.crank_rad)
    layer = f"layer {gap.layer}"
    both = f"{_said(a)} and {_said(b)}"
    by = show_length(abs(gap.smallest_mm), sketch.units)
    grade: Grade = "fault"
    if gap.smallest_mm >= -TOUCH_MM:
        code, grade = "narrow-gap", "warning"
        text = (f"{both} come within {by} of each other in {layer} at"
                f" {degrees:.1f}°; {show_length(sketch.gap_mm, sketch.units)} is wanted.")
    elif rods:
        code = "pin-in-the-way"
        text = f"{both} collide in {layer}: {by} deep at {degrees:.1f}°."
    elif a.held & b.held:
        code = "overlap"
        text = f"{both} are one body, both in {layer}, and overlap by {by}."
    else:
        code = "overlap"
        shared = _shared_pins(sketch, gap.a, gap.b)
        though = f", though both are on {listed(shared)}," if shared else ""
        text = (f"{both} lie in {layer}{though} and collide: {by} deep at"
                f" {degrees:.1f}°.")
    parts = tuple(sorted(a.parts | b.parts))
    at = None if a.held & b.held else degrees  # one body overlaps at every angle
    return Finding(code, grade, text, parts, at, gap.smallest_mm, sketch.gap_mm, "mm",
                   _advice(gap, edits), edits, _joints(rods), "the gap wanted in this sketch")


def _advice(gap: Gap, edits: tuple[Mend, ...]) -> str:
    if edits:
        return f"{edits[0].label}: nothing touches there over the whole turn."
    if gap.a.startswith("pin ") or gap.b.startswith("pin "):
        return ("Bring the parts on the pin into layers next to each other, or reshape the"
                " part it meets.")
    return "Move one of them to another layer, make it slimmer, or bend it out of the way."


def _said(body: Body) -> str:
    """The name of a body in a sentence."""
    return _pin_said(body.name.removeprefix("pin ")) if body.is_rod else body.name


def _pin_said(pin_id: str) -> str:
    return pin_id if pin_id.lower().startswith("pin") else f"pin {pin_id}"


def _joints(rods: list[Body]) -> tuple[str, ...]:
    return tuple(sorted(rod.name.removeprefix("pin ") for rod in rods))


def _shared_pins(sketch: Sketch, a: str, b: str) -> list[str]:
    """Names of the pins two parts are both on."""
    return sorted(_pin_said(pin.id) for pin in sketch.pins
                  if {a, b} <= {split_ref(ref)[0] for ref in pin.at})


def _undrilled(sketch: Sketch, gap: Gap, rod: Body, part: Body) -> Finding:
    """A pin that passes through a part that keeps still to it but has no hole for it."""
    pin_id = rod.name.removeprefix("pin ")
    edits: tuple[Mend, ...] = ()
    if any(pin.id == pin_id for pin in sketch.pins):
        edits = (Mend(f"Put {part.name} on {_said(rod)}", partial(_drill, pin_id, part.name)),)
    return Finding(
        "no-hole", "warning",
        f"{_said(rod)} passes through {part.name} in layer {gap.layer}, which has no hole"
        " for it.",
        tuple(sorted(rod.parts | part.parts)), None, gap.smallest_mm, 0.0, "mm",
        f"Put {part.name} on the pin, so that it is drilled." if edits else
        f"Drill {part.name} there, or move it to another layer.", edits, (pin_id,),
        "a rod needs a hole, geometry")


def _drill(pin_id: str, part_id: str, sketch: Sketch) -> Sketch:
    """The sketch with a point on the part where the pin is, and the part on the pin."""
    pin = next(pin for pin in sketch.pins if pin.id == pin_id)
    at = sketch.point(pin.at[0])
    part = sketch.part(part_id)
    name = fresh_point(part)
    # One more point must not change the shape of the part.
    drilled = put(sketch, replace(part, outline=named_outline(part)))
    drilled = add_point(drilled, part_id, Point(id=name, x=at.x, y=at.y))
    return change(drilled, "pins", pin_id, at=(*pin.at, join_ref(part_id, name)))
