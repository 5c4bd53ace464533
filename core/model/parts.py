"""Parts: rigid bodies with named points. Coordinates: mm, drawn pose, sketch frame
(x right, y up)."""

from __future__ import annotations

import msgspec

from core.model.outline import Outline


class Point(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
            forbid_unknown_fields=True):
    """A named place on a part.

    `trace` draws its path; `locked` keeps it where it is when re-dimensioning.
    """

    id: str
    x: float
    y: float
    trace: bool = False
    locked: bool = False

    @property
    def place(self) -> complex:
        """Where it is drawn, x + iy mm."""
        return complex(self.x, self.y)


class Mass(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True):
    """A typed mass that replaces outline × thickness × density.

    Centre (x, y) in the drawn pose, mm; inertia about that centre.
    """

    mass_kg: float
    x: float
    y: float
    inertia_kgmm2: float = 0.0


class Weight(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
             forbid_unknown_fields=True):
    """A round weight let into a part or bolted through it, on top of the part's own mass.

    Centre (x, y) in the drawn pose, mm. `diameter_mm` and `thickness_mm` are its size;
    0: unknown, the weight counts as a point. `made_of` says in words what it is
    ("4 washers M12").
    """

    mass_kg: float
    x: float
    y: float
    diameter_mm: float = 0.0
    thickness_mm: float = 0.0
    made_of: str = ""

    @property
    def place(self) -> complex:
        """Where its centre is drawn, x + iy mm."""
        return complex(self.x, self.y)


class Part(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True):
    """A rigid body of sheet (or, with `mass`, of anything).

    `fixed` parts belong to the frame. `outline` None means: a disc of 10 mm radius
    for one point, a bar for two, a plate for more. `layer` None means a layer of
    its own in the order of the list. `lengths_locked` keeps the distances between
    its points when re-dimensioning. `grain_deg` is the direction of the grain (of
    plywood: of the face grain) in the drawn pose; None: along the part's longest direction.
    `weights` are fixed to it.
    """

    id: str
    points: tuple[Point, ...] = ()
    fixed: bool = False
    outline: Outline | None = None
    thickness_mm: float = 6.0
    layer: int | None = None
    material: str = "birch-plywood"
    mass: Mass | None = None
    lengths_locked: bool = False
    grain_deg: float | None = None
    weights: tuple[Weight, ...] = ()
    note: str = ""

    def point(self, point_id: str) -> Point:
        """The point of that id; raises KeyError when there is none."""
        for point in self.points:
            if point.id == point_id:
                return point
        raise KeyError(point_id)
