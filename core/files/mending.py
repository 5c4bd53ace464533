"""JSON that was cut short, closed again."""

from __future__ import annotations

import json
import re
from typing import Any

from core.errors import FileError
from core.files.raw import read_json

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{},]', re.DOTALL)
_CLOSER = {"[": "]", "{": "}"}


def read_damaged(text: str, where: str = "") -> tuple[dict[str, Any], str]:
    """The JSON object of a text, up to where it stops being JSON, and what was wrong there
    (empty: nothing).

    Raises
    ------
    FileError
        When not even the beginning is a JSON object.
    """
    trouble = ""
    try:
        raw = read_json(text)[0]
    except json.JSONDecodeError as error:
        trouble = f"it stops being JSON at line {error.lineno}, column {error.colno}"
        try:
            raw = read_json(_closed(text[: error.pos]))[0]
        except json.JSONDecodeError:
            raw = None
    if not isinstance(raw, dict):
        raise FileError("nothing of a sketch can be read in it", where,
                        "choose another file or its .bak")
    return raw, trouble


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
