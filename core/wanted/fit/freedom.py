"""What a fit may move: drawn places as few numbers.

Points pinned together are one node. Nodes that joints, wishes or rules speak of move freely
unless they are locked, or others were named free; mirror twins move as their originals do,
mirrored. The numbers w are coordinates in an orthonormal basis of all such moves, mm; w = 0
is the sketch as it was drawn. Points nothing speaks of go along with their part.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from core.model import Part, Point, Sketch, edits, join_ref
from core.model.edits import Carry, carry_part, twin_line
from core.model.links import items, point_refs, wishes
from core.model.outline import Polygon
from core.motion.redimension.dragging import resized_gears
from core.motion.redimension.nodes import Nodes, nodes

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
replace = msgspec.structs.replace

#: Singular values below this count as 0: directions no twin and no lock forbids.
_RANK = 1e-9


@dataclass(frozen=True)
class Freedom:
    """The moves a fit may make.

    Attributes
    ----------
    sketch : as it was drawn.
    net : its nodes.
    spoken : (K,) bool, nodes that joints, wishes, zones or length rules speak of.
    basis : (2K, D) orthonormal; x of all nodes, then y, per unit of each number.
    """

    sketch: Sketch
    net: Nodes
    spoken: NDArray[np.bool_]
    basis: Floats

    @property
    def count(self) -> int:
        """D, how many numbers there are to choose."""
        return int(self.basis.shape[1])

    @cached_property
    def size_mm(self) -> float:
        """Largest extent of the drawn places along x or y, mm; at least 1."""
        place = self.net.place
        return max(1.0, float(np.ptp(place.real)), float(np.ptp(place.imag)))

    def places(self, w: Floats) -> Complexes:
        """(K,) complex mm: where the nodes are drawn."""
        move = self.basis @ w
        half = len(self.net.place)
        return np.asarray(self.net.place + move[:half] + 1j * move[half:])

    @cached_property
    def velocities(self) -> Complexes:
        """(K, D) complex: how the nodes move with each number."""
        half = len(self.net.place)
        return np.asarray(self.basis[:half] + 1j * self.basis[half:])

    @cached_property
    def held(self) -> NDArray[np.bool_]:
        """(K,) the nodes that stay."""
        return np.asarray(~(np.abs(self.velocities) > 0).any(axis=1))

    @cached_property
    def moves(self) -> list[dict[str, complex]]:
        """The velocities by reference, for :func:`core.motion.sensitivity`."""
        found: list[dict[str, complex]] = [{} for _ in range(self.count)]
        for ref, node in self.net.of.items():
            for at in np.flatnonzero(self.velocities[node]):
                found[at][ref] = complex(self.velocities[node, at])
        return found

    def drawn(self, w: Floats) -> Sketch:
        """The sketch with its joints and wished points there, nothing else taken along; for
        its motion alone."""
        place = self.places(w)
        moved = place != self.net.place
        parts = tuple(_with_points(part, held, place) if moved[list(held)].any() else part
                      for part, held in self._held)
        drive = self.sketch.drive
        if drive is not None and not self.sketch.fit.start_free:
            drive = replace(drive, drawn_deg=drive.drawn_deg + math.degrees(self.turned(w)))
        return replace(self.sketch, parts=parts, drive=drive)

    def finished(self, w: Floats) -> Sketch:
        """The sketch there with everything in it: points nothing speaks of, cut outlines
        and typed masses go along with their part, round gears grow with their distance,
        twins follow."""
        moved = self.drawn(w)
        joints = self.spoken
        parts = tuple(
            part if part is old else _carried(old, part, joints[list(held)])
            for old, part, (_, held) in zip(self.sketch.parts, moved.parts, self._held,
                                            strict=True))
        whole = resized_gears(self.sketch, replace(moved, parts=parts))
        return edits.follow_twins(self.sketch, whole)

    def turned(self, w: Floats) -> float:
        """How far the crank's arm is drawn turned against the original, rad."""
        hub, pins = self._arm
        if not pins:
            return 0.0
        return float(np.angle(self._swept(self.places(w), hub, pins)))

    def turned_slope(self, w: Floats) -> Floats:
        """(D,) rad per mm: derivatives of :meth:`turned`."""
        hub, pins = self._arm
        if not pins:
            return np.zeros(self.count)
        swept = self._swept(self.places(w), hub, pins)
        old = np.conj(self.net.place[pins] - self.net.place[hub])
        speed = ((self.velocities[pins] - self.velocities[hub]) * old[:, None]).sum(axis=0)
        return np.asarray((speed / swept).imag)

    def _swept(self, place: Complexes, hub: int, pins: list[int]) -> complex:
        old = np.conj(self.net.place[pins] - self.net.place[hub])
        return complex(((place[pins] - place[hub]) * old).sum())

    @cached_property
    def _arm(self) -> tuple[int, list[int]]:
        """Node of the crank's pivot and the nodes of its other joints."""
        drive = self.sketch.drive
        if drive is None:
            return -1, []
        pin = next(pin for pin in self.sketch.pins if pin.id == drive.pin)
        hub = self.net.of[pin.at[0]]
        crank = self.sketch.part(drive.part)
        held = [node for node in dict.fromkeys(self.net.of_part(crank))
                if node != hub and self.spoken[node]]
        return hub, held

    @cached_property
    def _held(self) -> list[tuple[Part, tuple[int, ...]]]:
        return [(part, self.net.of_part(part)) for part in self.sketch.parts]


