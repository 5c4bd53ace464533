"""Joint reactions of all bodies over the turn (Newton–Euler), group by group.

Every body is in balance: loads (inertia among them) and joint reactions sum to no force
and no moment. Groups are solved in the reverse of the order positions are solved in (see
`order`). When joints share a load in a way statics cannot tell, all reactions are found
together, with the least sum of squares.
"""

from __future__ import annotations

from collections.abc import Callable, Sized
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from core.effort.contacts import Column, Lean
from core.effort.frames import Complexes, Floats
from core.effort.layout import Kind, Layout, Unknown


@dataclass(frozen=True)
class Reactions:
    """Reactions of a layout for K coefficients of friction at N steps, one array per joint.

    `pins`: end -> (K, N) complex N, force on the end's body; base ends are left out, their
    force being minus that of the others. `slides`, (2, K, N): normal force N and moment
    N·mm on the body of the slide's point, about that point. `slots`, (K, N): normal force
    on the body of the pin. `wheels`, (K, N): load N (see
    :class:`core.effort.contacts.Wheels`). `drive`, (K, N) N·mm on the crank,
    counter-clockwise.
    """

    pins: dict[int, Complexes]
    slides: list[Floats]
    slots: list[Floats]
    wheels: list[Floats]
    drive: Floats

    def each(self, change: Callable[[Any], Any]) -> Reactions:
        """The same with every array changed."""
        def all_of(arrays: list[Any]) -> list[Any]:
            return [change(array) for array in arrays]

        return Reactions({end: change(force) for end, force in self.pins.items()},
                         all_of(self.slides), all_of(self.slots), all_of(self.wheels),
                         change(self.drive))

    def write(self, steps: NDArray[np.intp], some: Reactions) -> None:
        """Overwrite the given steps of every array, in place."""
        for end, force in some.pins.items():
            self.pins[end][..., steps] = force
        for mine, other in ((self.slides, some.slides), (self.slots, some.slots),
                            (self.wheels, some.wheels), ([self.drive], [some.drive])):
            for whole, piece in zip(mine, other, strict=True):
                whole[..., steps] = piece


class State:
    """Forces and moments left to balance on each body, and the reactions found.

    Arrays are (K, N) or (1, N) and are replaced, never written into.
    """

    def __init__(self, force: Complexes, moment: Floats) -> None:
        self.force, self.moment = list(force), list(moment)
        self.pins: dict[int, Complexes] = {}
        self._scalars: dict[tuple[Kind, int], Floats] = {}

    def add(self, u: Unknown, values: list[Floats]) -> None:
        """Book scalar values of a reaction (one or two columns)."""
        if u.kind == "pin":
            force = values[0] + 1j * values[1]
            self.pins[u.item] = self.pins[u.item] + force if u.item in self.pins else force
        else:
            value = np.stack(values) if u.kind == "slide" else values[0]
            at = u.kind, u.item
            self._scalars[at] = self._scalars[at] + value if at in self._scalars else value

    def found(self, plan: Layout) -> Reactions:
        """All reactions."""
        def all_of(kind: Kind, joints: Sized) -> list[Floats]:
            return [self._scalars[kind, k] for k in range(len(joints))]

        return Reactions(self.pins, all_of("slide", plan.slides), all_of("slot", plan.slots),
                         all_of("wheels", plan.wheels), self._scalars["drive", 0])

    def act(self, body: int, force: Complexes, moment: Floats) -> None:
        """Add a force and a moment about the body's anchor; the frame takes anything."""
        if body:
            self.force[body] = self.force[body] + force
            self.moment[body] = self.moment[body] + moment

    def push(self, u: Unknown, column: Column, value: Floats) -> None:
        """Let `value` units of a scalar unknown act on its bodies."""
        self.act(u.plus, value * column.plus_force, value * column.plus_moment)
        self.act(u.minus, value * column.minus_force, value * column.minus_moment)


class Stage(Protocol):
    """A group of bodies solved together."""

    def solve(self, state: State, lean: Lean | None) -> None:
        """Find the reactions of the group and let them act on earlier bodies."""


class Machine:
    """The balance of all bodies of a layout, ready to be solved for any loads.

    `stages` come in the order they are solved, from the far end to the crank.
    """

    def __init__(self, plan: Layout, stages: list[Stage]) -> None:
        self._plan, self._stages = plan, stages

    def solve(self, force: Complexes, moment: Floats, lean: Lean | None = None) -> Reactions:
        """Reactions to loads.

        `force` (B, 1, N) complex N and `moment` (B, 1, N) N·mm about the bodies' anchors;
        `lean` is friction made linear about an earlier solution, for K coefficients; None
        for none (K = 1).
        """
        state = State(force, moment)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            for stage in self._stages:
                stage.solve(state, lean)
        return state.found(self._plan)
