"""From bytes to plain JSON values, with every way it can go wrong said in one sentence.

Nothing here knows what a sketch is. All limits are checked before the work they bound.
"""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from core.errors import FileError
from core.model.problem import quoted

#: Far beyond any sketch (some 200 000 outline corners), small enough to read at once.
LARGEST_BYTES = 8_000_000
#: A sketch is eight deep; a file deeper than this is refused before it is decoded.
DEEPEST = 40

_STRING = re.compile(r'"(?:[^"\\]|\\.)*"?', re.DOTALL)
_NOT_BRACKET = re.compile(r"[^()]+")
_ROUND = str.maketrans("[]{}", "()()", "()")


def read_bytes(path: Path) -> bytes:
    """The bytes of a file, never more than LARGEST_BYTES; raises FileError."""
    where = path.name or str(path)
    try:
        if path.is_dir():
            raise FileError("this is a folder", where, "name a file in it")
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise FileError("there is no such file", str(path), "check the name and the folder"
                        ) from None
    except PermissionError:
        raise FileError("you are not allowed to read this file", str(path),
                        "change its permissions or copy it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not usable"
        raise FileError(f"it cannot be read ({reason.lower()})", str(path),
                        "check the name and the disk") from None
    return data


def parse(data: bytes, where: str = "") -> dict[str, Any]:
    """The JSON object in a file, all its numbers finite and its texts proper.

    Parameters
    ----------
    data : UTF-8, with or without a byte order mark.
    where : name of the file for messages.

    Raises
    ------
    FileError
        Empty, too large, not UTF-8, nested too deep, not JSON, not an object, a key
        given twice, NaN or infinity, half a surrogate pair in a text.
    """
    text = decode(data, where)
    try:
        raw, twice = read_json(text)
    except json.JSONDecodeError as error:
        raise FileError(f"this is not JSON: {_plain(error.msg)}",
                        _joined(where, f"line {error.lineno}, column {error.colno}"),
                        "look there for a missing or extra comma, quote or bracket") from None
    if not isinstance(raw, dict):
        raise FileError("a sketch is a JSON object", where, "begin it with { and end it with }")
    if twice:
        raise FileError(f"the key {quoted(twice)} is given twice in one object", where,
                        "keep one of the two")
    for place, value in _leaves(raw):
        _check_leaf(place, value, where)
    return raw


def read_json(text: str, strict: bool = True) -> tuple[Any, str]:
    """The JSON value of a text, and a key that some object has twice (empty: none).

    NaN and infinity are read as Python's json does; without `strict`, control characters
    inside texts too. Raises json.JSONDecodeError.
    """
    twice: list[str] = []

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs) and not twice:
            counts = Counter(key for key, _ in pairs)
            twice.append(next(key for key, count in counts.items() if count > 1))
        return found

    # float() for long integers: int() of thousands of digits is refused by Python.
    raw = json.loads(text, object_pairs_hook=once, strict=strict,
                     parse_int=lambda s: int(s) if len(s) < 19 else float(s))
    return raw, twice[0] if twice else ""


def decode(data: bytes, where: str = "", damaged: bool = False) -> str:
    """The text of a file, of bounded size and depth; with `damaged`, bytes that are no
    UTF-8 become replacement characters. Raises FileError."""
    if len(data) > LARGEST_BYTES:
        raise FileError(f"the file is larger than {LARGEST_BYTES // 1_000_000} MB", where,
                        "a sketch is far smaller, so choose another file")
    if not data.strip(b"\xef\xbb\xbf \t\r\n\0"):
        raise FileError("the file is empty", where, "choose another file or its .bak")
    try:
        text = data.decode("utf-8-sig", "replace" if damaged else "strict")
    except UnicodeDecodeError as error:
        raise FileError(f"the file is not UTF-8 text (byte {error.start})", where,
                        "save it as UTF-8 or choose another file") from None
    if _too_deep(text):
        raise FileError(f"brackets are nested more than {DEEPEST} deep", where,
                        "a sketch needs eight, so choose another file")
    return text


def _too_deep(text: str) -> bool:
    """Whether brackets outside texts nest more than DEEPEST, counted without a loop
    over characters: each pass takes away the innermost pairs."""
    brackets = _NOT_BRACKET.sub("", _STRING.sub("", text).translate(_ROUND))
    for _ in range(DEEPEST):
        if "()" not in brackets:
            break
        brackets = brackets.replace("()", "")
    return "()" in brackets or brackets.count("(") > DEEPEST


def _leaves(raw: Any, place: str = "") -> Iterator[tuple[str, Any]]:
    """Every number and text with its place as a path such as ``parts[3].points[0].x``."""
    if isinstance(raw, dict):
        for key, value in raw.items():
            yield place, key
            yield from _leaves(value, _joined_key(place, key))
    elif isinstance(raw, list):
        for index, value in enumerate(raw):
            yield from _leaves(value, f"{place}[{index}]")
    else:
        yield place, raw


def _check_leaf(place: str, value: Any, where: str) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise FileError("the number is not finite", _joined(where, place),
                        "write an ordinary number")
    if isinstance(value, str) and not value.isascii() and any(
            "\ud800" <= mark <= "\udfff" for mark in value):
        raise FileError("the text holds half a character", _joined(where, place),
                        "type it anew")


def _joined_key(place: str, key: str) -> str:
    key = key if key.isidentifier() and len(key) < 40 else quoted(key)
    return f"{place}.{key}" if place else key


def _joined(where: str, place: str) -> str:
    return f"{where}: {place}" if where and place else where or place


def _plain(message: str) -> str:
    return message[:1].lower() + message[1:].replace("\n", " ")
