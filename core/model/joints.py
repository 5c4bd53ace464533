"""Joints between parts. Every place is a point of a part, ``"part.point"``."""

from __future__ import annotations

import msgspec

#: How a part can be held on a shaft: by glue in a smooth bore, a solid pin across both, a
#: slotted spring pin across both, a set screw on a flat of the shaft, a D-shaped bore on a
#: flat, a key, a square or hexagonal end of the shaft, a collar that clamps, a cotter that
#: splits the shaft's end in the bore.
LOCK_KINDS = ("glued", "pinned", "spring-pinned", "screwed", "flat", "keyed", "square", "hex",
              "clamped", "cottered")


class _Joint(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
             forbid_unknown_fields=True):
    id: str


class Hinge(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
            forbid_unknown_fields=True):
    """The screws that hold a leaf of a hinge on its panel: how many to a leaf, their
    diameter and the length of thread in the wood, mm; `edge` when they go into the edge of
    the sheet instead of its face."""

    screws: int = 2
    screw_mm: float = 2.5
    length_mm: float = 10.0
    edge: bool = False


class Pin(_Joint, frozen=True):
    """A turning joint: one rod through a point of each of two or more parts.

    The points coincide in the drawn pose. `friction` is a range of the coefficient
    at the bore; None means the sketch's. `material` is the rod's; `clearance_mm` the play
    of rod and bore, on the diameter (None: what is usual). `hinge` for a bought hinge that
    joins panels in place of a rod through them.
    """

    at: tuple[str, ...]
    diameter_mm: float = 6.0
    friction: tuple[float, float] | None = None
    material: str = "steel"
    clearance_mm: float | None = None
    hinge: Hinge | None = None


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

    `pin` names the shaft they share, if they do; a single part may be made fast to the
    shaft alone, as a crank is to its own. `kind` says how each is held on it (see
    `LOCK_KINDS`; other words are kept, but nothing is known of them). `length_mm` is how
    much of the shaft the hold takes, None: the thickness of the part. `size_mm` is the
    diameter of the cross pin, spring pin, cotter or screw, the width of the key, the side
    of the square or hexagon, what is left across a flat; None: what is usual for the shaft.
    """

    parts: tuple[str, ...]
    kind: str = "glued"
    pin: str = ""
    length_mm: float | None = None
    size_mm: float | None = None


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
