"""The sketch file: strict and salvaging load, atomic save, schema, recovery."""

from core.files.atomic import write_bytes
from core.files.strict import load, loads, save
from core.files.write import dumps

__all__ = ["dumps", "load", "loads", "save", "write_bytes"]
