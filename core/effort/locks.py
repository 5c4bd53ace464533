"""From bodies to parts: what each part of a rigid group bears, and what its locks carry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.effort.contacts import Contacts, Lean
from core.effort.frames import MILLI, Complexes, Drawn, Floats, Frames, cross, dot
from core.effort.layout import Layout
from core.effort.loads import loads_of, weight_of_one_kg
from core.effort.masses import mass_of
from core.effort.reactions import Reactions
from core.model import Lock, Sketch, part_of


@dataclass(frozen=True)
class JointLoad:
    """Forces (N, k) complex N on the k parts of a joint, and moments (N, k) N·mm about
    `place` (N, k) complex mm, where the forces act."""

    force: Complexes
    moment: Floats
    place: Complexes


def joint_loads(
    sketch: Sketch, plan: Layout, frames: Frames, contacts: Contacts, found: Reactions,
    row: int = 0, lean: Lean | None = None,
) -> dict[str, JointLoad]:
    """What every joint does to each of its parts, in the order the joint names them.

    `row` is the coefficient; `lean` is the friction of the reactions, None for none. Parts
    of one body on the same pin share its force equally: statics cannot tell how they do.
    Parts left out of the layout get NaN.
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
    if any(len(set(lock.parts) & plan.body_of.keys()) > 1 for lock in sketch.locks):
        result.update(_locks(sketch, plan, frames, result, found.drive[row]))
    return result


def _pair(force: Complexes, moment: Floats, at: Complexes) -> JointLoad:
    return JointLoad(np.stack([force, -force], axis=-1), np.stack([moment, -moment], axis=-1),
                 np.stack([at, at], axis=-1))


def _locks(
    sketch: Sketch, plan: Layout, frames: Frames, joints: dict[str, JointLoad], drive: Floats,
) -> dict[str, JointLoad]:
    """What locks carry: every part of a body is in balance by itself.

    Fixed parts stand on the bench and take anything. With the moments taken about one
    place, the balance has the same coefficients for both force components and the moment,
    at all steps: one matrix, the parts' incidence with the locks. Where locks share a load
    in a way statics cannot tell, the least sum of squares is taken.
    """
    alone = _alone(sketch, plan, frames, joints, drive)
    result: dict[str, JointLoad] = {}
    parts = {part.id: part for part in sketch.parts}
    for body, names in enumerate(plan.bodies):
        locks = [lock for lock in sketch.locks if set(lock.parts) & set(names)]
        free = [name for name in names if not parts[name].fixed]
        sides = [(lock, name) for lock in locks for name in lock.parts if name in names]
        if not sides:
            continue
        matrix = np.array([[float(name == mine) for _, name in sides] for mine in free]
                          + [[float(lock is mine) for lock, _ in sides] for mine in locks])
        wanted = np.zeros((len(matrix), frames.steps, 2), dtype=np.complex128)
        for k, name in enumerate(free):
            wanted[k, :, 0], wanted[k, :, 1] = -alone[name][0], -alone[name][1]
        found = np.tensordot(np.linalg.pinv(matrix), wanted, axes=1)
        for lock in locks:
            mine = [k for k, (other, _) in enumerate(sides) if other is lock]
            at = _place(lock, sketch, frames, body)
            force = found[mine, :, 0].T
            place = np.repeat(at[:, None], len(mine), axis=1)
            moment = found[mine, :, 1].real.T - cross(place, force)
            result[lock.id] = JointLoad(force, moment, place)
    return result


def _place(lock: Lock, sketch: Sketch, frames: Frames, body: int) -> Complexes:
    """Where a lock sits: at its pin, else at the centre of mass of its first part."""
    pin = next((pin for pin in sketch.pins if pin.id == lock.pin), None)
    refs = [] if pin is None else [ref for ref in pin.at if part_of(ref) in lock.parts]
    if refs:
        return frames.at(body, Drawn(sketch)(refs[0]))
    return frames.at(body, mass_of(sketch.part(lock.parts[0])).centre)


def _alone(
    sketch: Sketch, plan: Layout, frames: Frames, joints: dict[str, JointLoad], drive: Floats,
) -> dict[str, tuple[Complexes, Floats]]:
    """Force (N,) and moment (N,) about the origin on every part, locks left out."""
    result: dict[str, tuple[Complexes, Floats]] = {}
    one_kg = weight_of_one_kg(sketch)
    for part in sketch.parts:
        if (b := plan.body_of.get(part.id)) is None:
            continue
        mass = mass_of(part)
        arm = frames.rotation[b] * mass.centre
        rate = 1j * frames.spin[b] * arm + frames.shift1[b]
        turning = 1j * frames.spin2[b] - frames.spin[b] ** 2
        speeding = frames.omega**2 * (turning * arm + frames.shift2[b]) + frames.alpha * rate
        force = mass.kg * (one_kg - MILLI * speeding)
        turn = frames.spin2[b] * frames.omega**2 + frames.spin[b] * frames.alpha
        moment = cross(arm + frames.shift[b], force) - MILLI * mass.inertia_kgmm2 * turn
        result[part.id] = force, moment
    for load in loads_of(sketch, plan, frames):
        force, moment = result[load.part]
        at = np.asarray(load.place)
        result[load.part] = (force + load.force,
                             moment + load.moment + cross(at, np.asarray(load.force)))
    assert sketch.drive is not None
    force, moment = result[sketch.drive.part]
    result[sketch.drive.part] = force, moment + drive
    for name, share in joints.items():
        for k, owner in enumerate(_owners(sketch, name)):
            if owner in result:
                force, moment = result[owner]
                push = share.force[:, k]
                result[owner] = (force + push, moment + share.moment[:, k]
                                 + cross(share.place[:, k], push))
    return result


def _owners(sketch: Sketch, joint: str) -> tuple[str, ...]:
    """Part ids of a joint in the order of its reactions."""
    for pin in sketch.pins:
        if pin.id == joint:
            return tuple(part_of(ref) for ref in pin.at)
    for slide in sketch.slides:
        if slide.id == joint:
            return part_of(slide.point), part_of(slide.along[0])
    for slot in sketch.slots:
        if slot.id == joint:
            return part_of(slot.point), part_of(slot.slot[0])
    for wheel in sketch.meshes + sketch.belts:
        if wheel.id == joint:
            return part_of(wheel.a), part_of(wheel.b)
    raise KeyError(joint)
