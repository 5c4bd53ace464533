"""Signed distances between rounded convex pieces, for many pairs and poses at once.

Two rounded pieces are their convex cores grown by radii, so the signed distance between
them is that of the cores less both radii, exactly. Apart, the distance of two convex
cores is the least distance from a corner of one to an edge of the other. When they cross
it is minus the shortest shift that parts them; for convex polygons that shift is square
to an edge of one of them (separating axis theorem), and a segment is a polygon with two
edges back to back. Reference: C. Ericson, Real-Time Collision Detection (2005),
sections 4.4 and 5.1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.space.outlines import Rounded

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Ints = NDArray[np.intp]

#: Numbers worked on at once: small enough for the processor's cache.
_CHUNK = 32768


@dataclass(frozen=True)
class Pieces:
    """Rounded pieces of many bodies as flat arrays, drawn pose.

    Piece i owns `count[i]` corners from `first[i]` on and moves with row `row` of the
    pose arrays. `ahead` is the unit direction from a corner to the next one of its piece
    and `length_mm` the distance; a disc has neither (1 and 0).
    """

    first: Ints
    count: Ints
    radius_mm: Floats
    corner_row: Ints
    corner: Complexes
    ahead: Complexes
    length_mm: Floats


@dataclass(frozen=True)
class Posed:
    """Corners and edge directions of pieces in poses: complex (V, T, G)."""

    pieces: Pieces
    corner: Complexes
    ahead: Complexes


def flatten(pieces: Sequence[Rounded], rows: Sequence[int]) -> Pieces:
    """Lay pieces end to end; `rows` are their rows in the pose arrays, (n,)."""
    count = np.array([piece.corners.size for piece in pieces], dtype=np.intp)
    first = np.cumsum(count) - count
    corner = (np.concatenate([piece.corners for piece in pieces])
              if pieces else np.empty(0, np.complex128))
    follower = np.arange(corner.size) + 1
    follower[first + count - 1] = first
    step = corner[follower] - corner
    length = np.abs(step)
    ahead = np.divide(step, length, out=np.ones_like(step), where=length > 0.0)
    radius = np.array([piece.radius_mm for piece in pieces], dtype=np.float64)
    return Pieces(first, count, radius, np.repeat(np.asarray(rows, dtype=np.intp), count),
                  corner, ahead, length)


def pose(pieces: Pieces, rotation: Complexes, shift: Complexes) -> Posed:
    """Pieces where the bodies are.

    `rotation` and `shift` are complex (P, T, G): T groups of G poses of P bodies.
    """
    turned = rotation[pieces.corner_row]
    lift = (slice(None), None, None)
    corner = turned * pieces.corner[lift]
    corner += shift[pieces.corner_row]
    turned *= pieces.ahead[lift]
    return Posed(pieces, corner, turned)


def signed_distances(posed: Posed, a: Ints, b: Ints, group: Ints) -> Floats:
    """Signed distance of piece a[i] from piece b[i] in the poses of group[i].

    Parameters
    ----------
    a, b, group : (M,) indices of pieces and of pose groups.

    Returns
    -------
    (M, G) mm; negative: minus the shortest shift that would part the two.
    """
    count = posed.pieces.count
    swap = count[a] > count[b]
    a, b = np.where(swap, b, a), np.where(swap, a, b)
    out = np.empty((a.size, posed.corner.shape[2]))
    kind = count[a] * (count.max(initial=0) + 1) + count[b]
    for value in np.unique(kind):
        same = np.flatnonzero(kind == value)
        one = same[0]
        combos = max(1, int(count[a[one]] * count[b[one]]) * out.shape[1])
        stride = max(1, _CHUNK // combos)
        for start in range(0, same.size, stride):
            some = same[start:start + stride]
            out[some] = _cores(posed, a[some], b[some], group[some])
    out -= (posed.pieces.radius_mm[a] + posed.pieces.radius_mm[b])[:, None]
    return out


def _cores(posed: Posed, a: Ints, b: Ints, group: Ints) -> Floats:
    """Signed distance of cores, all `a` with one count of corners and all `b` with one
    not smaller: (M, G)."""
    count = posed.pieces.count
    few, many = int(count[a[0]]), int(count[b[0]])
    at = group[:, None]
    corners_a = posed.pieces.first[a][:, None] + np.arange(few)
    corners_b = posed.pieces.first[b][:, None] + np.arange(many)
    if many == 1:
        return np.asarray(
            np.abs(posed.corner[corners_a[:, 0], group] - posed.corner[corners_b[:, 0], group])
        )
    square, apart = _corners_to_edges(posed, corners_a, _edges(corners_b), at)
    if few > 1:
        other, apart_too = _corners_to_edges(posed, corners_b, _edges(corners_a), at)
        square, apart = np.minimum(square, other), np.maximum(apart, apart_too)
    distance = np.sqrt(square)
    # A disc's centre cannot lie inside a segment: nothing to correct there.
    if many > 2 or few > 1:
        np.copyto(distance, apart, where=apart < 0.0)
    return np.asarray(distance)


def _edges(corners: Ints) -> Ints:
    """Corners at which an edge starts: a segment has one edge, not two."""
    return corners[:, :1] if corners.shape[1] == 2 else corners


def _corners_to_edges(posed: Posed, corners: Ints, edges: Ints,
                      at: Ints) -> tuple[Floats, Floats]:
    """Least squared distance of corners from edges, and how far the corners stand clear
    of the edges' lines at best (negative: of none). Each (M, G)."""
    ahead = posed.ahead[edges, at][:, None]
    start = posed.corner[edges, at][:, None]
    offset = (posed.corner[corners, at][:, :, None] - start) * ahead.conj()
    along, aside = offset.real, offset.imag
    length = posed.pieces.length_mm[edges][:, None, :, None]
    beyond = along - np.clip(along, 0.0, length)
    square = beyond * beyond + aside * aside
    clear = -aside.max(axis=1)
    if edges.shape[1] == 1:  # the segment seen from its other side
        clear = np.maximum(clear, aside.min(axis=1))
    least = square.reshape(square.shape[0], -1, square.shape[3]).min(axis=1)
    return least, clear.max(axis=1)
