"""The materials this user keeps for all sketches, read once and kept in step with the file.

They are the user's, not a window's: all windows of the program see the same.
"""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.settings import state_folder
from core import files
from core.errors import CrankwrightError
from core.materials import Material
from core.model import OwnMaterial, Sketch, edits
from core.model.stuff import materials_of


class Shelf(QObject):
    """What is kept; `trouble` is a sentence while the file cannot be read.

    `changed` tells that something was kept or dropped.
    """

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._folder: Path | None = None
        self.kept: tuple[OwnMaterial, ...] = ()
        self.trouble = ""

    def open(self, unsaved: Path | None = None) -> None:
        """Read the file, which lies beside the folder of the crash journal; a damaged one
        is told and left as it is."""
        self._folder = (unsaved or state_folder()).parent
        self.kept, self.trouble = (), ""
        try:
            self.kept = files.kept_materials(self._folder)
        except CrankwrightError as trouble:
            self.trouble = f"Your own materials cannot be read: {trouble}"
        self.changed.emit()

    def keep(self, own: OwnMaterial) -> None:
        """Keep a material; raises what :func:`core.files.keep_material` does."""
        if self._folder is not None:
            self.kept = files.keep_material(self._folder, own)
            self.trouble = ""
            self.changed.emit()

    def drop(self, material_id: str) -> None:
        """Keep it no longer; raises what :func:`core.files.drop_material` does."""
        if self._folder is not None:
            self.kept = files.drop_material(self._folder, material_id)
            self.changed.emit()

    def of(self, material_id: str) -> OwnMaterial | None:
        """The kept material of that id."""
        return next((own for own in self.kept if own.id == material_id), None)


#: The one shelf of the program.
SHELF = Shelf()


def offered(sketch: Sketch) -> dict[str, Material]:
    """Every material parts of a sketch can be made of: its own, the kept ones, the table's."""
    known = {own.id for own in sketch.materials}
    rest = tuple(own for own in SHELF.kept if own.id not in known)
    return dict(materials_of((*sketch.materials, *rest)))


def embedded(sketch: Sketch, material_id: str) -> Sketch:
    """The sketch with a kept material in it, if it is one the sketch does not know yet."""
    kept = SHELF.of(material_id)
    if kept is None or material_id in materials_of(sketch.materials):
        return sketch
    return edits.put_material(sketch, kept)


def given(sketch: Sketch, parts: tuple[str, ...], material_id: str) -> Sketch:
    """The sketch with these parts made of a material, which is put into it where needed."""
    sketch = embedded(sketch, material_id)
    for name in parts:
        sketch = edits.change(sketch, "parts", name, material=material_id)
    return sketch
