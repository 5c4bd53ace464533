"""Where joints act on their bodies, step by step: places, directions, lever arms."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Protocol

import numpy as np

from core.effort.frames import Complexes, Drawn, Floats, Frames, Weights, cross
from core.effort.layout import Layout, Unknown
from core.model import Belt, Mesh, Sketch, part_of


@dataclass(frozen=True)
class Track:
    """A straight guide: `at` the place of the slide or pin on it, `along` its unit
    direction, `normal` a quarter turn left of it; (N,) complex. `drift` (N,) is the
    derivative by the crank angle of the place along the guide, mm/rad."""

    at: Complexes
    along: Complexes
    normal: Complexes
    drift: Floats


@dataclass(frozen=True)
class Wheels:
    """A gear pair or belt between wheel a and wheel b.

    The load t (N) turns a with the moment arm_a·t and b with arm_b·t, and pushes their
    centres apart sideways with ±sideways·t along `normal` and ±squeeze·|t| along `line`
    (a's share positive; `line` is the unit vector from a to b).

    Gears: sideways·t is the tangential load at the pitch circles (t itself for external
    ones); `squeeze` is its share times the tangent of the pressure angle, minus for
    external gears (teeth push them apart), plus for internal ones. The flank that bears
    follows the sign of t, hence |t|. Belts: |t| is the tension of the tight side, the
    slack side being taken as free of tension.
    """

    centre_a: Complexes
    centre_b: Complexes
    line: Complexes
    normal: Complexes
    arm_a: Floats
    arm_b: Floats
    sideways: Floats
    squeeze: Floats


@dataclass(frozen=True)
class Column:
    """What one unit of a scalar unknown does to the bodies it acts on: forces (N,)
    complex and moments (N,) about the bodies' anchors."""

    plus_force: Complexes
    plus_moment: Floats
    minus_force: Complexes
    minus_moment: Floats


class Lean(Protocol):
    """Friction made linear about an earlier solution, for K coefficients at N steps."""

    @property
    def sets(self) -> int:
        """K."""

    def pin(self, item: int) -> Complexes:
        """(K, N) complex mm: a pin end resists with the moment pin·force, a dot product,
        on its body, the opposite on the base end's."""

    def slide(self, item: int) -> tuple[Floats, Floats]:
        """(K, N) drag along the slide per unit of its normal force, and per N·mm of its
        moment."""

    def slot(self, item: int) -> tuple[Floats, Floats]:
        """(K, N) drag along the slot, and couple on the pin, per unit of normal force."""

    def wheels(self, item: int) -> Floats:
        """(K, N) sign of the load."""


class Contacts:
    """All joints of a layout over the steps of a turn.

    `ends[k]` is the place of pin end k. `anchor[b]` is the place about which the moments
    of body b are taken: its pin to an earlier group, else its centre of mass.
    """

    def __init__(self, sketch: Sketch, plan: Layout, frames: Frames, weights: Weights):
        drawn = Drawn(sketch)
        self._plan = plan
        at_pins = [frames.at(plan.ends[base].body, drawn(plan.ends[base].ref))
                   for base in plan.bases]
        self.ends = [at_pins[end.pin] for end in plan.ends]
        self.slides = [_track(s.point, s.along, plan, frames, drawn) for s in plan.slides]
        self.slots = [_track(s.point, s.slot, plan, frames, drawn) for s in plan.slots]
        self.wheels = [
            _wheels(wheel, frames.at(plan.body_of[part_of(wheel.a)], drawn(wheel.a)),
                    frames.at(plan.body_of[part_of(wheel.b)], drawn(wheel.b)))
            for wheel in plan.wheels
        ]
        self.steps = frames.steps
        self._ones = np.ones(frames.steps)
        self._complex_ones = np.ones(frames.steps, dtype=np.complex128)
        hung = {u.plus: u.item for group in plan.groups for u in reversed(group.unknowns)
                if u.kind == "pin" and u.minus not in group.bodies}
        self.anchor = [self.ends[hung[b]] if b in hung
                       else frames.at(b, complex(weights.centre[b]))
                       for b in range(len(plan.bodies))]

    @cached_property
    def size(self) -> float:
        """How far pins are apart at the first step, mm: makes moments comparable with
        forces."""
        if not self.steps:
            return 1.0
        return max(abs(complex(end[0] - self.ends[0][0])) for end in self.ends) or 1.0

    def columns(self, u: Unknown) -> tuple[Column, ...]:
        """The scalar unknowns of a reaction as unit actions."""
        if u.kind == "pin":
            at = self.ends[u.item]
            return self._force(u, at, 1.0 + 0j), self._force(u, at, 1j)
        if u.kind == "slide":
            track = self.slides[u.item]
            return self._force(u, track.at, track.normal), self._couple()
        if u.kind == "slot":
            track = self.slots[u.item]
            return (self._force(u, track.at, track.normal),)
        if u.kind == "drive":
            return (self._couple(),)
        pair = self.wheels[u.item]
        push = pair.normal * pair.sideways
        return (Column(
            push, pair.arm_a + cross(pair.centre_a - self.anchor[u.plus], push),
            -push, pair.arm_b - cross(pair.centre_b - self.anchor[u.minus], push),
        ),)

    def squeeze(self, u: Unknown) -> Column:
        """What a wheel pair does besides, per unit of |t|: forces through the centres."""
        pair = self.wheels[u.item]
        push = pair.line * pair.squeeze
        return Column(push, cross(pair.centre_a - self.anchor[u.plus], push),
                      -push, -cross(pair.centre_b - self.anchor[u.minus], push))

    def extra(self, u: Unknown, lean: Lean) -> tuple[Column | None, ...]:
        """What each scalar unknown does besides, by friction and by the squeeze of wheels;
        None for nothing. Shapes (K, N)."""
        if u.kind == "pin":
            grip = lean.pin(u.item)
            none = np.zeros_like(grip)
            return tuple(Column(none, part, none, -part) for part in (grip.real, grip.imag))
        if u.kind == "slide":
            track = self.slides[u.item]
            by_force, by_moment = lean.slide(u.item)
            return (self._force(u, track.at, by_force * track.along),
                    self._force(u, track.at, by_moment * track.along))
        if u.kind == "slot":
            track = self.slots[u.item]
            drag, couple = lean.slot(u.item)
            column = self._force(u, track.at, drag * track.along)
            return (replace(column, plus_moment=column.plus_moment + couple,
                            minus_moment=column.minus_moment - couple),)
        if u.kind == "drive":
            return (None,)
        column, sign = self.squeeze(u), lean.wheels(u.item)
        return (Column(sign * column.plus_force, sign * column.plus_moment,
                       sign * column.minus_force, sign * column.minus_moment),)

    def _force(self, u: Unknown, at: Complexes, unit: Complexes | complex) -> Column:
        force = self._complex_ones * unit
        return Column(force, cross(at - self.anchor[u.plus], force),
                      -force, -cross(at - self.anchor[u.minus], force))

    def _couple(self) -> Column:
        zero = np.zeros_like(self._ones, dtype=np.complex128)
        return Column(zero, self._ones, zero, -self._ones)


def _track(
    point: str, line: tuple[str, str], plan: Layout, frames: Frames, drawn: Drawn
) -> Track:
    """A slide or slot: the guide belongs to the body of `line`."""
    rider, guide = plan.body_of[part_of(point)], plan.body_of[part_of(line[0])]
    direction = drawn(line[1]) - drawn(line[0])
    along = frames.rotation[guide] * (direction / abs(direction))
    at = frames.at(rider, drawn(point))
    on_guide = 1j * frames.spin[guide] * (at - frames.shift[guide]) + frames.shift1[guide]
    slip = frames.rate(rider, drawn(point)) - on_guide
    return Track(at, along, 1j * along, (along.conj() * slip).real)


def _wheels(wheel: Mesh | Belt, centre_a: Complexes, centre_b: Complexes) -> Wheels:
    apart = centre_b - centre_a
    distance = np.abs(apart)
    with np.errstate(divide="ignore", invalid="ignore"):  # centres that meet: NaN from there
        line = apart / distance
    if isinstance(wheel, Mesh):
        sign = -1 if wheel.internal else 1
        teeth = wheel.teeth_a + wheel.teeth_b
        arm_a = distance * (wheel.teeth_a / teeth)
        arm_b = distance * (sign * wheel.teeth_b / teeth)
        share = (wheel.teeth_a + sign * wheel.teeth_b) / teeth
        lean = -sign * abs(share) * np.tan(np.radians(wheel.pressure_angle_deg))
        return Wheels(centre_a, centre_b, line, 1j * line, arm_a, arm_b,
                      np.full_like(distance, share), np.full_like(distance, lean))
    sign = 1 if wheel.crossed else -1
    arm_a = np.full_like(distance, wheel.diameter_a_mm / 2)
    arm_b = np.full_like(distance, sign * wheel.diameter_b_mm / 2)
    sideways = (arm_a + arm_b) / distance
    return Wheels(centre_a, centre_b, line, 1j * line, arm_a, arm_b, sideways,
                  np.sqrt(np.maximum(0.0, 1.0 - sideways**2)))
