"""Pin parts together, or to the frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame
from app.canvas.hits import REACH_PX
from app.gestures.base import At, Gesture
from app.gestures.building import Spot, apart, grounded, is_grounded, with_first_crank
from app.gestures.snapping import Snap, paint_snap, together
from app.gestures.spots import parts_at, point_near, spot_at, with_spot_point
from core.errors import EditError
from core.model import Sketch, part_of
from core.model.edits import connect, get
from core.motion.redimension import drag_points

if TYPE_CHECKING:
    from app.canvas.view import Canvas

_DRAG_PX = 8.0


class PinGesture(Gesture):
    """The Pin tool.

    A click where parts overlap pins them all; on one part alone it makes a fixed pivot.
    Dragging from a point to a point of another part brings them together and pins them.
    """

    id = "pin"
    hint = ("Click where parts overlap: pin them; on one part: fixed pivot; drag point to "
            "point: bring together and pin")
    drags = True

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._start: Spot | None = None
        self._pressed: At | None = None
        self._base: Sketch | None = None
        self._meant: Snap | None = None
        self._target = ""

    def press(self, at: At) -> None:
        self._start, self._meant = spot_at(self.canvas, at)
        self._pressed, self._base, self._target = at, self.canvas.work.base(), ""

    def move(self, at: At) -> None:
        if self._pressed is None or self._start is None or self._base is None:
            _, self._meant = spot_at(self.canvas, at)
            self.canvas.hover(at.place)
            self.canvas.update()
            return
        if not self._start.ref or QLineF(self._pressed.pixel, at.pixel).length() < _DRAG_PX:
            return
        moving = together(self.canvas.frame(), self._start.ref)
        spot, self._meant = spot_at(self.canvas, at, leave_out=moving)
        self._target = spot.ref
        self.show(drag_points(self._base,
                              {self._start.ref: (spot.place.real, spot.place.imag)}))

    def release(self, at: At) -> None:
        start, base, pressed = self._start, self._base, self._pressed
        self._start = self._base = self._pressed = None
        if start is None or base is None or pressed is None:
            return
        try:
            dragged = QLineF(pressed.pixel, at.pixel).length() >= _DRAG_PX
            if dragged and start.ref:
                self._bring_together(base, start)
            elif not dragged:
                self._pin_here(base, start)
        except EditError:
            self.canvas.work.drop()
            raise

    def _bring_together(self, base: Sketch, start: Spot) -> None:
        if not self._target:
            self.canvas.work.drop()
            self.say("Let go on a point of another part to pin them")
            return
        at = base.point(self._target)
        moved = drag_points(base, {start.ref: (at.x, at.y)})
        sketch, pin_id = connect(moved, (self._target, start.ref))
        self.record(f"Pin {pin_id}", with_first_crank(_in_layers(sketch, pin_id)))
        self.canvas.session.select((("pin", pin_id),))

    def _pin_here(self, base: Sketch, spot: Spot) -> None:
        frame = self.canvas.frame()
        sketch, refs = self._points_here(frame, base, spot)
        if not refs:
            raise EditError("there is no part here", mend="click on a part")
        pinned_already = all(ref in together(frame, refs[0]) for ref in refs)
        if len(refs) == 1 or pinned_already:
            if is_grounded(sketch, refs[0]):
                raise EditError("this pin goes through all the parts here already")
            sketch = grounded(sketch, refs[0])
        else:
            sketch, pin_id = connect(sketch, refs)
            sketch = with_first_crank(_in_layers(sketch, pin_id))
        pin = next(pin for pin in sketch.pins if refs[0] in pin.at)
        self.record("Fixed pivot" if len(refs) == 1 else f"Pin {pin.id}", sketch)
        self.canvas.session.select((("pin", pin.id),))

    def _points_here(self, frame: Frame, base: Sketch, spot: Spot) -> tuple[Sketch, list[str]]:
        """A point of every moving part here, made where there is none."""
        sketch, refs = base, [spot.ref] if spot.ref else []
        within = REACH_PX / frame.camera.scale
        held = {part_of(ref) for ref in refs}
        for ref in together(frame, spot.ref) if spot.ref else ():
            if ref not in refs:
                refs.append(ref)
                held.add(part_of(ref))
        for part_id in parts_at(frame, spot):
            if part_id in held:
                continue
            ref = point_near(sketch, part_id, spot.place, within)
            if ref is None:
                sketch, ref = with_spot_point(sketch, Spot(spot.place, body=part_id))
            refs.append(ref)
        return sketch, refs

    def cancel(self) -> bool:
        if self._pressed is None:
            return False
        self.forget()
        self.canvas.work.drop()
        return True

    def forget(self) -> None:
        self._start = self._base = self._pressed = None

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if self._meant is not None:
            paint_snap(painter, frame, self._meant)
            painter.setPen(frame.pen(frame.theme.ink, 1.2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(frame.camera.to_screen(self._meant.place),
                                *(frame.pin_radius(6.0),) * 2)


def _in_layers(sketch: Sketch, pin_id: str) -> Sketch:
    """The parts on a pin, no two in one layer."""
    return apart(sketch, get(sketch, pin_id).at)
