"""Joint reactions of all bodies over the turn (Newton–Euler), group by group.

Every body is in balance: loads (inertia among them) and joint reactions sum to no force
and no moment. Groups are solved in the reverse of the order positions are solved in; the
common ones (a body on one pin; two bodies on three pins) in closed form, others by a
batched inverse. When joints share a load in a way statics cannot tell, all reactions are
found together, with the least sum of squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from core.effort.contacts import Column, Contacts
from core.effort.frames import Complexes, Floats
from core.effort.layout import Group, Layout, Unknown


@dataclass(frozen=True)
class Reactions:
    """Reactions of a layout for K sets of loads at N steps.

    `pins` (E, K, N) complex N: force on each pin end's body. `slides` (S, 2, K, N): normal
    force N and moment N·mm on the body of the slide's point, about that point. `slots`
    (T, K, N) normal force on the body of the pin. `wheels` (W, K, N) load N (see
    :class:`core.effort.contacts.Wheels`). `drive` (K, N) N·mm on the crank,
    counter-clockwise.
    """

    pins: Complexes
    slides: Floats
    slots: Floats
    wheels: Floats
    drive: Floats


class _State:
    """Forces and moments left to balance on each body, and the reactions found."""

    def __init__(self, plan: Layout, force: Complexes, moment: Floats) -> None:
        self.force, self.moment = force.copy(), moment.copy()
        shape = force.shape[1:]
        self.found = Reactions(
            np.zeros((len(plan.ends), *shape), dtype=np.complex128),
            np.zeros((len(plan.slides), 2, *shape)), np.zeros((len(plan.slots), *shape)),
            np.zeros((len(plan.wheels), *shape)), np.zeros(shape),
        )

    def add(self, u: Unknown, values: list[Floats]) -> None:
        """Book scalar values of a reaction (one or two columns)."""
        if u.kind == "pin":
            self.found.pins[u.item] += values[0] + 1j * values[1]
        elif u.kind == "slide":
            self.found.slides[u.item] += np.stack(values)
        elif u.kind == "slot":
            self.found.slots[u.item] += values[0]
        elif u.kind == "wheels":
            self.found.wheels[u.item] += values[0]
        else:
            self.found.drive[...] += values[0]

    def push(self, u: Unknown, column: Column, value: Floats) -> None:
        """Let `value` units of a scalar unknown act on its bodies."""
        self.force[u.plus] += value * column.plus_force
        self.moment[u.plus] += value * column.plus_moment
        if u.minus:
            self.force[u.minus] += value * column.minus_force
            self.moment[u.minus] += value * column.minus_moment


class _Stage(Protocol):
    def solve(self, state: _State) -> None:
        """Find the reactions of the group and let them act on earlier bodies."""


class _Pull:
    """A pin's force handed on to the earlier body it hangs on."""

    def __init__(self, u: Unknown, contacts: Contacts) -> None:
        self.item, self.minus = u.item, u.minus
        self.arm = (contacts.ends[u.item] - contacts.anchor[u.minus]).conj()

    def book(self, state: _State, force: Complexes) -> None:
        state.found.pins[self.item] = force
        if self.minus:
            state.force[self.minus] -= force
            state.moment[self.minus] -= (self.arm * force).imag


class _Hinge:
    """One body on one pin, held by one more scalar unknown: moments about the pin."""

    def __init__(self, pin: Unknown, other: Unknown, contacts: Contacts) -> None:
        self._body, self._other = pin.plus, other
        self._pull = _Pull(pin, contacts)
        (self._column,) = contacts.columns(other)
        own = other.plus == pin.plus
        self._lever = self._column.plus_moment if own else self._column.minus_moment
        self._squeeze = contacts.squeeze(other) if other.kind == "wheels" else None

    def solve(self, state: _State) -> None:
        value = -state.moment[self._body] / self._lever
        state.add(self._other, [value])
        state.push(self._other, self._column, value)
        if self._squeeze is not None:
            state.push(self._other, self._squeeze, np.abs(value))
        self._pull.book(state, -state.force[self._body])


class _Dyad:
    """Two bodies pinned to each other and each to an earlier body.

    Moments about the outer pins give two equations for the force in the middle pin.
    """

    def __init__(self, a: Unknown, b: Unknown, c: Unknown, contacts: Contacts) -> None:
        self._one, self._two = a.plus, c.plus
        self._a, self._c = _Pull(a, contacts), _Pull(c, contacts)
        self._middle, self._sign = b.item, 1.0 if b.plus == c.plus else -1.0
        at = contacts.ends[b.item]
        one, two = at - contacts.ends[a.item], at - contacts.ends[c.item]
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = 1.0 / (one.conj() * two).imag
            self._from_one, self._from_two = two * scale, one * scale

    def solve(self, state: _State) -> None:
        force = state.moment[self._one] * self._from_one
        force += state.moment[self._two] * self._from_two
        state.found.pins[self._middle] = self._sign * force
        self._a.book(state, force - state.force[self._one])
        self._c.book(state, -force - state.force[self._two])


