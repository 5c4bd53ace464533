"""JSON that was damaged or cut short, made whole again as far as it goes."""

from __future__ import annotations

import json
import re
from typing import Any

from core.errors import FileError
from core.files.raw import read_json

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{},]', re.DOTALL)
_CLOSER = {"[": "]", "{": "}"}
#: Damaged objects taken out of a file before the rest of it is given up.
_MOST_HOLES = 20


def read_damaged(text: str, where: str = "") -> tuple[dict[str, Any], str]:
    """The JSON object of a text, and in words what was done to it to be read (empty:
    nothing).

    The smallest object around each damage becomes null; where that does not help, the text
    is read up to the damage.

    Raises
    ------
    FileError
        When not even the beginning is a JSON object.
    """
    raw, error = _tried(text)
    trouble = ""
    if error is not None:
        raw, done = _with_holes(text, error), "what stands there was left out"
        if raw is None:
            raw, done = _tried(_closed(text[: error.pos]))[0], "it was read up to there"
        trouble = f"it stops being JSON at line {error.lineno}, column {error.colno}; {done}"
    if not isinstance(raw, dict):
        raise FileError("nothing of a sketch can be read in it", where,
                        "choose another file or its .bak")
    return raw, trouble


def _tried(text: str) -> tuple[Any, json.JSONDecodeError | None]:
    try:
        return read_json(text, strict=False)[0], None
    except json.JSONDecodeError as error:
        return None, error


def _with_holes(text: str, error: json.JSONDecodeError | None) -> Any:
    """The JSON value with null for the smallest object around each damage; None when that
    does not mend it."""
    raw: Any = None
    for _ in range(_MOST_HOLES):
        if error is None:
            break
        starts = _open_objects(text[: error.pos])
        end = text.find("}", error.pos)
        if len(starts) < 2 or end < 0:
            return None
        text = f"{text[: starts[-1]]}null{text[end + 1:]}"
        raw, error = _tried(text)
    return raw if error is None else None


def _open_objects(text: str) -> list[int]:
    """Where the objects begin that are still open at the end of a text."""
    starts: list[int] = []
    for token in _TOKEN.finditer(text):
        if token[0] == "{":
            starts.append(token.start())
        elif token[0] == "}" and starts:
            starts.pop()
    return starts


def _closed(text: str) -> str:
    """The text up to its last whole value, with the brackets that are open there closed."""
    open_now: list[str] = []
    end, closers = 0, ""
    for token in _TOKEN.finditer(text):
        mark = token[0]
        if mark in _CLOSER:
            open_now.append(_CLOSER[mark])
        elif mark == ",":
            end, closers = token.start(), "".join(reversed(open_now))
        elif mark in ("]", "}") and open_now:
            open_now.pop()
            end, closers = token.end(), "".join(reversed(open_now))
    return text[:end] + closers
