"""Dragging a weight within its part."""

from __future__ import annotations

from app.canvas.frame import Frame
from app.gestures.carrying import Carrying
from core.errors import EditError
from core.model import Sketch
from core.model.edits import move_weight
from core.space.weights import nearest_inside
from core.units import show_length, show_mass


def weight_moving(frame: Frame, base: Sketch, name: str, index: int, handle: complex,
                  grabbed: complex) -> Carrying:
    """The drag of a weight: it stays within the outline of its part. The pose drawn stays;
    the place is the one in the drawn pose."""
    part = base.part(name)
    if index >= len(part.weights):
        raise EditError("this weight is gone", name, "take hold of another")
    weight = part.weights[index]

    def drawn(place: complex) -> complex:
        return nearest_inside(part, frame.pose.drawn(name, place), weight.diameter_mm / 2.0)

    def edit(place: complex) -> Sketch:
        at = drawn(place)
        return move_weight(base, name, index, complex(round(at.real, 2), round(at.imag, 2)))

    def tell(place: complex) -> str:
        units, at = frame.sketch.units, drawn(place)
        return (f"{show_mass(weight.mass_kg, units)} at x {show_length(at.real, units)}, "
                f"y {show_length(at.imag, units)} of the drawn pose")

    return Carrying(handle, grabbed, f"Move a weight of {name}", edit, tell=tell,
                    in_pose=False)
