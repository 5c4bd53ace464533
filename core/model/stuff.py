"""Materials of the user's own, embedded in the sketch so that it can be read anywhere."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping

import msgspec

from core.materials import MATERIALS, Figure, Material, Stuff, material
from core.materials.figure import weakest


class OwnFigure(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
                forbid_unknown_fields=True):
    """A figure of a material by name, the unit at the end of the name
    ("compression_along_mpa"), as a range."""

    name: str
    low: float
    high: float
    source: str = ""


class OwnMaterial(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
                  forbid_unknown_fields=True):
    """A material the user added. Figures it lacks are taken from `like`, an id of the
    table, when that is given."""

    id: str
    name: str
    density_kg_m3: float
    stuff: Stuff = "wood"
    like: str = ""
    source: str = ""
    figures: tuple[OwnFigure, ...] = ()
    note: str = ""


@functools.lru_cache(maxsize=64)
def materials_of(own: tuple[OwnMaterial, ...]) -> Mapping[str, Material]:
    """Every known material by id: the table's and the user's `own` (a sketch's
    ``materials``), which come before it and take what they lack from the one they are
    `like`: that it is so stands in the source, and the trust is the user's at most."""
    known = dict(MATERIALS)
    for each in own:
        like = MATERIALS.get(each.like)
        figures = {} if like is None else {
            name: dataclasses.replace(figure, source=f"as {like.name}: {figure.source}",
                                      trust=weakest(figure.trust, "own"))
            for name, figure in like.figures.items()}
        if like is not None and like.density_kg_m3 != each.density_kg_m3:
            figures.pop("specific_gravity", None)  # it follows from the density
        figures |= {one.name: Figure(one.low, one.high, one.source or "the user's own", "own")
                    for one in each.figures}
        known[each.id] = Material(
            each.id, each.name, each.density_kg_m3, each.source or "the user's own", "own",
            each.stuff, figures, like.plies if like is not None else (), each.note)
    return known


def material_of(own: tuple[OwnMaterial, ...], material_id: str) -> Material:
    """The material of that id, the user's `own` first.

    Raises
    ------
    SketchError
        For an unknown id; the message lists the known ones.
    """
    return material(material_id, materials_of(own))
