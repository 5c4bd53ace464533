"""Springs and loads: press on a place and pull."""

from __future__ import annotations

from PySide6.QtGui import QPainter

from app.canvas.frame import Frame
from app.canvas.paint_loads import FORCE_MM_PER_N, zigzag
from app.canvas.shapes import to_polygon
from app.canvas.symbols import draw_arrow
from app.gestures.building import Spot
from app.gestures.dragging import PullGesture
from app.gestures.spots import with_spot_point
from core.errors import EditError
from core.model import Force, Sketch, Spring, Torque, TorsionSpring, part_of
from core.model.edits import add, fresh_id, pin_of
from core.units import show_force

SPRING_RATE_N_PER_MM = 0.1
TORSION_RATE_NMM_PER_DEG = 2.0
TORQUE_NMM = 100.0


class SpringGesture(PullGesture):
    """The Spring tool: stretched by dragging, wound on a pin by clicking it."""

    id = "spring"
    hint = "Drag from one point to another: a spring; click a pin: a torsion spring"

    def pulled(self, sketch: Sketch, start: Spot, end: Spot) -> tuple[str, Sketch]:
        sketch, one = with_spot_point(sketch, start)
        sketch, two = with_spot_point(sketch, end)
        if part_of(one) == part_of(two):
            raise EditError("both ends are on the same part", mend="let go on another part")
        a, b = sketch.point(one), sketch.point(two)
        length = abs(complex(a.x - b.x, a.y - b.y))
        spring = Spring(id=fresh_id(sketch, "spring"), a=one, b=two,
                        rate_n_per_mm=SPRING_RATE_N_PER_MM,
                        free_length_mm=round(0.7 * length, 1))
        return "Spring", add(sketch, "springs", spring)

    def clicked(self, sketch: Sketch, spot: Spot) -> tuple[str, Sketch]:
        pin = pin_of(sketch, spot.ref) if spot.ref else None
        if pin is None:
            raise EditError("a torsion spring is wound on a pin",
                            mend="click a pin, or drag from point to point")
        a, b = (part_of(ref) for ref in pin.at[:2])
        spring = TorsionSpring(id=fresh_id(sketch, "torsion spring"), pin=pin.id, a=a, b=b,
                               rate_nmm_per_deg=TORSION_RATE_NMM_PER_DEG)
        return "Torsion spring", add(sketch, "torsion_springs", spring)

    def paint_pull(self, painter: QPainter, frame: Frame, start: complex, end: complex) -> None:
        painter.setPen(frame.pen(frame.theme.accent, 1.6))
        one, two = frame.camera.to_screen(start), frame.camera.to_screen(end)
        painter.drawPolyline(to_polygon(zigzag(one, two, frame.symbol() * 0.6)))


class LoadGesture(PullGesture):
    """The Load tool: a force by dragging from a point, a torque by clicking a part."""

    id = "load"
    hint = "Drag from a point: a force, 10 mm for each newton; click a part: a torque"

    def words(self, span: complex) -> str:
        return show_force(abs(span) / FORCE_MM_PER_N, self.canvas.session.sketch.units)

    def pulled(self, sketch: Sketch, start: Spot, end: Spot) -> tuple[str, Sketch]:
        if not start.ref and not start.body:
            raise EditError("there is no part here", mend="press on a point of a part")
        sketch, ref = with_spot_point(sketch, start)
        pull = (end.place - start.place) / FORCE_MM_PER_N
        force = Force(id=fresh_id(sketch, "force"), at=ref, fx_n=round(pull.real, 3),
                      fy_n=round(pull.imag, 3))
        return "Force", add(sketch, "forces", force)

    def clicked(self, sketch: Sketch, spot: Spot) -> tuple[str, Sketch]:
        part_id = spot.body or (part_of(spot.ref) if spot.ref else "")
        if not part_id or sketch.part(part_id).fixed:
            raise EditError("a torque acts on a part that moves", mend="click such a part")
        torque = Torque(id=fresh_id(sketch, "torque"), part=part_id, torque_nmm=TORQUE_NMM)
        return "Torque", add(sketch, "torques", torque)

    def paint_pull(self, painter: QPainter, frame: Frame, start: complex, end: complex) -> None:
        draw_arrow(painter, frame.camera.to_screen(start), frame.camera.to_screen(end),
                   frame.pen(frame.theme.good, 2.5))
