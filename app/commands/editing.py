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
        parts = self._session.selected("part")
        if self._copy():
            left = edits.remove(self._session.committed, parts)
            self._session.commit(f"Cut {_count(parts)}", left)

    def copy(self) -> None:
        """Put the selected parts, as they stand at this crank angle, on the clipboard."""
        self._copy()

    def _copy(self) -> bool:
        parts = self._session.selected("part")
        if not parts:
            self._session.told.emit("Select the parts to copy first.")
            return False
        clip = edits.copy_parts(self._session.posed(), parts)
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
        """A copy of the selected parts beside them."""
        clip = edits.copy_parts(self._session.posed(), self._session.selected("part"))
        self._add(clip, "Duplicate", STEP_MM)

    def _add(self, clip: Sketch, verb: str, step: float) -> None:
        sketch, names = edits.paste(self._session.committed, clip, step, -step)
        self._session.commit(f"{verb} {_count(names)}", sketch)
        self._session.select([("part", name) for name in names])

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
    return names[0] if len(names) == 1 else f"{len(names)} parts"
