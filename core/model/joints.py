"""Joints between parts. Every place is a point of a part, ``"part.point"``."""

from __future__ import annotations

import msgspec


class _Joint(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
             forbid_unknown_fields=True):
    id: str


class Pin(_Joint, frozen=True):
    """A turning joint: one rod through a point of each of two or more parts.

    The points coincide in the drawn pose. `friction` is a range of the coefficient
    at the bore; None means the sketch's.
    """

    at: tuple[str, ...]
    diameter_mm: float = 6.0
    friction: tuple[float, float] | None = None


class Slide(_Joint, frozen=True):
    """A straight sliding joint: the part of `point` keeps its angle to the part of
    `along` and moves only in the direction from the first to the second point of
    `along`. `point` lies on that line in the drawn pose; the two points are the
    ends of the travel.
    """

    point: str
    along: tuple[str, str]
    friction: tuple[float, float] | None = None


class PinInSlot(_Joint, frozen=True):
    """A pin through `point` in a straight slot whose centre line ends at the two
    points of `slot` (both on one other part). The pin may turn and slide.
    """

    point: str
    slot: tuple[str, str]
    diameter_mm: float = 6.0
    friction: tuple[float, float] | None = None


class Lock(_Joint, frozen=True):
    """Parts made fast to each other; they move as one body.

    `pin` names the shaft they share, if they do; `kind` says how they are held.
    """

    parts: tuple[str, ...]
    kind: str = "glued"
    pin: str = ""


class Mesh(_Joint, frozen=True):
    """A gear pair. `a` and `b` are the gear centres, both pinned to one carrier
    part (or the frame). External gears turn against each other, an internal pair
    the same way; in an internal pair the one with more teeth is the ring.
    """

    a: str
    b: str
    teeth_a: int
    teeth_b: int
    internal: bool = False
    pressure_angle_deg: float = 20.0

    def pitch_radii(self, distance_mm: float) -> tuple[float, float]:
        """Radii, mm, of the pitch circles of `a` and `b` at that distance of the centres."""
        teeth = abs(self.teeth_a - self.teeth_b) if self.internal else (
            self.teeth_a + self.teeth_b)
        each = distance_mm / max(teeth, 1)
        return each * self.teeth_a, each * self.teeth_b


class Belt(_Joint, frozen=True):
    """A belt or cord that does not slip, over pulleys about `a` and `b`, both pinned
    to one carrier part (or the frame). Open: same way round; crossed: opposite.
    """

    a: str
    b: str
    diameter_a_mm: float
    diameter_b_mm: float
    crossed: bool = False
