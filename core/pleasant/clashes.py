"""Whether a weight or its tail meets what moves past it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace as but

from msgspec.structs import replace

from core.model import Disc, Part, Point, Sketch
from core.pleasant.ground import Ground, carried, dressed
from core.pleasant.model import Placed, weighted
from core.space import gaps

#: The name of the middle of a weight while it is looked at.
_SPOT = "middle of the weight"


def placed_clear(ground: Ground, placed: Iterable[Placed]) -> tuple[list[Placed], list[str]]:
    """The weights, each standing out on a side where it is clear of everything, and the ids
    of parts whose tail or piece meets something on whichever side.

    Measured at the steps of the coarse turn, mirror images too; whatever came as near
    before does not count. Each is looked at beside the others.
    """
    found, bad, every = [], [], list(placed)
    for each in every:
        name = each.site.part.id
        rest = weighted(ground.sketch, [other for other in every if other is not each])
        if each.on_tail and _tail_meets(ground, rest, each):
            bad.append(name)
        elif each.piece.sticks_out_mm > 0.0:
            side = next((side for side in (1, -1)
                         if not _out_meets(ground, rest, each, side)), 0)
            if side == 0:
                bad.append(name)
            found.append(but(each, side=side))
        else:
            found.append(each)
    return found, bad


def _tail_meets(ground: Ground, rest: Sketch, each: Placed) -> bool:
    names = [name for name, _ in ground.images(each.site.part.id)]
    after = weighted(rest, [each])
    was = _near(ground, rest, names)
    return any(mm < was.get(pair, rest.gap_mm) - 1e-6
               for pair, mm in _near(ground, after, names).items())


def _near(ground: Ground, sketch: Sketch, names: list[str]) -> dict[tuple[str, str], float]:
    """Gaps below the wanted one of pairs with one of the parts, mm."""
    turn = dressed(ground.coarse.turn, sketch)
    return {(gap.a, gap.b): gap.smallest_mm
            for gap in gaps(turn, refine=False, about=frozenset(names)).pairs
            if gap.smallest_mm < sketch.gap_mm and {gap.a, gap.b} & set(names)}


def _out_meets(ground: Ground, sketch: Sketch, each: Placed, side: int) -> bool:
    """Whether the piece meets something in the layers it stands into on one side (±1 layer
    by layer)."""
    for name, carry in ground.images(each.site.part.id):
        part, place = sketch.part(name), carried(carry, each.place)
        for layer in _layers(sketch, part, each.piece.sticks_out_mm, side):
            disc = replace(
                part, points=(*part.points, Point(id=_SPOT, x=place.real, y=place.imag)),
                outline=Disc(radius_mm=each.piece.diameter_mm / 2.0, centre=_SPOT),
                layer=layer)
            parts = tuple(disc if old.id == name else old for old in _layered(sketch))
            if _near(ground, replace(sketch, parts=parts), [name]):
                return True
    return False


def _layered(sketch: Sketch) -> tuple[Part, ...]:
    """The parts with their layers written out: they go by their place in the list."""
    return tuple(replace(part, layer=sketch.layer_of(part.id)) for part in sketch.parts)


def _layers(sketch: Sketch, part: Part, out_mm: float, side: int) -> list[int]:
    """The layers something reaches that stands out so far from a part on one side."""
    own = sketch.layer_of(part.id)
    lowest = min(sketch.layer_of(each.id) for each in sketch.parts)
    highest = max(sketch.layer_of(each.id) for each in sketch.parts)
    found, layer = [], own + side
    while out_mm > 1e-9 and lowest <= layer <= highest:
        found.append(layer)
        out_mm -= max((each.thickness_mm for each in sketch.parts
                       if sketch.layer_of(each.id) == layer), default=part.thickness_mm)
        layer += side
    return found


