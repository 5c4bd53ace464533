"""The Edit menu: clipboard, mirror, layers, assembly."""

from __future__ import annotations

from PySide6.QtCore import QMimeData, QObject
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from app.dialogs.mirror import MirrorDialog
from app.session import Session
from core import files
from core.errors import CrankwrightError
from core.model import Sketch, edits

MIME = "application/x-crankwright+json"
#: A pasted copy lies this far to the right of and below the last one.
STEP_MM = 12.0


class Editing(QObject):
    """Edits of what is selected in a session; each is one undo step."""

    def __init__(self, session: Session, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._window = session, window
        self._pasted = 0
        self._dialog: MirrorDialog | None = None

    def cut(self) -> None:
        """Copy, then remove."""
        names = (*self._session.selected("part"), *self._wishes())
        if self._copy():
            left = edits.remove(self._session.committed, names)
            self._session.commit(f"Cut {_count(names)}", left)

    def copy(self) -> None:
        """Put the selected parts, as they stand at this crank angle, and the selected
        wishes on the clipboard."""
        self._copy()

    def _wishes(self) -> tuple[str, ...]:
        return (*self._session.selected("wish"), *self._session.selected("zone"))

    def _clip(self) -> Sketch:
        parts = self._session.selected("part")
        base = self._session.posed() if parts else self._session.committed
        return edits.copy_parts(base, parts, self._wishes())

    def _copy(self) -> bool:
        if not self._session.selected("part") and not self._wishes():
            self._session.told.emit("Select the parts or wishes to copy first.")
            return False
        clip = edits.detached(self._clip())
        if not edits.ids(clip):
            self._session.told.emit("This belongs to points of parts that are not copied: "
                                    "select them too.")
            return False
        data = QMimeData()
        text = files.dumps(clip)
        data.setData(MIME, text)
        data.setText(text.decode())
        QGuiApplication.clipboard().setMimeData(data)
        self._pasted = 0
        return True

    def paste(self) -> None:
        """Add the clipboard's parts to the sketch."""
        held = QGuiApplication.clipboard().mimeData()
        text = b""
        if held is not None:  # as it is before anything was copied
            ours = held.hasFormat(MIME)
            text = bytes(held.data(MIME).data()) if ours else held.text().encode()
        if not text.strip():
            self._session.told.emit("There are no parts on the clipboard: copy some first.")
            return
        try:
            clip = files.loads(text, where="clipboard", strict=False)
        except CrankwrightError:
            self._session.told.emit("What is on the clipboard is not parts of a sketch: "
                                    "copy some parts first.")
            return
        self._pasted += 1
        self._add(clip, "Paste", STEP_MM * self._pasted)

    def duplicate(self) -> None:
        """A copy of the selected parts and wishes beside them."""
        self._add(self._clip(), "Duplicate", STEP_MM)

    def _add(self, clip: Sketch, verb: str, step: float) -> None:
        before = edits.ids(self._session.committed)
        sketch, names = edits.paste(self._session.committed, clip, step, -step)
        made = [("part", name) for name in names]
        for kind, group in (("wish", sketch.wanted), ("zone", sketch.zones)):
            made += [(kind, item.id) for item in group if item.id not in before]
        self._session.commit(f"{verb} {_count(tuple(name for _, name in made))}", sketch)
        self._session.select(made)

    def delete(self) -> None:
        """Remove the selected things."""
        chosen = self._session.selection
        names = [name for _, name in chosen]
        label = f"Remove {names[0]}" if len(names) == 1 else f"Remove {len(names)} things"
        self._session.commit(label, edits.remove(self._session.committed, names))

    def select_all(self) -> None:
        """Select every part that is shown."""
        hidden = self._session.look.hidden
        self._session.select([("part", part.id) for part in self._session.sketch.parts
                              if part.id not in hidden])

    def mirror(self) -> None:
        """Ask for the line, then mirror."""
        try:
            self._dialog = MirrorDialog(self._session, self._window)
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))
            return
        self._dialog.open()
        # Over the particulars, where it hides nothing of the copy on the canvas.
        corner = self._window.mapToGlobal(self._window.rect().topRight())
        self._dialog.move(corner.x() - self._dialog.width() - 8, corner.y() + 60)

    def untwin(self) -> None:
        """Cut every twin loose that a selected part belongs to."""
        sketch = self._session.committed
        chosen = set(self._session.selected("part"))
        for twin in sketch.twins:
            if any(chosen & set(pair) for pair in twin.parts):
                sketch = edits.untwin(sketch, twin.id)
        self._session.commit("Cut twin loose", sketch)

    def flip(self) -> None:
        """Assemble the selected links the other way round."""
        from core.motion import flip

        try:
            flipped = flip(self._session.posed(), self._session.selected("part"))
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))
            return
        self._session.commit("Fold the other way", flipped)

    def rebase(self) -> None:
        """Make the pose on the screen the drawn pose."""
        self._session.commit("Draw from here", self._session.posed())

    def layer_up(self) -> None:
        """One layer towards the viewer."""
        self._shift_layers(1)

    def layer_down(self) -> None:
        """One layer away from the viewer."""
        self._shift_layers(-1)

    def _shift_layers(self, step: int) -> None:
        sketch = self._session.committed
        for part_id in self._session.selected("part"):
            layer = sketch.layer_of(part_id) + step
            sketch = edits.change(sketch, "parts", part_id, layer=layer)
        self._session.commit("Move up a layer" if step > 0 else "Move down a layer", sketch)


def _count(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{len(names)} things"
