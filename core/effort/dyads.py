"""Reactions of two bodies pinned to each other, each on a pin or a slide."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from core.effort.contacts import Contacts, Lean
from core.effort.frames import Complexes, Floats, dot
from core.effort.layout import Unknown
from core.effort.reactions import State
from core.effort.singles import DEAD, Pull, Way


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
        self._pull = Pull(outer, contacts)

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
        self._body, self._sign, self._way = held, sign, Way(outer, held, contacts)
        self._arm = middle - self._way.track.at
        self.turn = sign * self._way.track.along

    def row(self, state: State, lean: Lean | None,
            grip: Complexes | None) -> tuple[Complexes, Floats]:
        force = state.force[self._body]
        if lean is None or grip is None:
            return self.turn, -dot(self._way.track.along, force)
        along, by_moment = self._way.leaned(lean)
        left = self._sign * (along - by_moment * (1j * self._arm + grip))
        moment = self._way.about(force, state.moment[self._body])
        return left, by_moment * moment - dot(along, force)

    def finish(self, state: State, lean: Lean | None, force: Complexes,
               grip: Complexes | None) -> None:
        push, own = self._sign * force, state.force[self._body]
        moment = self._way.about(own, state.moment[self._body])
        moment = moment + (self._arm.conj() * push).imag
        if grip is not None:
            moment = moment + dot(grip, push)
        self._way.book(state, own + push, moment, lean)


class Dyad:
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
        self._dead = np.flatnonzero(area <= DEAD * np.abs(first * second))

    def solve(self, state: State, lean: Lean | None) -> None:
        """Find the reactions of both bodies and let them act on earlier ones."""
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
