"""A family recognised in a sketch: which of its parts stand for which bodies, and its numbers.

The recipe is followed step by step through the pins of the sketch; where several parts could
stand for a body, all are tried. Parts beyond those of the family do not matter, as long as
the tracer's body is moved by them alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import radians

import numpy as np

from core.model import Sketch, Slide, part_of
from core.wanted.engine import (
    BodyPoint,
    Crank,
    Dyad,
    FramePoint,
    Mechanisms,
    SlideDyad,
    SlottedLever,
    named,
)
from core.wanted.engine.recipe import Step
from core.wanted.families.family import Family

#: Points of a sketch that are one: those of a pin, or a single one.
Node = tuple[str, ...]


@dataclass(frozen=True)
class Recognised:
    """A family found in a sketch.

    Attributes
    ----------
    mechanism : its numbers in the drawn pose (M = 1).
    points : the sketch's points that stand for each of the recipe's, "part.point".
    bodies : the part that stands for each body.
    offset_rad : the crank's angle in the recipe less its reading in the sketch.
    """

    mechanism: Mechanisms
    points: dict[str, Node]
    bodies: dict[str, str]
    offset_rad: float


def read(family: Family, sketch: Sketch, tracer: str) -> Recognised | None:
    """The family in a sketch, its tracer at the point `tracer`; None where the sketch is
    not of it. Gears and levers with slots are not recognised."""
    if sketch.drive is None or any(isinstance(step, SlottedLever) or (
            isinstance(step, Crank) and step.phased) for step in family.recipe.steps):
        return None
    search = _Search(family, sketch, tracer)
    return next(search.matches(), None)


class _Search:
    """Bindings of recipe points to nodes and of bodies to parts."""

    def __init__(self, family: Family, sketch: Sketch, tracer: str) -> None:
        self.family, self.sketch, self.tracer = family, sketch, tracer
        self.at = sketch.places()
        self.fixed = {part.id for part in sketch.parts if part.fixed}
        self.fast = {part for lock in sketch.locks for part in lock.parts}
        self.nodes: dict[str, list[Node]] = {part.id: [] for part in sketch.parts}
        for pin in sketch.pins:
            for ref in pin.at:
                self.nodes[part_of(ref)].append(pin.at)
        self.points: dict[str, Node] = {}
        self.bodies: dict[str, str] = {}
        self.guides: dict[str, Slide] = {}

    def matches(self, step: int = 0) -> Iterator[Recognised]:
        """All ways to bind the steps from one on."""
        steps = self.family.recipe.steps
        if step == len(steps):
            if self.bodies[self.family.carrier] == part_of(self.tracer):
                yield self._recognised()
            return
        for points, bodies in self._ways(steps[step]):
            taken = set(self.points.values()), set(self.bodies.values())
            if (taken[0].intersection(points.values()) or taken[1].intersection(bodies.values())
                    or self.fast.intersection(bodies.values())):
                continue
            self.points |= points
            self.bodies |= bodies
            yield from self.matches(step + 1)
            for point in points:
                del self.points[point]
            for body in bodies:
                del self.bodies[body]

    def _ways(self, step: Step) -> Iterator[tuple[dict[str, Node], dict[str, str]]]:
        """What one step may be: new points and new bodies."""
        drive, shaft = self.sketch.drive, self.family.recipe.points[0]
        assert drive is not None
        match step:
            case Crank(body, _, pin):
                hub = next((each.at for each in self.sketch.pins if each.id == drive.pin), ())
                for node in self.nodes[drive.part]:
                    if node != hub:
                        yield {shaft: hub, pin: node}, {body: drive.part}
            case Dyad(pin, first, second):
                for start, points in self._ends(first.at):
                    for part, node, end in self._links(start, points):
                        for stop, more in self._ends(second.at):
                            if end in {part_of(ref) for ref in stop} and stop != start:
                                yield ({**points, **more, pin: node},
                                       {first.body: part, second.body: end})
            case SlideDyad(pin, link, sled):
                for start, points in self._ends(link.at):
                    for part, node, end in self._links(start, points):
                        guide = self._guide(end)
                        if guide is not None:
                            self.guides[sled] = guide
                            yield {**points, pin: node}, {link.body: part, sled: end}
            case _:
                yield {}, {}                    # bound where a link needs it

    def _ends(self, point: str) -> Iterator[tuple[Node, dict[str, Node]]]:
        """Where a link may hang: nodes, and the points they bind."""
        if point in self.points:
            yield self.points[point], {}
            return
        body = next(body for body, points in self.family.recipe.members.items()
                    if point in points)
        carriers = self.fixed if not body else {self.bodies[body]}
        for node in dict.fromkeys(each for part in sorted(carriers)
                                  for each in self.nodes[part]):
            yield node, {point: node}

    def _links(self, start: Node, points: dict[str, Node]) -> Iterator[tuple[str, Node, str]]:
        """A moving part at a node, another of its nodes, and a moving part there."""
        for part in map(part_of, start):
            for node in self.nodes[part]:
                if part in self.fixed or node == start or node in points.values():
                    continue
                for end in map(part_of, node):
                    if end != part and end not in self.fixed:
                        yield part, node, end

    def _guide(self, sled: str) -> Slide | None:
        """The slide of a sled along a line of the frame."""
        return next((slide for slide in self.sketch.slides if part_of(slide.point) == sled
                     and part_of(slide.along[0]) in self.fixed), None)

    def _recognised(self) -> Recognised:
        """The numbers of the binding, in the drawn pose."""
        recipe, drive = self.family.recipe, self.sketch.drive
        assert drive is not None
        points = dict(self.points) | {self.family.tracer: (self.tracer,)}
        at = {point: self.at[node[0]] for point, node in points.items()}
        numbers: dict[str, float] = {}
        signs = []
        for step in recipe.steps:
            match step:
                case FramePoint(point):
                    numbers |= {f"{point}.x": at[point].real, f"{point}.y": at[point].imag}
                case Crank(body, about, pin):
                    numbers[body] = abs(at[pin] - at[about])
                    offset = np.angle(at[pin] - at[about]) - radians(drive.drawn_deg)
                case Dyad(pin, first, second):
                    arms = [at[pin] - at[link.at] for link in (first, second)]
                    numbers |= {first.body: abs(arms[0]), second.body: abs(arms[1])}
                    signs.append(1 if (arms[0].conjugate() * arms[1]).imag >= 0 else -1)
                case SlideDyad(pin, link, sled, about):
                    start, end = (self.at[ref] for ref in self.guides[sled].along)
                    along = (end - start) / abs(end - start)
                    arm = at[pin] - at[link.at]
                    drop = ((at[pin] - at[about]) * along.conjugate()).imag
                    numbers |= {link.body: abs(arm), f"{sled}.offset": drop,
                                f"{sled}.direction": float(np.angle(along))}
                    signs.append(1 if (arm * along.conjugate()).real >= 0 else -1)
                case BodyPoint(point, body):
                    origin, tip = (at[name] for name in recipe.members[body][:2])
                    local = (at[point] - origin) / ((tip - origin) / abs(tip - origin))
                    numbers |= {f"{point}.u": local.real, f"{point}.v": local.imag}
                case _:
                    pass
        return Recognised(named(recipe, numbers, [signs]), points, dict(self.bodies),
                       float(offset))
