"""The table of all materials, by id."""

from __future__ import annotations

from collections.abc import Mapping

from core.errors import SketchError
from core.materials.boards import BOARDS
from core.materials.figure import Material
from core.materials.metals import METALS
from core.materials.plies import PLYWOODS
from core.materials.woods import WOODS

#: Every known material by id.
MATERIALS: dict[str, Material] = {
    each.id: each for each in (*PLYWOODS, *WOODS, *BOARDS, *METALS)}


def material(material_id: str, known: Mapping[str, Material] = MATERIALS) -> Material:
    """The material of that id out of those `known`.

    Raises
    ------
    SketchError
        For an unknown id; the message lists the known ones.
    """
    found = known.get(material_id)
    if found is None:
        raise SketchError(f"unknown material {material_id!r}",
                          mend=f"use one of {', '.join(known)}")
    return found
