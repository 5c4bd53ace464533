"""Gear pairs and belts between two discs."""

from __future__ import annotations

import msgspec

from app.gestures.building import grounded
from app.gestures.picking import PickTwo
from core.errors import EditError
from core.model import Belt, Disc, Mesh, Part, Sketch, part_of
from core.model.edits import add, change, fresh_id, pin_of, put, remove
from core.model.links import items, point_refs

replace = msgspec.structs.replace
#: Module aimed at when a gear pair is first laid out, mm: cut with a 3 mm bit.
MODULE_MM = 3.0
LEAST_TEETH = 8
#: Wood that a ring gear keeps outside its pitch circle: the depth of its tooth spaces
#: (1.25 modules, ISO 53) and as much again and more to hold together.
RIM_MODULES = 3.0


def centre_ref(sketch: Sketch, part_id: str) -> str:
    """The point a wheel turns about: its disc's centre, else its first pinned point,
    else its first point; raises EditError for a part without points."""
    part = sketch.part(part_id)
    if not part.points:
        raise EditError(f"{part_id!r} has no point to turn about", mend="give it a pin")
    if isinstance(part.outline, Disc):
        return f"{part_id}.{part.outline.centre or part.points[0].id}"
    refs = [f"{part_id}.{point.id}" for point in part.points]
    return next((ref for ref in refs if pin_of(sketch, ref) is not None), refs[0])


def radius_mm(part: Part) -> float:
    """Radius of a wheel's blank; 20 mm for parts that are no disc."""
    return part.outline.radius_mm if isinstance(part.outline, Disc) else 20.0


def off_each_other(sketch: Sketch, first: str, second: str) -> Sketch:
    """A wheel drawn on the other is pinned to it there; running together they are carried
    by something else, so that pin goes, and the point made for it, unless it is needed."""
    refs = {first, second}
    parts = {part_of(ref) for ref in refs}
    for pin in sketch.pins:
        others = [ref for ref in pin.at if ref not in refs]
        if len(pin.at) == 2 and {part_of(ref) for ref in pin.at} == parts and others:
            sketch = remove(sketch, [pin.id])
            if not _used(sketch, others[0]):
                sketch = remove(sketch, others)
    return sketch


def _used(sketch: Sketch, ref: str) -> bool:
    """True for a point that something hangs on, or whose path is drawn."""
    return sketch.point(ref).trace or any(ref in point_refs(item) for _, item in items(sketch))


def on_carriers(sketch: Sketch, refs: tuple[str, str]) -> Sketch:
    """Wheels whose centre carries no pin yet are pinned to the frame."""
    for ref in refs:
        if pin_of(sketch, ref) is None:
            sketch = grounded(sketch, ref)
    return sketch


def shares(first: float, second: float, distance: float) -> tuple[int, int, bool]:
    """Teeth of both gears and whether the pair is internal, for blanks of these radii
    at this centre distance (mm), at a module near :data:`MODULE_MM`."""
    if distance < max(first, second):  # the centre of one lies inside the other
        less = max(round(2 * min(first, second) / MODULE_MM), LEAST_TEETH)
        more = less + max(round(2 * distance / MODULE_MM), 1)
        return (less, more, True) if first < second else (more, less, True)
    total = max(round(2 * distance / MODULE_MM), 2 * LEAST_TEETH)
    one = round(total * first / (first + second))
    one = min(max(one, LEAST_TEETH), total - LEAST_TEETH)
    return one, total - one, False


def _centres(sketch: Sketch, first: str, second: str) -> tuple[Sketch, str, str, float]:
    one, two = centre_ref(sketch, first), centre_ref(sketch, second)
    sketch = on_carriers(off_each_other(sketch, one, two), (one, two))
    a, b = sketch.point(one), sketch.point(two)
    distance = abs(complex(a.x - b.x, a.y - b.y))
    if distance < 1e-6:
        raise EditError("both turn about the same place", mend="move one of them")
    return sketch, one, two, distance


def _side_by_side(sketch: Sketch, first: str, second: str) -> Sketch:
    """Gears run in one layer: the second comes to the first."""
    return change(sketch, "parts", second, layer=sketch.layer_of(first))


class MeshGesture(PickTwo):
    """The Mesh tool. Teeth follow from the discs' sizes, and the discs become as large
    as their pitch circles (a ring keeps wood round its teeth); the teeth can be changed
    in the particulars."""

    id = "mesh"
    hint = "Click one disc, then the other: they run as a gear pair"
    second_words = "Click the other disc"

    def join(self, sketch: Sketch, first: str, second: str) -> tuple[str, Sketch]:
        sketch, one, two, distance = _centres(sketch, first, second)
        teeth_a, teeth_b, internal = shares(radius_mm(sketch.part(first)),
                                            radius_mm(sketch.part(second)), distance)
        mesh = Mesh(id=fresh_id(sketch, "mesh"), a=one, b=two, teeth_a=teeth_a,
                    teeth_b=teeth_b, internal=internal)
        sketch = _side_by_side(add(sketch, "meshes", mesh), first, second)
        radii = mesh.pitch_radii(distance)
        for ref, radius, other in ((one, radii[0], radii[1]), (two, radii[1], radii[0])):
            part = sketch.part(part_of(ref))
            if not isinstance(part.outline, Disc):
                continue
            if internal and radius > other:  # the ring: teeth within, wood round about
                least = radius + RIM_MODULES * 2 * distance / abs(teeth_a - teeth_b)
                radius = max(part.outline.radius_mm, least)
            outline = replace(part.outline, radius_mm=radius)
            sketch = put(sketch, replace(part, outline=outline))
        return f"Mesh {teeth_a} : {teeth_b}", sketch


class BeltGesture(PickTwo):
    """The Belt tool: open, or crossed."""

    id = "belt"
    hint = "Click one disc, then the other: a belt runs round both"
    second_words = "Click the other disc"
    options = ("Open", "Crossed")

    def join(self, sketch: Sketch, first: str, second: str) -> tuple[str, Sketch]:
        sketch, one, two, distance = _centres(sketch, first, second)
        radii = [radius_mm(sketch.part(name)) for name in (first, second)]
        if sum(radii) >= distance:
            raise EditError("these discs are too near each other for a belt",
                            mend="move them apart or make them smaller")
        belt = Belt(id=fresh_id(sketch, "belt"), a=one, b=two, diameter_a_mm=2 * radii[0],
                    diameter_b_mm=2 * radii[1], crossed=self.option == 1)
        return "Belt", add(sketch, "belts", belt)
