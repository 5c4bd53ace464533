"""Select, and drag to re-dimension."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QKeyEvent, QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.hits import Item, hits, inside_box
from app.canvas.wish_hits import Grip, grip_at
from app.gestures.base import At, Gesture
from app.gestures.carrying import Carrying
from app.gestures.hand import CrankPull, HandGesture
from app.gestures.nudging import Nudging, cycled
from app.gestures.snapping import paint_snap
from app.gestures.wish_drags import drag_of, grip_carrying, inserted, without_grip
from core.errors import CrankwrightError
from core.model.edits import remove

if TYPE_CHECKING:
    from app.canvas.view import Canvas

_DRAG_PX = 4.0


class ArrangeGesture(Gesture):
    """The Arrange tool. One undo step per drag.

    Dragging a pin, point, part, guide or force changes the sketch; dragging the
    crank's knob turns it, as the hand does. Of selected wishes the handles are dragged;
    one stays held after a click, for Delete and the arrow keys; a double click on the
    path makes one.
    """

    id = "arrange"
    hint = ("Click to select; drag to re-dimension; Alt: next below, and free of snapping; "
            "Shift: 15°")
    cursor = Qt.CursorShape.ArrowCursor
    wishes = True

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._pressed: At | None = None
        self._item: Item | None = None
        self._alone = False
        self._below = 0
        self._last_click = QPointF(-1e6, -1e6)
        self._carrying: Carrying | None = None
        self._box_to: complex | None = None
        self._kept: frozenset[Item] = frozenset()
        self._crank: CrankPull | None = None
        self._grip: Grip | None = None
        self._over: Grip | None = None
        self._nudging = Nudging(self, self.held_grip)

    # -- mouse ---------------------------------------------------------------------

    def press(self, at: At) -> None:
        session = self.canvas.session
        self._nudging.finish()
        self._pressed, self._alone = at, False
        self._grip = None if at.alt else grip_at(self.canvas.frame(), at.place)
        if self._grip is not None:
            self._item = self._grip.item
            self.canvas.update()
            return
        self._item = self._pick(at)
        if self._item == ("knob", ""):
            hand = HandGesture(self.canvas)
            pull = hand.grab(at)
            self._crank = pull if isinstance(pull, CrankPull) else None
            session.player.set_playing(False)
        elif self._item is None:
            self._kept = session.selection if at.shift or at.ctrl else frozenset()
        elif at.shift or at.ctrl:
            session.select(session.selection ^ {self._item})
        elif self._item not in session.selection or at.alt:
            session.select((self._item,))
        else:  # one of several: a drag takes them all, a click is for this one
            self._alone = True

    def _pick(self, at: At) -> Item | None:
        """The item meant: with Alt, each click at the same place goes one deeper."""
        found = hits(self.canvas.frame(), at.place, wishes=True)
        again = QLineF(self._last_click, at.pixel).length() < _DRAG_PX
        self._below = self._below + 1 if at.alt and again else 0
        if at.alt and not again and found and found[0] in self.canvas.session.selection:
            self._below = 1
        self._last_click = at.pixel
        return found[self._below % len(found)] if found else None

    def move(self, at: At) -> None:
        if self._pressed is None:
            self._hover(at)
            return
        if self._crank is not None:
            self.canvas.session.set_crank(self._crank.to(at.place, 0.0))
            return
        far = QLineF(self._pressed.pixel, at.pixel).length() >= _DRAG_PX
        if self._item is None:
            if far or self._box_to is not None:
                self._draw_box(at.place)
            return
        if self._carrying is None and far:
            self._carrying = self._take_up(self._item, self._pressed.place)
        if self._carrying is not None:
            self._carry(at)

    def _hover(self, at: At) -> None:
        """Light up what a press would take hold of."""
        over = grip_at(self.canvas.frame(), at.place)
        if over != self._over:
            self._over = over
            self.canvas.update()
        self.canvas.hover(None if over is not None else at.place)

    def _take_up(self, item: Item, grabbed: complex) -> Carrying | None:
        if self._grip is not None:
            return grip_carrying(self.canvas, self._grip, grabbed)
        return drag_of(self.canvas, item, grabbed)

    def held_grip(self) -> Grip | None:
        """The handle clicked last, while it and its wish are there and selected."""
        grip = self._grip
        if grip is None or grip.item not in self.canvas.session.selection or (
                grip.what == "grain"):  # nothing to delete or to nudge
            return None
        return grip if grip.is_there(self.canvas.frame()) else None

    def _carry(self, at: At) -> None:
        assert self._carrying is not None
        try:
            self.show(self._carrying.to(self.canvas.frame(), at),
                      in_pose=self._carrying.in_pose)
            self.say(self._carrying.words())
        except CrankwrightError as trouble:
            self.refuse(trouble)
        self.canvas.update()

    def _draw_box(self, place: complex) -> None:
        assert self._pressed is not None
        self._box_to = place
        inside = inside_box(self.canvas.frame(), self._pressed.place, place)
        self.canvas.session.select(self._kept.union(inside))
        self.canvas.update()

    def release(self, at: At) -> None:
        carried, self._carrying = self._carrying, None
        pressed, self._pressed = self._pressed, None
        if carried is not None:
            self.record(carried.label, in_pose=carried.in_pose)
            if self._grip is not None and self._grip.what == "tick":  # may have passed another
                self._grip = grip_at(self.canvas.frame(), at.place)
            self.rest()
        elif self._alone and self._item is not None:
            self.canvas.session.select((self._item,))
        elif self._item is None and self._box_to is None and pressed is not None:
            self.canvas.session.select(self._kept)
        self._box_to = self._crank = None
        self._alone = False
        self.canvas.update()

    def double(self, at: At) -> None:
        """A double click is two clicks; on a wanted path it makes a handle there."""
        self.press(at)
        item = self._item
        if item is None or item[0] not in ("wish", "zone") or self._grip is not None:
            return
        made = inserted(self.canvas, item, at.place)
        if made is not None:
            sketch, self._grip = made
            self.record(f"Add a handle to {item[1]}", sketch, in_pose=False)
            self.canvas.update()

    # -- ends ----------------------------------------------------------------------

    def finish(self) -> bool:
        if self._nudging.finish():
            return True
        if self._carrying is None:
            return False
        self.record(self._carrying.label, in_pose=self._carrying.in_pose)
        self._let_go()
        return True

    def cancel(self) -> bool:
        if self._nudging.cancel():
            return True
        if self._carrying is None and self._box_to is None:
            return False
        if self._carrying is not None:
            self.canvas.work.drop()
        else:
            self.canvas.session.select(self._kept)
        self._let_go()
        return True

    def forget(self) -> None:
        self._nudging.forget()
        self._let_go()
        self._grip = self._over = None

    def _let_go(self) -> None:
        self._carrying = self._pressed = self._item = self._box_to = self._crank = None
        self._alone = False

    # -- keys ----------------------------------------------------------------------

    def key(self, event: QKeyEvent) -> bool:
        if event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            return self._delete()
        return self._nudging.key(event)

    def key_claims(self, event: QKeyEvent) -> bool:
        wanted = event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)
        return wanted and self.held_grip() is not None

    def key_up(self, event: QKeyEvent) -> None:
        self._nudging.key_up(event)

    def focus_lost(self) -> None:
        self._nudging.finish()

    def tab(self, forward: bool) -> bool:
        session = self.canvas.session
        following = cycled(session.sketch, session.selection, forward)
        session.select(() if following is None else (following,))
        return following is not None

    def _delete(self) -> bool:
        session, grip = self.canvas.session, self.held_grip()
        if grip is not None:
            left = without_grip(session.committed, grip)
            self.record(f"Delete a {grip.what} of {grip.item[1]}", left, in_pose=False)
            self._grip = None
            return True
        names = [name for _, name in session.selection]
        if not names:
            return False
        what = names[0] if len(names) == 1 else f"{len(names)} things"
        self.record(f"Delete {what}", remove(session.committed, names), in_pose=False)
        return True

    # -- helps ---------------------------------------------------------------------

    def paint(self, painter: QPainter, frame: Frame) -> None:
        for grip, radius in ((self._over, 4.0), (self.held_grip(), 5.5)):
            if grip is not None and grip.item in frame.selection and grip.is_there(frame):
                painter.setPen(frame.pen(frame.theme.paper, 1.2))
                painter.setBrush(frame.theme.wish)
                painter.drawEllipse(frame.camera.to_screen(grip.place(frame)), radius, radius)
        if self._carrying is not None and self._carrying.meant is not None:
            paint_snap(painter, frame, self._carrying.meant)
        if self._box_to is not None and self._pressed is not None:
            one, other = (frame.camera.to_screen(place)
                          for place in (self._pressed.place, self._box_to))
            pen = frame.pen(frame.theme.accent, 1.2)
            pen.setDashPattern([5, 3])
            painter.setPen(pen)
            painter.setBrush(with_alpha(frame.theme.accent, 0.08))
            painter.drawRect(QRectF(one, other).normalized())
