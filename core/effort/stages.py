"""How the reactions of one group of bodies are found.

Common groups in closed form: a body on one pin held by one more joint, and two bodies
pinned to each other, each on a pin or a slide. Any other group as a batch of small systems.
Friction enters linearly (see `friction`): each pin resists with a moment that is a linear
function of its own force.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from core.effort.contacts import Column, Contacts, Lean
from core.effort.frames import Complexes, Floats, dot
from core.effort.layout import Group, Layout, Unknown
from core.effort.reactions import Machine, Stage, State

#: The scalar unknowns of a reaction: what one unit does, and does besides.
_Units = list[tuple[Column, Column | None]]

#: A group this near to a dead point (relative) has no sound reactions: NaN.
_DEAD = 1e-7
#: Share of the loads that may be left unbalanced before a solution counts as unsound.
_LEFT = 1e-11


def machine_of(plan: Layout, contacts: Contacts) -> Machine:
    """The balance of all bodies of a layout, each group by its quickest exact way."""
    return Machine(plan, [_stage(plan, group, contacts) for group in reversed(plan.groups)])


def _stage(plan: Layout, group: Group, contacts: Contacts) -> Stage:
    pins = [u for u in group.unknowns if u.kind == "pin"]
    others = [u for u in group.unknowns if u.kind != "pin"]
    if len(group.bodies) == 1 and len(pins) == 1 and len(others) == 1:
        if others[0].kind in ("drive", "slot") or _turns_on(plan, pins[0], others[0]):
            return _Hinge(pins[0], others[0], contacts)
    elif len(group.bodies) == 2 and len(group.unknowns) == 3:
        inner = [u for u in pins if u.plus in group.bodies and u.minus in group.bodies]
        outer = [u for u in group.unknowns if u not in inner]
        held = [u.plus if u.plus in group.bodies else u.minus for u in outer]
        if (len(inner) == 1 and set(held) == set(group.bodies)
                and all(u.kind in ("pin", "slide") for u in outer)):
            return _Dyad(inner[0], outer[0], outer[1], held, contacts)
    return _Block(group, contacts)


def _turns_on(plan: Layout, pin: Unknown, other: Unknown) -> bool:
    """Whether a body's pin goes through the centre of its wheel."""
    if other.kind != "wheels":
        return False
    wheel = plan.wheels[other.item]
    refs = plan.pins[plan.ends[pin.item].pin].at
    return (wheel.a if other.plus == pin.plus else wheel.b) in refs


class _Pull:
    """A pin's force, and what it resists with, handed on to the body it hangs on."""

    def __init__(self, u: Unknown, contacts: Contacts) -> None:
        self.item, self.minus = u.item, u.minus
        if self.minus:
            self._arm = (contacts.ends[u.item] - contacts.anchor[u.minus]).conj()

    def book(self, state: State, load: Complexes, lean: Lean | None) -> None:
        """Book the pin that holds a body against `load`, all other forces on it."""
        state.pins[self.item] = load * -1.0
        if self.minus:
            moment: Floats = (self._arm * load).imag
            if lean is not None:
                moment += dot(lean.pin(self.item), load)
            state.act(self.minus, load, moment)


class _Hinge:
    """One body on one pin, held by one more scalar unknown: moments about the pin."""

    def __init__(self, pin: Unknown, other: Unknown, contacts: Contacts) -> None:
        self._body, self._other, self._contacts = pin.plus, other, contacts
        self._pull = _Pull(pin, contacts)
        (self._column,) = contacts.columns(other)
        self._own = other.plus == pin.plus
        if other.kind == "slot":
            lever = self._at(self._column)[1]
            lever[np.abs(lever) <= _DEAD * contacts.size] = np.nan

    def _at(self, column: Column) -> tuple[Complexes, Floats]:
        """What the other unknown does to this body: force, and lever arm about the pin."""
        if self._own:
            return column.plus_force, column.plus_moment
        return column.minus_force, column.minus_moment

    def solve(self, state: State, lean: Lean | None) -> None:
        body, other = self._body, self._other
        push, lever = self._at(self._column)
        if lean is None:
            value = -state.moment[body] / lever
            if other.kind == "wheels":
                state.push(other, self._contacts.squeeze(other), np.abs(value))
            extra = None
        else:
            grip, moment = lean.pin(self._pull.item), state.moment[body]
            (extra,) = self._contacts.extra(other, lean)
            if extra is not None:
                more_push, more_lever = self._at(extra)
                push, lever = push + more_push, lever + more_lever
            value = (dot(grip, state.force[body]) - moment) / (lever - dot(grip, push))
        state.add(other, [value])
        state.push(other, self._column, value)
        if extra is not None:
            state.push(other, extra, value)
        self._pull.book(state, state.force[body], lean)


