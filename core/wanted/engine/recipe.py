"""A recipe: how a mechanism is put together from known things, as data.

A recipe is a tuple of steps in an order in which each can be solved from the ones before:
pivots on the frame, cranks, links in pairs (dyads), sliding and slotted members, points
on bodies. It has no lengths; those are the parameters, one row for every mechanism, so
that hundreds of mechanisms run through the same steps at once.

A body has an axis: from the pivot to the pin of a crank, from where it hangs to the pin
it ends in for a link of a dyad. Its angle is that of the axis, counter-clockwise from x.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import Literal

#: What a parameter is, so that a mechanism can be moved, turned, scaled and mirrored:
#: "x" and "y" a place on the frame (mm), "u" and "v" along and left of a body's axis or of
#: a guide (mm), "length" (mm), "direction" (rad), "phase" of a geared crank (rad).
Kind = Literal["x", "y", "u", "v", "length", "direction", "phase"]


@dataclass(frozen=True)
class Parameter:
    """One number of a mechanism; of a phase, `ratio` is that of its crank."""

    name: str
    kind: Kind
    ratio: Fraction = Fraction(1)


@dataclass(frozen=True)
class FramePoint:
    """A fixed pivot; parameters ``NAME.x``, ``NAME.y``."""

    point: str

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """The place."""
        return Parameter(f"{self.point}.x", "x"), Parameter(f"{self.point}.y", "y")


@dataclass(frozen=True)
class Crank:
    """A body turning about `about` by `ratio` times the crank angle, its `pin` at the end
    of its axis; parameter its length (the body's name). With `phased` the axis points
    that way (``NAME.phase``) when the crank angle is zero, else along x."""

    body: str
    about: str
    pin: str
    ratio: Fraction = Fraction(1)
    phased: bool = False

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """The length, and the phase of a phased crank."""
        length = Parameter(self.body, "length")
        phase = Parameter(f"{self.body}.phase", "phase", self.ratio)
        return (length, phase) if self.phased else (length,)


@dataclass(frozen=True)
class Link:
    """A link of a dyad: the body and the known point it hangs on."""

    body: str
    at: str


@dataclass(frozen=True)
class Dyad:
    """Two links pinned together at `pin`; parameters their lengths (the bodies' names).

    Its sign says on which side the pin lies: +1 left of the way from where `first`
    hangs to where `second` hangs.
    """

    pin: str
    first: Link
    second: Link

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """The two lengths."""
        return Parameter(self.first.body, "length"), Parameter(self.second.body, "length")


@dataclass(frozen=True)
class SlideDyad:
    """A link from a known point to a `pin` on a `sled` that slides along a straight guide
    of the frame.

    Parameters: the link's length, the guide's ``SLED.direction`` and how far left of
    `about` it passes, ``SLED.offset``. Sign +1: the pin is ahead of where the link hangs,
    seen along the guide.
    """

    pin: str
    link: Link
    sled: str
    about: str

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """The length, the guide's direction and offset."""
        return (Parameter(self.link.body, "length"),
                Parameter(f"{self.sled}.direction", "direction"),
                Parameter(f"{self.sled}.offset", "v"))


@dataclass(frozen=True)
class SlottedLever:
    """A body turning about `about`, with a slot along its axis in which `pin`, a known
    point, runs. It has no parameter."""

    body: str
    about: str
    pin: str

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """None."""
        return ()


@dataclass(frozen=True)
class BodyPoint:
    """A point fixed to a body; parameters ``NAME.u`` along and ``NAME.v`` left of its
    axis, from where the axis starts."""

    point: str
    body: str

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """The place on the body."""
        return Parameter(f"{self.point}.u", "u"), Parameter(f"{self.point}.v", "v")


Step = FramePoint | Crank | Dyad | SlideDyad | SlottedLever | BodyPoint


@dataclass(frozen=True)
class Recipe:
    """Steps in solvable order, names of points and bodies unique."""

    steps: tuple[Step, ...]

    @cached_property
    def parameters(self) -> tuple[Parameter, ...]:
        """All parameters in the order of the steps."""
        return tuple(own for step in self.steps for own in step.parameters)

    @cached_property
    def row(self) -> dict[str, int]:
        """Index of a parameter by its name."""
        return {own.name: row for row, own in enumerate(self.parameters)}

    @cached_property
    def dyads(self) -> tuple[Dyad | SlideDyad, ...]:
        """The steps that have two solutions, and so a sign, in order."""
        return tuple(step for step in self.steps if isinstance(step, Dyad | SlideDyad))

    @cached_property
    def turns(self) -> int:
        """Whole turns of the crank after which all cranks are back."""
        return lcm(*(step.ratio.denominator for step in self.steps if isinstance(step, Crank)))

    @cached_property
    def origin(self) -> dict[str, str]:
        """The point every body's axis starts at, by body."""
        starts: dict[str, str] = {}
        for step in self.steps:
            if isinstance(step, Crank | SlottedLever):
                starts[step.body] = step.about
            elif isinstance(step, Dyad):
                starts |= {link.body: link.at for link in (step.first, step.second)}
            elif isinstance(step, SlideDyad):
                starts[step.link.body] = step.link.at
        return starts

    @cached_property
    def members(self) -> dict[str, tuple[str, ...]]:
        """The points of every body in the order they come about; those of the frame
        under ""."""
        on: dict[str, list[str]] = {"": []}
        for step in self.steps:
            match step:
                case FramePoint(point):
                    on[""].append(point)
                case Crank(body, about, pin):
                    on[body] = [about, pin]
                case Dyad(pin, first, second):
                    on[first.body], on[second.body] = [first.at, pin], [second.at, pin]
                case SlideDyad(pin, link, sled):
                    on[link.body], on[sled] = [link.at, pin], [pin]
                case SlottedLever(body, about):
                    on[body] = [about]
                case BodyPoint(point, body):
                    on[body].append(point)
        return {body: tuple(points) for body, points in on.items()}

    @cached_property
    def points(self) -> tuple[str, ...]:
        """The names of all points, in the order of the steps."""
        return tuple(step.point if isinstance(step, FramePoint | BodyPoint) else step.pin
                     for step in self.steps if not isinstance(step, SlottedLever))
