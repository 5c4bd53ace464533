"""Friction at pins, slides and slots: the torque as a band over the coefficient's range.

Coulomb friction. A pin of radius r under the force F resists with the moment μ·r·F against
the turning of the part on its rod; the rod is fast in the frame where the pin goes through
the frame, else in the part named first. A slide resists with μ·(N₁ + N₂), the forces at the
two ends of the shorter of its two parts as measured along the guide, which together carry
the normal force and the moment. A pin in a slot rubs with μ·N on the flank that bears, at
the radius of the pin, the pin being fast in its part. Friction between gear teeth and in
belts is left out.

Method: fixed-point iteration on the reactions, at both ends of the range at once; steps
that do not settle are iterated on with damping. Where no balance exists the mechanism jams
and the torque is NaN.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.effort.contacts import Contacts
from core.effort.frames import Complexes, Floats, Frames
from core.effort.layout import Layout
from core.effort.reactions import Machine, Reactions
from core.model import Sketch, part_of
from core.space.outlines import outline_of

#: Shares of a new iterate taken: plain, then ever more cautious.
_DAMPING = (1.0,) * 8 + (0.5,) * 24 + (0.2,) * 60
#: Iterations on all steps before only the unsettled ones are carried on.
_TOGETHER = 4


@dataclass(frozen=True)
class Rubbing:
    """Friction of one layout at given steps; `sense` is ±1, the sense of cranking."""

    plan: Layout
    turning: Floats      # (E, 2, N) −μ·r·sgn, against the end's turning on its rod
    rods: tuple[int, ...]
    sliding: Floats      # (S, 2, N) −μ·sgn
    guides: Floats       # (S,) length that carries the moment, mm
    slots: Floats        # (T, 2, 1) μ
    radii: Floats        # (T,) mm
    slot_spin: Floats    # (T, N) turning of the pin against the slot, in the sense
    slot_drift: Floats   # (T, N)
    contacts: Contacts


def rubbing(
    sketch: Sketch, plan: Layout, frames: Frames, contacts: Contacts, sense: float
) -> Rubbing:
    """Coefficients and senses of sliding of all joints of a layout."""
    ends, bodies = plan.ends, range(len(plan.ends))

    def coefficients(own: tuple[float, float] | None) -> tuple[float, float]:
        return sketch.friction if own is None else own

    rods = tuple(ends[plan.rods[end.pin]].body for end in ends)
    spins = np.array([frames.spin[ends[k].body] - frames.spin[rods[k]] for k in bodies])
    moment = np.array([[0.5 * plan.pins[end.pin].diameter_mm * c
                        for c in coefficients(plan.pins[end.pin].friction)]
                       for end in ends])
    turning = -sense * np.sign(spins)[:, None] * moment[:, :, None]
    slide_mu = np.array([coefficients(s.friction) for s in plan.slides]).reshape(-1, 2, 1)
    slide_drift = np.array([t.drift for t in contacts.slides]).reshape(-1, 1, frames.steps)
    slot_mu = np.array([coefficients(s.friction) for s in plan.slots]).reshape(-1, 2, 1)
    slot_spin = [frames.spin[plan.body_of[part_of(s.point)]]
                 - frames.spin[plan.body_of[part_of(s.slot[0])]] for s in plan.slots]
    return Rubbing(
        plan, turning, rods, -sense * slide_mu * np.sign(slide_drift),
        np.array([_guide(sketch, s.point, s.along) for s in plan.slides]),
        slot_mu, np.array([0.5 * s.diameter_mm for s in plan.slots]),
        sense * np.array(slot_spin).reshape(-1, frames.steps),
        sense * np.array([t.drift for t in contacts.slots]).reshape(-1, frames.steps),
        contacts,
    )


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


def _friction_loads(
    rub: Rubbing, found: Reactions, force: Complexes, moment: Floats
) -> tuple[Complexes, Floats]:
    """The loads with the friction that the given reactions cause."""
    force, moment = force.copy(), moment.copy()
    plan, anchor = rub.plan, rub.contacts.anchor
    pins = found.pins
    resist = np.sqrt(pins.real**2 + pins.imag**2)
    resist *= rub.turning
    for k, end in enumerate(plan.ends):
        if end.body != rub.rods[k]:
            moment[end.body] += resist[k]
            moment[rub.rods[k]] -= resist[k]

    def act(plus: int, minus: int, at: Complexes, push: Complexes, couple: Floats) -> None:
        for body, sign in ((plus, 1.0), (minus, -1.0)):
            force[body] += sign * push
            moment[body] += sign * (((at - anchor[body]).conj() * push).imag + couple)

    for k, slide in enumerate(plan.slides):
        track = rub.contacts.slides[k]
        normal = np.maximum(np.abs(found.slides[k, 0]),
                            2.0 * np.abs(found.slides[k, 1]) / rub.guides[k])
        drag = rub.sliding[k] * normal
        act(plan.body_of[part_of(slide.point)], plan.body_of[part_of(slide.along[0])],
            track.at, drag * track.along, np.zeros_like(drag))
    for k, slot in enumerate(plan.slots):
        track, normal = rub.contacts.slots[k], found.slots[k]
        side = rub.radii[k] * np.sign(normal)
        slip = np.sign(rub.slot_drift[k] + rub.slot_spin[k] * side)
        drag = -rub.slots[k] * np.abs(normal) * slip
        act(plan.body_of[part_of(slot.point)], plan.body_of[part_of(slot.slot[0])],
            track.at, drag * track.along, side * drag)
    return force, moment


def settle(
    machine: Machine, rub: Rubbing, start: Reactions, force: Complexes, moment: Floats,
    tolerance: float, rest: Callable[[NDArray[np.intp]], tuple[Machine, Rubbing]],
) -> tuple[Floats, Reactions]:
    """Driving torque (2, N) N·mm, counter-clockwise, with friction at both ends of the
    range, and the reactions that go with it; NaN where the mechanism jams.

    `force` and `moment` (B, 1, N) are the loads without friction and `start` the
    reactions to them; `tolerance` is relative, on the torque. `rest` gives machine and
    friction at fewer steps.
    """
    shape = (force.shape[0], 2, force.shape[2])
    force, moment = np.broadcast_to(force, shape), np.broadcast_to(moment, shape)
    old = _stretch(start)
    for _ in range(_TOGETHER):
        new = machine.solve(*_friction_loads(rub, old, force, moment))
        unsettled = np.flatnonzero(_moved(old, new) > tolerance)
        old = new
        if not unsettled.size:
            return new.drive, new
    part, part_rub = rest(unsettled)
    loads = force[..., unsettled], moment[..., unsettled]
    some = _taken(old, unsettled)
    moved = np.full(unsettled.size, np.inf)
    for share in _DAMPING:
        with np.errstate(over="ignore", invalid="ignore"):
            new = part.solve(*_friction_loads(part_rub, some, *loads))
            moved = _moved(some, new)
            some = new if share == 1.0 else _mix(some, new, share)
        if not np.any(moved > tolerance):
            break
    jammed = ~(moved <= tolerance)
    for whole, piece in zip(_arrays(old), _arrays(some), strict=True):
        piece[..., jammed] = np.nan
        whole[..., unsettled] = piece
    return old.drive, old


def _arrays(found: Reactions) -> tuple[NDArray[np.generic], ...]:
    return found.pins, found.slides, found.slots, found.wheels, found.drive


def _stretch(found: Reactions) -> Reactions:
    """One set of reactions as the start of two."""
    return Reactions(*(np.repeat(a, 2, axis=-2) for a in _arrays(found)))


def _taken(found: Reactions, steps: NDArray[np.intp]) -> Reactions:
    return Reactions(*(a[..., steps] for a in _arrays(found)))


def _mix(old: Reactions, new: Reactions, share: float) -> Reactions:
    return Reactions(*(a + share * (b - a) for a, b in zip(_arrays(old), _arrays(new),
                                                            strict=True)))


def _moved(old: Reactions, new: Reactions) -> Floats:
    """Largest change of the torque at each step (N,), relative to its size there and at
    the middle of all steps."""
    size = np.abs(new.drive).max(axis=0)
    usual = float(np.median(size[np.isfinite(size)])) if np.isfinite(size).any() else 0.0
    change = np.abs(new.drive - old.drive).max(axis=0)
    ratio: Floats = np.divide(change, size + usual, out=change.copy(),
                              where=size + usual > 0.0)
    return ratio
