"""Sheets and materials of a sketch: their thickness everywhere, materials of the user's own."""

from __future__ import annotations

from typing import Any

import msgspec

from core.errors import EditError
from core.materials import MATERIALS, ply_tolerance
from core.model.parts import Part
from core.model.sketch import Sketch
from core.model.stuff import OwnMaterial, materials_of

replace = msgspec.structs.replace
#: Sheets other than plywood are the same when their thickness differs by less, mm.
_SAME_MM = 0.05


def same_sheet(sketch: Sketch, part_id: str) -> tuple[str, ...]:
    """The parts cut from the same sheet as one: of its material and as thick.

    Plywood counts as of one sheet when both thicknesses lie within the tolerance of the
    same nominal thickness, so that a part measured before the others is still with them.

    Raises
    ------
    KeyError
        When there is no such part.
    """
    asked = sketch.part(part_id)
    low, high = _sheet_range(sketch, asked)
    return tuple(part.id for part in sketch.parts if part.material == asked.material
                 and low <= part.thickness_mm <= high)


def _sheet_range(sketch: Sketch, part: Part) -> tuple[float, float]:
    known = materials_of(sketch.materials).get(part.material)
    if known is not None and known.stuff == "plywood":
        _, low, high = ply_tolerance(part.thickness_mm)
        if low <= part.thickness_mm <= high:
            return low - 1e-9, high + 1e-9
    return part.thickness_mm - _SAME_MM, part.thickness_mm + _SAME_MM


def set_sheet_thickness(sketch: Sketch, parts: tuple[str, ...], thickness_mm: float) -> Sketch:
    """Give all these parts the thickness that was measured on their sheet, mm.

    Raises
    ------
    EditError
        For a thickness that is not above zero.
    """
    if not 0.0 < thickness_mm < float("inf"):
        raise EditError("a sheet must have a thickness above zero",
                        mend="type what the calliper says, such as 6.2")
    chosen = set(parts)
    return replace(sketch, parts=tuple(
        replace(part, thickness_mm=thickness_mm) if part.id in chosen else part
        for part in sketch.parts))


def material_users(sketch: Sketch, material_id: str) -> tuple[str, ...]:
    """What in the sketch is made of a material: ids of parts, pins and springs, and
    "the handle"."""
    users = [part.id for part in sketch.parts if part.material == material_id]
    users += [pin.id for pin in sketch.pins if pin.material == material_id]
    coils = [(each.id, each.coil) for each in sketch.springs]
    coils += [(each.id, each.coil) for each in sketch.torsion_springs]
    users += [name for name, coil in coils if coil is not None and coil.material == material_id]
    if any(step.material == material_id for step in sketch.handle.steps):
        users.append("the handle")
    return tuple(users)


def rematerial(sketch: Sketch, old: str, new: str) -> Sketch:
    """Everything that is made of one material made of another."""
    def of(name: str) -> str:
        return new if name == old else name

    def coiled(spring: Any) -> Any:
        coil = spring.coil
        return spring if coil is None else replace(
            spring, coil=replace(coil, material=of(coil.material)))

    steps = tuple(replace(step, material=of(step.material)) for step in sketch.handle.steps)
    return replace(
        sketch,
        parts=tuple(replace(part, material=of(part.material)) for part in sketch.parts),
        pins=tuple(replace(pin, material=of(pin.material)) for pin in sketch.pins),
        springs=tuple(coiled(each) for each in sketch.springs),
        torsion_springs=tuple(coiled(each) for each in sketch.torsion_springs),
        handle=replace(sketch.handle, steps=steps))


def bring_materials(sketch: Sketch, clip: Sketch) -> tuple[Sketch, Sketch]:
    """Both with the clip's own materials in the sketch. One whose name means something
    else there comes under a fresh name, which the clip's parts then have."""
    held = {own.id: own for own in sketch.materials}
    for own in clip.materials:
        name, count = own.id, 1
        while name in held and replace(held[name], id=own.id) != own:
            count += 1
            name = f"{own.id} {count}"
        if name != own.id:
            clip = rematerial(clip, own.id, name)
        held.setdefault(name, replace(own, id=name))
    return replace(sketch, materials=tuple(held.values())), clip


def put_material(sketch: Sketch, own: OwnMaterial) -> Sketch:
    """The sketch with a material of the user's own, in place of the one with its id.

    Raises
    ------
    EditError
        When it is like a material that is not in the table.
    """
    if own.like and own.like not in MATERIALS:
        raise EditError(f"{own.id!r} is like {own.like!r}, which is not in the table",
                        mend="choose one of the table")
    held = {each.id: each for each in sketch.materials}
    held[own.id] = own
    return replace(sketch, materials=tuple(held.values()))


def remove_material(sketch: Sketch, material_id: str) -> Sketch:
    """The sketch without a material of the user's own.

    Raises
    ------
    EditError
        While something is made of it and the table has none of that id.
    """
    users = material_users(sketch, material_id)
    if users and material_id not in MATERIALS:
        names = ", ".join(users[:3]) + (f" and {len(users) - 3} more" if len(users) > 3 else "")
        raise EditError(f"{material_id!r} is what {names} {'is' if len(users) == 1 else 'are'}"
                        " made of", mend="give them another material first")
    return replace(sketch, materials=tuple(each for each in sketch.materials
                                           if each.id != material_id))
