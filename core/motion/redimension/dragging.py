"""Drag points and parts: lengths change, locks hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from core.errors import EditError
from core.model import Disc, Part, Polygon, Sketch, join_ref, split_ref
from core.model.edits import Carry, carry_part
from core.model.edits.moving import carry_grain, carry_mass, carry_weights
from core.model.links import point_refs
from core.motion.redimension.nodes import Nodes, nodes
from core.motion.redimension.placing import settle

replace = msgspec.structs.replace

#: Shortest distance left between two joints of one part, mm.
SHORTEST_MM = 1e-3


def drag_point(sketch: Sketch, ref: str, x: float, y: float) -> Sketch:
    """The sketch with the point ``"part.point"`` and all pinned to it drawn at (x, y).

    Coordinates are mm in the drawn pose. What is locked holds: the point then comes as
    near as it can.

    Raises
    ------
    EditError
        When the point is locked, the locks leave no room, or a link would lose its
        length. Leave the sketch as it was then.
    KeyError
        When there is no such point.
    """
    return drag_points(sketch, {ref: (x, y)})


def drag_points(sketch: Sketch, targets: Mapping[str, tuple[float, float]]) -> Sketch:
    """Several points at once, as :func:`drag_point`."""
    net = nodes(sketch)
    wanted = {net.of[ref]: complex(x, y) for ref, (x, y) in targets.items()}
    if wanted and all(net.locked[node] for node in wanted):
        names = ", ".join(targets)
        raise EditError(f"{names} is locked in place", mend="unlock it to move it")
    return _settled(sketch, net, wanted)


def drag_parts(sketch: Sketch, part_ids: Iterable[str], dx: float, dy: float) -> Sketch:
    """The sketch with whole parts shifted by (dx, dy) mm, and every part pinned to them
    stretched to follow.

    Raises
    ------
    EditError
        As :func:`drag_point`.
    """
    chosen = [sketch.part(part_id) for part_id in part_ids]
    net = nodes(sketch)
    shift = complex(dx, dy)
    wanted = {node: complex(net.place[node]) + shift
              for part in chosen for node in net.of_part(part)}
    stuck = [node for node in wanted if net.locked[node]]
    if wanted and len(stuck) == len(wanted):
        raise EditError("every point of it is locked in place", mend="unlock one to move it")
    return _settled(sketch, net, wanted)


def _settled(sketch: Sketch, net: Nodes, wanted: dict[int, complex]) -> Sketch:
    place = settle(net, wanted)
    if place is None:
        raise EditError("the locked lengths do not reach there",
                        mend="unlock a length, or drag less far")
    moved = np.flatnonzero(np.abs(place - net.place) > 0)
    if not len(moved):
        return sketch
    changed = set(moved.tolist())
    joints = _joint_refs(sketch)
    parts = tuple(_placed(part, net, place, changed, joints) for part in sketch.parts)
    return resized_gears(sketch, replace(sketch, parts=parts))


def _joint_refs(sketch: Sketch) -> set[str]:
    joints = (*sketch.pins, *sketch.slides, *sketch.slots)
    return {ref for joint in joints for ref in point_refs(joint)}


def _placed(part: Part, net: Nodes, place: NDArray[np.complex128], changed: set[int],
            joints: set[str]) -> Part:
    held = net.of_part(part)
    if not changed.intersection(held):
        return part
    old, new = net.place[list(held)], place[list(held)]
    carry = _rigid(old, new)
    if carry is not None:
        return carry_part(part, carry)
    working = [k for k, point in enumerate(part.points)
               if join_ref(part.id, point.id) in joints]
    if not part.fixed:
        _refuse_zero_length(part, new[working], [part.points[k].id for k in working])
    points = tuple(
        point if was == now else replace(point, x=float(now.real), y=float(now.imag))
        for point, was, now in zip(part.points, old, new, strict=True)
    )
    carry = _carry_after(part, old, new)
    return replace(part, points=points, grain_deg=_grain_after(part, old, new),
                   mass=carry_mass(part.mass, carry),
                   weights=carry_weights(part.weights, carry))


def _carry_after(part: Part, old: NDArray[np.complex128],
                 new: NDArray[np.complex128]) -> Carry:
    """How weights and the centre of a typed mass go along in a part whose shape follows its
    points: as the points do on the whole (the nearest similar figure), so that what is half
    way along stays half way. A free outline stays, and they too."""
    if isinstance(part.outline, Polygon):
        return Carry()
    middle, goal = complex(old.mean()), complex(new.mean())
    spread = float((np.abs(old - middle) ** 2).sum())
    turn = complex(((old - middle).conj() * (new - goal)).sum()) / spread if spread else 1 + 0j
    return Carry(turn=turn, shift=goal - turn * middle)


def _grain_after(part: Part, old: NDArray[np.complex128],
                 new: NDArray[np.complex128]) -> float | None:
    """The grain of a part whose shape follows its points: it turns as they do on the whole
    (the turn of the nearest similar figure). A free outline stays, and its grain too."""
    if part.grain_deg is None or isinstance(part.outline, Polygon):
        return part.grain_deg
    turn = complex(np.sum((old - old.mean()).conj() * (new - new.mean())))
    if turn == 0:
        return part.grain_deg
    return carry_grain(part.grain_deg, Carry(turn=turn / abs(turn)))


def _refuse_zero_length(part: Part, at: NDArray[np.complex128], names: list[str]) -> None:
    apart = np.abs(at[:, None] - at[None, :]) + np.eye(len(at)) * 1e9
    if apart.size and apart.min() < SHORTEST_MM:
        i, j = np.unravel_index(int(apart.argmin()), apart.shape)
        raise EditError(f"{names[i]} and {names[j]} of {part.id!r} would be one place",
                        mend="keep them apart")


def _rigid(old: NDArray[np.complex128], new: NDArray[np.complex128]) -> Carry | None:
    """The shift and turn that takes all old places to the new, or None."""
    start, end = old[0], new[0]
    turn = 1.0 + 0j
    far = int(np.argmax(np.abs(old - start)))
    if far and abs(old[far] - start) > 0:
        turn = complex((new[far] - end) / (old[far] - start))
    size = float(np.max(np.abs(old - start))) or 1.0
    shift = complex(end - turn * start) if turn != 1.0 else complex(end - start)
    if abs(abs(turn) - 1.0) > 1e-9 or np.max(np.abs(turn * old + shift - new)) > 1e-9 * size:
        return None
    return Carry(turn=turn if abs(turn - 1.0) > 1e-13 else 1.0, shift=shift)


def resized_gears(old: Sketch, new: Sketch) -> Sketch:
    """Round gear blanks grow with their centre distance, so that they still meet."""
    changes: dict[str, Any] = {}
    for mesh in new.meshes:
        was, now = (abs(sketch.place(mesh.a) - sketch.place(mesh.b)) for sketch in (old, new))
        if was <= 0 or abs(was - now) <= 1e-12 * was:
            continue
        for ref in (mesh.a, mesh.b):
            part = new.part(split_ref(ref)[0])
            if isinstance(part.outline, Disc) and part.id not in changes:
                radius = part.outline.radius_mm * now / was
                changes[part.id] = replace(part, outline=replace(part.outline,
                                                                 radius_mm=radius))
    if not changes:
        return new
    return replace(new, parts=tuple(changes.get(part.id, part) for part in new.parts))
