"""Make parts fast to each other."""

from __future__ import annotations

from app.gestures.picking import PickTwo
from core.errors import EditError
from core.model import Lock, Sketch, part_of
from core.model.edits import add, change, fresh_id


class LockGesture(PickTwo):
    """The Lock tool. On parts that share a pin the pin is the shaft they are locked on;
    a part locked already takes the new one into its lock."""

    id = "lock"
    hint = "Click two parts: they move as one"
    second_words = "Click the part to lock it to"

    def join(self, sketch: Sketch, first: str, second: str) -> tuple[str, Sketch]:
        pair = {first, second}
        for lock in sketch.locks:
            held = pair.intersection(lock.parts)
            if len(held) == 2:
                raise EditError(f"{first!r} and {second!r} are locked already")
            if held:
                wider = change(sketch, "locks", lock.id,
                               parts=(*lock.parts, *sorted(pair - held)))
                return f"Lock {first} to {second}", wider
        shaft = next((pin.id for pin in sketch.pins
                      if pair <= {part_of(ref) for ref in pin.at}), "")
        lock = Lock(id=fresh_id(sketch, "lock"), parts=(first, second), pin=shaft)
        return f"Lock {first} to {second}", add(sketch, "locks", lock)
