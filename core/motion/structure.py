"""What a sketch's joints make of it, in numbers and in plain words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from core.errors import CrankwrightError, MotionError
from core.model import Sketch
from core.motion.closed import normal
from core.motion.network import GROUND
from core.motion.plan import Block, Plan, Turned
from core.motion.solve import plan_of, solve_turn, usable_drive
from core.motion.state import State, drawn_points
from core.motion.turn import Floats
from core.wording import listed

#: Steps of the turn on which spare joints are tried.
TRIAL_STEPS = 72
#: Singular values below this share of the largest count as 0.
RANK = 1e-9


@dataclass(frozen=True)
class Group:
    """Parts solved together: kind of solution, the parts, and the joints that fix them."""

    kind: str
    parts: tuple[str, ...]
    joints: tuple[str, ...]


@dataclass(frozen=True)
class Structure:
    """How a sketch is built.

    Attributes
    ----------
    mobility : freedoms of the joints, the crank not held: 1 turns, 0 does not move.
    bodies : part ids of every rigid group, the frame first.
    groups : what the crank determines, in solving order.
    loose : ids of parts the crank does not determine.
    redundant : ids of joints the motion would be the same without.
    messages : the above in plain words, one sentence each.
    trouble : why it does not turn; "" when it does.
    """

    mobility: int
    bodies: tuple[tuple[str, ...], ...]
    groups: tuple[Group, ...]
    loose: tuple[str, ...]
    redundant: tuple[str, ...]
    messages: tuple[str, ...]
    trouble: str


def structure(sketch: Sketch) -> Structure:
    """How a sketch is built; never raises for one that can be drawn.

    Joints more than needed are tried out on the turn itself: those that fit everywhere
    (the third link of a parallelogram) are redundant, the others stop it.

    Raises
    ------
    SketchError
        For a joint at a point that does not exist.
    """
    plan = plan_of(sketch)
    built = _built(plan)
    trouble, messages, redundant = "", list(built.messages), plan.spare
    mobility = plan.freedom + 1
    try:
        usable_drive(sketch, plan)
    except MotionError as error:
        mobility = _freedom(plan, sketch) if plan.spare or plan.freedom == 0 else plan.freedom
        return Structure(mobility, built.bodies, built.groups, built.loose, (),
                         (str(error), *messages), str(error))
    if plan.spare:
        try:
            misfits = _misfits(sketch)
        except CrankwrightError as error:
            return Structure(mobility, built.bodies, built.groups, built.loose, (),
                             (str(error), *messages), str(error))
        redundant = tuple(joint for joint in plan.spare if joint not in dict(misfits))
        if misfits:
            mobility -= 1
            trouble = _too_many(misfits)
            messages.append(trouble)
        messages += [f"{joint} could be left out: the rest already holds the motion."
                     for joint in redundant]
    return Structure(mobility, built.bodies, built.groups, built.loose, redundant,
                     tuple(messages), trouble)


@lru_cache(maxsize=8)
def _misfits(sketch: Sketch) -> tuple[tuple[str, float], ...]:
    """Spare joints that do not fit, and by how much, tried on the turn."""
    turn = solve_turn(sketch, TRIAL_STEPS)
    return turn.solved.grid.reach.misfits


def _too_many(misfits: tuple[tuple[str, float], ...]) -> str:
    joints, worst = [joint for joint, _ in misfits], max(off for _, off in misfits)
    is_one = "is one joint" if len(joints) == 1 else "are joints"
    it = "it" if len(joints) == 1 else "them"
    return (f"{listed(joints)} {is_one} too many: with {it} the crank cannot move, the"
            f" lengths miss by up to {worst:.3g} mm over the turn. Take {it} out, or make the"
            " lengths fit exactly.")


@lru_cache(maxsize=64)
def _built(plan: Plan) -> Structure:
    """What follows from the joints alone."""
    net = plan.network
    bodies = tuple(net.parts_of([body]) for body in range(net.bodies))
    loose = net.parts_of(plan.loose)
    groups = [Group("crank", bodies[net.crank], ())] if net.crank >= 0 else []
    groups += [_group(plan, step) for step in plan.steps]
    messages = []
    if loose and net.crank >= 0:
        messages.append(f"The crank does not decide where {listed(loose)}"
                        f" {'goes' if len(loose) == 1 else 'go'}.")
    messages += [f"{joint} does nothing: no one part holds both its centres."
                 for joint in net.uncarried]
    return Structure(plan.freedom + 1, bodies, tuple(groups), loose, plan.spare,
                     tuple(messages), "")


def _group(plan: Plan, step: Turned | Block) -> Group:
    if isinstance(step, Turned):
        return Group("turned", plan.network.parts_of([step.body]), step.joints)
    return Group(step.kind, plan.network.parts_of(step.moved), step.joints)


def _freedom(plan: Plan, sketch: Sketch) -> int:
    """Freedoms in the drawn pose, from the rank of all joint equations' derivatives."""
    state = State(plan, drawn_points(plan.network, sketch), np.zeros(1))
    unknowns = 3 * (plan.network.bodies - 1)
    if not np.isfinite(np.abs(state.drawn)).all():
        return plan.freedom
    matrix = joint_matrix(state)
    if not matrix.size:
        return unknowns
    return unknowns - int(np.linalg.matrix_rank(matrix, rtol=RANK))


def joint_matrix(state: State) -> Floats:
    """(equations, 3·(bodies − 1)): derivatives of all joint equations in the pose of a
    state's first sample by each body's x, y (mm) and turn (rad, about the drawn origin of
    the joints' middle); lengths scaled by the sketch's size so that rows weigh alike."""
    net = state.plan.network
    places = np.array(state.drawn, np.complex128)
    middle = places.mean() if len(places) else 0j
    size = float(np.abs(places - middle).max(initial=0.0)) or 1.0
    rows: list[Floats] = []

    def first(value: object) -> complex:
        return complex(np.ravel(np.asarray(value, np.complex128))[0])

    def row(terms: Iterable[tuple[int, complex, float]]) -> None:
        line = np.zeros(3 * net.bodies)
        for body, along, turn in terms:
            line[3 * body:3 * body + 3] += (along.real, along.imag, turn)
        rows.append(line[3:])

    def leaning(body: int, at: complex, axis: complex) -> tuple[int, complex, float]:
        arm = (at - middle) / size
        return body, axis, (axis.conjugate() * 1j * arm).real

    for pin in net.pins:
        for end in pin.ends[1:]:
            for axis in (1 + 0j, 1j):
                row([leaning(end.body, first(state.at(end)), axis),
                     leaning(pin.ends[0].body, first(state.at(pin.ends[0])), -axis)])
    for line in net.lines:
        across = first(state.rotation[line.start.body]) * normal(state, line.start, line.end)
        at = first(state.at(line.point))
        row([leaning(line.point.body, at, across), leaning(line.start.body, at, -across)])
    for law in net.laws:
        most = max(abs(float(factor)) for _, factor in law.terms)
        row([(body, 0j, float(factor) / most) for body, factor in law.terms
             if body != GROUND])
    return np.array(rows).reshape(len(rows), 3 * (net.bodies - 1))
