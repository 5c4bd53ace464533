"""Where the picture under a sketch is. Only its path is kept in the file."""

from __future__ import annotations

import os
from pathlib import Path, PureWindowsPath

from core.model import Underlay


def underlay_path(underlay: Underlay, sketch_path: str | os.PathLike[str] | None) -> Path:
    """The picture of an underlay: as it is when absolute, else beside the sketch file.

    A sketch never saved (None) leaves a relative path relative to the current folder.
    Backslashes of a path written on another system are read as folders.
    """
    named = Path(underlay.path)
    if not named.is_absolute() and "\\" in underlay.path and os.sep != "\\":
        named = Path(*PureWindowsPath(underlay.path).parts)
    return named if sketch_path is None else Path(sketch_path).absolute().parent / named


def underlay_name(image: str | os.PathLike[str],
                  sketch_path: str | os.PathLike[str] | None) -> str:
    """What to write into the sketch for a picture: relative, with forward slashes, when it
    lies in the folder of the sketch or deeper, so that both can be moved together; else
    absolute."""
    full = Path(image).absolute()
    if sketch_path is not None:
        folder = Path(sketch_path).absolute().parent
        if full.is_relative_to(folder):
            return full.relative_to(folder).as_posix()
    return str(full)
