"""What is said of a material: figures as ranges, each with its source and its trust."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

#: What a material is, for the rules that judge it.
Stuff = Literal["wood", "plywood", "board", "plastic", "metal"]
#: "read": read in a copy or quotation of the source. "from memory": recalled, unchecked.
#: "calculated": from a stated formula. "practice": common practice, no source.
#: "own": the user's.
Trust = Literal["read", "from memory", "calculated", "practice", "own"]
#: From the most to the least to be relied on: what follows from several figures is
#: trusted as its weakest.
TRUST_ORDER: tuple[Trust, ...] = ("read", "calculated", "own", "from memory", "practice")


@dataclass(frozen=True)
class Figure:
    """A published figure as the range from `low` to `high` (equal for a single value)."""

    low: float
    high: float
    source: str
    trust: Trust

    @property
    def middle(self) -> float:
        """The mean of both ends, in the figure's own unit."""
        return 0.5 * (self.low + self.high)

    def times(self, low: float, high: float | None = None) -> Figure:
        """The figure times a positive factor, or times the range from `low` to `high`."""
        high = low if high is None else high
        return replace(self, low=self.low * low, high=self.high * high)


@dataclass(frozen=True)
class PlyRow:
    """Plywood of one nominal thickness: strengths (MPa) and moduli (GPa) along and across
    the face grain, bent flat and pulled or pressed in the plane of the sheet."""

    thickness_mm: float
    bending_along_mpa: float
    bending_across_mpa: float
    elastic_along_gpa: float
    elastic_across_gpa: float
    tension_along_mpa: float
    tension_across_mpa: float
    compression_along_mpa: float
    compression_across_mpa: float
    stretch_along_gpa: float
    stretch_across_gpa: float


@dataclass(frozen=True)
class Material:
    """A material a part can be made of.

    `density_kg_m3`, with its `source` and `trust`, is what masses are reckoned from; `stuff`
    says which rules judge it.
    `figures` holds the rest by name; names end in the unit (``elastic_gpa``,
    ``shear_along_mpa``). `plies` is the table by thickness, for plywood only.
    """

    id: str
    name: str
    density_kg_m3: float
    source: str
    trust: Trust
    stuff: Stuff
    figures: dict[str, Figure] = field(default_factory=dict)
    plies: tuple[PlyRow, ...] = ()
    note: str = ""


def one(value: float, source: str, trust: Trust) -> Figure:
    """A single published value."""
    return Figure(value, value, source, trust)


def weakest(*trusts: Trust) -> Trust:
    """How far what follows from figures of these trusts can be trusted."""
    return max(trusts, key=TRUST_ORDER.index)


def joined(*sources: str) -> str:
    """Several sources as one text, each once."""
    return "; ".join(dict.fromkeys(filter(None, sources)))
