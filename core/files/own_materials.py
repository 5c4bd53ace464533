"""The materials a user keeps for all sketches: one small JSON file in a folder of theirs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Literal

import msgspec

from core.errors import FileError, SketchError
from core.files.atomic import make_folder, write_bytes
from core.files.raw import parse, read_bytes
from core.files.shape import shaped
from core.files.write import plain
from core.model.numbers import wrong_numbers
from core.model.own_materials import own_problems
from core.model.sketch import Sketch
from core.model.stuff import OwnMaterial

#: The name of the file in the user's folder.
MATERIALS_FILE = "materials.json"


class _Shelf(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
             forbid_unknown_fields=True):
    """The whole file."""

    format: Literal["crankwright-materials"]
    version: Literal[1]
    materials: tuple[OwnMaterial, ...] = ()


def kept_materials(folder: Path) -> tuple[OwnMaterial, ...]:
    """The materials kept in a folder; none when there is no file yet.

    Raises
    ------
    FileError
        When the file cannot be read, is damaged, or holds what is no material; one
        sentence with the place in the file and the mend.
    """
    path = folder / MATERIALS_FILE
    if not path.exists():
        return ()
    held = shaped(parse(read_bytes(path), path.name), _Shelf, path.name).materials
    troubles = [*wrong_numbers(Sketch(materials=held)), *own_problems(held)]
    if troubles:
        first = troubles[0]
        raise FileError(first.what, f"{path.name}: {first.place}", first.mend)
    return held


def keep_material(folder: Path, own: OwnMaterial) -> tuple[OwnMaterial, ...]:
    """Keep a material, in place of the one with its id; the file before stays as a ``.bak``.

    The file is read anew first, so that another window's additions stay. Returns what is
    kept now.

    Raises
    ------
    FileError
        When the file cannot be read or written; nothing is changed then.
    SketchError
        When the material is not sound.
    """
    for problem in (*wrong_numbers(Sketch(materials=(own,))), *own_problems((own,))):
        raise SketchError(problem.what, problem.place, problem.mend)
    held = {each.id: each for each in kept_materials(folder)}
    held[own.id] = own
    return _write(folder, tuple(held.values()))


def drop_material(folder: Path, material_id: str) -> tuple[OwnMaterial, ...]:
    """Keep a material no longer; sketches that carry it still do. Returns what is kept now.

    Raises
    ------
    FileError
        As :func:`keep_material`.
    """
    held = kept_materials(folder)
    left = tuple(each for each in held if each.id != material_id)
    return _write(folder, left) if left != held else held


def _write(folder: Path, materials: tuple[OwnMaterial, ...]) -> tuple[OwnMaterial, ...]:
    raw = {"format": "crankwright-materials", "version": 1,
           "materials": [plain(each) for each in materials]}
    text = json.dumps(raw, ensure_ascii=False, indent=1) + "\n"
    make_folder(folder)
    write_bytes(folder / MATERIALS_FILE, text.encode("utf-8", "replace"), keep_previous=True)
    return materials
