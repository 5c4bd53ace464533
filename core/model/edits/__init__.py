"""Edits: pure functions from a sketch to a sketch. The undo of an edit is the old
sketch; nothing is changed in place."""

from core.model.edits.basics import (
    add,
    add_point,
    change,
    change_point,
    fresh_id,
    fresh_point,
    get,
    group_of,
    ids,
    joined_parts,
    next_layer,
    put,
    remove,
    rename,
)
from core.model.edits.clipboard import copy_parts, paste
from core.model.edits.joining import connect, pin_of
from core.model.edits.mirroring import follow_twins, mirror, twin_line, untwin
from core.model.edits.moving import Carry, carry_load, carry_part, mirroring, shifting

__all__ = [
    "Carry", "add", "add_point", "carry_load", "carry_part", "change", "change_point",
    "connect", "copy_parts", "follow_twins", "fresh_id", "fresh_point", "get", "group_of",
    "ids", "joined_parts", "mirror", "mirroring", "next_layer", "paste", "pin_of", "put",
    "remove", "rename", "shifting", "twin_line", "untwin",
]
