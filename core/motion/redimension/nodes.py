"""Nodes: points that are drawn at one place because pins hold them together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.model import Part, Sketch, join_ref


@dataclass(frozen=True)
class Nodes:
    """The distinct places of a sketch.

    Attributes
    ----------
    of : node index of every point reference.
    place : (K,) complex, mm.
    locked : (K,) bool; a node with a locked point does not move.
    ground : (K,) bool; nodes with a point of the frame.
    lines : (node, from node, to node) of points held on the lines of slides and slots.
    rigid : node indices (and their part id) of every part with locked lengths.
    """

    of: dict[str, int]
    place: NDArray[np.complex128]
    locked: NDArray[np.bool_]
    ground: NDArray[np.bool_]
    lines: tuple[tuple[int, int, int], ...]
    rigid: tuple[tuple[str, tuple[int, ...]], ...]

    def of_part(self, part: Part) -> tuple[int, ...]:
        """Nodes of a part's points in their order."""
        return tuple(self.of[join_ref(part.id, point.id)] for point in part.points)


def nodes(sketch: Sketch) -> Nodes:
    """Group the points of a sketch into nodes (union of all pins)."""
    points = {join_ref(part.id, point.id): point
              for part in sketch.parts for point in part.points}
    leader = {ref: ref for ref in points}

    def head(ref: str) -> str:
        while leader[ref] != ref:
            leader[ref] = leader[leader[ref]]
            ref = leader[ref]
        return ref

    for pin in sketch.pins:
        held = [ref for ref in pin.at if ref in leader]
        for ref in held[1:]:
            leader[head(ref)] = head(held[0])
    heads = list(dict.fromkeys(head(ref) for ref in points))
    index = {ref: i for i, ref in enumerate(heads)}
    of = {ref: index[head(ref)] for ref in points}
    place = np.array([complex(points[ref].x, points[ref].y) for ref in heads],
                     dtype=np.complex128)
    locked = np.zeros(len(heads), dtype=bool)
    for ref, point in points.items():
        locked[of[ref]] |= point.locked
    ground = np.zeros(len(heads), dtype=bool)
    ground[[of[join_ref(part.id, point.id)]
            for part in sketch.parts if part.fixed for point in part.points]] = True
    lines = [(of[slide.point], of[slide.along[0]], of[slide.along[1]])
             for slide in sketch.slides]
    lines += [(of[slot.point], of[slot.slot[0]], of[slot.slot[1]]) for slot in sketch.slots]
    rigid = [(part.id, tuple(dict.fromkeys(of[join_ref(part.id, p.id)] for p in part.points)))
             for part in sketch.parts if part.lengths_locked and not part.fixed]
    return Nodes(of, place, locked, ground, tuple(lines),
                 tuple((part, held) for part, held in rigid if len(held) > 1))
