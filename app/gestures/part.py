"""Draw parts point by point.

Bars: every click is the end of one bar and the start of the next, pinned together.
A click on a point joins it, a double click makes a fixed pivot: a four-bar is double
click, click, click, double click.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.hits import parts_under
from app.canvas.symbols import draw_ground, halo_text
from app.gestures.base import At, Gesture
from app.gestures.building import Spot, chain, with_part
from app.gestures.snapping import Snap, paint_snap, snap
from app.gestures.typed import typed_length
from core.errors import CrankwrightError
from core.model import Bar, Disc, Outline, Plate, Sketch
from core.units import show_length

if TYPE_CHECKING:
    from app.canvas.view import Canvas

_SAME_PX = 5.0
_DRAG_PX = 10.0
BAR, BENT, PLATE, DISC = range(4)
_STEMS = ("bar", "bent bar", "plate", "disc")


class PartGesture(Gesture):
    """The Part tool. One undo step per chain or part drawn."""

    id = "part"
    hint = ("Click where the part begins; double click (or G): fixed pivot; "
            "click a point to join it")
    options = ("Bars", "Bent bar", "Plate", "Disc")

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._spots: list[Spot] = []
        self._base: Sketch | None = None
        self._meant: Snap | None = None
        self._hanging = ""
        self.unfinished = frozenset()
        self._pressed: QPointF | None = None
        self._ended_at: QPointF | None = None

    # -- mouse ---------------------------------------------------------------------

    def press(self, at: At) -> None:
        self._pressed, self._ended_at = at.pixel, None
        spot = self._spot(at)
        if self._spots and self._is_last(spot):
            if len(self._spots) > 1:
                self.finish()
                self._ended_at = at.pixel
            return
        self._add(spot, at.pixel)

    def move(self, at: At) -> None:
        spot = self._spot(at)
        if not self._spots:
            self.canvas.hover(at.place)
            self.canvas.update()
            return
        self._preview(spot)

    def release(self, at: At) -> None:
        """A bar can also be drawn by dragging from one end to the other."""
        pressed, self._pressed = self._pressed, None
        if pressed is None or len(self._spots) != 1:
            return
        if QLineF(pressed, at.pixel).length() >= _DRAG_PX:
            spot = self._spot(at)
            if not self._is_last(spot):
                self._add(spot, at.pixel)

    def double(self, at: At) -> None:
        """The spot just clicked is a fixed pivot."""
        if self._spots:
            self._spots[-1] = replace(self._spots[-1], ground=True)
            if len(self._spots) > 1 and self.option == BAR:
                self.finish()
                self._ended_at = at.pixel
            else:
                self._preview(None)
        elif self._ended_at is None:
            self.press(at)
            if self._spots:
                self._spots[-1] = replace(self._spots[-1], ground=True)

    def _add(self, spot: Spot, pixel: QPointF) -> None:
        if not self._spots:
            self._base = self.canvas.work.base()
        first = not self._spots
        self._spots.append(spot)
        try:
            self._build(self._spots)
        except CrankwrightError:
            self._spots.pop()
            raise
        done = self.option == DISC and len(self._spots) == 2
        joins = self.option == BAR and not first and (spot.ref or spot.body)
        if done or joins:
            self.finish()
            self._ended_at = pixel
        else:
            self._preview(None)
            self._tell()

    def _spot(self, at: At) -> Spot:
        """What the cursor is on; the parts being drawn themselves are left out."""
        frame = self.canvas.frame()
        anchor = self._spots[-1].place if self._spots else None
        own = self._own_refs(frame)
        self._meant = meant = snap(frame, at, anchor=anchor, leave_out=own)
        if meant.ref:
            return Spot(meant.place, ref=meant.ref)
        if at.alt or (self.option == DISC and self._spots):
            return Spot(meant.place)
        old = {part.id for part in (self._base or frame.sketch).parts}
        bodies = [name for _, name in parts_under(frame, meant.place)
                  if name in old and name not in frame.fixed]
        return Spot(meant.place, body=bodies[0] if bodies else "")

    def _own_refs(self, frame: Frame) -> frozenset[str]:
        """Points that move with the cursor: those of the part that hangs on it, and those
        the preview makes on parts under it."""
        base = self._base or frame.sketch
        old = {part.id: {point.id for point in part.points} for part in base.parts}
        return frozenset(
            f"{part.id}.{point.id}" for part in frame.sketch.parts for point in part.points
            if part.id == self._hanging or point.id not in old.get(part.id, (point.id,)))

    def _is_last(self, spot: Spot) -> bool:
        away = abs(spot.place - self._spots[-1].place) * self.canvas.camera.scale
        return away <= _SAME_PX

    # -- building ------------------------------------------------------------------

    def _build(self, spots: list[Spot]) -> tuple[Sketch, list[str]]:
        assert self._base is not None
        if self.option == BAR:
            return chain(self._base, spots)
        if len(spots) < 2:
            return self._base, []
        names = tuple(chr(ord("A") + place) for place in range(len(spots)))
        outline: Outline
        if self.option == DISC:
            radius = abs(spots[1].place - spots[0].place)
            outline = Disc(radius_mm=radius, centre="A")
            spots = spots[:1]
        elif self.option == BENT:
            outline = Bar(through=names)
        else:
            outline = Plate(around=names)
        sketch, part_id = with_part(self._base, _STEMS[self.option], spots, outline)
        return sketch, [part_id]

    def _preview(self, cursor: Spot | None) -> None:
        spots = list(self._spots)
        hangs = cursor is not None and not self._is_last(cursor)
        if hangs:
            spots.append(cursor)
        try:
            sketch, made = self._build(spots)
            self.unfinished = frozenset(made)
            self._hanging = made[-1] if made and (hangs or self.option != BAR) else ""
            self.show(sketch)
        except CrankwrightError as trouble:
            self.refuse(trouble)
        self.canvas.update()

    def finish(self) -> bool:
        if not self._spots:
            return False
        spots, base = self._spots, self._base
        if len(spots) < 2:
            return self.cancel()
        sketch, made = self._build(spots)
        self._reset()
        if base is not None and made:
            what = made[0] if len(made) == 1 else f"{len(made)} bars"
            self.record(f"Draw {what}", sketch)
            self.canvas.session.select(("part", part_id) for part_id in made)
        self.rest()
        return True

    def cancel(self) -> bool:
        if not self._spots:
            return False
        self._reset()
        self.canvas.work.drop()
        return True

    def forget(self) -> None:
        self._reset()

    def crank_moved(self) -> None:
        self.finish()

    def _reset(self) -> None:
        self._spots, self._base, self._pressed, self._hanging = [], None, None, ""
        self.unfinished = frozenset()

    def choose(self, option: int) -> None:
        self.finish()
        super().choose(option)

    # -- keys ----------------------------------------------------------------------

    def key(self, event: QKeyEvent) -> bool:
        if not self._spots:
            return False
        if event.key() == Qt.Key.Key_G:
            self._spots[-1] = replace(self._spots[-1], ground=not self._spots[-1].ground)
            self._preview(None)
            return True
        if event.key() == Qt.Key.Key_Backspace:
            self._spots.pop()
            if self._spots:
                self._preview(None)
            else:
                self.cancel_last()
            return True
        if event.text() and event.text() in "0123456789.":
            self._ask_length(event.text())
            return True
        return False

    def key_claims(self, event: QKeyEvent) -> bool:
        return bool(self._spots) and (event.key() in (Qt.Key.Key_G, Qt.Key.Key_Backspace)
                                      or event.text() in tuple("0123456789."))

    def cancel_last(self) -> None:
        """The first spot is taken back too."""
        self._reset()
        self.canvas.work.drop()
        self.rest()

    def _ask_length(self, text: str) -> None:
        units = self.canvas.session.sketch.units
        at = self.canvas.camera.to_screen(self._spots[-1].place)
        what = "Radius" if self.option == DISC else "Length"
        meant = self._meant.place if self._meant else None

        def read(typed: str) -> float:
            return typed_length(typed, units)

        def take(length: float) -> None:
            start = self._spots[-1].place
            span = meant - start if meant is not None else 1 + 0j
            ray = span / abs(span) if abs(span) > 1e-9 else 1 + 0j
            self._add(Spot(start + ray * length), at)

        self.canvas.entry.ask(what, at, read, take, text)

    # -- helps ---------------------------------------------------------------------

    def rest(self) -> None:
        if self._spots:
            self._tell()
        else:
            super().rest()

    def _tell(self) -> None:
        if self.option == DISC:
            self.say("Click the rim, or type the radius")
        elif self.option == BAR:
            self.say("Click the next end; double click: fixed pivot; a point: join; "
                     "Enter: done; digits: length")
        else:
            self.say("Click the next point; Enter or a click on the last point: done; "
                     "G: fixed pivot")

    def paint(self, painter: QPainter, frame: Frame) -> None:
        if self._meant is not None:
            paint_snap(painter, frame, self._meant)
        if not self._spots:
            return
        start = self._spots[-1]
        if len(self._spots) == 1 and start.ground:
            draw_ground(painter, frame.camera.to_screen(start.place), frame.symbol(),
                        frame.pen(frame.theme.ink, 1.3), with_alpha(frame.theme.paper, 0.8))
        if self._meant is None or self._is_last(Spot(self._meant.place)):
            return
        first, last = (frame.camera.to_screen(place)
                       for place in (start.place, self._meant.place))
        painter.setFont(frame.face(8.5, True))
        span = self._meant.place - start.place
        text = show_length(abs(span), frame.sketch.units)
        if self.option != DISC:
            text += f"   {math.degrees(math.atan2(span.imag, span.real)) % 360:.1f}°"
        halo_text(painter, (first + last) / 2 + QPointF(10, -10), text, frame.theme.ink,
                  with_alpha(frame.theme.paper, 0.85))
