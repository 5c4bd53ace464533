"""Older versions of the sketch file are brought up one version at a time.

A migration takes the plain JSON object of version n and returns that of version n + 1.
It may change everything but "format" and "version"; it never sees the model, so that an
old file stays readable whatever becomes of the structs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from core.errors import FileError
from core.model import FORMAT, VERSION
from core.model.problem import quoted

Migration = Callable[[dict[str, Any]], dict[str, Any]]

#: Version n → the step from n to n + 1. Version 1 is the first, so there is none yet.
MIGRATIONS: dict[int, Migration] = {}


def check_header(raw: Mapping[str, Any], where: str = "", newest: int = VERSION) -> int:
    """The version of a file that says it is a sketch; raises FileError when it does not,
    or when it is newer than `newest`."""
    head = f'begin it with "format": "{FORMAT}", "version": {newest}'
    if "format" not in raw:
        raise FileError('this is not a sketch: "format" is missing', where, head)
    if raw["format"] != FORMAT:
        raise FileError(f"this is not a sketch: its format is {quoted(raw['format'])}", where,
                        f'a sketch has the format "{FORMAT}"')
    if "version" not in raw:
        raise FileError('"version" is missing', where, head)
    version = raw["version"]
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise FileError(f"the version {quoted(version)} is not a whole number from 1",
                        where, head)
    if version > newest:
        raise FileError(
            f"the file is of version {version} and this Crankwright reads up to {newest}",
            where, "open it with a newer Crankwright")
    return version


def migrate(raw: dict[str, Any], where: str = "", newest: int = VERSION,
            steps: Mapping[int, Migration] | None = None) -> dict[str, Any]:
    """The object brought up to version `newest`; `raw` itself stays as it is.

    Raises FileError as :func:`check_header`.
    """
    steps = MIGRATIONS if steps is None else steps
    for version in range(check_header(raw, where, newest), newest):
        raw = {**steps[version](dict(raw)), "version": version + 1}
    return raw
