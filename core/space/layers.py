"""Layers a part could lie in without touching anything over the turn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from core.model import Sketch
from core.motion.turn import Turn
from core.space.gaps import TOUCH_MM, least_gaps
from core.space.neighbours import neighbours


@dataclass(frozen=True)
class Place:
    """A layer for a part: one in use or the next above, or with `new` one put in between,
    which lifts everything from that layer on by one."""

    part_id: str
    layer: int
    new: bool = False

    def apply(self, sketch: Sketch) -> Sketch:
        """The sketch with the part there; nothing moves in the plane by it."""
        layers = {part.id: part.layer for part in sketch.parts}
        if self.new:
            for part_id in layers:
                layer = sketch.layer_of(part_id)
                layers[part_id] = layer + (layer >= self.layer)
        layers[self.part_id] = self.layer
        return replace(sketch, parts=tuple(replace(part, layer=layers[part.id])
                                           for part in sketch.parts))


def free_places(turn: Turn, part_id: str, clear_mm: float) -> Iterator[Place]:
    """Places where a part and the pins on it stay clear of everything else.

    Parameters
    ----------
    turn : poses of all parts of its sketch.
    part_id : the part to move.
    clear_mm : the least gap wanted, at the steps of the turn.

    Returns
    -------
    Layers in use and one above them, the nearest first (the part's own included when it
    is free), then new layers put in between, the nearest first.

    Notes
    -----
    Gaps do not depend on layers, only who meets whom does: all pairs are measured once
    as if everything lay in one layer, then each place is looked up.
    """
    sketch = turn.sketch
    about = frozenset((part_id,))
    least = least_gaps(turn, neighbours(sketch, about, flat=True))
    own = sketch.layer_of(part_id)
    used = [sketch.layer_of(part.id) for part in sketch.parts]
    range_of = range(min(used), max(used) + 2)
    places = [Place(part_id, layer) for layer in range_of]
    places += [Place(part_id, layer, new=True) for layer in range_of]
    for place in sorted(places, key=lambda one: (one.new, abs(one.layer - own), one.layer)):
        close = neighbours(place.apply(sketch), about)
        names = [body.name for body in close.bodies]
        gap = np.array([least[names[a], names[b]]
                        for a, b in zip(close.a, close.b, strict=True)])
        if np.all(gap >= np.where(close.one_body, -TOUCH_MM, clear_mm)):
            yield place