class _Side(Protocol):
    """The outer joint of one body of a dyad.

    The middle pin pushes the body with ±f, and by friction turns it with ±grip·f (a dot
    product), the sign being +1 on one body and −1 on the other. `row` gives one equation
    for f, a dot product ``g·f = r``; `turn` (N,) is g without friction.
    """

    turn: Complexes

    def row(self, state: State, lean: Lean | None,
            grip: Complexes | None) -> tuple[Complexes, Floats]:
        """g and r."""

    def finish(self, state: State, lean: Lean | None, force: Complexes,
               grip: Complexes | None) -> None:
        """Book the outer joint, once the middle pin's force f is known."""


class _PinSide:
    """On a pin: moments about it."""

    def __init__(self, outer: Unknown, arm: Complexes, sign: float,
                 contacts: Contacts) -> None:
        self._body, self._sign = outer.plus, sign
        self.turn = arm * (sign * 1j)
        self._pull = _Pull(outer, contacts)

    def row(self, state: State, lean: Lean | None,
            grip: Complexes | None) -> tuple[Complexes, Floats]:
        if lean is None or grip is None:
            return self.turn, -state.moment[self._body]
        own = lean.pin(self._pull.item)
        right = dot(own, state.force[self._body]) - state.moment[self._body]
        rub = grip - own
        return self.turn + rub if self._sign > 0 else self.turn - rub, right

    def finish(self, state: State, lean: Lean | None, force: Complexes,
               grip: Complexes | None) -> None:
        own = state.force[self._body]
        self._pull.book(state, own + force if self._sign > 0 else own - force, lean)


class _SlideSide:
    """On a slide: forces along it."""

    def __init__(self, outer: Unknown, held: int, middle: Complexes, sign: float,
                 contacts: Contacts) -> None:
        self._u, self._body, self._sign, self._contacts = outer, held, sign, contacts
        self._own = 1.0 if outer.plus == held else -1.0
        self._track = contacts.slides[outer.item]
        self._arm = middle - self._track.at
        self._off = contacts.anchor[held] - self._track.at
        self._columns = contacts.columns(outer)
        self.turn = sign * self._track.along

    def _moment(self, state: State) -> Floats:
        """Moment of the loads about the slide's point."""
        off: Floats = (self._off.conj() * state.force[self._body]).imag
        moment: Floats = off + state.moment[self._body]
        return moment

    def row(self, state: State, lean: Lean | None,
            grip: Complexes | None) -> tuple[Complexes, Floats]:
        track, force = self._track, state.force[self._body]
        if lean is None or grip is None:
            return self.turn, -dot(track.along, force)
        by_force, by_moment = lean.slide(self._u.item)
        lean_way = track.along - by_force * track.normal
        left = self._sign * (lean_way - by_moment * (1j * self._arm + grip))
        return left, by_moment * self._moment(state) - dot(lean_way, force)

    def finish(self, state: State, lean: Lean | None, force: Complexes,
               grip: Complexes | None) -> None:
        push = self._sign * force
        moment = self._moment(state) + (self._arm.conj() * push).imag
        if grip is not None:
            moment = moment + dot(grip, push)
        force = state.force[self._body] + push
        values = [-self._own * dot(self._track.normal, force), -self._own * moment]
        state.add(self._u, values)
        extras = (None, None) if lean is None else self._contacts.extra(self._u, lean)
        for column, extra, value in zip(self._columns, extras, values, strict=True):
            state.push(self._u, column, value)
            if extra is not None:
                state.push(self._u, extra, value)


class _Dyad:
    """Two bodies pinned to each other, each on a pin or a slide of an earlier body.

    Each body gives one equation for the force in the middle pin that leaves its outer
    joint out.
    """

    def __init__(self, inner: Unknown, one: Unknown, two: Unknown, held: list[int],
                 contacts: Contacts) -> None:
        middle = contacts.ends[inner.item]
        self._middle = inner.item
        self._sign = 1.0 if inner.plus == held[1] else -1.0

        def side(outer: Unknown, body: int, sign: float) -> _Side:
            if outer.kind == "pin":
                return _PinSide(outer, middle - contacts.ends[outer.item], sign, contacts)
            return _SlideSide(outer, body, middle, sign, contacts)

        self._one, self._two = side(one, held[0], -1.0), side(two, held[1], 1.0)
        first, second = self._one.turn, self._two.turn
        area = np.abs((first.conj() * second).imag)
        self._dead = np.flatnonzero(area <= _DEAD * np.abs(first * second))

    def solve(self, state: State, lean: Lean | None) -> None:
        grip = None if lean is None else lean.pin(self._middle)
        first, right_one = self._one.row(state, lean, grip)
        second, right_two = self._two.row(state, lean, grip)
        area = (first.conj() * second).imag
        if self._dead.size:
            area[..., self._dead] = np.nan
        force = first * right_two - second * right_one
        force *= 1j
        force *= 1.0 / area
        state.pins[self._middle] = force * self._sign
        self._two.finish(state, lean, force, grip)
        self._one.finish(state, lean, force, grip)


