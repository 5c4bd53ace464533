"""How the reactions of a group of bodies are found: in closed form where one is known."""

from __future__ import annotations

from core.effort.blocks import Block
from core.effort.contacts import Contacts
from core.effort.dyads import Dyad
from core.effort.layout import Group, Layout, Unknown
from core.effort.reactions import Machine, Stage
from core.effort.singles import Hinge, Rider


def machine_of(plan: Layout, contacts: Contacts) -> Machine:
    """The balance of all bodies of a layout, each group by its quickest exact way."""
    return Machine(plan, [_stage(plan, group, contacts) for group in reversed(plan.groups)])


def _stage(plan: Layout, group: Group, contacts: Contacts) -> Stage:
    pins = [u for u in group.unknowns if u.kind == "pin"]
    others = [u for u in group.unknowns if u.kind != "pin"]
    kinds = sorted(u.kind for u in group.unknowns)
    if len(group.bodies) == 1 and kinds == ["slide", "slot"]:
        slide, slot = sorted(group.unknowns, key=lambda u: u.kind)
        return Rider(slide, slot, group.bodies[0], contacts)
    if len(group.bodies) == 1 and len(pins) == 1 and len(others) == 1:
        if others[0].kind in ("drive", "slot") or _turns_on(plan, pins[0], others[0]):
            return Hinge(pins[0], others[0], contacts)
    elif len(group.bodies) == 2 and len(group.unknowns) == 3:
        inner = [u for u in pins if u.plus in group.bodies and u.minus in group.bodies]
        outer = [u for u in group.unknowns if u not in inner]
        held = [u.plus if u.plus in group.bodies else u.minus for u in outer]
        if (len(inner) == 1 and set(held) == set(group.bodies)
                and all(u.kind in ("pin", "slide") for u in outer)):
            return Dyad(inner[0], outer[0], outer[1], held, contacts)
    return Block(group, contacts)


def _turns_on(plan: Layout, pin: Unknown, other: Unknown) -> bool:
    """Whether a body's pin goes through the centre of its wheel."""
    if other.kind != "wheels":
        return False
    wheel = plan.wheels[other.item]
    refs = plan.pins[plan.ends[pin.item].pin].at
    return (wheel.a if other.plus == pin.plus else wheel.b) in refs
