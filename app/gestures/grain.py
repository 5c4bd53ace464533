"""Turning the grain of a part by the knob of its dial."""

from __future__ import annotations

import cmath
import math

from app.canvas.frame import Frame
from app.canvas.paint_grain import grain_dial
from app.gestures.carrying import Carrying
from core.model import Sketch
from core.model.edits import change
from core.space.grain import longest_direction
from core.units import show_angle

#: Nearer to the part's own direction than this the grain goes along the part again.
_CATCH_RAD = math.radians(3.0)


def grain_turning(frame: Frame, base: Sketch, name: str, handle: complex,
                  grabbed: complex) -> Carrying:
    """The drag of the knob: the grain follows the cursor about the dial. Shift: 15° steps.

    The pose drawn stays; angles are those in the drawn pose.
    """
    part = base.part(name)
    dial = grain_dial(frame, frame.sketch.part(name))
    middle = dial[0] if dial is not None else handle
    rotation = frame.pose.rotation.get(name, 1 + 0j)
    own = longest_direction(part)

    def angle(place: complex) -> float:
        away = (place - middle) / rotation
        return cmath.phase(away) if away != 0 else own

    def along(place: complex) -> bool:
        return abs(math.remainder(angle(place) - own, math.pi)) < _CATCH_RAD

    def edit(place: complex) -> Sketch:
        deg = None if along(place) else round(math.degrees(angle(place)), 2)
        return change(base, "parts", name, grain_deg=deg)

    def tell(place: complex) -> str:
        if along(place):
            return f"Grain along {name}"
        off = abs(math.remainder(angle(place) - own, math.pi))
        return f"Grain {show_angle(math.degrees(off))} off the length of {name}"

    return Carrying(handle, grabbed, f"Turn the grain of {name}", edit, anchor=middle,
                    tell=tell, free=True, in_pose=False)
