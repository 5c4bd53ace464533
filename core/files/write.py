"""A sketch as JSON that is pleasant to read, to compare and to type.

Defaults are left out. Every part, joint, load and point has a line of its own, so that
one edit changes few lines. Equal sketches give equal bytes.
"""

from __future__ import annotations

import json
import math
from typing import Any

import msgspec

from core.errors import SketchError
from core.model import FORMAT, GROUPS, VERSION, Sketch
from core.model.structs import fields_of

_WIDTH = 96


def dumps(sketch: Sketch) -> bytes:
    """The sketch file of a sketch, UTF-8 with a line end at the end.

    Raises
    ------
    SketchError
        When it holds a number that is not finite; nothing else stops it.
    """
    raw = {"format": FORMAT, **plain(sketch), "version": VERSION}
    raw = {"format": FORMAT, "version": VERSION, **raw}
    lines = [f"  {_text(key)}: {_entry(key, value)}" for key, value in raw.items()]
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode("utf-8", "replace")


def plain(value: Any, place: str = "") -> Any:
    """Structs and tuples as plain JSON values, fields that equal their default left out.

    Raises SketchError, naming the place, for a number that is not finite.
    """
    if isinstance(value, msgspec.Struct):
        config = value.__struct_config__
        raw: dict[str, Any] = {config.tag_field: config.tag} if config.tag_field else {}
        for name, field in fields_of(type(value)).items():
            inner = getattr(value, name)
            if field.required or inner != field.default:
                raw[name] = plain(inner, f"{place}.{name}".lstrip("."))
        return raw
    if isinstance(value, (tuple, list)):
        return [plain(inner, f"{place}[{index}]") for index, inner in enumerate(value)]
    if isinstance(value, float) and not math.isfinite(value):
        raise SketchError("the number is not finite", place, "give it an ordinary number")
    return value


def _entry(key: str, value: Any) -> str:
    """One entry of the sketch; groups have an item a line, or more where it is long."""
    if key not in GROUPS or not value:
        return _value(value, 6 + len(key))
    items = [_part(item) if key == "parts" else _value(item, 4) for item in value]
    return "[\n    " + ",\n    ".join(items) + "\n  ]"


def _part(part: dict[str, Any]) -> str:
    """A part: a line for its id and short fields, a line a point, a line a long field."""
    long = [key for key in ("outline", "mass", "note") if key in part]
    head = ", ".join(f"{_text(key)}: {_flat(value)}" for key, value in part.items()
                     if key not in (*long, "points"))
    if part.get("points"):
        rows = [_value(point, 6) for point in part["points"]]
        head += ', "points": [\n      ' + ",\n      ".join(rows) + "]"
    tail = [f"{_text(key)}: {_value(part[key], 9 + len(key))}" for key in long]
    return "{" + ",\n     ".join([head, *tail]) + "}"


def _value(value: Any, column: int) -> str:
    """On one line when it fits after `column` columns; else as many entries on a line as
    fit, further lines under the first entry."""
    flat = _flat(value)
    if column + len(flat) <= _WIDTH or not isinstance(value, (dict, list)):
        return flat
    if isinstance(value, dict):
        entries = [f"{_text(key)}: {_value(inner, column + 5 + len(key))}"
                   for key, inner in value.items()]
    else:
        entries = [_value(inner, column + 1) for inner in value]
    first, last = "{}" if isinstance(value, dict) else "[]"
    return first + f",\n{' ' * (column + 1)}".join(_filled(entries, column + 1)) + last


def _filled(entries: list[str], column: int) -> list[str]:
    """Entries gathered into lines as long as they fit after `column`."""
    lines: list[str] = []
    for entry in entries:
        joined = f"{lines[-1]}, {entry}" if lines else entry
        if lines and "\n" not in joined and column + len(joined) < _WIDTH:
            lines[-1] = joined
        else:
            lines.append(entry)
    return lines


def _flat(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_text(k)}: {_flat(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flat, value)) + "]"
    if isinstance(value, str):
        return _text(value)
    if value is None or value is True or value is False:
        return {None: "null", True: "true", False: "false"}[value]
    number = float(value)
    # Whole numbers without ".0" (and −0 as 0) are what a person would type.
    return str(int(number)) if number.is_integer() and abs(number) < 1e15 else repr(number)


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
