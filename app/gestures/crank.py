"""Make a pinned part the crank."""

from __future__ import annotations

from app.canvas.hits import top_hit
from app.gestures.base import At, Gesture
from app.gestures.building import driven
from core.errors import EditError
from core.model import Pin, Sketch, part_of


class CrankGesture(Gesture):
    """The Crank tool."""

    id = "crank"
    hint = "Click the part, or the fixed pivot, that the hand is to turn"

    def press(self, at: At) -> None:
        item = top_hit(self.canvas.frame(), at.place)
        sketch = self.canvas.work.base()
        pin, part_id = self._meant(sketch, item)
        self.record(f"Crank {part_id}", driven(sketch, pin, part_id))
        self.say(f"{part_id} is the crank")

    def _meant(self, sketch: Sketch, item: tuple[str, str] | None) -> tuple[Pin, str]:
        """The fixed pivot and the part it turns; raises EditError when there is none."""
        kind, name = item or ("", "")
        fixed = {part.id for part in sketch.parts if part.fixed}
        wanted = name if kind == "part" else part_of(name) if kind == "point" else ""
        for pin in sketch.pins:
            owners = [part_of(ref) for ref in pin.at]
            moving = [owner for owner in owners if owner not in fixed]
            if len(moving) == len(owners) or not moving:
                continue
            if kind == "pin" and pin.id == name:
                return pin, moving[0]
            if wanted in moving:
                return pin, wanted
        raise EditError("this is not pinned to the frame",
                        mend="click a part that turns about a fixed pivot")

    def move(self, at: At) -> None:
        self.canvas.hover(at.place)
