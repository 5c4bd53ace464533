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
from core.model.edits.detaching import detached, unattached
from core.model.edits.handle import (
    add_step,
    change_step,
    remove_step,
    set_handle,
    set_step_kind,
)
from core.model.edits.joining import connect, pin_of
from core.model.edits.mirroring import follow_twins, mirror, twin_line, untwin
from core.model.edits.moving import Carry, carry_load, carry_part, mirroring, shifting
from core.model.edits.sheets import (
    material_users,
    put_material,
    rematerial,
    remove_material,
    same_sheet,
    set_sheet_thickness,
)
from core.model.edits.weighing import (
    add_weight,
    change_weight,
    move_weight,
    remove_weight,
)
from core.model.edits.wishing import (
    add_path,
    add_pose,
    add_tick,
    add_zone,
    attach,
    close_path,
    free_crank_deg,
    insert_handle,
    move_handle,
    move_tick,
    path_end,
    pose_handles,
    pose_map,
    remove_handle,
    remove_tick,
    reverse_path,
    set_tick,
    shift_wish,
    shifted_wish,
)

__all__ = [
    "Carry", "add", "add_path", "add_point", "add_pose", "add_step", "add_tick", "add_weight",
    "add_zone", "attach", "carry_load", "carry_part", "change", "change_point", "change_step",
    "change_weight", "close_path", "connect", "copy_parts", "detached", "follow_twins",
    "free_crank_deg", "fresh_id", "fresh_point", "get", "group_of", "ids", "insert_handle",
    "joined_parts", "material_users", "mirror", "mirroring", "move_handle", "move_tick",
    "move_weight", "next_layer", "paste", "path_end", "pin_of", "pose_handles", "pose_map",
    "put", "put_material", "rematerial", "remove", "remove_handle", "remove_material",
    "remove_step", "remove_tick", "remove_weight", "rename", "reverse_path", "same_sheet",
    "set_handle", "set_sheet_thickness", "set_step_kind", "set_tick", "shift_wish",
    "shifted_wish", "shifting", "twin_line", "unattached", "untwin",
]