def freedom(sketch: Sketch, free: Iterable[str] = ()) -> Freedom:
    """The moves the sketch's locks, twins and `fit.free` leave (or `free`, if any is
    named: references of points)."""
    net = nodes(sketch)
    spoken = np.zeros(len(net.place), bool)
    refs = [ref for _, item in (*_joints(sketch), *wishes(sketch)) for ref in point_refs(item)]
    spoken[[net.of[ref] for ref in refs if ref in net.of]] = True
    named = tuple(free) or sketch.fit.free
    held = net.locked | ~spoken
    if named:
        free_nodes = {net.of[ref] for ref in named if ref in net.of}
        spoken[list(free_nodes)] = True
        held = net.locked | ~np.isin(np.arange(len(held)), list(free_nodes))
    return Freedom(sketch, net, spoken, _basis(sketch, net, held, bool(named)))


def _joints(sketch: Sketch) -> Iterable[tuple[str, Any]]:
    """What holds parts together, loads left out."""
    return [(group, item) for group, item in items(sketch)
            if group in ("pins", "slides", "slots", "meshes", "belts")]


def _basis(sketch: Sketch, net: Nodes, held: NDArray[np.bool_], named: bool) -> Floats:
    """Orthonormal basis of the moves of all nodes."""
    half = len(held)
    pairs = _mirrored(sketch, net)
    if named:  # naming a point frees its mirror image too, and the other way round
        for one, other, _ in pairs:
            held[[one, other]] = held[one] and held[other]
        held = held | net.locked
    rows: list[Floats] = []
    for one, other, along in pairs:
        across, up = np.zeros(2 * half), np.zeros(2 * half)
        across[other] += 1.0
        up[half + other] += 1.0
        across[one] -= along.real
        across[half + one] -= along.imag
        up[one] -= along.imag
        up[half + one] += along.real
        rows += [across, up]
    loose = np.concatenate([~held, ~held])
    if not rows:
        return np.asarray(np.eye(2 * half)[:, loose])
    matrix = np.array(rows)
    tied = loose & (matrix != 0.0).any(axis=0)
    basis = np.eye(2 * half)[:, loose & ~tied]
    _, value, way = np.linalg.svd(matrix[:, tied])
    bound = np.zeros((2 * half, int(tied.sum()) - int((value > _RANK).sum())))
    bound[tied] = way[int((value > _RANK).sum()):].T
    return np.hstack([basis, bound])


def _mirrored(sketch: Sketch, net: Nodes) -> list[tuple[int, int, complex]]:
    """Nodes that twins tie: original, image, and the factor on the conjugate of a move."""
    found: dict[tuple[int, int], complex] = {}
    for twin in sketch.twins:
        along = complex(twin_line(twin).turn)
        refs = [(join_ref(one, point.id), join_ref(other, point.id))
                for one, other in twin.parts for point in sketch.part(one).points]
        refs += [pair for pair in twin.others if "." in pair[0]]
        for one_ref, other_ref in refs:
            if one_ref in net.of and other_ref in net.of:
                found[net.of[one_ref], net.of[other_ref]] = along
    return [(one, other, along) for (one, other), along in found.items()]


def _with_points(part: Part, held: tuple[int, ...], place: Complexes) -> Part:
    return replace(part, points=tuple(
        replace(point, x=float(place[node].real), y=float(place[node].imag))
        for point, node in zip(part.points, held, strict=True)))


def _carried(old: Part, part: Part, joints: NDArray[np.bool_]) -> Part:
    """A part whose joints have moved, with the rest of it taken along: by the similarity
    (least squares) that takes its joints nearest to where they are now."""
    if part.fixed or not joints.any():
        return part
    was, now = (np.array([point.place for point in each.points])[joints]
                for each in (old, part))
    carry = _similarity(was, now)
    points = tuple(
        point if joint or point.locked else _at(point, complex(*carry.place(point.x, point.y)))
        for point, joint in zip(part.points, joints, strict=True))
    moved = carry_part(replace(old, points=()), carry)
    outline = moved.outline if isinstance(old.outline, Polygon) else part.outline
    return replace(part, points=points, outline=outline, mass=moved.mass,
                   weights=moved.weights, grain_deg=moved.grain_deg)


def _at(point: Point, place: complex) -> Point:
    return replace(point, x=place.real, y=place.imag)


def _similarity(was: Complexes, now: Complexes) -> Carry:
    centre, goal = complex(was.mean()), complex(now.mean())
    spread = float((np.abs(was - centre) ** 2).sum())
    turn = complex((np.conj(was - centre) * (now - goal)).sum()) / spread if spread else 1 + 0j
    return Carry(turn=turn, shift=goal - turn * centre)
