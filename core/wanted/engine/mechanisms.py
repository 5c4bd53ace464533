"""Many mechanisms of one recipe: their parameters and the signs of their dyads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.wanted.engine.recipe import Dyad, Recipe

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]
Signs = NDArray[np.int8]


@dataclass(frozen=True)
class Mechanisms:
    """M mechanisms: `params` (M, P) as `Recipe.parameters` says, `signs` (M, D) ±1 for
    every dyad of the recipe."""

    params: Floats
    signs: Signs

    def __len__(self) -> int:
        return len(self.params)

    def __getitem__(self, which: Any) -> Mechanisms:
        """Some of them: a slice, a mask or indices (one index gives one mechanism)."""
        if isinstance(which, int | np.integer):
            which = slice(which, which + 1) if which != -1 else slice(which, None)
        return Mechanisms(self.params[which], self.signs[which])


def named(recipe: Recipe, values: Mapping[str, ArrayLike], signs: ArrayLike) -> Mechanisms:
    """M mechanisms from their parameters by name, each (M,) or one number for all, and the
    signs (M, D). Raises KeyError when a parameter is missing."""
    sides = np.atleast_2d(np.asarray(signs, np.int8))
    columns = [np.broadcast_to(np.asarray(values[own.name], np.float64), len(sides))
               for own in recipe.parameters]
    return Mechanisms(np.stack(columns, axis=1), sides)


def joined(several: Sequence[Mechanisms]) -> Mechanisms:
    """All of them, one after the other; they are of one recipe."""
    return Mechanisms(np.concatenate([some.params for some in several]),
                      np.concatenate([some.signs for some in several]))


def moved(recipe: Recipe, mechanisms: Mechanisms, turn: Complexes | complex,
          shift: Complexes | complex = 0j) -> Mechanisms:
    """Turned, scaled and shifted: every place z becomes ``turn · z + shift``.

    `turn` and `shift`, complex, scalars or (M,). A point that was at z(θ) at crank angle
    θ is then at ``turn · z(θ − arg turn) + shift``: the crank turns along.
    """
    turn, shift = np.asarray(turn), np.asarray(shift)
    size, angle = np.abs(turn), np.angle(turn)
    params = mechanisms.params.copy()
    for row, parameter in enumerate(recipe.parameters):
        match parameter.kind:
            case "x":
                place = turn * (params[:, row] + 1j * params[:, row + 1]) + shift
                params[:, row], params[:, row + 1] = place.real, place.imag
            case "u" | "v" | "length":
                params[:, row] *= size
            case "direction":
                params[:, row] += angle
            case "phase":
                params[:, row] += angle * (1 - float(parameter.ratio))
            case _:
                pass
    return Mechanisms(params, mechanisms.signs)


def mirrored(recipe: Recipe, mechanisms: Mechanisms) -> Mechanisms:
    """Mirrored about the x axis: a point that was at z(θ) is then at conj z(−θ)."""
    flip = np.array([-1.0 if own.kind in ("y", "v", "direction", "phase") else 1.0
                     for own in recipe.parameters])
    signs = mechanisms.signs.copy()
    for column, dyad in enumerate(recipe.dyads):
        if isinstance(dyad, Dyad):  # ahead along a guide stays ahead, left becomes right
            signs[:, column] *= -1
    return Mechanisms(mechanisms.params * flip, signs)
