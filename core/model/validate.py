"""What is wrong with a sketch: names, references, numbers, and shapes that cannot be.

A problem is fatal when the program could not work with the sketch at all; the others are
states a sketch passes through while it is being drawn, which a finished one must not have.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice

import msgspec

from core.errors import SketchError
from core.materials import Material
from core.model.fitness import misfits
from core.model.joints import Pin
from core.model.links import PART_FIELDS, PIN_FIELDS, POINT_FIELDS, UNATTACHED, items, wishes
from core.model.numbers import wrong_numbers
from core.model.outline import Bar, Disc, Plate
from core.model.own_materials import own_problems
from core.model.parts import Part
from core.model.problem import Problem, nearest, quoted
from core.model.refs import split_ref
from core.model.sketch import GROUPS, Sketch, Twin
from core.model.stuff import materials_of

LONGEST_ID = 64
_OWN_POINT = "point of the part"

__all__ = ["LONGEST_ID", "Problem", "check", "id_trouble", "problems"]


@dataclass(frozen=True)
class _Names:
    """What can be referred to, in file order: the points of each part, the pins, and all
    joints and loads. Dictionaries, because they are looked up as often as they are long."""

    points: dict[str, dict[str, None]]
    pins: dict[str, None]
    others: dict[str, None]
    materials: Mapping[str, Material]


def problems(sketch: Sketch, most: int = 1000) -> list[Problem]:
    """What is wrong with a sketch, up to `most` things, fatal ones first.

    Places are paths in the sketch file, such as ``parts[3].material``. Shapes and fits are
    looked at only when nothing is fatal.
    """
    fatal = list(islice(_fatal(sketch), most))
    return fatal or list(islice(misfits(sketch), most))


def check(sketch: Sketch, strict: bool = True) -> None:
    """Raise SketchError for the first problem; without `strict` for fatal ones only."""
    for problem in problems(sketch, most=1):
        if problem.fatal or strict:
            raise SketchError(problem.what, problem.place, problem.mend)


def _fatal(sketch: Sketch) -> Iterator[Problem]:
    names = _Names({p.id: dict.fromkeys(q.id for q in p.points) for p in sketch.parts},
                   dict.fromkeys(pin.id for pin in sketch.pins),
                   dict.fromkeys(item.id for _, item in items(sketch)),
                   materials_of(sketch.materials))
    yield from _ids(sketch)
    yield from _references(sketch, names)
    yield from (problem for problem in own_problems(sketch.materials) if problem.fatal)
    yield from wrong_numbers(sketch)


def id_trouble(name: str) -> str:
    """What is wrong with an id, as a clause; empty when nothing is."""
    if not name or name.isspace():
        return "the name is empty"
    if len(name) > LONGEST_ID:
        return f"the name {quoted(name)} is longer than {LONGEST_ID} characters"
    if "." in name:
        return f"the name {quoted(name)} holds a full stop"
    if not name.isprintable():
        return f"the name {quoted(name)} holds a control character"
    if name != name.strip():
        return f"the name {quoted(name)} begins or ends with a space"
    return ""


def _ids(sketch: Sketch) -> Iterator[Problem]:
    """Ids that are malformed or taken. Parts, joints, loads and twins share one set of
    names; the points of each part are a set of their own."""
    taken: dict[str, str] = {}
    for group in GROUPS:
        for index, item in enumerate(getattr(sketch, group)):
            place = f"{group}[{index}]"
            yield from _one_id(place, item.id, taken)
            if isinstance(item, Part):
                inside: dict[str, str] = {}
                for at, point in enumerate(item.points):
                    yield from _one_id(f"{place}.points[{at}]", point.id, inside)


def _one_id(place: str, name: str, taken: dict[str, str]) -> Iterator[Problem]:
    trouble = id_trouble(name)
    if trouble:
        yield Problem(f"{place}.id", trouble,
                      "give it a short name without full stops", fatal=True)
    elif name in taken:
        yield Problem(f"{place}.id", f"the name {quoted(name)} is taken by {taken[name]}",
                      "give one of them another name", fatal=True)
    else:
        taken[name] = place


def _references(sketch: Sketch, names: _Names) -> Iterator[Problem]:
    for index, part in enumerate(sketch.parts):
        yield from _part_references(f"parts[{index}]", part, names.materials)
    counts: dict[str, int] = {}
    for group, item in (*items(sketch), *wishes(sketch)):
        index = counts.get(group, 0)
        counts[group] = index + 1
        yield from _item_references(f"{group}[{index}]", item, names)
    if sketch.drive is not None:
        yield from _item_references("drive", sketch.drive, names)
    for index, step in enumerate(sketch.handle.steps):
        yield from _known(f"handle.steps[{index}].material", step.material, names.materials,
                          "material")
    yield from _item_references("fit", sketch.fit, names)
    for index, twin in enumerate(sketch.twins):
        yield from _twin_references(f"twins[{index}]", twin, names)


def _twin_references(place: str, twin: Twin, names: _Names) -> Iterator[Problem]:
    """Pairs of parts; pairs of joints and loads, or of points on parts both sides share."""
    for field in ("parts", "others"):
        for at, pair in enumerate(getattr(twin, field)):
            for side, name in enumerate(pair):
                path = f"{place}.{field}[{at}][{side}]"
                if field == "parts":
                    yield from _known(path, name, names.points, "part")
                elif "." in name:
                    yield from _known_point(path, name, names)
                else:
                    yield from _known(path, name, names.others, "joint or load")


def _part_references(place: str, part: Part,
                     materials: Mapping[str, Material]) -> Iterator[Problem]:
    known = dict.fromkeys(point.id for point in part.points)
    shape = part.outline
    if isinstance(shape, (Bar, Plate)):
        field = "through" if isinstance(shape, Bar) else "around"
        for at, name in enumerate(getattr(shape, field)):
            yield from _known(f"{place}.outline.{field}[{at}]", name, known, _OWN_POINT)
    if isinstance(shape, Disc) and shape.centre:
        yield from _known(f"{place}.outline.centre", shape.centre, known, _OWN_POINT)
    yield from _known(f"{place}.material", part.material, materials, "material")


def _item_references(place: str, item: msgspec.Struct, names: _Names) -> Iterator[Problem]:
    for path, ref in _field_values(place, item, POINT_FIELDS):
        yield from _known_point(path, ref, names)
    for path, name in _field_values(place, item, PART_FIELDS):
        yield from _known(path, name, names.points, "part")
    if isinstance(item, Pin):
        yield from _known(f"{place}.material", item.material, names.materials, "material")
    coil = getattr(item, "coil", None)
    if coil is not None:
        yield from _known(f"{place}.coil.material", coil.material, names.materials, "material")
    for path, name in _field_values(place, item, PIN_FIELDS):
        if name or not hasattr(item, "parts"):  # only a lock may name no pin
            yield from _known(path, name, names.pins, "pin")


def _field_values(place: str, item: msgspec.Struct,
                  fields: dict[type, tuple[str, ...]]) -> Iterator[tuple[str, str]]:
    for field in fields.get(type(item), ()):
        value = getattr(item, field)
        if isinstance(value, str):
            if value or not isinstance(item, UNATTACHED):
                yield f"{place}.{field}", value
        else:
            yield from ((f"{place}.{field}[{at}]", name) for at, name in enumerate(value))


def _known_point(place: str, ref: str, names: _Names) -> Iterator[Problem]:
    try:
        part, point = split_ref(ref)
    except SketchError:
        yield Problem(place, f"{quoted(ref)} is not a reference to a point",
                      'write it as "part.point"', fatal=True)
        return
    if part not in names.points:
        yield from _known(place, part, names.points, "part")
    elif point not in names.points[part]:
        yield from _known(place, point, names.points[part], f"point of {quoted(part)}")


def _known(place: str, name: str, known: Collection[str], what: str) -> Iterator[Problem]:
    if name not in known:
        yield Problem(place, f"there is no {what} called {quoted(name)}",
                      nearest(name, known), fatal=True)
