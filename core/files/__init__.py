"""The sketch file: strict and salvaging load, atomic save, schema, recovery."""

from core.files.atomic import make_folder, write_bytes
from core.files.own_materials import (
    MATERIALS_FILE,
    drop_material,
    keep_material,
    kept_materials,
)
from core.files.raw import read_bytes
from core.files.recovery import Recovered, Recovery
from core.files.salvage import salvage
from core.files.schema import schema
from core.files.strict import load, loads, save
from core.files.underlay import underlay_name, underlay_path
from core.files.write import dumps

__all__ = ["MATERIALS_FILE", "Recovered", "Recovery", "drop_material", "dumps",
           "keep_material", "kept_materials", "load", "loads", "make_folder", "read_bytes",
           "salvage", "save", "schema", "underlay_name", "underlay_path", "write_bytes"]
