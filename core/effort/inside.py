"""Inside a rigid body: what its locks, and pins between its own parts, carry.

Every part of a body is in balance by itself. Fixed parts stand on the bench and take
anything. In the body's own axes the balance has the same coefficients at all steps: one
matrix. Where these joints share a load in a way statics cannot tell, the least sum of
squares is taken, moments being divided by the body's size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.effort.frames import MILLI, Complexes, Drawn, Floats, Frames, cross
from core.effort.layout import Layout
from core.effort.loads import loads_of, weight_of_one_kg
from core.effort.masses import mass_of
from core.model import Lock, Pin, Sketch, part_of


@dataclass(frozen=True)
class JointLoad:
    """Forces (N, k) complex N on the k parts of a joint, and moments (N, k) N·mm about
    `place` (N, k) complex mm, where the forces act."""

    force: Complexes
    moment: Floats
    place: Complexes


def inner_loads(
    sketch: Sketch, plan: Layout, frames: Frames, joints: dict[str, JointLoad], drive: Floats,
) -> dict[str, JointLoad]:
    """Loads of the joints inside rigid bodies, by id.

    `joints` are the loads of all others and `drive` (N,) N·mm the torque on the crank.
    A lock acts at its pin, else at the centre of mass of its first part; parts it names
    outside the body get NaN.
    """
    drawn = Drawn(sketch)
    by_body: dict[int, list[_Inner]] = {}
    within: list[Lock | Pin] = [*sketch.locks]
    within += [pin for pin in sketch.pins if pin.id not in joints]
    for joint in within:
        parts = owners(sketch)[joint.id]
        known = [plan.body_of[part] for part in parts if part in plan.body_of]
        if len(known) > 1:
            place = place_of(joint, sketch, drawn)
            inner = _Inner(joint.id, parts, place, isinstance(joint, Lock))
            by_body.setdefault(known[0], []).append(inner)
    if not by_body:
        return {}
    alone = _alone(sketch, plan, frames, joints, drive)
    result: dict[str, JointLoad] = {}
    for body, inners in by_body.items():
        result.update(_shared(inners, plan.bodies[body], alone, frames, body))
    return result


@dataclass(frozen=True)
class _Inner:
    """A joint inside a body: its parts, its place (drawn pose), and whether it is a lock
    (carries a moment) or a pin."""

    id: str
    parts: tuple[str, ...]
    place: complex
    lock: bool

    @property
    def width(self) -> int:
        """Scalars to a part: force, and for a lock a moment."""
        return 3 if self.lock else 2


def _shared(
    inners: list[_Inner], names: tuple[str, ...],
    alone: dict[str, tuple[Complexes, Floats]], frames: Frames, body: int,
) -> dict[str, JointLoad]:
    """Loads of the joints inside one body.

    Unknowns are each joint's force (x, y) and moment on each of its parts; equations are
    the balance of every part that is not fixed and of every joint.
    """
    free = [name for name in names if name in alone]
    sides = [(inner, part) for inner in inners for part in inner.parts if part in names]
    starts = np.cumsum([0] + [inner.width for inner, _ in sides])
    middle = inners[0].place
    size = max([abs(inner.place - middle) for inner in inners]) or 1.0
    rows = 3 * len(free) + sum(inner.width for inner in inners)
    matrix = np.zeros((rows, int(starts[-1])))
    wanted = np.zeros((rows, frames.steps))
    below = 3 * len(free) + np.cumsum([0] + [inner.width for inner in inners])
    for k, (inner, part) in enumerate(sides):
        mine = slice(starts[k], starts[k + 1])
        first = below[inners.index(inner)]
        matrix[first:first + inner.width, mine] = np.eye(inner.width)
        if part in free:
            arm = (inner.place - middle) / size
            row = 3 * free.index(part)
            acts = np.array([[1, 0, 0], [0, 1, 0], [-arm.imag, arm.real, 1]])
            matrix[row:row + 3, mine] = acts[:, :inner.width]
    home, back = frames.at(body, middle), frames.rotation[body].conj()
    for k, part in enumerate(free):
        force, moment = alone[part]
        own = -force * back
        wanted[3 * k], wanted[3 * k + 1] = own.real, own.imag
        wanted[3 * k + 2] = (cross(home, force) - moment) / size
    found = np.linalg.pinv(matrix) @ wanted
    result = {}
    for inner in inners:
        force = np.full((len(inner.parts), frames.steps), np.nan, dtype=np.complex128)
        moment = np.full(force.shape, np.nan)
        for k, (other, part) in enumerate(sides):
            if other is inner:
                at, row = starts[k], inner.parts.index(part)
                force[row] = (found[at] + 1j * found[at + 1]) * frames.rotation[body]
                moment[row] = size * found[at + 2] if inner.lock else 0.0
        place = np.repeat(frames.at(body, inner.place)[None], len(inner.parts), axis=0)
        result[inner.id] = JointLoad(force.T, moment.T, place.T)
    return result


def place_of(joint: Lock | Pin, sketch: Sketch, drawn: Drawn) -> complex:
    """Where a joint inside a body sits, x + iy mm, drawn pose: a lock at its pin, else at the
    centre of mass of its first part."""
    pin = joint if isinstance(joint, Pin) else next(
        (pin for pin in sketch.pins if pin.id == joint.pin), None)
    parts = owners(sketch)[joint.id]
    refs = [] if pin is None else [ref for ref in pin.at if part_of(ref) in parts]
    if refs:
        return drawn(refs[0])
    return mass_of(sketch.part(parts[0]), sketch.materials).centre


def _alone(
    sketch: Sketch, plan: Layout, frames: Frames, joints: dict[str, JointLoad], drive: Floats,
) -> dict[str, tuple[Complexes, Floats]]:
    """Force (N,) and moment (N,) about the origin on every part that is not fixed, joints
    inside bodies left out."""
    result: dict[str, tuple[Complexes, Floats]] = {}
    one_kg = weight_of_one_kg(sketch)
    for part in sketch.parts:
        if part.fixed or (b := plan.body_of.get(part.id)) is None:
            continue
        mass = mass_of(part, sketch.materials)
        arm = frames.rotation[b] * mass.centre
        rate = 1j * frames.spin[b] * arm + frames.shift1[b]
        turning = 1j * frames.spin2[b] - frames.spin[b] ** 2
        speeding = frames.omega**2 * (turning * arm + frames.shift2[b]) + frames.alpha * rate
        force = mass.kg * (one_kg - MILLI * speeding)
        turn = frames.spin2[b] * frames.omega**2 + frames.spin[b] * frames.alpha
        moment = cross(arm + frames.shift[b], force) - MILLI * mass.inertia_kgmm2 * turn
        result[part.id] = force, moment
    for load in loads_of(sketch, plan, frames):
        if load.part in result:
            force, moment = result[load.part]
            at = np.asarray(load.place)
            result[load.part] = (force + load.force,
                                 moment + load.moment + cross(at, np.asarray(load.force)))
    assert sketch.drive is not None
    force, moment = result[sketch.drive.part]
    result[sketch.drive.part] = force, moment + drive
    by_joint = owners(sketch)
    for name, share in joints.items():
        for k, owner in enumerate(by_joint[name]):
            if owner in result:
                force, moment = result[owner]
                push = share.force[:, k]
                result[owner] = (force + push, moment + share.moment[:, k]
                                 + cross(share.place[:, k], push))
    return result


def owners(sketch: Sketch) -> dict[str, tuple[str, ...]]:
    """Part ids of every joint, in the order of its loads."""
    found = {pin.id: tuple(part_of(ref) for ref in pin.at) for pin in sketch.pins}
    found |= {s.id: (part_of(s.point), part_of(s.along[0])) for s in sketch.slides}
    found |= {s.id: (part_of(s.point), part_of(s.slot[0])) for s in sketch.slots}
    found |= {w.id: (part_of(w.a), part_of(w.b)) for w in sketch.meshes + sketch.belts}
    return found | {lock.id: lock.parts for lock in sketch.locks}
