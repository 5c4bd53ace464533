"""Which class stands behind which tool."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.gestures.arrange import ArrangeGesture
from app.gestures.base import Gesture
from app.gestures.crank import CrankGesture
from app.gestures.guides import SlideGesture, SlotGesture
from app.gestures.hand import HandGesture
from app.gestures.lock import LockGesture
from app.gestures.part import PartGesture
from app.gestures.pin import PinGesture
from app.gestures.pulling import LoadGesture, SpringGesture
from app.gestures.region import RegionGesture
from app.gestures.scale import ScaleGesture
from app.gestures.trace import TraceGesture
from app.gestures.wheels import BeltGesture, MeshGesture
from app.gestures.wish import WishGesture

if TYPE_CHECKING:
    from app.canvas.view import Canvas

GESTURES: dict[str, type[Gesture]] = {
    each.id: each for each in (
        ArrangeGesture, HandGesture, PartGesture, PinGesture, SlideGesture, SlotGesture,
        MeshGesture, BeltGesture, LockGesture, SpringGesture, LoadGesture, CrankGesture,
        TraceGesture, WishGesture, RegionGesture, ScaleGesture,
    )
}


def make_gesture(tool_id: str, canvas: Canvas) -> Gesture:
    """The tool of that id for a canvas; KeyError when there is none."""
    return GESTURES[tool_id](canvas)
