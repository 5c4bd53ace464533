"""Slides and slots: press on what slides, drag along the way it goes."""

from __future__ import annotations

from abc import abstractmethod

from PySide6.QtCore import QLineF, QPointF
from PySide6.QtGui import QPainter

from app.canvas.frame import Frame, with_alpha
from app.canvas.symbols import halo_text
from app.gestures.building import Spot, apart, frame_part, with_point
from app.gestures.dragging import PullGesture
from app.gestures.spots import moving_under, with_spot_point
from core.errors import EditError
from core.model import Part, PinInSlot, Point, Polygon, Sketch, Slide, part_of
from core.model.edits import add, change, connect, fresh_id, next_layer
from core.units import show_length

_BLOCK_MM = (13.0, 8.0)


class GuideGesture(PullGesture):
    """A straight guide through a point, as long to either side as the drag.

    The guide belongs to the other part that lies under both ends of the drag, or
    else to the frame.
    """

    label = ""

    @abstractmethod
    def build(self, sketch: Sketch, spot: Spot, reach: complex, owner: str) -> Sketch:
        """The sketch with the joint; `reach` goes from the point to one end of the
        guide, `owner` is the part that carries the guide."""

    def begin(self, spot: Spot) -> None:
        if not spot.ref and not spot.body:
            raise EditError("there is no part here", mend="press on the point that is to slide")

    def words(self, span: complex) -> str:
        return f"± {show_length(abs(span), self.canvas.session.sketch.units)}; Shift: 15°"

    def pulled(self, sketch: Sketch, start: Spot, end: Spot) -> tuple[str, Sketch]:
        frame = self.canvas.frame()
        sliding = part_of(start.ref) if start.ref else start.body
        far = moving_under(frame, end.place)
        owners = [name for name in moving_under(frame, start.place)
                  if name in far and name != sliding]
        sketch, owner = (sketch, owners[0]) if owners else frame_part(sketch)
        return self.label, self.build(sketch, start, end.place - start.place, owner)

    def clicked(self, sketch: Sketch, spot: Spot) -> tuple[str, Sketch]:
        raise EditError("a guide needs a direction", mend="drag along the way it goes")

    def paint_pull(self, painter: QPainter, frame: Frame, start: complex, end: complex) -> None:
        ends = [frame.camera.to_screen(start + sign * (end - start)) for sign in (-1, 1)]
        painter.setPen(frame.pen(with_alpha(frame.theme.accent, 0.35), 12.0))
        painter.drawLine(QLineF(*ends))
        painter.setPen(frame.pen(frame.theme.accent, 1.5))
        painter.drawLine(QLineF(*ends))
        painter.setFont(frame.face(8.5, True))
        halo_text(painter, ends[1] + QPointF(12, -8),
                  f"± {show_length(abs(end - start), frame.sketch.units)}", frame.theme.ink,
                  with_alpha(frame.theme.paper, 0.85))


def with_guide(sketch: Sketch, owner: str, middle: complex,
               reach: complex) -> tuple[Sketch, tuple[str, str]]:
    """The two ends of a guide as points of a part; their references."""
    sketch, one = with_point(sketch, owner, middle - reach)
    sketch, two = with_point(sketch, owner, middle + reach)
    return sketch, (one, two)


class SlideGesture(GuideGesture):
    """The Slide tool: a block pinned to the point slides, or the part itself does."""

    id = "slide"
    label = "Slide"
    hint = "Press on the point that is to slide, and drag along the way it goes"
    options = ("Block on a pin", "Part itself")

    def build(self, sketch: Sketch, spot: Spot, reach: complex, owner: str) -> Sketch:
        sketch, ref = with_spot_point(sketch, spot)
        sketch, ends = with_guide(sketch, owner, spot.place, reach)
        if self.option == 0:
            sketch, ref = _with_block(sketch, ref, spot.place, reach)
        slide = Slide(id=fresh_id(sketch, "slide"), point=ref, along=ends)
        return apart(add(sketch, "slides", slide), (ref, ends[0]))


def _with_block(sketch: Sketch, ref: str, place: complex,
                reach: complex) -> tuple[Sketch, str]:
    """A small block pinned to a point, in line with its guide; its point."""
    along = reach / abs(reach)
    corners = [place + along * complex(x, y) for x, y in (
        (-_BLOCK_MM[0], -_BLOCK_MM[1]), (_BLOCK_MM[0], -_BLOCK_MM[1]),
        (_BLOCK_MM[0], _BLOCK_MM[1]), (-_BLOCK_MM[0], _BLOCK_MM[1]))]
    block = Part(id=fresh_id(sketch, "block"),
                 points=(Point(id="A", x=place.real, y=place.imag),),
                 outline=Polygon(outer=tuple((c.real, c.imag) for c in corners)))
    sketch = add(sketch, "parts", block)
    sketch, _ = connect(sketch, (ref, f"{block.id}.A"))
    sketch = change(sketch, "parts", block.id, layer=next_layer(sketch, block.id))
    return sketch, f"{block.id}.A"


class SlotGesture(GuideGesture):
    """The Slot tool: a pin at the point turns and slides in a slot."""

    id = "slot"
    label = "Slot"
    hint = "Press on the point that carries the pin, and drag along the slot"

    def build(self, sketch: Sketch, spot: Spot, reach: complex, owner: str) -> Sketch:
        sketch, ref = with_spot_point(sketch, spot)
        sketch, ends = with_guide(sketch, owner, spot.place, reach)
        slot = PinInSlot(id=fresh_id(sketch, "slot"), point=ref, slot=ends)
        return apart(add(sketch, "slots", slot), (ref, ends[0]))

