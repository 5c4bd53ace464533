"""Things that do not fit each other: points of a pin apart, links without length, shapes
without area. The window can open such a sketch; a finished one must not have them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import shapely

from core.model.joints import Belt, Mesh
from core.model.links import items, point_refs
from core.model.loads import Drive
from core.model.outline import Plate, Polygon
from core.model.own_materials import own_problems
from core.model.parts import Part, Point
from core.model.problem import Problem, quoted
from core.model.refs import part_of
from core.model.sketch import Sketch
from core.model.wishes import wish_misfits

#: Points closer than this, as a share of the sketch's size, are at one place.
SAME_PLACE = 1e-6

_SNAP = "give them one place, or let the window snap them together"
_SNAP_TO_LINE = "move it onto the line, or let the window snap it there"


def size_of(sketch: Sketch) -> float:
    """The diagonal of the box around all points, mm; 1 for a sketch without extent."""
    at = [p.place for part in sketch.parts for p in part.points]
    if not at:
        return 1.0
    wide = max(z.real for z in at) - min(z.real for z in at)
    high = max(z.imag for z in at) - min(z.imag for z in at)
    return abs(complex(wide, high)) or 1.0


def tolerance_of(sketch: Sketch) -> float:
    """How far apart two points may be and still count as one place, mm."""
    return SAME_PLACE * size_of(sketch)


def misfits(sketch: Sketch) -> Iterator[Problem]:
    """Misfits of a sketch whose names, references and numbers are sound; none is fatal."""
    near = tolerance_of(sketch)
    at = sketch.places()
    yield from _parts(sketch, near)
    yield from _pins(sketch, at, near)
    yield from _lines(sketch, at, near)
    yield from _locks(sketch)
    yield from _pairs(sketch, at, near)
    yield from _drive(sketch)
    yield from _loads(sketch)
    yield from wish_misfits(sketch)
    yield from own_problems(sketch.materials)


def _misfit(place: str, what: str, mend: str, snap: bool = False) -> Problem:
    return Problem(place, what, mend, fatal=False, snap=snap)


def _parts(sketch: Sketch, near: float) -> Iterator[Problem]:
    jointed = {ref for _, item in items(sketch) for ref in point_refs(item)}
    for index, part in enumerate(sketch.parts):
        place = f"parts[{index}]"
        if not part.points and part.outline is None:
            yield _misfit(place, f"the part {quoted(part.id)} has neither points nor an "
                          "outline", "give it a point")
        elif not part.points and not isinstance(part.outline, Polygon):
            yield _misfit(f"{place}.points", f"the part {quoted(part.id)} has no points",
                          "give it a point")
        if not part.fixed:
            yield from _no_length(place, part, jointed, near)
        yield from _shape(place, part)


def _no_length(place: str, part: Part, jointed: set[str], near: float) -> Iterator[Problem]:
    """Two joints of a moving part, or all of its points, at one place."""
    joints = [p for p in part.points if f"{part.id}.{p.id}" in jointed]
    everything = len(part.points) > 1 and all(
        abs(p.place - part.points[0].place) <= near for p in part.points)
    pair = part.points[:2] if everything else _together(joints, near)
    if pair:
        yield _misfit(f"{place}.points", f"the points {quoted(pair[0].id)} and "
                      f"{quoted(pair[1].id)} of {quoted(part.id)} are at one place, a link of "
                      "no length", "move them apart or join both at one point")


def _together(points: list[Point], near: float) -> tuple[Point, ...]:
    ordered = sorted(points, key=lambda p: (p.x, p.y))
    for index, one in enumerate(ordered):
        for other in ordered[index + 1:]:
            if other.x - one.x > near:
                break
            if abs(other.place - one.place) <= near:
                return one, other
    return ()


def _shape(place: str, part: Part) -> Iterator[Problem]:
    shape = part.outline
    if isinstance(shape, Polygon):
        rings = [("outer", shape.outer)] + [
            (f"holes[{i}]", hole) for i, hole in enumerate(shape.holes)]
        short = next((name for name, ring in rings if len(set(ring)) < 3), None)
        if short is not None:
            yield _misfit(f"{place}.outline.{short}", "an outline needs at least three corners",
                          "add corners or take it out")
        elif not shapely.is_valid(whole := shapely.Polygon(shape.outer, shape.holes)):
            why = shapely.is_valid_reason(whole).lower()
            yield _misfit(f"{place}.outline", f"the outline crosses or touches itself ({why})",
                          "move the corners apart")
    elif isinstance(shape, Plate) and shape.margin_mm == 0:
        corners = [(p.x, p.y) for p in part.points if not shape.around or p.id in shape.around]
        if shapely.MultiPoint(corners).convex_hull.area == 0:
            yield _misfit(f"{place}.outline", "the plate has no area",
                          "give it a margin or a third corner")


def _pins(sketch: Sketch, at: dict[str, complex], near: float) -> Iterator[Problem]:
    owner: dict[str, str] = {}
    for index, pin in enumerate(sketch.pins):
        place = f"pins[{index}].at"
        parts = [part_of(ref) for ref in pin.at]
        if len(parts) < 2:
            yield _misfit(place, f"the pin {quoted(pin.id)} joins fewer than two parts",
                          "name a point of each part on it")
        if len(set(parts)) < len(parts):
            twice = next(part for part in parts if parts.count(part) > 1)
            yield _misfit(place, f"the part {quoted(twice)} is on the pin {quoted(pin.id)} "
                          "twice", "name one point of each part")
        apart = max((abs(at[ref] - at[pin.at[0]]) for ref in pin.at), default=0.0)
        if apart > near:
            yield _misfit(place, f"the points of the pin {quoted(pin.id)} are {apart:.4g} mm "
                          "apart", _SNAP, snap=True)
        for ref in pin.at:
            if owner.setdefault(ref, pin.id) != pin.id:
                yield _misfit(place, f"the point {quoted(ref)} is on the pins "
                              f"{quoted(owner[ref])} and {quoted(pin.id)}",
                              "put all its parts on one pin")


def _lines(sketch: Sketch, at: dict[str, complex], near: float) -> Iterator[Problem]:
    """Slides and slots: the line has length, and the point lies on it."""
    ways = [(f"slides[{i}]", "along", s.id, s.point, s.along)
            for i, s in enumerate(sketch.slides)]
    ways += [(f"slots[{i}]", "slot", s.id, s.point, s.slot)
             for i, s in enumerate(sketch.slots)]
    for place, field, name, point, ends in ways:
        start, end = at[ends[0]], at[ends[1]]
        length = abs(end - start)
        if part_of(ends[0]) != part_of(ends[1]):
            yield _misfit(f"{place}.{field}", f"the ends of {quoted(name)} are on two parts",
                          "name two points of one part")
        elif part_of(point) == part_of(ends[0]):
            yield _misfit(f"{place}.point", f"{quoted(name)} joins the part "
                          f"{quoted(part_of(point))} to itself", "name a point of another part")
        elif length <= near:
            yield _misfit(f"{place}.{field}", f"the line of {quoted(name)} has no length",
                          "move its two points apart")
        else:
            off = abs(((at[point] - start) * (end - start).conjugate()).imag) / length
            if off > near:
                yield _misfit(f"{place}.point", f"the point {quoted(point)} is {off:.4g} mm "
                              f"off the line of {quoted(name)}", _SNAP_TO_LINE, snap=True)


def _locks(sketch: Sketch) -> Iterator[Problem]:
    for index, lock in enumerate(sketch.locks):
        on = next((pin.at for pin in sketch.pins if pin.id == lock.pin), ())
        alone = len(lock.parts) == 1 and lock.parts[0] in map(part_of, on)
        if len(set(lock.parts)) < 2 and not alone:
            yield _misfit(f"locks[{index}].parts",
                          f"the lock {quoted(lock.id)} holds fewer than two parts",
                          "name each part once, or a single part and the pin it is fast on")


def _pairs(sketch: Sketch, at: dict[str, complex], near: float) -> Iterator[Problem]:
    """Gear pairs and belts: two bodies about two centres held by one carrier."""
    body = _bodies(sketch)
    pins = [(at[pin.at[0]], {body[part_of(ref)] for ref in pin.at})
            for pin in sketch.pins if pin.at]
    pairs: list[tuple[str, Mesh | Belt]] = [
        *((f"meshes[{i}]", mesh) for i, mesh in enumerate(sketch.meshes)),
        *((f"belts[{i}]", belt) for i, belt in enumerate(sketch.belts))]
    for place, pair in pairs:
        one, other = body[part_of(pair.a)], body[part_of(pair.b)]
        carriers = (_carried(at[pair.a], one, pins, near)
                    & _carried(at[pair.b], other, pins, near))
        if one == other:
            yield _misfit(place, f"{quoted(pair.id)} joins a part to itself",
                          "name points of two parts")
        elif abs(at[pair.a] - at[pair.b]) <= near:
            yield _misfit(place, f"the centres of {quoted(pair.id)} are at one place",
                          "move them apart")
        elif not carriers:
            wheels = "gears" if isinstance(pair, Mesh) else "pulleys"
            yield _misfit(place, f"the centres of {quoted(pair.id)} are not pinned to one part",
                          f"pin both {wheels} to the frame or to one carrier")
        if isinstance(pair, Mesh) and pair.internal and pair.teeth_a == pair.teeth_b:
            yield _misfit(place, f"the ring and the gear of {quoted(pair.id)} have the same "
                          "number of teeth", "give the ring more")


def _carried(centre: complex, body: str, pins: list[tuple[complex, set[str]]],
             near: float) -> set[str]:
    """The bodies that a body is pinned to at its centre."""
    found: set[str] = set()
    for place, bodies in pins:
        if body in bodies and abs(place - centre) <= near:
            found |= bodies - {body}
    return found


def _bodies(sketch: Sketch) -> dict[str, str]:
    """For every part the name of the rigid body it belongs to: fixed parts are one body,
    and so are locked ones."""
    body = {part.id: "" if part.fixed else part.id for part in sketch.parts}
    members: dict[str, list[str]] = defaultdict(list)
    for part, name in body.items():
        members[name].append(part)
    for lock in sketch.locks:
        names = sorted({body[part] for part in lock.parts})
        for name in names[1:]:
            for part in members.pop(name):
                body[part] = names[0]
                members[names[0]].append(part)
    return body


def _drive(sketch: Sketch) -> Iterator[Problem]:
    drive: Drive | None = sketch.drive
    if drive is None:
        return
    pin = next(pin for pin in sketch.pins if pin.id == drive.pin)
    body = _bodies(sketch)
    on = {body[part_of(ref)] for ref in pin.at}
    if body[drive.part] == "":
        yield _misfit("drive.part", f"the crank {quoted(drive.part)} is fixed",
                      "let it move or drive another part")
    elif body[drive.part] not in on:
        yield _misfit("drive.part", f"the crank {quoted(drive.part)} is not on the pin "
                      f"{quoted(drive.pin)}", "name a part on that pin")
    elif "" not in on:
        yield _misfit("drive.pin", f"no fixed part is on the crank's pin {quoted(drive.pin)}",
                      "drive a pin on the frame")
    if drive.kind == "rock" and drive.from_deg >= drive.to_deg:
        yield _misfit("drive.to_deg", f"the crank rocks from {drive.from_deg:g}° to "
                      f"{drive.to_deg:g}°", "let it end at a larger angle")


def _loads(sketch: Sketch) -> Iterator[Problem]:
    for index, spring in enumerate(sketch.springs):
        if part_of(spring.a) == part_of(spring.b):
            yield _misfit(f"springs[{index}]", f"the spring {quoted(spring.id)} joins a part "
                          "to itself", "name points of two parts")
    on_pin = {pin.id: {part_of(ref) for ref in pin.at} for pin in sketch.pins}
    for index, torsion in enumerate(sketch.torsion_springs):
        off = [part for part in (torsion.a, torsion.b) if part not in on_pin[torsion.pin]]
        if off or torsion.a == torsion.b:
            yield _misfit(f"torsion_springs[{index}]", f"the spring {quoted(torsion.id)} is "
                          f"not between two parts on the pin {quoted(torsion.pin)}",
                          "name two parts on that pin")
