"""From bodies to parts: what every joint does to each of its parts."""

from __future__ import annotations

import numpy as np

from core.effort.contacts import Contacts, Lean
from core.effort.frames import Complexes, Drawn, Floats, Frames, dot
from core.effort.inside import JointLoad, inner_loads, owners, place_of
from core.effort.layout import Layout
from core.effort.reactions import Reactions
from core.model import Sketch


def joint_loads(
    sketch: Sketch, plan: Layout, frames: Frames, contacts: Contacts, found: Reactions,
    row: int = 0, lean: Lean | None = None,
) -> dict[str, JointLoad]:
    """What every joint does to each of its parts, in the order the joint names them.

    `row` is the coefficient; `lean` is the friction of the reactions, None for none. Parts
    of one body on the same pin share its force equally: statics cannot tell how they do.
    What is loose, and slides, slots and wheels inside one rigid body, get NaN.
    """
    steps = frames.steps
    result: dict[str, JointLoad] = {}
    for k, pin in enumerate(plan.pins):
        force = np.full((len(pin.at), steps), np.nan, dtype=np.complex128)
        moment, place = np.full(force.shape, np.nan), force.copy()
        pushes = {e: found.pins[e][row] for e in plan.others[k]}
        turns = {e: dot(lean.pin(e)[row], push) if lean else 0.0
                 for e, push in pushes.items()}
        base = plan.bases[k]
        pushes[base], turns[base] = -sum(pushes.values()), -sum(turns.values())
        for e, push in pushes.items():
            members = plan.ends[e].members
            for member in members:
                force[member] = push / len(members)
                moment[member] = turns[e] / len(members)
                place[member] = contacts.ends[e]
        result[pin.id] = JointLoad(force.T, moment.T, place.T)
    for k, slide in enumerate(plan.slides):
        track, (normal, twist) = contacts.slides[k], found.slides[k][:, row]
        push = normal * track.normal
        if lean:
            by_force, by_moment = (drag[row] for drag in lean.slide(k))
            push = push + (by_force * normal + by_moment * twist) * track.along
        result[slide.id] = _pair(push, twist, track.at)
    for k, slot in enumerate(plan.slots):
        track, normal = contacts.slots[k], found.slots[k][row]
        push, twist = normal * track.normal, np.zeros(steps)
        if lean:
            drag, couple = (each[row] * normal for each in lean.slot(k))
            push, twist = push + drag * track.along, couple
        result[slot.id] = _pair(push, twist, track.at)
    for k, wheel in enumerate(plan.wheels):
        pair, load = contacts.wheels[k], found.wheels[k][row]
        push = (load * pair.sideways * pair.normal
                + np.abs(load) * pair.squeeze * pair.line)
        result[wheel.id] = JointLoad(
            np.stack([push, -push], axis=-1),
            np.stack([load * pair.arm_a, load * pair.arm_b], axis=-1),
            np.stack([pair.centre_a, pair.centre_b], axis=-1))
    result.update(inner_loads(sketch, plan, frames, result, found.drive[row]))
    for lock in sketch.locks:
        body = plan.body_of.get(lock.parts[0]) if len(lock.parts) == 1 else None
        if body is not None:  # a part on its shaft, which is no body of its own here
            none = np.zeros((steps, 1), dtype=np.complex128)
            at = frames.at(body, place_of(lock, sketch, Drawn(sketch)))
            result[lock.id] = JointLoad(none, none.real, at[:, None])
    for joint, parts in owners(sketch).items():
        if joint not in result:
            nothing = np.full((steps, len(parts)), np.nan)
            result[joint] = JointLoad(nothing + 0j, nothing, nothing + 0j)
    return result


def _pair(force: Complexes, moment: Floats, at: Complexes) -> JointLoad:
    return JointLoad(np.stack([force, -force], axis=-1), np.stack([moment, -moment], axis=-1),
                 np.stack([at, at], axis=-1))
