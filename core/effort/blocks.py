"""Reactions of any group of bodies, as a batch of small linear systems."""

from __future__ import annotations

import numpy as np

from core.effort.contacts import Column, Contacts, Lean
from core.effort.frames import Floats
from core.effort.layout import Group, Unknown
from core.effort.reactions import State
from core.effort.singles import DEAD

#: The scalar unknowns of a reaction: what one unit does, and does besides.
_Units = list[tuple[Column, Column | None]]

#: Share of the loads that may be left unbalanced before a solution counts as unsound.
_LEFT = 1e-11


class Block:
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
        """Find the reactions of the group and let them act on earlier bodies."""
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
        dead = size * DEAD > asked
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
