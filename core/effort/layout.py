"""Which reactions there are and in what order they can be found.

The bodies are the rigid groups of parts that the crank determines. Positions are solved
outwards from the crank, group by group; reactions are found the other way: a group's own
joints must carry everything that hangs on it, so each group is a small square system
(the transpose of its position Jacobian) once all later groups are done.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

from core.effort.order import solving_order
from core.model import Belt, Drive, Mesh, Pin, PinInSlot, Sketch, Slide, part_of
from core.motion import Structure

Kind = Literal["pin", "slide", "slot", "wheels", "drive"]
#: Columns of each kind of unknown: a force vector; a normal force and a moment; a normal
#: force; a load round the wheels; a torque.
WIDTH: dict[Kind, int] = {"pin": 2, "slide": 2, "slot": 1, "wheels": 1, "drive": 1}


@dataclass(frozen=True)
class End:
    """A body on a pin.

    `members` are the places in ``Pin.at`` whose parts belong to the body; `ref` is one of
    those points. `base` says that this end balances the others instead of being unknown.
    """

    pin: int
    body: int
    ref: str
    members: tuple[int, ...]
    base: bool


@dataclass(frozen=True)
class Unknown:
    """A reaction to be found: acts on body `plus`, its opposite on body `minus`.

    `item` is the index among the ends, slides, slots or wheel pairs of the layout.
    """

    kind: Kind
    item: int
    plus: int
    minus: int


@dataclass(frozen=True)
class Group:
    """Bodies solved together and the reactions at their own joints."""

    bodies: tuple[int, ...]
    unknowns: tuple[Unknown, ...]

    @property
    def columns(self) -> int:
        """Number of scalar unknowns."""
        return sum(WIDTH[u.kind] for u in self.unknowns)

    @property
    def square(self) -> bool:
        """As many scalar unknowns as equations."""
        return self.columns == 3 * len(self.bodies)


@dataclass(frozen=True)
class Layout:
    """Bodies, joints between them, and groups in the order positions are solved.

    Body 0 is the frame, body 1 the crank. `bodies` lists part ids. For each pin, `bases`
    is the index of the end that balances its `others`.
    """

    bodies: tuple[tuple[str, ...], ...]
    body_of: dict[str, int]
    pins: tuple[Pin, ...]
    ends: tuple[End, ...]
    bases: tuple[int, ...]
    others: tuple[tuple[int, ...], ...]
    slides: tuple[Slide, ...]
    slots: tuple[PinInSlot, ...]
    wheels: tuple[Mesh | Belt, ...]
    groups: tuple[Group, ...]
    loose: tuple[str, ...]

    @cached_property
    def shared(self) -> bool:
        """More joints than needed: how they share the load is not determined."""
        return any(not group.square for group in self.groups)


def layout(sketch: Sketch, plan: Structure) -> Layout:
    """Bodies, joints and groups of a sketch that turns.

    Parts that the crank does not determine, and every joint on them, are left out.
    The result depends on the topology only and is kept for the next call.
    """
    assert sketch.drive is not None  # a sketch without a drive has no turn
    return _layout(
        tuple((part.id, part.fixed) for part in sketch.parts), sketch.pins, sketch.slides,
        sketch.slots, sketch.meshes + sketch.belts, sketch.drive,
        tuple(tuple(parts) for parts in plan.bodies), tuple(plan.loose),
    )


@lru_cache(maxsize=64)
def _layout(
    parts: tuple[tuple[str, bool], ...], pins: tuple[Pin, ...], slides: tuple[Slide, ...],
    slots: tuple[PinInSlot, ...], wheels: tuple[Mesh | Belt, ...], drive: Drive,
    rigid: tuple[tuple[str, ...], ...], loose: tuple[str, ...],
) -> Layout:
    bodies = _bodies(parts, drive, rigid, loose)
    body_of = {part: b for b, names in enumerate(bodies) for part in names}

    def known(*refs: str) -> bool:
        owners = {body_of.get(part_of(ref)) for ref in refs}
        return None not in owners and len(owners) > 1

    def owner(ref: str) -> int:
        return body_of[part_of(ref)]

    kept_slides = tuple(s for s in slides if known(s.point, *s.along))
    kept_slots = tuple(s for s in slots if known(s.point, *s.slot))
    kept_wheels = tuple(w for w in wheels if known(w.a, w.b))
    joined: list[tuple[Kind, int, int, int]] = [("drive", 0, 1, 0)]
    joined += [("slide", k, owner(s.point), owner(s.along[0]))
               for k, s in enumerate(kept_slides)]
    joined += [("slot", k, owner(s.point), owner(s.slot[0]))
               for k, s in enumerate(kept_slots)]
    joined += [("wheels", k, owner(w.a), owner(w.b)) for k, w in enumerate(kept_wheels)]
    on_pins = [frozenset(body_of[part_of(ref)] for ref in pin.at if part_of(ref) in body_of)
               for pin in pins]
    order = solving_order(len(bodies), on_pins,
                          [(plus, minus, WIDTH[kind]) for kind, _, plus, minus in joined])
    level = {b: at for at, group in enumerate(order) for b in group} | {0: -1}
    kept_pins, ends, bases = _ends(pins, body_of, level)
    unknowns = [Unknown(*each) for each in joined]
    unknowns += [Unknown("pin", k, end.body, ends[bases[end.pin]].body)
                 for k, end in enumerate(ends) if not end.base]
    groups = tuple(
        Group(tuple(members),
              tuple(u for u in unknowns if max(level[u.plus], level[u.minus]) == at))
        for at, members in enumerate(order))
    outside = tuple(part for part, _ in parts if part not in body_of)
    others = tuple(tuple(k for k, end in enumerate(ends) if end.pin == pin and not end.base)
                   for pin in range(len(kept_pins)))
    return Layout(bodies, body_of, kept_pins, ends, bases, others, kept_slides, kept_slots,
                  kept_wheels, groups, outside)


def _bodies(
    parts: tuple[tuple[str, bool], ...], drive: Drive, rigid: tuple[tuple[str, ...], ...],
    loose: tuple[str, ...],
) -> tuple[tuple[str, ...], ...]:
    """Part ids of each body the crank determines: the frame, the crank, the others."""
    fixed = {part for part, is_fixed in parts if is_fixed}
    listed = {part for names in rigid for part in names}
    whole = [*rigid, *((part,) for part, _ in parts if part not in listed)]
    frame = tuple(part for names in whole if fixed & set(names) for part in names)
    crank = next(names for names in whole if drive.part in names)
    apart = {*frame, *crank, *loose}
    return frame, crank, *(names for names in whole if not apart & set(names))


def _ends(
    pins: tuple[Pin, ...], body_of: dict[str, int], level: dict[int, int]
) -> tuple[tuple[Pin, ...], tuple[End, ...], tuple[int, ...]]:
    """Pins between two bodies or more, their ends, and the base end of each.

    The base is the end solved earliest: the frame where the pin goes through it, else the
    body the others hang on.
    """
    kept: list[Pin] = []
    ends: list[End] = []
    bases: list[int] = []
    for pin in pins:
        members: dict[int, list[int]] = {}
        for k, ref in enumerate(pin.at):
            body = body_of.get(part_of(ref))
            if body is not None:
                members.setdefault(body, []).append(k)
        if len(members) < 2:
            continue
        base = min(members, key=lambda body: level[body])
        bases.append(len(ends) + list(members).index(base))
        for body, places in members.items():
            ends.append(End(len(kept), body, pin.at[places[0]], tuple(places), body == base))
        kept.append(pin)
    return tuple(kept), tuple(ends), tuple(bases)
