"""Reactions of one body: on a pin or a slide, held by one more joint.

Friction enters linearly (see `friction`): a pin resists with a moment that is a linear
function of its own force, a slide or slot with a drag that is one of its normal force.
"""

from __future__ import annotations

import numpy as np

from core.effort.contacts import Column, Contacts, Lean
from core.effort.frames import Complexes, Floats, dot
from core.effort.layout import Unknown
from core.effort.reactions import State

#: A group this near to a dead point (relative) has no sound reactions: NaN.
DEAD = 1e-7


def _acting(column: Column, plus: bool) -> tuple[Complexes, Floats]:
    """What a unit does to one of its bodies: force, and moment about the anchor."""
    if plus:
        return column.plus_force, column.plus_moment
    return column.minus_force, column.minus_moment


class Pull:
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


class Way:
    """The slide of a body: what it carries once all other forces are known.

    Forces along the slide balance. With friction that is ``way·F = by_moment·M``, F all
    other forces on the body and M their moment about the slide's point; `way` is the
    slide's direction, leaned by the friction of the normal force.
    """

    def __init__(self, u: Unknown, body: int, contacts: Contacts) -> None:
        self._u, self._contacts = u, contacts
        self._own = 1.0 if u.plus == body else -1.0
        self.track = contacts.slides[u.item]
        self._off = (contacts.anchor[body] - self.track.at).conj()
        self._columns = contacts.columns(u)

    def about(self, force: Complexes, moment: Floats) -> Floats:
        """The moment about the slide's point of a force and a moment at the anchor."""
        moved: Floats = (self._off * force).imag + moment
        return moved

    def leaned(self, lean: Lean) -> tuple[Complexes, Floats]:
        """way and by_moment."""
        by_force, by_moment = lean.slide(self._u.item)
        return self.track.along - by_force * self.track.normal, by_moment

    def book(self, state: State, force: Complexes, moment: Floats,
             lean: Lean | None) -> None:
        """Book the slide that holds a body against all other forces on it, their moment
        taken about the slide's point."""
        values = [dot(self.track.normal, force) * -self._own, moment * -self._own]
        state.add(self._u, values)
        extras = (None, None) if lean is None else self._contacts.extra(self._u, lean)
        for column, extra, value in zip(self._columns, extras, values, strict=True):
            state.push(self._u, column, value)
            if extra is not None:
                state.push(self._u, extra, value)


class Hinge:
    """One body on one pin, held by one more scalar unknown: moments about the pin."""

    def __init__(self, pin: Unknown, other: Unknown, contacts: Contacts) -> None:
        self._body, self._other, self._contacts = pin.plus, other, contacts
        self._pull = Pull(pin, contacts)
        (self._column,) = contacts.columns(other)
        self._own = other.plus == pin.plus
        if other.kind == "slot":
            lever = _acting(self._column, self._own)[1]
            lever[np.abs(lever) <= DEAD * contacts.size] = np.nan

    def solve(self, state: State, lean: Lean | None) -> None:
        """Find the reactions of the body and let them act on earlier bodies."""
        body, other = self._body, self._other
        push, lever = _acting(self._column, self._own)
        if lean is None:
            value = -state.moment[body] / lever
            if other.kind == "wheels":
                state.push(other, self._contacts.squeeze(other), np.abs(value))
            extra = None
        else:
            grip, moment = lean.pin(self._pull.item), state.moment[body]
            (extra,) = self._contacts.extra(other, lean)
            if extra is not None:
                more_push, more_lever = _acting(extra, self._own)
                push, lever = push + more_push, lever + more_lever
            value = (dot(grip, state.force[body]) - moment) / (lever - dot(grip, push))
        state.add(other, [value])
        state.push(other, self._column, value)
        if extra is not None:
            state.push(other, extra, value)
        self._pull.book(state, state.force[body], lean)


class Rider:
    """One body on one slide, held by a pin in a slot: forces along the slide."""

    def __init__(self, slide: Unknown, slot: Unknown, body: int, contacts: Contacts) -> None:
        self._body, self._slot, self._contacts = body, slot, contacts
        self._way = Way(slide, body, contacts)
        (self._column,) = contacts.columns(slot)
        self._own = slot.plus == body
        push, _ = _acting(self._column, self._own)
        self._grip = dot(self._way.track.along, push)
        self._grip[np.abs(self._grip) <= DEAD] = np.nan

    def solve(self, state: State, lean: Lean | None) -> None:
        """Find the reactions of the body and let them act on earlier bodies."""
        body, way, extra = self._body, self._way, None
        if lean is None:
            value = -dot(way.track.along, state.force[body]) / self._grip
        else:
            push, lever = _acting(self._column, self._own)
            (extra,) = self._contacts.extra(self._slot, lean)
            if extra is not None:
                more_push, more_lever = _acting(extra, self._own)
                push, lever = push + more_push, lever + more_lever
            along, by_moment = way.leaned(lean)
            asked = by_moment * way.about(state.force[body], state.moment[body])
            asked = asked - dot(along, state.force[body])
            value = asked / (dot(along, push) - by_moment * way.about(push, lever))
        state.add(self._slot, [value])
        state.push(self._slot, self._column, value)
        if extra is not None:
            state.push(self._slot, extra, value)
        force = state.force[body]
        way.book(state, force, way.about(force, state.moment[body]), lean)
