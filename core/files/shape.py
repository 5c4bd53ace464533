"""From plain JSON values to the structs of the model, complaints in plain words.

msgspec checks keys and types; this room says what it found, where, and how to mend it.
"""

from __future__ import annotations

import difflib
import re
import types
from typing import Any, Literal, TypeVar, Union, get_args, get_origin

import msgspec

from core.errors import FileError
from core.model.problem import quoted
from core.model.structs import fields_of, hints_of, is_struct

T = TypeVar("T")

_PLACE = re.compile(r" - at `\$(.*)`$")
_STEP = re.compile(r"\.([^.\[\]]+)|\[(\d+|\.\.\.)\]")
_KINDS = {
    "str": "a text in quotes", "float": "a number", "int": "a whole number",
    "bool": "true or false", "array": "a list in [ ]", "object": "an object in { }",
    "null": "null",
}


def shaped(raw: Any, kind: type[T], where: str = "", place: str = "") -> T:
    """`raw` as a value of `kind`.

    Parameters
    ----------
    raw : plain JSON values.
    kind : a struct of the model.
    where, place : the file and the path of `raw` in it, for messages.

    Raises
    ------
    FileError
        On a missing, unknown or mistyped key.
    """
    try:
        return msgspec.convert(raw, kind, strict=True)
    except msgspec.ValidationError as error:
        inside, what, mend = explain(str(error), raw, kind)
        full = (place + inside).lstrip(".")
        raise FileError(what, ": ".join(t for t in (where, full) if t), mend) from None


def explain(message: str, raw: Any, kind: Any) -> tuple[str, str, str]:
    """Place (path beginning with "." or "[", or empty), trouble and mend for a message
    of msgspec about converting `raw` to `kind`."""
    found = _PLACE.search(message)
    inside = found[1] if found else ""
    said = message[: found.start()] if found else message
    here, value = _follow(kind, raw, inside)
    names = re.findall(r"`([^`]*)`", said)
    if "unknown field" in said and names:
        return inside + _key(names[0]), "this key is not known here", _nearest(names[0], here)
    if "missing required field" in said and names:
        return inside, f'"{names[0]}" is missing', f'add "{names[0]}"'
    if said.startswith("Invalid"):
        known = ", ".join(f'"{word}"' for word in _words(here))
        return inside, f"{quoted(value)} is not known here", (
            f"use one of {known}" if known else "look it up in docs/format.md")
    length = re.search(r"of length (\d+)", said)
    if length:
        return inside, f"the list must have {length[1]} entries", f"give {length[1]}"
    if said.startswith("Expected") and names:
        wanted = " or ".join(_KINDS.get(n.strip(), n.strip()) for n in names[0].split("|"))
        return inside, f"this must be {wanted}", "write it so"
    return inside, f"this does not fit ({said[:1].lower()}{said[1:]})", (
        "look it up in docs/format.md")


def steps_of(place: str) -> list[str | int]:
    """The keys and indices of a path such as ``parts[3].points[0].x``."""
    found = _STEP.findall(place if place.startswith(("[", ".")) else "." + place)
    return [key or (int(index) if index != "..." else 0) for key, index in found]


def _key(name: str) -> str:
    return f".{name}" if name.isidentifier() and len(name) < 40 else f".{quoted(name)}"


def _nearest(name: str, kind: Any) -> str:
    known = list(fields_of(kind)) if is_struct(kind) else []
    near = difflib.get_close_matches(name.casefold(), known, n=1, cutoff=0.5)
    if near:
        return f'write "{near[0]}" if that is meant, or take it out'
    return "take it out; known are " + ", ".join(known) if known else "take it out"


def _words(kind: Any) -> list[str]:
    """The words a Literal, or the tag of a choice of structs, may be."""
    choices = get_args(kind) if get_origin(kind) in (Union, types.UnionType) else (kind,)
    words: list[str] = []
    for choice in choices:
        if get_origin(choice) is Literal:
            words += get_args(choice)
        elif is_struct(choice) and isinstance(choice.__struct_config__.tag, str):
            words.append(choice.__struct_config__.tag)
    return words


def _follow(kind: Any, raw: Any, place: str) -> tuple[Any, Any]:
    """The type and the value at a path inside `raw`; a tag stands for its choice."""
    for step in steps_of(place):
        kind = chosen(kind, raw)
        if isinstance(step, int):
            raw = raw[step] if isinstance(raw, list) and step < len(raw) else None
            kind = next(iter(get_args(kind)), None)
            continue
        raw = raw.get(step) if isinstance(raw, dict) else None
        hints = hints_of(kind) if is_struct(kind) else {}
        kind = hints.get(step, kind)
    return chosen(kind, raw), raw


def chosen(kind: Any, raw: Any) -> Any:
    """Of a choice, the struct `raw` says it is; None is left out; else `kind`."""
    if get_origin(kind) not in (Union, types.UnionType):
        return kind
    choices = [c for c in get_args(kind) if c is not type(None)]
    if len(choices) == 1:
        return choices[0]
    tag = raw.get("kind") if isinstance(raw, dict) else None
    return next((c for c in choices if is_struct(c) and c.__struct_config__.tag == tag), kind)
