"""The canvas widget: events in, picture out."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QEnterEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas import extent
from app.canvas.camera import Camera
from app.canvas.frame import Frame
from app.canvas.hits import Item, top_hit
from app.canvas.keypointer import KeyPointer
from app.canvas.overlays import Entry, OptionBar
from app.canvas.pace import keep_pace
from app.canvas.paint_marks import tight_pairs, worst_grades
from app.canvas.paint_pinches import pinch_marks
from app.canvas.painting import Ground, paint_picture
from app.canvas.pose import Pose
from app.canvas.shapes import Shapes
from app.canvas.workpiece import Workpiece
from app.gestures.base import At, Gesture
from app.gestures.registry import TOOLS, tool_info
from app.gestures.toolbox import make_gesture
from app.session import Session
from core.errors import CrankwrightError
from core.model import Sketch

ZOOM_STEP = 1.2
_KEY_FOCUS = (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason,
              Qt.FocusReason.ShortcutFocusReason)


class Canvas(QWidget):
    """The drawing of a session's sketch, and the tools that change it.

    Signals: `tool_changed(id)` after `set_tool`; `menu_wanted(global position, item)`
    on a right click that no tool uses (item is (kind, id) or None).
    """

    tool_changed = Signal(str)
    menu_wanted = Signal(QPoint, object)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        keep_pace()
        self.session = session
        self.camera = Camera()
        self.shapes = Shapes()
        self.hovered: Item | None = None
        self._ground = Ground()
        self._ratio = 1.0
        self._marks: tuple[object, object] = ((), {})
        self._fitted: Sketch | None = None
        self._fit_holds = True
        self.work = Workpiece(session)
        self._keys = KeyPointer(self)
        self._pan_from: QPointF | None = None
        self._space = False
        self._key_focus = False
        self.setObjectName("canvas")
        self.setAccessibleName("Drawing")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.option_bar = OptionBar(self)
        self.option_bar.chosen.connect(self._option_chosen)
        self.entry = Entry(self)
        self.entry.refused.connect(session.hint_changed)
        self.gesture: Gesture = make_gesture("arrange", self)
        self.setCursor(self.gesture.cursor)
        session.sketch_changed.connect(self._sketch_changed)
        session.turn_changed.connect(self.update)
        session.study_changed.connect(self._study_changed)
        session.crank_changed.connect(self._crank_changed)
        session.selection_changed.connect(self.update)
        session.file_changed.connect(self._file_changed)
        session.look.changed.connect(self.update)

    # -- tools ---------------------------------------------------------------------

    @property
    def tool_id(self) -> str:
        """The id of the tool in the hand."""
        return self.gesture.id

    def set_tool(self, tool_id: str) -> None:
        """Take up a tool; what the last one had under way is kept."""
        tool_info(tool_id)
        self.gesture.finish()
        self._keys.drop()
        self.entry.close_entry()
        self.gesture = make_gesture(tool_id, self)
        self.setCursor(self.gesture.cursor)
        self.option_bar.offer(self.gesture.options, self.gesture.option)
        self.gesture.rest()
        self.tool_changed.emit(tool_id)
        self.update()

    def _option_chosen(self, option: int) -> None:
        self.gesture.choose(option)
        self.option_bar.offer(self.gesture.options, option)
        self.setFocus()
        self.update()

    # -- view ----------------------------------------------------------------------

    @property
    def pose(self) -> Pose:
        """Where every part is on the screen."""
        return self.work.pose

    def frame(self) -> Frame:
        """The picture as it is now."""
        session = self.session
        self.shapes.see(session.sketch)
        fixed = frozenset(part.id for part in session.sketch.parts if part.fixed)
        return Frame(self.camera, self.pose, session.turn, session.study, session.look,
                     session.look.theme, self.shapes, session.selection, self.hovered, fixed,
                     self._ratio, self.gesture.unfinished, self.gesture.busy)

    def set_camera(self, camera: Camera) -> None:
        """Look at another part of the plane."""
        self.camera = camera
        self._fit_holds = False
        self.update()

    def fit(self) -> None:
        """Show everything, wherever it goes over the turn; without parts, the picture."""
        box = (extent.of_all(self.session.turn, self.shapes)
               or self._ground.pictures.corners(self.session.sketch.underlay))
        if box is None:
            self.set_camera(Camera(3.0, 0j, self.camera.width, self.camera.height))
        else:
            self.set_camera(self.camera.fitted(*box))
        self._fit_holds = True  # until the user looks elsewhere, also in another size

    def reveal(self, places: list[complex]) -> None:
        """Show everything, when some of these places (mm) are out of sight."""
        if not all(self.rect().contains(self.camera.to_screen(z).toPoint()) for z in places):
            self.fit()

    def zoom_in(self) -> None:
        """Larger, about the middle."""
        self.set_camera(self.camera.zoomed(QPointF(self.rect().center()), ZOOM_STEP))

    def zoom_out(self) -> None:
        """Smaller, about the middle."""
        self.set_camera(self.camera.zoomed(QPointF(self.rect().center()), 1 / ZOOM_STEP))

    def hover(self, place: complex | None) -> None:
        """Light up what is under a place; None: nothing."""
        found = None if place is None else top_hit(
            self.frame(), place, wishes=self.gesture.wishes)
        if found != self.hovered:
            self.hovered = found
            self.update()

    # -- what the session tells ----------------------------------------------------

    def _sketch_changed(self) -> None:
        self.shapes.keep_only(self.session.sketch)
        if not self.work.changing:
            self.work.forget()
            self.gesture.forget()
            self.entry.close_entry()
        if self.hovered is not None and not self.session.has(self.hovered):
            self.hovered = None
        self.update()

    def _study_changed(self) -> None:
        """Paint again only for other marks: while dragging, a study follows every move."""
        if self._marks_now() != self._marks:
            self.update()

    def _marks_now(self) -> tuple[object, ...]:
        session = self.session
        return (tight_pairs(session.study, session.sketch.gap_mm),
                worst_grades(session.study, session.crank_rad),
                pinch_marks(session.study, session.crank_rad))

    def _crank_changed(self, crank_rad: float) -> None:
        if not self.work.changing:
            self.gesture.crank_moved()
        self.update()

    def _file_changed(self) -> None:
        session = self.session
        self._ground.pictures.folder = session.path.parent if session.path else None
        if session.undo_stack.count() == 0 and session.committed is not self._fitted:
            self._fitted = session.committed
            self.fit()

    # -- mouse ---------------------------------------------------------------------

    def _at(self, pixel: QPointF, modifiers: Qt.KeyboardModifier) -> At:
        held = Qt.KeyboardModifier
        return At(pixel, self.camera.to_plane(pixel), bool(modifiers & held.ShiftModifier),
                  bool(modifiers & held.AltModifier), bool(modifiers & held.ControlModifier))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = self._at(event.position(), event.modifiers())
        if event.button() == Qt.MouseButton.MiddleButton or (
                event.button() == Qt.MouseButton.LeftButton and self._space):
            self._pan_from = event.position()
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
        elif event.button() == Qt.MouseButton.LeftButton:
            self.call(self.gesture.press, at)
        elif event.button() == Qt.MouseButton.RightButton and not self.gesture.finish():
            self.menu_wanted.emit(event.globalPosition().toPoint(),
                                  top_hit(self.frame(), at.place, wishes=True))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and not self._space:
            self.call(self.gesture.double, self._at(event.position(), event.modifiers()))
        else:
            self.mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._pan_from is not None:
            step = event.position() - self._pan_from
            self._pan_from = event.position()
            self.set_camera(self.camera.panned(step.x(), step.y()))
            return
        self._keys.drop()
        self.call(self.gesture.move, self._at(event.position(), event.modifiers()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._pan_from is not None and event.button() in (
                Qt.MouseButton.MiddleButton, Qt.MouseButton.LeftButton):
            self._pan_from = None
            self.setCursor(self.gesture.cursor)
        elif event.button() == Qt.MouseButton.LeftButton:
            self.call(self.gesture.release, self._at(event.position(), event.modifiers()))

    def call(self, handler: Callable[[At], None], at: At) -> None:
        """A tool's answer to the mouse; what the sketch does not allow is said."""
        try:
            handler(at)
        except CrankwrightError as trouble:
            self.gesture.refuse(trouble)

    def enterEvent(self, event: QEnterEvent) -> None:
        self.gesture.rest()
        super().enterEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        self.hover(None)

    def wheelEvent(self, event: QWheelEvent) -> None:
        rolled, swiped = event.angleDelta(), event.pixelDelta()
        wants_zoom = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        fingers = event.phase() != Qt.ScrollPhase.NoScrollPhase and not swiped.isNull()
        if fingers and not wants_zoom:
            self.set_camera(self.camera.panned(swiped.x(), swiped.y()))
        elif rolled.y():
            factor = ZOOM_STEP ** (rolled.y() / 120)
            self.set_camera(self.camera.zoomed(event.position(), factor))
        event.accept()

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QNativeGestureEvent):
            if event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
                factor = max(1.0 + event.value(), 0.2)
                self.set_camera(self.camera.zoomed(event.position(), factor))
                return True
        elif (event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent)
              and self.gesture.key_claims(event)):
            event.accept()
            return True
        return super().event(event)

    # -- keyboard ------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = True
            self.setCursor(Qt.CursorShape.OpenHandCursor)
            return
        try:
            used = (self.gesture.key(event) or self._keys.key(event)
                    or self._own_key(event))
        except CrankwrightError as trouble:
            self.gesture.refuse(trouble)
            used = True
        if not used:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = False
            self.setCursor(self.gesture.cursor)
        elif not event.isAutoRepeat():
            self.gesture.key_up(event)
        super().keyReleaseEvent(event)

    def _own_key(self, event: QKeyEvent) -> bool:
        key, text = event.key(), event.text()
        if event.modifiers() & (Qt.KeyboardModifier.ControlModifier
                                | Qt.KeyboardModifier.AltModifier):
            return False
        if key == Qt.Key.Key_Escape:
            return self._escape()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            return self.gesture.finish()
        if key == Qt.Key.Key_F:
            self.fit()
        elif text in ("+", "="):
            self.zoom_in()
        elif text == "-":
            self.zoom_out()
        elif text.isdigit() and 0 < int(text) <= len(self.gesture.options):
            self._option_chosen(int(text) - 1)
        elif text and text.upper() in (info.key for info in TOOLS):
            self.set_tool(next(info.id for info in TOOLS if info.key == text.upper()))
        else:
            return False
        return True

    def _escape(self) -> bool:
        """Give up the gesture; then let go of the tool; then of the selection."""
        if self.gesture.cancel():
            self.gesture.rest()
        elif self.gesture.id != "arrange":
            self.set_tool("arrange")
        elif self.session.selection:
            self.session.select(())
        else:
            return False
        self.update()
        return True

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab goes through the drawing first, then on to the next widget. A child that
        hides, or is left by Tab, asks here too: that goes through no drawing."""
        if self.hasFocus() and self.gesture.tab(forward):
            return True
        return super().focusNextPrevChild(forward)

    def focusInEvent(self, event: QFocusEvent) -> None:
        self._key_focus = event.reason() in _KEY_FOCUS
        self.update()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self._space = False
        self.gesture.focus_lost()
        self.setCursor(self.gesture.cursor)
        self.update()
        super().focusOutEvent(event)

    # -- picture -------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.camera = self.camera.resized(self.width(), self.height())
        self.option_bar.settle()
        if self._fit_holds:
            self.fit()
        super().resizeEvent(event)

    def sizeHint(self) -> QSize:
        return QSize(900, 600)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        # A picture for a file may have more pixels than the screen.
        self._ratio = painter.deviceTransform().m11()
        frame = self.frame()
        self._marks = self._marks_now()
        try:
            self._ground.paint(painter, frame)
            paint_picture(painter, frame)
            self.gesture.paint(painter, frame)
            self._keys.paint(painter, frame)
            if self.hasFocus() and self._key_focus:
                painter.setPen(frame.pen(frame.theme.accent, 2.0))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        finally:
            painter.end()
