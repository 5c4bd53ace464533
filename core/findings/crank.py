"""The longest crank that goes all round, every other length kept."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from core.errors import CrankwrightError
from core.model import Sketch, join_ref, split_ref
from core.model.edits import Carry, carry_load, carry_part
from core.model.links import items, point_refs
from core.motion import Turn, solve_turn
from core.motion.network import Network, network, topology
from core.space import rigid_groups

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]

#: Cranks are tried down to this share of the drawn one.
_SHORTEST = 0.2
_STRIDE = 0.05
#: Crank positions tried to a turn; locks between them are found too.
_STEPS = 180
#: Newton's method: rounds, and the joint error counted as none, as a share of the size.
_ROUNDS, _CLOSED = 25, 1e-12


def crank_length(sketch: Sketch) -> float:
    """Distance from the driven pin to the farthest joint of the crank, mm; 0 without."""
    if sketch.drive is None:
        return 0.0
    hub, crank = _hub(sketch), _crank(sketch)
    refs = {ref for _, item in items(sketch) for ref in point_refs(item)}
    return max((abs(point.place - hub)
                for part in sketch.parts if part.id in crank for point in part.points
                if join_ref(part.id, point.id) in refs), default=0.0)


def goes_round(turn: Turn) -> bool:
    """Whether the crank reaches every step of its drive without a lock."""
    return bool(turn.reached.all()) and not turn.limits


def longest_crank(sketch: Sketch,
                  good: Callable[[Turn], bool] = goes_round) -> float | None:
    """The largest share of the drawn crank (1 at most) whose turn is good, to 1e-3.

    Cranks are shortened step by step, the mechanism being put together anew each time in
    the same assembly mode, until one is good; then the limit is halved in on. None when
    not even a crank of a fifth is.
    """
    short = 1.0
    at: Sketch | None = sketch
    while at is not None and not is_good(at, good):
        short -= _STRIDE
        at = with_crank(at, short / (short + _STRIDE)) if short >= _SHORTEST else None
    if at is None:
        return None
    low, high = short, min(1.0, short + _STRIDE)
    while high - low > 1e-3:
        middle = (low + high) / 2
        if is_good(with_crank(at, middle / short), good):
            low = middle
        else:
            high = middle
    return low


def shortened(sketch: Sketch, share: float) -> Sketch | None:
    """The sketch with its crank shortened to a share of itself, in steps so small that
    the links keep to their side of each other; None when it does not go together."""
    at: Sketch | None = sketch
    done = 1.0
    while at is not None and done > share:
        step = max(share, done - _STRIDE)
        at, done = with_crank(at, step / done), step
    return at


def with_crank(sketch: Sketch, share: float) -> Sketch | None:
    """The sketch with the crank's points drawn in towards the driven pin.

    Every other part keeps its shape and takes the nearest place in which the joints close;
    the crank angle stays. None when it cannot be put together so.
    """
    if sketch.drive is None:
        return None
    hub, crank = _hub(sketch), _crank(sketch)
    parts = tuple(
        replace(part, points=tuple(
            replace(point, x=hub.real + share * (point.x - hub.real),
                    y=hub.imag + share * (point.y - hub.imag)) for point in part.points))
        if part.id in crank else part for part in sketch.parts)
    return assembled(replace(sketch, parts=parts))


def assembled(sketch: Sketch) -> Sketch | None:
    """The sketch with its moving parts shifted and turned, none reshaped, to the nearest
    pose in which all joints close; the crank stays. None when there is none.

    Newton's method on the joint equations (least squares, so that surplus but consistent
    joints do no harm).
    """
    net = network(topology(sketch))
    drawn = np.array([point.place for row, place in net.points
                      for point in (sketch.parts[row].points[place],)])
    size = float(np.ptp(drawn.real) + np.ptp(drawn.imag)) or 1.0
    free = [body for body in range(1, net.bodies) if body != net.crank]
    angle, shift = np.zeros(net.bodies), np.zeros(net.bodies, dtype=complex)
    for _ in range(_ROUNDS):
        error, slope = _equations(net, drawn, angle, shift, size)
        if np.abs(error).max(initial=0.0) <= _CLOSED * size:
            still = np.abs(angle) * size + np.abs(shift) <= _CLOSED * size
            return _carried(sketch, net, np.where(still, 0.0, angle),
                            np.where(still, 0.0, shift))
        columns = [3 * body + k for body in free for k in range(3)]
        step = _solved(slope[:, columns], -error, size).reshape(-1, 3)
        angle[free] += step[:, 0] / size
        shift[free] += step[:, 1] + 1j * step[:, 2]
        if np.abs(step).max(initial=0.0) > 10.0 * size:
            break
    return None


def _solved(slope: Floats, wanted: Floats, size: float) -> Floats:
    """The least step that gives what is wanted as nearly as can be. Mostly there are as many
    joint equations as unknowns: then elimination does, many times as quick as the singular
    values."""
    free = slope.any(axis=1)  # the crank's own pin stands still
    slope, wanted = slope[free], wanted[free]
    if slope.shape[0] == slope.shape[1]:
        try:
            step = np.asarray(np.linalg.solve(slope, wanted), dtype=np.float64)
        except np.linalg.LinAlgError:
            pass
        else:
            off = np.abs(slope @ step - wanted).max(initial=0.0)
            if np.abs(step).max(initial=0.0) <= size and off <= 1e-9 * size:
                return step
    return np.asarray(np.linalg.lstsq(slope, wanted, rcond=None)[0], dtype=np.float64)


def _carried(sketch: Sketch, net: Network, angle: Floats, shift: Complexes) -> Sketch:
    """The sketch redrawn with every body turned and shifted; springs and forces that go
    by the drawn pose keep what they do."""
    carry, turned_deg = {}, {}
    for part, body in zip(sketch.parts, net.body_of, strict=True):
        carry[part.id] = Carry(turn=complex(np.exp(1j * angle[body])),
                               shift=complex(shift[body]))
        turned_deg[part.id] = math.degrees(angle[body])
    return replace(
        sketch,
        parts=tuple(part if angle[body] == 0.0 and shift[body] == 0.0
                    else carry_part(part, carry[part.id])
                    for part, body in zip(sketch.parts, net.body_of, strict=True)),
        forces=tuple(carry_load(force, carry[split_ref(force.at)[0]])
                     if force.turns_with_part else force for force in sketch.forces),
        torsion_springs=tuple(
            replace(spring,
                    free_deg=spring.free_deg - turned_deg[spring.b] + turned_deg[spring.a])
            for spring in sketch.torsion_springs))


def _equations(net: Network, drawn: Complexes, angle: Floats, shift: Complexes,
               size: float) -> tuple[Floats, Floats]:
    """Joint errors (mm) and their derivatives by angle·size, x and y of every body."""
    turn = np.exp(1j * angle)
    errors: list[float] = []
    rows: list[Floats] = []

    def note(error: float, terms: list[tuple[int, complex, complex]]) -> None:
        """One equation; a term says: body, its place from the body's origin, and the
        direction in which moving there raises the error."""
        row = np.zeros((net.bodies, 3))
        for body, arm, way in terms:
            row[body] += ((1j * arm * way.conjugate()).real / size, way.real, way.imag)
        errors.append(error)
        rows.append(row.ravel())

    for pin in net.pins:
        first = pin.ends[0]
        arm = turn[first.body] * drawn[first.slot]
        for other in pin.ends[1:]:
            reach = turn[other.body] * drawn[other.slot]
            off = arm + shift[first.body] - reach - shift[other.body]
            for way in (1.0 + 0j, 1j):
                note((off * way.conjugate()).real,
                     [(first.body, arm, way), (other.body, reach, -way)])
    for line in net.lines:
        body, start = line.start.body, turn[line.start.body] * drawn[line.start.slot]
        along = turn[body] * (drawn[line.end] - drawn[line.start.slot])
        if along == 0.0:
            continue
        normal = 1j * along / abs(along)
        point = turn[line.point.body] * drawn[line.point.slot]
        off = point + shift[line.point.body] - start - shift[body]
        # The line turns with its body: seen from the point that is a turn about the point.
        note((off * normal.conjugate()).real,
             [(line.point.body, point, normal), (body, start + off, -normal)])
    for law in net.laws:
        row = np.zeros((net.bodies, 3))
        for body, factor in law.terms:
            row[body, 0] = float(factor)
        errors.append(float(row[:, 0] @ angle) * size)
        rows.append(row.ravel())
    return np.array(errors), np.array(rows).reshape(-1, 3 * net.bodies)


def is_good(sketch: Sketch | None, good: Callable[[Turn], bool]) -> bool:
    """Whether there is such a sketch, it turns, and its turn is good."""
    if sketch is None:
        return False
    try:
        return good(solve_turn(sketch, steps=_STEPS))
    except CrankwrightError:
        return False


def _hub(sketch: Sketch) -> complex:
    """Where the driven pin is."""
    drive = sketch.drive
    assert drive is not None
    pin = next(pin for pin in sketch.pins if pin.id == drive.pin)
    return sketch.place(pin.at[0])


def _crank(sketch: Sketch) -> frozenset[str]:
    """The parts that are the crank: the driven one and all that is fast to it."""
    assert sketch.drive is not None
    group = rigid_groups(sketch)
    return frozenset(part for part, number in group.items()
                     if number == group[sketch.drive.part])
