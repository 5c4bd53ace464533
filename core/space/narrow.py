"""Exact gaps of a list of pairs in any poses: rounded pieces in bulk, free polygons singly."""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from core.space.distance import Pieces, flatten, pose, signed_distances
from core.space.free import signed_distances_free
from core.space.neighbours import Body
from core.space.outlines import Rounded

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Ints = NDArray[np.intp]


class Narrow:
    """Pairs (a[i], b[i]) of bodies, laid out for measuring.

    Parameters
    ----------
    bodies : all bodies.
    a, b : (M,) indices of bodies.
    """

    def __init__(self, bodies: tuple[Body, ...], a: Ints, b: Ints) -> None:
        self.bodies, self.a, self.b = bodies, a, b
        used = sorted({int(i) for i in np.concatenate([a, b])})
        spans: dict[int, range] = {}
        pieces: list[Rounded] = []
        rows: list[int] = []
        for i in used:
            solid = bodies[i].solid
            spans[i] = range(len(pieces), len(pieces) + len(solid.pieces))
            pieces.extend(solid.pieces)
            rows.extend([bodies[i].row] * len(solid.pieces))
        self.pieces: Pieces = flatten(pieces, rows)
        duos = [(i, j, pair) for pair, (one, other) in enumerate(zip(a, b, strict=True))
                for i, j in product(spans[int(one)], spans[int(other)])
                if bodies[one].solid.free is None and bodies[other].solid.free is None]
        table = np.array(duos, dtype=np.intp).reshape(-1, 3)
        self.piece_a, self.piece_b, self.owner = table.T
        self.free = np.array([bodies[one].solid.free is not None
                              or bodies[other].solid.free is not None
                              for one, other in zip(a, b, strict=True)], dtype=bool)

    def only(self, chosen: NDArray[np.bool_] | Ints) -> Narrow:
        """The chosen pairs (mask or indices) alone."""
        return Narrow(self.bodies, self.a[chosen], self.b[chosen])

    def over(self, rotation: Complexes, shift: Complexes, every: int = 1) -> Floats:
        """Gap of every pair in all of N poses.

        `rotation`, `shift` (P, N) complex → (M, N) mm. How deep free polygons overlap is
        measured as `every` says, see :mod:`core.space.free`.
        """
        group = np.zeros(self.a.size, dtype=np.intp)
        return self._measure(rotation[:, None], shift[:, None], group, every)

    def each(self, rotation: Complexes, shift: Complexes) -> Floats:
        """Gap of pair i in its own G poses.

        `rotation`, `shift` (P, M, G) complex → (M, G) mm.
        """
        return self._measure(rotation, shift, np.arange(self.a.size))

    def _measure(self, rotation: Complexes, shift: Complexes, group: Ints,
                 every: int = 1) -> Floats:
        lanes = np.empty((0, rotation.shape[2]))
        if self.owner.size:
            posed = pose(self.pieces, rotation, shift)
            lanes = signed_distances(posed, self.piece_a, self.piece_b, group[self.owner])
            if self.owner.size == self.a.size and not self.free.any():
                return lanes
        out = np.full((self.a.size, rotation.shape[2]), np.inf)
        if self.owner.size:
            starts = np.flatnonzero(np.diff(self.owner, prepend=-1))
            out[self.owner[starts]] = np.minimum.reduceat(lanes, starts, axis=0)
        for pair in np.flatnonzero(self.free):
            one, other = self.bodies[self.a[pair]], self.bodies[self.b[pair]]
            t = group[pair]
            back = rotation[one.row, t].conj()
            out[pair] = signed_distances_free(
                one.solid, other.solid, back * rotation[other.row, t],
                back * (shift[other.row, t] - shift[one.row, t]), every)
        return out