class _Block:
    """Any group: the transpose of its position Jacobian, inverted at every step."""

    def __init__(self, group: Group, contacts: Contacts, size: float) -> None:
        self._group = group
        self._columns = [contacts.columns(u) for u in group.unknowns]
        self._squeezes = [(u, k, contacts.squeeze(u)) for k, u in enumerate(group.unknowns)
                          if u.kind == "wheels"]
        self._size = size
        flat = [(u, column, k) for u, columns in zip(group.unknowns, self._columns,
                                                      strict=True)
                for k, column in enumerate(columns)]
        steps = contacts.ends[0].size
        matrix = np.zeros((steps, 3 * len(group.bodies), len(flat)))
        scale = np.ones(len(flat))
        for at, (u, column, k) in enumerate(flat):
            for body, force, moment in ((u.plus, column.plus_force, column.plus_moment),
                                        (u.minus, column.minus_force, column.minus_moment)):
                if body in group.bodies:
                    row = 3 * group.bodies.index(body)
                    matrix[:, row, at] += force.real
                    matrix[:, row + 1, at] += force.imag
                    matrix[:, row + 2, at] += moment / size
            if u.kind == "drive" or (u.kind == "slide" and k == 1):
                scale[at] = size
        self._inverse = scale[:, None] * _inverse(matrix * scale)

    def solve(self, state: _State) -> None:
        values = self._once(state)
        for u, at, squeeze in self._squeezes:
            state.push(u, squeeze, np.abs(values[at]))
        if self._squeezes:
            self._once(state)

    def _once(self, state: _State) -> list[Floats]:
        """One linear solution; returns the first scalar of each unknown."""
        rows = [part for body in self._group.bodies
                for part in (state.force[body].real, state.force[body].imag,
                             state.moment[body] / self._size)]
        left = np.stack(rows, axis=-1).swapaxes(0, 1)
        found = -(self._inverse @ left.swapaxes(1, 2))
        at, firsts = 0, []
        for u, columns in zip(self._group.unknowns, self._columns, strict=True):
            values = [found[:, at + k].T for k in range(len(columns))]
            state.add(u, values)
            for column, value in zip(columns, values, strict=True):
                state.push(u, column, value)
            at += len(columns)
            firsts.append(values[0])
        return firsts


def _inverse(matrix: Floats) -> Floats:
    """Inverse of square matrices (N, n, n); for wide ones (N, n, m) the right inverse
    (N, m, n) that gives the solution of least norm, by QR of the transpose.

    NaN where a matrix is singular: there the mechanism is at a dead point.
    """
    rows, columns = matrix.shape[1:]
    if rows == columns:
        return _square_inverse(matrix)
    if columns < rows:
        return np.full((matrix.shape[0], columns, rows), np.nan)
    q, r = np.linalg.qr(matrix.swapaxes(1, 2))
    wide: Floats = q @ _square_inverse(r).swapaxes(1, 2)
    return wide


def _square_inverse(matrix: Floats) -> Floats:
    try:
        inverse: Floats = np.linalg.inv(matrix)
        return inverse
    except np.linalg.LinAlgError:
        result = np.full_like(matrix, np.nan)
        sound = np.abs(np.linalg.det(matrix)) > 0.0
        result[sound] = np.linalg.inv(matrix[sound])
        return result


class Machine:
    """The balance of all bodies of a layout, ready to be solved for any loads."""

    def __init__(self, plan: Layout, contacts: Contacts) -> None:
        self._plan = plan
        groups = plan.groups
        if plan.shared:
            groups = (Group(tuple(range(1, len(plan.bodies))),
                            tuple(u for group in plan.groups for u in group.unknowns)),)
        places = np.array(contacts.ends)
        size = float(np.nanmax(np.abs(places - places[0]), initial=1.0))
        self._stages = [_stage(plan, group, contacts, size) for group in reversed(groups)]

    def solve(self, force: Complexes, moment: Floats) -> Reactions:
        """Reactions to K sets of loads.

        `force` (B, K, N) complex N and `moment` (B, K, N) N·mm about the bodies' anchors.
        """
        state = _State(self._plan, force, moment)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            for stage in self._stages:
                stage.solve(state)
        pins = state.found.pins
        for k, base in enumerate(self._plan.bases):
            others = [e for e, end in enumerate(self._plan.ends) if end.pin == k and e != base]
            pins[base] = -sum(pins[e] for e in others)
        return state.found


def _stage(plan: Layout, group: Group, contacts: Contacts, size: float) -> _Stage:
    """The quickest exact way to solve a group."""
    pins = [u for u in group.unknowns if u.kind == "pin"]
    others = [u for u in group.unknowns if u.kind != "pin"]
    outer = [u for u in pins if u.minus not in group.bodies]
    if len(group.bodies) == 1 and len(pins) == 1 and len(others) == 1:
        if others[0].kind in ("drive", "slot") or _turns_on(plan, pins[0], others[0]):
            return _Hinge(pins[0], others[0], contacts)
    elif len(group.bodies) == 2 and len(pins) == 3 and not others:
        inner = [u for u in pins if u.minus in group.bodies]
        if len(inner) == 1 and outer[0].plus != outer[1].plus:
            return _Dyad(outer[0], inner[0], outer[1], contacts)
    return _Block(group, contacts, size)


def _turns_on(plan: Layout, pin: Unknown, other: Unknown) -> bool:
    """Whether a body's pin goes through the centre of its wheel."""
    if other.kind != "wheels":
        return False
    wheel = plan.wheels[other.item]
    refs = plan.pins[plan.ends[pin.item].pin].at
    return (wheel.a if other.plus == pin.plus else wheel.b) in refs
