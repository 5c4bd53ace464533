"""The JSON Schema (draft 2020-12) of the sketch file.

It says what a schema can: keys, types, ranges, forms of names. What refers to what, and
what must lie where, is for :func:`core.files.load` to check.
"""

from __future__ import annotations

from typing import Any

import msgspec

from core.files.fields import FIELDS
from core.model import FORMAT, VERSION, Sketch
from core.model.links import POINT_FIELDS, UNATTACHED
from core.model.numbers import LARGEST_MM, LIMITS
from core.model.validate import LONGEST_ID

_ID = {"type": "string", "minLength": 1, "maxLength": LONGEST_ID,
       "pattern": r"^[^.\u0000-\u001f]+$"}
_REF = {"type": "string", "pattern": r"^[^.]+\.[^.]+$"}
_MAYBE_REF = {"type": "string", "pattern": r"^([^.]+\.[^.]+)?$"}
#: Struct and field → stricter form of a text or of the entries of a list of texts.
_FORMS: dict[tuple[str, str], dict[str, Any]] = {
    **{(kind, "id"): _ID for kind, fields in FIELDS.items() if "id" in fields},
    **{(kind.__name__, field): _MAYBE_REF if kind in UNATTACHED else _REF
       for kind, fields in POINT_FIELDS.items() for field in fields},
}
_AT_LEAST = {("Pin", "at"): 2, ("Lock", "parts"): 2, ("Polygon", "outer"): 3}


def schema() -> dict[str, Any]:
    """The schema as plain JSON values; equal at every call."""
    whole = msgspec.json.schema(Sketch)
    definitions: dict[str, Any] = whole["$defs"]
    for kind, definition in definitions.items():
        definition["description"] = " ".join(definition["description"].split())
        for name, form in definition["properties"].items():
            _enrich(kind, name, form)
    top = definitions["Sketch"]
    top["required"] = ["format", "version"]
    top["properties"]["format"] = {"const": FORMAT, "description": FIELDS["Sketch"]["format"]}
    top["properties"]["version"] = {"const": VERSION,
                                    "description": FIELDS["Sketch"]["version"]}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema",
            "title": f"Sketch of a hand-cranked mechanism, format {FORMAT}, version {VERSION}",
            **whole}


def _enrich(kind: str, name: str, form: dict[str, Any]) -> None:
    if name in FIELDS.get(kind, {}):
        form["description"] = FIELDS[kind][name]
    if (kind, name) in _FORMS:
        for text in _texts(form):
            text.update(_FORMS[kind, name])
    if (kind, name) in _AT_LEAST:
        form["minItems"] = _AT_LEAST[kind, name]
    if (kind, name) in LIMITS:
        low, closed, high = LIMITS[kind, name]
        for number in _numbers(form):
            number["minimum" if closed else "exclusiveMinimum"] = low
            number["maximum"] = high
    elif name in ("x", "y"):
        form.update(minimum=-LARGEST_MM, maximum=LARGEST_MM)


def _texts(form: dict[str, Any]) -> list[dict[str, Any]]:
    return [one for one in _leaves(form) if one.get("type") == "string"]


def _numbers(form: dict[str, Any]) -> list[dict[str, Any]]:
    return [one for one in _leaves(form) if one.get("type") in ("number", "integer")]


def _leaves(form: dict[str, Any]) -> list[dict[str, Any]]:
    """The form itself and those of its entries and choices."""
    found = [form]
    for key in ("items", "prefixItems", "anyOf"):
        inner = form.get(key) or []
        for one in inner if isinstance(inner, list) else [inner]:
            found += _leaves(one)
    return found
