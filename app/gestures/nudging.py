"""Moving the selection with the arrow keys, and going through the drawing with Tab."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeyEvent

from app.canvas.hits import Item
from app.canvas.wish_hits import Grip
from app.gestures.base import At
from app.gestures.wish_drags import drag_of, grip_carrying
from core.errors import CrankwrightError
from core.model import Sketch
from core.model.edits import get, shift_wish
from core.motion.redimension import drag_parts, drag_points
from core.units import MM_PER_INCH

if TYPE_CHECKING:
    from app.gestures.base import Gesture

_ARROWS = {
    Qt.Key.Key_Left: -1 + 0j, Qt.Key.Key_Right: 1 + 0j,
    Qt.Key.Key_Up: 1j, Qt.Key.Key_Down: -1j,
}
_CYCLE = (("part", "parts"), ("pin", "pins"), ("slide", "slides"), ("slot", "slots"),
          ("lock", "locks"), ("mesh", "meshes"), ("belt", "belts"), ("spring", "springs"),
          ("torsion_spring", "torsion_springs"), ("force", "forces"), ("torque", "torques"),
          ("wish", "wanted"), ("zone", "zones"))


class Nudging:
    """Arrow keys move the selection by 1 mm (1/16 in), with Shift ten times as far; when
    `grip` says that a handle of it is held, that alone.

    Keys pressed before the last one comes up are one undo step.
    """

    def __init__(self, gesture: Gesture, grip: Callable[[], Grip | None]) -> None:
        self._gesture, self._grip = gesture, grip
        self._in_pose = True
        self._make: Callable[[complex], Sketch] | None = None
        self._shift = 0j
        self._down = 0

    def key(self, event: QKeyEvent) -> bool:
        """An arrow key with something selected; True when used."""
        way = _ARROWS.get(Qt.Key(event.key()))
        session = self._gesture.canvas.session
        if way is None or not session.selection:
            return False
        if self._make is None:
            self._make, self._shift = self._maker(), 0j
        if not event.isAutoRepeat():
            self._down += 1
        step = MM_PER_INCH / 16 if session.sketch.units == "in" else 1.0
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            step *= 10
        try:
            moved = self._make(self._shift + way * step)
        except CrankwrightError as trouble:
            self._gesture.refuse(trouble)
            return True
        self._shift += way * step
        self._gesture.show(moved, in_pose=self._in_pose)
        return True

    def _maker(self) -> Callable[[complex], Sketch]:
        """What makes the sketch for a shift (mm): for one thing, or parts alone, the
        drag that the mouse would make of it."""
        canvas = self._gesture.canvas
        selection = canvas.session.selection
        kinds = {kind for kind, _ in selection}
        item, grip = next(iter(selection)), self._grip()
        drag = None
        if grip is not None:
            drag = grip_carrying(canvas, grip, 0j)
        elif len(selection) == 1 or kinds == {"part"}:
            drag = drag_of(canvas, item, 0j)
        if drag is None:
            self._in_pose = not kinds <= {"wish", "zone"}
            base = canvas.work.base() if self._in_pose else canvas.session.committed
            return partial(shifted, base, selection)
        frame, self._in_pose = canvas.frame(), drag.in_pose
        return lambda shift: drag.to(frame, At(QPointF(), shift, alt=True))

    def key_up(self, event: QKeyEvent) -> None:
        """A key comes up: the last arrow ends the step."""
        if Qt.Key(event.key()) in _ARROWS and self._down:
            self._down -= 1
            if not self._down:
                self.finish()

    def finish(self) -> bool:
        """Record the step under way; False when there was none."""
        if self._make is None:
            return False
        self.forget()
        return self._gesture.record("Nudge", in_pose=self._in_pose)

    def cancel(self) -> bool:
        """Give the step up; False when there was none."""
        if self._make is None:
            return False
        self.forget()
        self._gesture.canvas.work.drop()
        return True

    def forget(self) -> None:
        """Another hand changed the sketch."""
        self._make, self._shift, self._down = None, 0j, 0


def shifted(sketch: Sketch, selection: frozenset[Item], shift: complex) -> Sketch:
    """The sketch with the selected parts, pins, points, wishes and regions moved by
    `shift` (mm).

    Raises
    ------
    EditError
        When what is locked forbids it.
    """
    for kind, name in selection:
        if kind in ("wish", "zone"):
            sketch = shift_wish(sketch, name, shift)
    parts = [name for kind, name in selection if kind == "part"]
    refs = {name for kind, name in selection if kind == "point"}
    refs |= {get(sketch, name).at[0] for kind, name in selection if kind == "pin"}
    if not refs:
        return drag_parts(sketch, parts, shift.real, shift.imag) if parts else sketch
    for part_id in parts:
        refs |= {f"{part_id}.{point.id}" for point in sketch.part(part_id).points}
    targets = {}
    for ref in refs:
        point = sketch.point(ref)
        targets[ref] = (point.x + shift.real, point.y + shift.imag)
    return drag_points(sketch, targets)


def cycled(sketch: Sketch, selection: frozenset[Item], forward: bool) -> Item | None:
    """What Tab selects next: parts, pins, then the rest; None past the end."""
    items: list[Item] = [(kind, item.id) for kind, group in _CYCLE
                         for item in getattr(sketch, group)]
    if not items:
        return None
    if len(selection) != 1 or next(iter(selection)) not in items:
        return items[0 if forward else -1]
    place = items.index(next(iter(selection))) + (1 if forward else -1)
    return items[place] if 0 <= place < len(items) else None
