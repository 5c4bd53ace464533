"""Layers a part could lie in without touching anything over the turn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from core.model import Sketch
from core.model.numbers import LIMITS
from core.motion.turn import Turn
from core.space.gaps import TOUCH_MM, least_gaps
from core.space.neighbours import layers_of, neighbours, spans

#: No part may lie higher.
_HIGHEST = LIMITS["Part", "layer"][2]


@dataclass(frozen=True)
class Place:
    """A layer for a part: one in use or the next above, or with `new` one put in between,
    which lifts everything from that layer on by one."""

    part_id: str
    layer: int
    new: bool = False

    def apply(self, sketch: Sketch) -> Sketch:
        """The sketch with the part there; nothing moves in the plane by it."""
        layers = self.among(layers_of(sketch))
        return replace(sketch, parts=tuple(
            replace(part, layer=layers[part.id]) if self.new or part.id == self.part_id
            else part for part in sketch.parts))

    def among(self, layers: Mapping[str, int]) -> dict[str, int]:
        """The layers of all parts with the part there, given what they are now."""
        moved = {part_id: layer + (self.new and layer >= self.layer)
                 for part_id, layer in layers.items()}
        moved[self.part_id] = self.layer
        return moved


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
    close = neighbours(sketch, frozenset((part_id,)), flat=True)
    clear = least_gaps(turn, close) >= np.where(close.one_body, -TOUCH_MM, clear_mm)
    a, b = close.a[~clear], close.b[~clear]
    layers = layers_of(sketch)
    own = layers[part_id]
    in_use = range(min(layers.values()), max(layers.values()) + 2)
    places = [Place(part_id, layer, new) for new in (False, True) for layer in in_use]
    for place in sorted(places, key=lambda one: (one.new, abs(one.layer - own), one.layer)):
        among = place.among(layers)
        if max(among.values()) > _HIGHEST:
            continue
        low, high = spans(close.bodies, among)
        if not np.any((low[a] <= high[b]) & (low[b] <= high[a])):
            yield place
