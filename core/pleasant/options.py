"""What the user asks of the crank, and what may be used for it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

Kind = Literal["weights", "springs", "both", "torsion", "gears", "flywheel"]
#: What may be asked for, in the order it is worked out; "both" (weights and springs
#: together) comes by itself where weights and springs are asked for.
KINDS: tuple[Kind, ...] = ("weights", "springs", "torsion", "gears", "flywheel")

AimName = Literal["peak", "ripple", "steady", "weighted"]


@dataclass(frozen=True)
class Aim:
    """What counts as pleasant: the value made small is, in N·mm at the crank,

    ``peak`` × the most the hand must push or hold back, plus ``ripple`` × (most − least
    torque), plus ``runaway`` × how far the torque falls below zero.
    """

    peak: float = 1.0
    ripple: float = 0.0
    runaway: float = 0.0


#: Aims by name. "steady": running away counts so much that it is given up first.
AIMS: dict[str, Aim] = {
    "peak": Aim(1.0, 0.0, 0.0),
    "ripple": Aim(0.0, 1.0, 0.0),
    "steady": Aim(1.0, 0.0, 1000.0),
    "weighted": Aim(1.0, 0.5, 1.0),
}


#: The heaviest and the tallest single weight of a light machine.
USUAL_KG, USUAL_TALL_MM = 0.25, 18.0


@dataclass(frozen=True)
class OwnMass:
    """Something the user has: a coin, a bearing ball; kg, mm, as measured by the user."""

    name: str
    kg: float
    diameter_mm: float
    thickness_mm: float


@dataclass(frozen=True)
class WeightRules:
    """Where counterweights may be and what they may be made of.

    `parts`: ids of the parts that may bear one, () for every moving part. Within the
    outline, `margin_mm` of wood stays round the weight, towards the edge and the bores.
    `reach_mm`: a part with a fixed pivot may also get a tail, the weight at most so far
    from that pivot; None: as far as the part itself reaches; 0: no tails.
    `most`: how many weights; `most_kg`: the heaviest single one; None: 0.25, and more for a
    heavy machine (see :func:`core.pleasant.fitting.fitted`).
    `sheets`: (material id, thickness mm) of discs that can be cut and let in; `rods`:
    (material id, diameter mm) of rods that can be cut to length; `washers`: names of
    ISO 7089 washers that can be bolted on; `own`: things the user has.
    `tallest_mm`: how thick a stack of washers or a piece of rod may be; None: 18, and more
    where weights may be heavier. `each`: (part id,
    reach mm, heaviest kg) of parts with a reach or a heaviest weight of their own; None: as
    for all.
    """

    parts: tuple[str, ...] = ()
    most: int = 2
    most_kg: float | None = None
    margin_mm: float = 3.0
    reach_mm: float | None = None
    sheets: tuple[tuple[str, float], ...] = (("steel", 3.0), ("steel", 6.0), ("brass", 6.0))
    rods: tuple[tuple[str, float], ...] = (("steel", 12.0), ("steel", 20.0), ("steel", 30.0),
                                           ("steel", 40.0), ("steel", 60.0))
    washers: tuple[str, ...] = ("M5", "M6", "M8", "M10", "M12", "M16")
    own: tuple[OwnMass, ...] = ()
    tallest_mm: float | None = None
    each: tuple[tuple[str, float | None, float | None], ...] = ()

    @property
    def heaviest_kg(self) -> float:
        """The heaviest single weight, kg."""
        return USUAL_KG if self.most_kg is None else self.most_kg

    @property
    def height_mm(self) -> float:
        """The tallest piece, mm."""
        return USUAL_TALL_MM if self.tallest_mm is None else self.tallest_mm

    def of(self, part_id: str) -> WeightRules:
        """The rules for one part."""
        for name, reach, kg in self.each:
            if name == part_id:
                return replace(self, reach_mm=self.reach_mm if reach is None else reach,
                               most_kg=self.most_kg if kg is None else kg)
        return self


@dataclass(frozen=True)
class SpringRules:
    """What springs may be used, and where.

    `parts`: ids of the parts a spring may be hooked to, () for every moving part.
    `most`: how many; `most_pull_n`: the hardest pull of one; `shortest_mm`: the shortest
    free length with its hooks; `ideal`: also springs whose free length counts as nothing
    (a cord over a pulley can make one), not only wound ones hooked straight in.
    `wires_mm`: wires to be had; `box`: (x0, y0, x1, y1) mm in which anchors on the frame may
    lie, None: the frame's own outlines.
    """

    parts: tuple[str, ...] = ()
    most: int = 1
    most_pull_n: float = 40.0
    shortest_mm: float = 15.0
    ideal: bool = False
    wires_mm: tuple[float, ...] = (0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 2.0)
    box: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class GearRules:
    """What gear steps may be made: `modules_mm` (ISO 54) to be had, the largest diameter
    over the tips, how many steps at most, the bit they are cut with (None: whatever it
    takes), and their width and material. `limit_n`: the hardest push, None: the handle's."""

    modules_mm: tuple[float, ...] = (2.0, 2.5, 3.0, 4.0, 5.0)
    largest_mm: float = 160.0
    most_steps: int = 2
    bit_mm: float | None = None
    limit_n: float | None = None
    face_mm: float = 9.0
    material: str = "birch-plywood"


@dataclass(frozen=True)
class FlywheelRules:
    """What flywheel may be made: `fluctuation` is the coefficient of fluctuation of speed
    asked for (most − least speed over the mean), the rest its size and weight."""

    fluctuation: float = 0.2
    material: str = "steel"
    thickness_mm: float = 6.0
    largest_mm: float = 250.0
    most_kg: float = 2.0


@dataclass(frozen=True)
class Options:
    """What is asked of :func:`core.pleasant.advise`.

    `aim`: a name of `AIMS` or weights of the user's own. `kinds`: what to try.
    """

    aim: AimName | Aim = "peak"
    kinds: tuple[Kind, ...] = KINDS
    weights: WeightRules = field(default_factory=WeightRules)
    springs: SpringRules = field(default_factory=SpringRules)
    gears: GearRules = field(default_factory=GearRules)
    flywheel: FlywheelRules = field(default_factory=FlywheelRules)

    @property
    def wanted(self) -> Aim:
        """The aim as weights."""
        return self.aim if isinstance(self.aim, Aim) else AIMS[self.aim]
