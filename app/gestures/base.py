"""What every tool has in common."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeyEvent, QPainter

from app.session import GROUP_OF_KIND
from core.errors import CrankwrightError
from core.model import Sketch
from core.model.edits import ids

if TYPE_CHECKING:
    from app.canvas.frame import Frame
    from app.canvas.view import Canvas


@dataclass(frozen=True)
class At:
    """Where the mouse is: pixel, place (mm), and the keys held."""

    pixel: QPointF
    place: complex
    shift: bool = False
    alt: bool = False
    ctrl: bool = False


class Gesture:
    """A tool. It shows its work through `show`, records it once through `record`,
    and `cancel` puts everything back as it was.

    Subclasses set `id`, `hint` and `cursor`, and override what they need.
    """

    id = ""
    hint = ""
    cursor = Qt.CursorShape.CrossCursor
    #: Choices shown while the tool is in the hand, by the keys 1, 2, 3…
    options: tuple[str, ...] = ()
    #: True for tools that take hold of wishes and regions too.
    wishes = False
    #: True for tools that press at one place and let go at another.
    drags = False
    #: Parts being drawn: nothing is found fault with before they are finished.
    unfinished: frozenset[str] = frozenset()

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.option = 0

    # -- what the canvas calls -----------------------------------------------------

    @property
    def busy(self) -> bool:
        """Whether something is being drawn that the sketch does not show yet."""
        return False

    def press(self, at: At) -> None:
        """The left button goes down."""

    def move(self, at: At) -> None:
        """The mouse moves, whether or not the button is down."""

    def release(self, at: At) -> None:
        """The left button comes up."""

    def double(self, at: At) -> None:
        """Second press of a double click."""
        self.press(at)

    def finish(self) -> bool:
        """End what is under way and keep it; False when nothing was."""
        return self.cancel()

    def cancel(self) -> bool:
        """Give up what is under way; False when nothing was."""
        return False

    def forget(self) -> None:
        """The sketch was changed by another hand: drop what is under way."""

    def crank_moved(self) -> None:
        """The crank was turned by another hand: what is under way ends here."""

    def key(self, event: QKeyEvent) -> bool:
        """A key; True when used."""
        return False

    def key_up(self, event: QKeyEvent) -> None:
        """A key comes up."""

    def focus_lost(self) -> None:
        """The keyboard goes elsewhere: keys held down will not be seen to come up."""

    def key_claims(self, event: QKeyEvent) -> bool:
        """True when the tool wants a key that is elsewhere a shortcut of the window."""
        return False

    def tab(self, forward: bool) -> bool:
        """Tab or Shift+Tab; False lets the focus go on to the next widget."""
        return False

    def choose(self, option: int) -> None:
        """Take one of the `options`."""
        self.option = option

    def paint(self, painter: QPainter, frame: Frame) -> None:
        """Draw helps over the picture."""

    # -- for subclasses ------------------------------------------------------------

    def say(self, text: str) -> None:
        """One short line for the status bar."""
        self.canvas.session.hint_changed.emit(text)

    def rest(self) -> None:
        """Say what the tool does, or does next."""
        self.say(self.hint)

    def show(self, sketch: Sketch, *, in_pose: bool = True) -> None:
        """Preview a sketch; see :meth:`app.canvas.workpiece.Workpiece.show`."""
        self.canvas.work.show(sketch, in_pose=in_pose)

    def record(self, label: str, sketch: Sketch | None = None, *, in_pose: bool = True) -> bool:
        """One undo step; see :meth:`app.canvas.workpiece.Workpiece.record`."""
        return self.canvas.work.record(label, sketch, in_pose=in_pose)

    def record_made(self, label: str, sketch: Sketch) -> None:
        """Record as `record` does, and select the joint or load that is new, so that
        its particulars stand open."""
        before = ids(self.canvas.session.committed)
        self.record(label, sketch)
        made = [(kind, item.id) for kind, group in GROUP_OF_KIND.items()
                if kind not in ("part", "pin") for item in getattr(sketch, group)
                if item.id not in before]
        if made:
            self.canvas.session.select(made)

    def refuse(self, trouble: CrankwrightError) -> None:
        """Say why something cannot be done."""
        self.say(str(trouble))
