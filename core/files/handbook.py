"""The tables of docs/format.md, made from the structs, so that the document cannot drift.

``python -m core.files.handbook docs/format.md`` puts them in place anew.
"""

from __future__ import annotations

import json
import re
import sys
import types
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin

import msgspec

import core.model
from core.files.atomic import write_bytes
from core.files.fields import FIELDS
from core.files.write import plain
from core.materials import MATERIALS
from core.model.structs import fields_of, hints_of, is_struct

_MATERIALS = re.compile(r"<!-- materials -->\n.*?<!-- end -->", re.DOTALL)
_MARK = re.compile(r"<!-- fields of (\w+) -->\n.*?<!-- end -->", re.DOTALL)
_WORDS = {str: "text", float: "number", int: "whole number", bool: "true or false",
          type(None): "null"}


def table(name: str) -> str:
    """The Markdown table of the fields of a struct."""
    kind = getattr(core.model, name)
    config = kind.__struct_config__
    rows = ["| key | value | default | meaning |", "|---|---|---|---|"]
    if config.tag_field:
        rows.append(f'| `{config.tag_field}` | `"{config.tag}"` | required | What it is. |')
    for key, field in fields_of(kind).items():
        default = "required" if field.required or key in ("format", "version") else (
            f"`{json.dumps(_default(field.default), ensure_ascii=False)}`")
        rows.append(f"| `{key}` | {_kind(hints_of(kind)[key])} | {default} | "
                    f"{FIELDS[name][key]} |")
    return "\n".join(rows)


def filled(document: str) -> str:
    """The document with every marked table made anew."""
    rows = ["| id | what | density, kg/m³ |", "|---|---|---|",
            *(f"| `{one.id}` | {one.name} | {one.density_kg_m3:g} |"
              for one in MATERIALS.values())]
    materials = "\n".join(["<!-- materials -->", *rows, "<!-- end -->"])
    return _MARK.sub(
        lambda mark: f"<!-- fields of {mark[1]} -->\n{table(mark[1])}\n<!-- end -->",
        _MATERIALS.sub(lambda _: materials, document))


def _default(value: Any) -> Any:
    if isinstance(value, msgspec.Struct):
        return plain(value)
    return int(value) if isinstance(value, float) and value.is_integer() else (
        list(value) if isinstance(value, tuple) else value)


def _kind(kind: Any) -> str:
    """A type in words."""
    if get_origin(kind) in (Union, types.UnionType):
        return " or ".join(_kind(one) for one in get_args(kind))
    if get_origin(kind) is Literal:
        return " or ".join(f'`"{word}"`' for word in get_args(kind))
    if get_origin(kind) is tuple:
        inner = get_args(kind)
        if inner[-1] is not Ellipsis:
            return f"[{', '.join(_kind(one) for one in inner)}]"
        return f"list of {_kind(inner[0])}"
    if is_struct(kind):
        return f"[{kind.__name__}](#{kind.__name__.lower()})"
    return _WORDS[kind]


if __name__ == "__main__":
    _path = Path(sys.argv[1])
    write_bytes(_path, filled(_path.read_text(encoding="utf-8")).encode("utf-8"))
