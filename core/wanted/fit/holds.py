"""What must hold of the drawn places: locked lengths, lines of slides, rules, bounds and the
regions of fixed pivots, as equations c = 0 and inequalities g ≤ 0 of the nodes, in mm."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from core.model import LengthRule, Part, Sketch, Zone, join_ref, part_of
from core.model.links import point_refs
from core.motion.redimension.nodes import Nodes
from core.wanted.borders import inside, nearest_on
from core.wanted.fit.freedom import Freedom

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
#: Nodes and the complex gradient by each: d(value) = Σ Re(conj(gradient) · δ).
Slope = list[tuple[int, complex]]

#: Before the id of a part in the source of its locked lengths.
LOCKED = "lengths of "
#: No link gets shorter than this share of the sketch's size; nor than so many times its
#: pins' mean diameter, so that wood is left between them (common practice, no source), but
#: never mind pins too thick for the sketch: those asking for more than that share of it.
SHORTEST_SHARE, WALL, THICK_SHARE = 2e-3, 1.5, 0.05
#: A link drawn shorter than that (an eccentric) may shrink to this share of it.
ECCENTRIC = 1 / 3


@dataclass(frozen=True)
class Hold:
    """One equation or inequality: `value(places)` is to be 0, or not above 0.

    `label` says in words what it is; `source` is the id of the rule or zone it comes from,
    "longest" or "shortest" for the bounds on all links, `LOCKED` and the part's id for
    locked lengths, "" for what cannot be given up; `about` are the nodes it speaks of.
    """

    label: str
    source: str
    equal: bool
    about: tuple[int, ...]
    look: Callable[[Complexes], tuple[float, Slope]]


def holds(freedom: Freedom) -> tuple[Hold, ...]:
    """All that must hold in a fit of the sketch; holds that name only nodes that stay are
    left out when they hold."""
    sketch, net = freedom.sketch, freedom.net
    every = [*_lines(sketch, net), *_rigid(sketch, net), *_rules(sketch, net),
             *_bounds(freedom), *_zones(sketch, net)]
    return tuple(hold for hold in every if not freedom.held[list(hold.about)].all())


def look(held: Iterable[Hold], place: Complexes, velocities: Complexes
         ) -> tuple[Floats, Floats, Floats, Floats]:
    """Values c (E,) and slopes (E, D) of the equations, then g (I,) and (I, D) of the
    inequalities, at places (K,) that move with `velocities` (K, D)."""
    values: dict[bool, list[float]] = {True: [], False: []}
    slopes: dict[bool, list[Floats]] = {True: [], False: []}
    for hold in held:
        value, slope = hold.look(place)
        row = np.zeros(velocities.shape[1])
        for node, gradient in slope:
            row += (np.conj(gradient) * velocities[node]).real
        values[hold.equal].append(value)
        slopes[hold.equal].append(row)
    equal, below = (np.array(slopes[kind]).reshape(-1, velocities.shape[1])
                    for kind in (True, False))
    return np.array(values[True]), equal, np.array(values[False]), below


def _length(place: Complexes, one: int, other: int, sign: float = 1.0
            ) -> tuple[float, Slope]:
    way = complex(place[other] - place[one])
    length = abs(way) or 1e-12
    return sign * length, [(other, sign * way / length), (one, -sign * way / length)]


def _lines(sketch: Sketch, net: Nodes) -> Iterator[Hold]:
    """Points stay on the lines of slides and slots."""
    ids = [*(slide.id for slide in sketch.slides), *(slot.id for slot in sketch.slots)]
    for name, (node, start, end) in zip(ids, net.lines, strict=True):
        if len({node, start, end}) == 3:
            yield Hold(f"{name} has to stay straight", "", True, (node, start, end),
                       _on_line(node, start, end))


def _on_line(node: int, start: int, end: int) -> Callable[[Complexes], tuple[float, Slope]]:
    def value(place: Complexes) -> tuple[float, Slope]:
        way = complex(place[end] - place[start])
        length = abs(way) or 1e-12
        normal = 1j * way / length
        off = complex(place[node] - place[start])
        share = (off * way.conjugate()).real / length**2
        return (off * normal.conjugate()).real, [
            (node, normal), (start, -(1 - share) * normal), (end, -share * normal)]
    return value


def _rigid(sketch: Sketch, net: Nodes) -> Iterator[Hold]:
    """Lengths of parts with locked lengths: the first two joints, each other one to both."""
    for name, held in net.rigid:
        pairs = [(held[0], held[1])]
        pairs += [(anchor, node) for node in held[2:] for anchor in held[:2]]
        for one, other in pairs:
            length = abs(complex(net.place[other] - net.place[one]))
            yield Hold(f"the lock on the lengths of {name}", f"{LOCKED}{name}", True,
                       (one, other), _excess(one, other, length))


def _excess(one: int, other: int, length: float
            ) -> Callable[[Complexes], tuple[float, Slope]]:
    """The distance of two nodes less a length."""
    def value(place: Complexes) -> tuple[float, Slope]:
        now, slope = _length(place, one, other)
        return now - length, slope
    return value


def _lack(one: int, other: int, shortest: float
          ) -> Callable[[Complexes], tuple[float, Slope]]:
    """A length less the distance of two nodes."""
    def value(place: Complexes) -> tuple[float, Slope]:
        now, slope = _length(place, one, other, -1.0)
        return now + shortest, slope
    return value


def _equal(first: tuple[int, int], second: tuple[int, int]
           ) -> Callable[[Complexes], tuple[float, Slope]]:
    def value(place: Complexes) -> tuple[float, Slope]:
        one, slope = _length(place, *first)
        minus, more = _length(place, *second, sign=-1.0)
        return one + minus, [*slope, *more]
    return value


def _rules(sketch: Sketch, net: Nodes) -> Iterator[Hold]:
    for rule in sketch.length_rules:
        yield from _rule(rule, net)


def _rule(rule: LengthRule, net: Nodes) -> Iterator[Hold]:
    ends = [net.of.get(ref, -1) for ref in rule.ends]
    pairs = [(one, other) for one, other in zip(ends[::2], ends[1::2], strict=False)
             if one >= 0 and other >= 0 and one != other]
    names = [f"{one} to {other}" for one, other in zip(rule.ends[::2], rule.ends[1::2],
                                                       strict=False)]
    if rule.equal:
        for pair in pairs[1:]:
            yield Hold(f"the equal lengths of {rule.id}", rule.id, True, (*pairs[0], *pair),
                       _equal(pairs[0], pair))
    for pair, name in zip(pairs, names, strict=False):
        if rule.longest_mm is not None:
            yield Hold(f"the longest length of {rule.id} ({name})", rule.id, False, pair,
                       _excess(*pair, rule.longest_mm))
        if rule.shortest_mm is not None:
            yield Hold(f"the shortest length of {rule.id} ({name})", rule.id, False, pair,
                       _lack(*pair, rule.shortest_mm))


def _bounds(freedom: Freedom) -> Iterator[Hold]:
    """Bounds on the lengths of all moving links, and that none loses its length."""
    sketch, net = freedom.sketch, freedom.net
    rules = sketch.fit
    floor, thick = (share * freedom.size_mm for share in (SHORTEST_SHARE, THICK_SHARE))
    bore = _bores(sketch, net)
    for part in sketch.parts:
        if part.fixed or part.lengths_locked:
            continue
        for one, other in combinations(_joints_of(sketch, net, part), 2):
            if rules.shortest_mm is None:
                wall = WALL * (bore.get(one, 0.0) + bore.get(other, 0.0)) / 2
                least, now = max(floor, min(wall, thick)), _apart(net, one, other)
                if now < least:
                    least = min(max(floor, ECCENTRIC * least), now)
            else:
                least = max(1e-3, rules.shortest_mm)
            yield Hold(f"the shortest link ({part.id})",
                       "" if rules.shortest_mm is None else "shortest", False, (one, other),
                       _lack(one, other, least))
            if rules.longest_mm is not None:
                yield Hold(f"the longest link ({part.id})", "longest", False, (one, other),
                           _excess(one, other, rules.longest_mm))
    for pair in (*sketch.meshes, *sketch.belts):
        one, other = (net.of[ref] for ref in point_refs(pair))
        yield Hold(f"the centres of {pair.id}", "", False, (one, other),
                   _lack(one, other, min(floor, _apart(net, one, other))))


def _apart(net: Nodes, one: int, other: int) -> float:
    return abs(complex(net.place[one] - net.place[other]))


def _bores(sketch: Sketch, net: Nodes) -> dict[int, float]:
    """The thickest pin through each node, mm."""
    found: dict[int, float] = {}
    joints = [(ref, pin.diameter_mm) for pin in sketch.pins for ref in pin.at]
    joints += [(slot.point, slot.diameter_mm) for slot in sketch.slots]
    for ref, diameter in joints:
        node = net.of[ref]
        found[node] = max(found.get(node, 0.0), diameter)
    return found


def _joints_of(sketch: Sketch, net: Nodes, part: Part) -> list[int]:
    """Nodes of the pins and sliding points of a part."""
    refs = [ref for pin in sketch.pins for ref in pin.at]
    refs += [slide.point for slide in sketch.slides] + [slot.point for slot in sketch.slots]
    return list(dict.fromkeys(net.of[ref] for ref in refs if part_of(ref) == part.id))


def _zones(sketch: Sketch, net: Nodes) -> Iterator[Hold]:
    """Regions of fixed pivots, and of points of the frame."""
    fixed = {part.id for part in sketch.parts if part.fixed}
    pivots = dict.fromkeys(net.of[ref] for pin in sketch.pins for ref in pin.at
                           if part_of(ref) in fixed and not sketch.point(ref).locked)
    for zone in sketch.zones:
        named = dict.fromkeys(net.of[ref] for ref in zone.points
                              if ref in net.of and part_of(ref) in fixed)
        for node in named if zone.points else pivots:
            yield from _zone(zone, node)


def moving_zones(sketch: Sketch) -> list[tuple[Zone, str]]:
    """Zones of points that move, each with one of its points."""
    fixed = {part.id for part in sketch.parts if part.fixed}
    known = {join_ref(part.id, point.id) for part in sketch.parts for point in part.points}
    return [(zone, ref) for zone in sketch.zones for ref in zone.points
            if ref in known and part_of(ref) not in fixed]


def _zone(zone: Zone, node: int) -> Iterator[Hold]:
    corners = np.array([complex(x, y) for x, y in zone.corners])
    label = f"the region {zone.id}"
    if len(corners) == 1 and zone.keep == "in":
        for axis in (1 + 0j, 1j):
            yield Hold(label, zone.id, True, (node,), _flat(node, axis, corners[0]))
    elif len(corners) == 2 and zone.keep == "in":
        way = complex(corners[1] - corners[0]) / (abs(corners[1] - corners[0]) or 1.0)
        yield Hold(label, zone.id, True, (node,), _flat(node, 1j * way, corners[0]))
        yield Hold(label, zone.id, False, (node,), _flat(node, -way, corners[0]))
        yield Hold(label, zone.id, False, (node,), _flat(node, way, corners[1]))
    elif len(corners) > 2:
        if zone.keep == "in" and (sides := _convex(corners)) is not None:
            for corner, outward in sides:
                yield Hold(label, zone.id, False, (node,), _flat(node, outward, corner))
        else:
            sign = 1.0 if zone.keep == "in" else -1.0
            yield Hold(label, zone.id, False, (node,), _beside(node, corners, sign))


def _flat(node: int, axis: complex, through: complex
          ) -> Callable[[Complexes], tuple[float, Slope]]:
    """How far a node is along `axis` beyond the place `through`."""
    def value(place: Complexes) -> tuple[float, Slope]:
        return ((place[node] - through) * np.conj(axis)).real, [(node, axis)]
    return value


def _beside(node: int, corners: Complexes, sign: float
            ) -> Callable[[Complexes], tuple[float, Slope]]:
    def value(place: Complexes) -> tuple[float, Slope]:
        far, outward = outside(corners, place[node:node + 1])
        return sign * float(far[0]), [(node, sign * complex(outward[0]))]
    return value


def _convex(corners: Complexes) -> list[tuple[complex, complex]] | None:
    """A corner and the outward normal of every side of a convex polygon; None for others."""
    ways = np.roll(corners, -1) - corners
    keep = np.abs(ways) > 0
    corners, ways = corners[keep], ways[keep]
    bends = (np.conj(ways) * np.roll(ways, -1)).imag
    if len(ways) < 3 or not ((bends >= 0).all() or (bends <= 0).all()):
        return None
    around = float(np.angle(np.roll(ways, -1) / ways).sum())
    if abs(abs(around) - 2 * np.pi) > 1e-6:
        return None
    outward = ways / np.abs(ways) * (-1j if around > 0 else 1j)
    return [(complex(corner), complex(normal))
            for corner, normal in zip(corners, outward, strict=True)]


def outside(corners: Complexes, places: Complexes) -> tuple[Floats, Complexes]:
    """How far places (N,) are outside a polygon, mm, negative inside, and the unit
    directions in which that grows."""
    end = np.roll(corners, -1)
    _, away = nearest_on(places[:, None], corners, end)
    side = np.abs(away).argmin(axis=1)
    nearest = away[np.arange(len(places)), side]
    far = np.abs(nearest)
    way = end - corners
    normal = -1j * _sense(corners) * way / np.maximum(np.abs(way), 1e-15)
    sign = np.where(inside(corners, places), -1.0, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        outward = np.where(far > 1e-9, sign * nearest / far, normal[side])
    return sign * far, outward


def _sense(corners: Complexes) -> float:
    """+1 for corners counter-clockwise, −1 for clockwise."""
    return 1.0 if float((np.conj(corners) * np.roll(corners, -1)).imag.sum()) >= 0 else -1.0
