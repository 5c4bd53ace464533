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
    lines = [f'  {_text(key)}: {_entry(key, value)}' for key, value in raw.items()]
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode("utf-8", "replace")


def plain(value: Any, place: str = "") -> Any:
    """Structs and tuples as plain JSON values, fields that equal their default left out.

    Raises SketchError, naming the place, for a number that is not finite.
    """
    if isinstance(value, msgspec.Struct):
        config = value.__struct_config__
        raw: dict[str, Any] = {config.tag_field: config.tag} if config.tag_field else {}
        # A base class may put "id" anywhere; people look for it first.
        for field in sorted(msgspec.structs.fields(value), key=lambda f: f.name != "id"):
            inner = getattr(value, field.name)
            if field.required or inner != field.default:
                raw[field.encode_name] = plain(inner, f"{place}.{field.name}".lstrip("."))
        return raw
    if isinstance(value, (tuple, list)):
        return [plain(inner, f"{place}[{index}]") for index, inner in enumerate(value)]
    if isinstance(value, float) and not math.isfinite(value):
        raise SketchError("the number is not finite", place, "give it an ordinary number")
    return value


def _entry(key: str, value: Any) -> str:
    """One entry of the sketch; groups have an item a line, or more where it is long."""
    if key not in GROUPS or not value:
        return _value(value, 2, 6 + len(key))
    items = [_part(item) if key == "parts" else _value(item, 4, 4) for item in value]
    return "[\n    " + ",\n    ".join(items) + "\n  ]"


def _part(part: dict[str, Any]) -> str:
    """A part: a line for its id and short fields, a line a point, a line a long field."""
    long = [key for key in ("outline", "mass", "note") if key in part]
    head = ", ".join(f"{_text(key)}: {_flat(value)}" for key, value in part.items()
                     if key not in (*long, "points"))
    if part.get("points"):
        rows = [_value(point, 6, 6) for point in part["points"]]
        head += ', "points": [\n      ' + ",\n      ".join(rows) + "]"
    tail = [f"{_text(key)}: {_value(part[key], 5, 9 + len(key))}" for key in long]
    return "{" + ",\n     ".join([head, *tail]) + "}"


def _value(value: Any, indent: int, used: int) -> str:
    """On one line when it fits (`used` columns are taken), else a level a line, lists of
    number pairs filled."""
    flat = _flat(value)
    if used + len(flat) <= _WIDTH or not isinstance(value, (dict, list)):
        return flat
    pad = " " * (indent + 2)
    if isinstance(value, dict):
        rows = [f"{_text(k)}: {_value(v, indent + 2, indent + 6 + len(k))}"
                for k, v in value.items()]
        return "{\n" + pad + f",\n{pad}".join(rows) + "\n" + " " * indent + "}"
    return "[\n" + pad + f",\n{pad}".join(_filled(value, indent)) + "\n" + " " * indent + "]"


def _filled(values: list[Any], indent: int) -> list[str]:
    """As many entries on a line as fit; an entry that does not fit is broken."""
    lines: list[str] = []
    for value in values:
        text = _value(value, indent + 2, indent + 2)
        joined = f"{lines[-1]}, {text}" if lines else text
        if lines and "\n" not in joined and indent + 3 + len(joined) <= _WIDTH:
            lines[-1] = joined
        else:
            lines.append(text)
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
