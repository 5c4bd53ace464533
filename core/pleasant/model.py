"""Counterweights in mind: what they do to the torque, without an effort for every try."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from core.model import Polygon, Sketch, Weight
from core.model.edits import follow_twins, put
from core.motion.turn import Floats
from core.pleasant.ground import Ground, carried, filled
from core.pleasant.options import Aim
from core.pleasant.places import Site, with_tail
from core.pleasant.programme import value_of
from core.pleasant.stock import Piece

#: Rounding of rooms, mm.
ROUNDING_MM = 1e-6


@dataclass(frozen=True)
class Placed:
    """A piece at a place (complex mm, drawn pose) of a site's part; on a tail or not. What
    stands out does so on the `side` of higher (1) or lower layers (−1)."""

    site: Site
    piece: Piece
    place: complex
    on_tail: bool
    side: int = 0

    def allowed(self) -> bool:
        """Whether the piece has room there."""
        room = (self.site.tail_room(self.place) if self.on_tail
                else self.site.room(self.place))
        return room >= self.piece.diameter_mm / 2.0 - 1.5 * ROUNDING_MM


@dataclass(frozen=True)
class Model:
    """Torque with weights over the steps of a ground, friction taken as fixed.

    `base` (N,) plain torque; `rub_low`, `rub_high` (N,) what friction adds, N·mm.
    """

    ground: Ground
    base: Floats
    rub_low: Floats
    rub_high: Floats

    @staticmethod
    def of(ground: Ground, base: Floats | None = None) -> Model:
        """The model about the sketch as it is."""
        lanes = ground.before
        return Model(ground, lanes.plain_nmm if base is None else base,
                     filled(lanes.low_nmm - lanes.plain_nmm),
                     filled(lanes.high_nmm - lanes.plain_nmm))

    def about(self, sketch: Sketch) -> Model:
        """The same with the friction of a sketch loaded otherwise."""
        lanes = self.ground.lanes(sketch)
        return Model(self.ground, self.base, filled(lanes.low_nmm - lanes.plain_nmm),
                     filled(lanes.high_nmm - lanes.plain_nmm))

    def lane(self, part_id: str, place: complex, polar_mm2: float = 0.0) -> Floats:
        """(N,) torque of 1 kg at a place of a part and of its mirror images; `polar_mm2` is
        the moment of inertia of 1 kg about its middle (d²/8 of a disc)."""
        whole = np.zeros_like(self.base)
        for name, carry in self.ground.images(part_id):
            at = carried(carry, place)
            rows = moments_of(self.ground, name)
            whole = whole + (rows[0] + at.real * rows[1] + at.imag * rows[2]
                             + (abs(at) ** 2 + polar_mm2) * rows[3])
        return whole

    def torque(self, placed: Sequence[Placed]) -> Floats:
        """(N,) plain torque with the weights."""
        whole = self.base
        for each in placed:
            polar = each.piece.diameter_mm**2 / 8.0
            whole = whole + each.piece.kg * self.lane(each.site.part.id, each.place, polar)
        return whole

    def value(self, aim: Aim, placed: Sequence[Placed]) -> float:
        """The aim's value with friction as it is taken, N·mm."""
        torque = self.torque(placed)
        return value_of(aim, torque + self.rub_low, torque + self.rub_high)


def moments_of(ground: Ground, part_id: str) -> Floats:
    """`Ground.moments`, kept: (4, N)."""
    kept = ground.__dict__.setdefault("_moments", {})
    if part_id not in kept:
        kept[part_id] = ground.moments(part_id)
    lanes: Floats = kept[part_id]
    return lanes


def weighted(sketch: Sketch, placed: Sequence[Placed]) -> Sketch:
    """The sketch with the weights, tails cut where they need one, twins following."""
    changed = sketch
    for each in placed:
        part = changed.part(each.site.part.id)
        weight = Weight(mass_kg=round(each.piece.kg, 7), x=each.place.real,
                        y=each.place.imag, diameter_mm=each.piece.diameter_mm,
                        thickness_mm=each.piece.thickness_mm, made_of=each.piece.made_of)
        outline = part.outline
        if each.on_tail:
            grown = with_tail(each.site, each.place, each.piece.diameter_mm / 2.0)
            outline = Polygon(
                outer=tuple((round(x, 3), round(y, 3)) for x, y in grown.exterior.coords[:-1]),
                holes=tuple(tuple((round(x, 3), round(y, 3)) for x, y in ring.coords[:-1])
                            for ring in grown.interiors))
        changed = put(changed, replace(part, weights=(*part.weights, weight),
                                       outline=outline))
    return follow_twins(sketch, changed)