class _Block:
    """Any group: the transpose of its position Jacobian, solved at every step.

    Where joints share a load (more unknowns than equations), the solution of least squares
    is taken.
    """

    def __init__(self, group: Group, contacts: Contacts) -> None:
        self._group, self._contacts = group, contacts
        self._columns = [contacts.columns(u) for u in group.unknowns]
        self._matrix = np.zeros((contacts.steps, 3 * len(group.bodies), group.columns))
        at = 0
        for u, columns in zip(group.unknowns, self._columns, strict=True):
            for column in columns:
                self._fill(self._matrix, at, u, column)
                at += 1
        size = contacts.size
        self._scale = np.array([
            size if u.kind == "drive" or (u.kind == "slide" and k == 1) else 1.0
            for u, columns in zip(group.unknowns, self._columns, strict=True)
            for k in range(len(columns))])

    def _fill(self, matrix: Floats, at: int, u: Unknown, column: Column) -> None:
        """Add a column's action on the group's bodies."""
        for body, force, moment in ((u.plus, column.plus_force, column.plus_moment),
                                    (u.minus, column.minus_force, column.minus_moment)):
            if body in self._group.bodies:
                row = 3 * self._group.bodies.index(body)
                matrix[..., row, at] += force.real
                matrix[..., row + 1, at] += force.imag
                matrix[..., row + 2, at] += moment / self._contacts.size

    def solve(self, state: State, lean: Lean | None) -> None:
        units: list[_Units] = [[(column, None) for column in columns]
                               for columns in self._columns]
        if lean is None:
            values = self._once(state, self._matrix, units)
            squeezed = [(u, value) for u, value in zip(self._group.unknowns, values,
                                                       strict=True) if u.kind == "wheels"]
            for u, value in squeezed:
                state.push(u, self._contacts.squeeze(u), np.abs(value))
            if squeezed:
                self._once(state, self._matrix, units)
            return
        matrix = np.repeat(self._matrix[None], lean.sets, axis=0)
        at = 0
        for u, mine in zip(self._group.unknowns, units, strict=True):
            for k, extra in enumerate(self._contacts.extra(u, lean)):
                mine[k] = (mine[k][0], extra)
                if extra is not None:
                    self._fill(matrix, at, u, extra)
                at += 1
        self._once(state, matrix, units)

    def _once(self, state: State, matrix: Floats, units: list[_Units]) -> list[Floats]:
        """One linear solution; returns the first scalar of each unknown."""
        rows = [part for body in self._group.bodies
                for part in (state.force[body].real, state.force[body].imag,
                             state.moment[body] / self._contacts.size)]
        left = np.stack(np.broadcast_arrays(*rows), axis=-1)
        found = -self._scale * _solved(matrix * self._scale, left)
        at, firsts = 0, []
        for u, mine in zip(self._group.unknowns, units, strict=True):
            values = [found[..., at + k] for k in range(len(mine))]
            state.add(u, values)
            for (column, extra), value in zip(mine, values, strict=True):
                state.push(u, column, value)
                if extra is not None:
                    state.push(u, extra, value)
            at += len(mine)
            firsts.append(values[0])
        return firsts


def _solved(matrix: Floats, right: Floats) -> Floats:
    """Solutions (…, m) of matrix·x = right, (…, n, m) and (…, n); of least norm when m > n.

    NaN where a matrix is singular or nearly: there the mechanism is at a dead point. The
    wide case by the normal equations of the second kind, the residual corrected once so
    that the balance holds to rounding.
    """
    rows, columns = matrix.shape[-2:]
    column = right[..., None]
    if columns < rows:
        return np.full((*right.shape[:-1], columns), np.nan)
    with np.errstate(invalid="ignore", over="ignore"):
        if columns == rows:
            found = _square_solved(matrix, column)
        else:
            turned = matrix.swapaxes(-1, -2)
            gram = matrix @ turned
            found = turned @ _square_solved(gram, column)
            found = found + turned @ _square_solved(gram, column - matrix @ found)
        size = np.abs(found).max(axis=-2, keepdims=True)
        asked = np.abs(column).max(axis=-2, keepdims=True)
        dead = size * _DEAD > asked
        if columns > rows:
            wrong = np.abs(column - matrix @ found).max(axis=-2, keepdims=True)
            dead |= ~(wrong <= _LEFT * (asked + size))
    return np.where(dead, np.nan, found)[..., 0]


def _square_solved(matrix: Floats, column: Floats) -> Floats:
    """Solutions of square systems; NaN for singular ones."""
    try:
        return np.asarray(np.linalg.solve(matrix, column), dtype=np.float64)
    except np.linalg.LinAlgError:
        dead = (np.abs(np.linalg.det(matrix)) == 0.0)[..., None, None]
        whole = np.where(dead, np.eye(matrix.shape[-1]), matrix)
        return np.where(dead, np.nan, np.linalg.solve(whole, column))
