"""Opening and saving a sketch."""

from __future__ import annotations

import os
from pathlib import Path

from core.errors import SketchError
from core.files.atomic import write_bytes
from core.files.migrations import migrate
from core.files.raw import parse, read_bytes
from core.files.shape import shaped
from core.files.write import dumps
from core.model import Sketch
from core.model.validate import check


def load(path: str | os.PathLike[str], strict: bool = True) -> Sketch:
    """The sketch in a file; see :func:`loads`.

    Raises
    ------
    FileError
        When the file cannot be read, is no sketch, or has a key that is missing, unknown
        or mistyped.
    SketchError
        When the sketch contradicts itself.
    """
    place = Path(path)
    return loads(read_bytes(place), where=place.name, strict=strict)


def loads(data: bytes, where: str = "", strict: bool = True) -> Sketch:
    """The sketch in the bytes of a file.

    Parameters
    ----------
    data : UTF-8 JSON, of any version up to this one.
    where : name of the file, for messages.
    strict : False lets pass what can be mended in the window: points of a pin apart, a
        link without length and the like (see :mod:`core.model.fitness`).

    Raises
    ------
    FileError, SketchError
        As :func:`load`; the message is one sentence with the file, the place as a path
        such as ``parts[3].material``, and the mend.
    """
    sketch = shaped(migrate(parse(data, where), where), Sketch, where)
    try:
        check(sketch, strict)
    except SketchError as error:
        place = ": ".join(text for text in (where, error.where) if text)
        raise SketchError(error.what, place, error.mend) from None
    return sketch


def save(sketch: Sketch, path: str | os.PathLike[str]) -> None:
    """Write a sketch to a file, all or nothing; the file before is kept as ``NAME.bak``.

    Raises
    ------
    FileError
        When it cannot be written; the old file is whole then.
    SketchError
        When the sketch holds a number that is not finite.
    """
    write_bytes(path, dumps(sketch), keep_previous=True)
