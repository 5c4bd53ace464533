"""Cuts through a part: where it is looked at for pull, push and bending, and how strong it
is there. Shape only; kept for as long as the part stays as it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.making.strength.edges import reach
from core.model import Bar, Disc, Part, Plate
from core.motion.turn import Complexes, Floats
from core.space.necks import Neck, necks
from core.space.outlines import default_outline

#: Places closer than this are one, mm.
_SAME_MM = 0.01
#: Where a limb is cut, as a share of the way from one bore to the next.
_OF_BARS = (0.0, 0.5, 1.0)
_OF_OTHERS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


@dataclass(frozen=True)
class Cuts:
    """J cuts square to the ways from bore to bore.

    `place` (J,) complex mm, middle of the wood that is cut, drawn pose; `way` (J,) unit
    vectors along the limb; `width` (J,) mm from edge to edge, `wood` (J,) mm without the
    bore; `area` (J,) mm² and `bend` (J,) mm³ section modulus, net; `limb` (J,) number of the
    limb, `length` (J,) its length, `whole` (J,) its least width; `short` (J,) necks of short
    grain. `side` (P, J): 1 for loads on the side of the limb's first end.
    """

    place: Complexes
    way: Complexes
    width: Floats
    wood: Floats
    area: Floats
    bend: Floats
    limb: NDArray[np.intp]
    length: Floats
    whole: Floats
    short: NDArray[np.bool_]
    side: Floats


@lru_cache(maxsize=2048)
def cuts_of(part: Part, anchors: tuple[complex, ...],
            bores: tuple[tuple[complex, float], ...]) -> Cuts | None:
    """Cuts of a part with loads at `anchors` (drawn places; the last is where its own weight
    acts) and holes `bores` (place, diameter); None where nothing lies between.

    A convex part is cut right through: what lies beyond the cut is on its side. Other parts
    and bars are followed from bore to bore along the shortest tree, and cut too where such a
    way crosses a neck.
    """
    shape = default_outline(part)
    nodes = _nodes(part, anchors[:-1], shape)
    if len(nodes) < 2:
        return None
    chain = isinstance(shape, Bar)
    limbs = ([(k, k + 1) for k in range(len(nodes) - 1)] if chain else _tree(nodes))
    shares = _OF_BARS if chain else _OF_OTHERS
    straight = isinstance(shape, Plate | Disc)
    narrow = necks(part, bores)
    owner = [int(np.argmin(np.abs(np.array(nodes) - at).round(6))) for at in anchors]
    rows: list[_Row] = []
    for number, (a, b) in enumerate(limbs):
        first, run = nodes[a], nodes[b] - nodes[a]
        way, near = run / abs(run), _near_side(limbs, number, len(nodes))
        spots = [(share, way, 0.0, False) for share in shares]
        spots += [(along, turned, neck.bore_mm, neck.short_grain) for neck in narrow
                  for along, turned in [_crossed(neck, first, run)] if 0.0 < along < 1.0]
        for share, square, bore, short in spots:
            inside = first + min(max(share, 1e-6), 1 - 1e-6) * run
            side = tuple(((z - inside) * way.conjugate()).real < 0.0 if straight
                         else owner[k] in near for k, z in enumerate(anchors))
            at = first + share * run
            rows.append(_Row(at, square, bore or _bore(bores, at), number, abs(run),
                             short, side))
    return _gathered(part, rows)


@dataclass(frozen=True)
class _Row:
    """A cut before its wood is measured."""

    at: complex
    way: complex
    bore: float
    limb: int
    length: float
    short: bool
    side: tuple[bool, ...]


def _crossed(neck: Neck, first: complex, run: complex) -> tuple[float, complex]:
    """Where a limb crosses a neck, as a share of the limb (outside 0 to 1 where it does
    not), and the neck's direction turned the limb's way."""
    along = complex(math.cos(neck.along_rad), math.sin(neck.along_rad))
    if (along * run.conjugate()).real < 0.0:
        along = -along
    flow = (run * along.conjugate()).real
    if flow <= 1e-9:
        return -1.0, along
    share = ((neck.place - first) * along.conjugate()).real / flow
    off = abs(((first + share * run - neck.place) * along.conjugate()).imag)
    return (share if off < (neck.width_mm + neck.bore_mm) / 2 else -1.0), along


def _gathered(part: Part, rows: list[_Row]) -> Cuts | None:
    at, way = np.array([row.at for row in rows]), np.array([row.way for row in rows])
    left, right = reach(part, at, 1j * way), reach(part, at, -1j * way)
    keep = np.flatnonzero(left + right > 0.0)
    if not keep.size:
        return None
    rows = [rows[k] for k in keep]
    at, way, left, right = at[keep], way[keep], left[keep], right[keep]
    full, off = left + right, (left - right) / 2
    bore = np.minimum(np.array([row.bore for row in rows]), 0.98 * full)
    limb = np.array([row.limb for row in rows])
    wood, thick = full - bore, part.thickness_mm
    aside = np.minimum(np.abs(off), wood / 2)
    second = thick * (full**3 / 12 - bore**3 / 12 - bore * aside**2)
    whole = np.array([full[limb == number].min() for number in limb])
    return Cuts(at + 1j * way * off, way, full, wood, wood * thick, second / (full / 2), limb,
                np.array([row.length for row in rows]), whole,
                np.array([row.short for row in rows]),
                np.array([row.side for row in rows], dtype=float).T)


def _nodes(part: Part, anchors: tuple[complex, ...], shape: object) -> list[complex]:
    """Bores in a row: of a bar its points in order, else the places where loads act."""
    if isinstance(shape, Bar):
        places = {point.id: point.place for point in part.points}
        names = shape.through or tuple(places)
        anchors = tuple(places[name] for name in names)
    found: list[complex] = []
    for at in anchors:
        if all(abs(at - other) > _SAME_MM for other in found):
            found.append(at)
    return found


def _tree(nodes: list[complex]) -> list[tuple[int, int]]:
    """The shortest tree over some places (Prim's method)."""
    within, found = {0}, []
    while len(within) < len(nodes):
        pair = min(((a, b) for a in within for b in range(len(nodes)) if b not in within),
                   key=lambda ab: abs(nodes[ab[0]] - nodes[ab[1]]))
        within.add(pair[1])
        found.append(pair)
    return found


def _near_side(limbs: list[tuple[int, int]], cut: int, count: int) -> set[int]:
    """Nodes that hang on the first end of a limb when it is cut."""
    near, edge = {limbs[cut][0]}, True
    while edge:
        edge = False
        for k, (a, b) in enumerate(limbs):
            if k != cut and (a in near) != (b in near):
                near |= {a, b}
                edge = True
    return near


def _bore(bores: tuple[tuple[complex, float], ...], at: complex) -> float:
    return max((d for place, d in bores if abs(place - at) < _SAME_MM), default=0.0)
