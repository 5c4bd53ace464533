"""The demos that come with Crankwright, in a checkout and in an installed one alike."""

from __future__ import annotations

import difflib
from importlib.resources import files

from core.errors import FileError

_FOLDER = "demos"


def names() -> tuple[str, ...]:
    """The names of all demos, in alphabetical order."""
    folder = files("assets").joinpath(_FOLDER)
    if not folder.is_dir():
        return ()
    return tuple(sorted(entry.name.removesuffix(".json") for entry in folder.iterdir()
                        if entry.name.endswith(".json")))


def data(name: str) -> bytes:
    """The sketch file of a demo; raises FileError for a name there is none of."""
    known = names()
    if name not in known:
        near = difflib.get_close_matches(name, known, n=1)
        raise FileError(f'there is no demo called "{name[:40]}"', mend=(
            f'perhaps "{near[0]}" is meant' if near else f"there are {', '.join(known)}"))
    return files("assets").joinpath(_FOLDER, f"{name}.json").read_bytes()
