"""Weights on parts: add, change, move, take off."""

from __future__ import annotations

from typing import Any

import msgspec

from core.errors import EditError
from core.model.edits.basics import change
from core.model.parts import Part, Weight
from core.model.sketch import Sketch


def add_weight(sketch: Sketch, part_id: str, weight: Weight) -> Sketch:
    """The sketch with one more weight on a part; raises EditError when there is no such
    part."""
    return _with(sketch, part_id, (*_part(sketch, part_id).weights, weight))


def change_weight(sketch: Sketch, part_id: str, index: int, **fields: Any) -> Sketch:
    """The sketch with other values of a weight (0 is the first); raises EditError when
    there is none, or for a size or mass that cannot be."""
    weights = list(_weights(sketch, part_id, index))
    for name in ("mass_kg", "diameter_mm", "thickness_mm"):
        if name in fields and not 0.0 <= fields[name] < float("inf"):
            raise EditError(f"a weight cannot have {fields[name]:g} for this", part_id,
                            "give zero or more")
    weights[index] = msgspec.structs.replace(weights[index], **fields)
    return _with(sketch, part_id, tuple(weights))


def move_weight(sketch: Sketch, part_id: str, index: int, place: complex) -> Sketch:
    """The sketch with the middle of a weight at `place` (complex mm, drawn pose); raises
    EditError when there is none."""
    return change_weight(sketch, part_id, index, x=place.real, y=place.imag)


def remove_weight(sketch: Sketch, part_id: str, index: int) -> Sketch:
    """The sketch without that weight; raises EditError when there is none."""
    weights = _weights(sketch, part_id, index)
    return _with(sketch, part_id, weights[:index] + weights[index + 1:])


def _part(sketch: Sketch, part_id: str) -> Part:
    try:
        return sketch.part(part_id)
    except KeyError:
        raise EditError("there is no such part", part_id, "name a part of the sketch") from None


def _weights(sketch: Sketch, part_id: str, index: int) -> tuple[Weight, ...]:
    weights = _part(sketch, part_id).weights
    if not 0 <= index < len(weights):
        raise EditError(f"there is no weight {index + 1}", part_id,
                        f"it has {len(weights)}")
    return weights


def _with(sketch: Sketch, part_id: str, weights: tuple[Weight, ...]) -> Sketch:
    return change(sketch, "parts", part_id, weights=weights)
