"""Friction at pins, slides and slots: the torque as a band over the coefficient's range.

Coulomb friction. A pin of radius r under the force F resists with the moment μ·r·F against
the turning of a part on the rod. The rod is fast in the frame where the pin goes through
it, else in the part the others hang on (the one nearest the crank in the solving order);
with two parts on a pin it makes no difference. A slide resists with μ·(N₁ + N₂), the forces
at the two ends of the shorter of its two parts as measured along the guide, which together
carry the normal force and the moment. A pin in a slot rubs with μ·N on the flank that
bears, at the radius of the pin, the pin being fast in its part. Friction between gear
teeth and in belts is left out.

Method: Newton's method on the reactions, at both ends of the range at once. About a known
force F₀ the size |F| is the linear function F₀·F/|F₀|, so each pin's friction joins the
balance of its own group and a step costs as much as a solution without friction. Steps that
do not settle are tried again with the coefficient raised bit by bit; where that fails too,
no push overcomes the friction: the mechanism jams and the torque is NaN.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from core.effort.contacts import Contacts, Lean
from core.effort.frames import Complexes, Floats, Frames
from core.effort.layout import Layout
from core.effort.loads import STILL
from core.effort.reactions import Machine, Reactions
from core.model import Sketch, part_of
from core.space.outlines import outline_of

#: Newton steps on all steps of the turn before the unsettled ones are tried alone.
_TOGETHER = 5
#: Shares of the coefficient, and Newton steps at each, for those.
_RAISED = (0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0)
_EACH = 8


@dataclass(frozen=True)
class Rubbing:
    """Friction of a layout at given steps, cranking one way.

    `turning` (E, 2, N) −μ·r·sgn of the end's turning on its rod; `sliding` (S, 2, N)
    −μ·sgn; `guides` (S,) length that carries a slide's moment, mm; `slots` (T, 2, 1) −μ;
    `radii` (T,) mm; `slot_spin`, `slot_drift` (T, N) turning of a pin against its slot
    and drift along it by the crank angle, in the sense of cranking; `size` a length of
    the mechanism, mm.
    """

    turning: Floats
    sliding: Floats
    guides: Floats
    slots: Floats
    radii: Floats
    slot_spin: Floats
    slot_drift: Floats
    size: float

    def about(self, found: Reactions) -> Lean:
        """Friction made linear about given reactions."""
        return _About(self, found)

    def scaled(self, share: float | Floats) -> Rubbing:
        """The same with a share of the coefficients, of all or (N,) of each step."""
        return replace(self, turning=share * self.turning, sliding=share * self.sliding,
                       slots=share * self.slots)


class _About:
    """Friction made linear about given reactions (a :class:`core.effort.contacts.Lean`)."""

    def __init__(self, rub: Rubbing, found: Reactions) -> None:
        self._rub, self._found = rub, found
        self._pins: dict[int, Complexes] = {}

    @property
    def sets(self) -> int:
        return int(self._rub.turning.shape[1])

    def pin(self, item: int) -> Complexes:
        if item not in self._pins:
            force = self._found.pins[item]
            size = np.maximum(np.abs(force), 1e-300)
            self._pins[item] = force * (self._rub.turning[item] / size)
        return self._pins[item]

    def slide(self, item: int) -> tuple[Floats, Floats]:
        normal, moment = self._found.slides[item]
        by_moment = 2.0 / self._rub.guides[item]
        tilted = by_moment * np.abs(moment) > np.abs(normal)
        drag = self._rub.sliding[item]
        return (np.where(tilted, 0.0, drag * np.sign(normal)),
                np.where(tilted, drag * by_moment * np.sign(moment), 0.0))

    def slot(self, item: int) -> tuple[Floats, Floats]:
        sign = np.sign(self._found.slots[item])
        side = self._rub.radii[item] * sign
        slip = self._rub.slot_drift[item] + self._rub.slot_spin[item] * side
        drag = self._rub.slots[item] * sign * _sign(slip / self._rub.size)
        return drag, side * drag

    def wheels(self, item: int) -> Floats:
        sign: Floats = np.sign(self._found.wheels[item])
        return sign


def rubbing(
    sketch: Sketch, plan: Layout, frames: Frames, contacts: Contacts, sense: float
) -> Rubbing:
    """Coefficients and senses of sliding of all joints of a layout; `sense` is the sense
    of cranking, +1 counter-clockwise."""

    def coefficients(own: tuple[float, float] | None) -> tuple[float, float]:
        return sketch.friction if own is None else own

    ends, steps = plan.ends, frames.steps
    rows = [end.body for end in ends]
    rods = [ends[plan.bases[end.pin]].body for end in ends]
    moments = np.array([[0.5 * plan.pins[end.pin].diameter_mm * c
                         for c in coefficients(plan.pins[end.pin].friction)]
                        for end in ends])
    signs = -sense * _sign(frames.spin[rows] - frames.spin[rods])
    slide_mu = np.array([coefficients(s.friction) for s in plan.slides]).reshape(-1, 2, 1)
    drifts = np.array([track.drift for track in contacts.slides])
    drifts = drifts.reshape(len(plan.slides), 1, steps)
    slot_mu = np.array([coefficients(s.friction) for s in plan.slots]).reshape(-1, 2, 1)
    pin_rows = [plan.body_of[part_of(s.point)] for s in plan.slots]
    slot_rows = [plan.body_of[part_of(s.slot[0])] for s in plan.slots]
    slot_drifts = np.array([track.drift for track in contacts.slots])
    slot_drifts = slot_drifts.reshape(len(plan.slots), steps)
    return Rubbing(
        signs[:, None] * moments[:, :, None], -sense * slide_mu * _sign(drifts / contacts.size),
        np.array([_guide(sketch, s.point, s.along) for s in plan.slides]),
        -slot_mu, np.array([0.5 * s.diameter_mm for s in plan.slots]),
        sense * (frames.spin[pin_rows] - frames.spin[slot_rows]), sense * slot_drifts,
        contacts.size,
    )


def _sign(rate: Floats) -> Floats:
    """Sign of a rate by the crank angle, zero for one that vanishes but for rounding."""
    sign: Floats = np.sign(rate)
    sign[np.abs(rate) < STILL] = 0.0
    return sign


def _guide(sketch: Sketch, point: str, along: tuple[str, str]) -> float:
    """Length over which a slide can carry a moment: the shorter of its two parts as
    measured along the guide, mm."""
    a, b = sketch.point(along[0]), sketch.point(along[1])
    direction = complex(b.x - a.x, b.y - a.y)
    direction /= abs(direction)
    lengths = []
    for name in (part_of(point), part_of(along[0])):
        xy = shapely.get_coordinates(outline_of(sketch.part(name)).exterior)
        lengths.append(float(np.ptp(xy @ np.array([direction.real, direction.imag]))))
    return min(lengths)


def settle(
    machine: Machine, rub: Rubbing, plain: Reactions, force: Complexes, moment: Floats,
    tolerance: float, rest: Callable[[NDArray[np.intp]], tuple[Machine, Rubbing]],
) -> Reactions:
    """Reactions with friction at both ends of the range (two sets); NaN where it jams.

    `force` and `moment` (B, 1, N) are the loads without friction and `plain` the
    reactions to them; `tolerance` is relative, on the torque. `rest` gives machine and
    friction at fewer steps.
    """
    share = np.sqrt(tolerance)
    rounding = 1e-12 * rub.size * np.abs(force).max(axis=0)
    enough = share * np.abs(plain.drive) + rounding
    found, restless = newton(machine, rub, plain, force, moment, (share, enough), _TOGETHER)
    unsettled = np.flatnonzero(restless.any(axis=0))
    if not unsettled.size:
        return found
    fewer, some_rub = rest(unsettled)
    loads = force[..., unsettled], moment[..., unsettled]
    some, enough = plain.each(lambda a: a[..., unsettled]), enough[..., unsettled]
    for raised in _RAISED:
        some, restless = newton(fewer, some_rub.scaled(raised), some, *loads,
                                 (share, enough), _EACH)
        # Jammed with less friction already: no more of it is tried there.
        some = _struck(some, restless)
    found.write(unsettled, some)
    return found


def _struck(found: Reactions, where: NDArray[np.bool_]) -> Reactions:
    """The same with NaN where (2, N) nothing was found."""
    return found.each(lambda array: np.where(where, np.nan, array))


def _flipped(old: Reactions, new: Reactions, share: float) -> NDArray[np.bool_]:
    """Where (2, N) a slide, slot or wheel pair changed the side it bears on, by more than
    a share of the largest force. There a small change says nothing about the next."""
    flipped = np.zeros(new.drive.shape, dtype=bool)
    sides = [(was[k], now[k], 1.0 - k) for was, now in zip(old.slides, new.slides,
                                                           strict=True) for k in (0, 1)]
    sides += [(was, now, 1.0) for was, now in zip(old.slots + old.wheels,
                                                  new.slots + new.wheels, strict=True)]
    if sides:
        size = np.max([np.abs(force) for force in new.pins.values()], axis=0)
        for was, now, is_force in sides:
            least = share * size if is_force else share * np.abs(new.drive)
            flipped |= (np.sign(was) != np.sign(now)) & (np.abs(now - was) > least)
    return flipped


def newton(
    machine: Machine, rub: Rubbing, start: Reactions, force: Complexes, moment: Floats,
    enough: tuple[float, Floats], most: int,
) -> tuple[Reactions, NDArray[np.bool_]]:
    """Newton's method on reactions with friction; the last iterate and where (K, N) it had
    not settled.

    `enough` says which change of the torque is small: a share of the torque plus so much
    (1, N) N·mm. The error left is about the square of the change.
    """
    old, (share, least) = start, enough
    for _ in range(most):
        new = machine.solve(force, moment, rub.about(old))
        moved = np.abs(new.drive - old.drive)
        restless = moved > share * np.abs(new.drive) + least
        restless |= _flipped(old, new, share**2)
        old = new
        if not restless.any():
            break
    return old, restless
