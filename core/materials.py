"""Materials and friction: figures with the source of each and how far it can be trusted.

Strengths of woods are means of small clear specimens at 12 % moisture: divide by 3 to 4
before building on them (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from core.errors import SketchError

#: What a material is, for the rules that judge it.
Stuff = Literal["wood", "plywood", "board", "plastic", "metal"]
#: "read": read in a copy or quotation of the source. "from memory": recalled, unchecked.
#: "calculated": from a stated formula. "practice": common practice, no source.
#: "own": the user's.
Trust = Literal["read", "from memory", "calculated", "practice", "own"]


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


@dataclass(frozen=True)
class PlyRow:
    """Plywood of one nominal thickness; strengths and moduli along and across the face
    grain, MPa and GPa."""

    thickness_mm: float
    bending_along_mpa: float
    bending_across_mpa: float
    elastic_along_gpa: float
    elastic_across_gpa: float


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


@dataclass(frozen=True)
class Rubbing:
    """Coefficient of friction of a pair of surfaces, dimensionless."""

    pair: str
    low: float
    high: float
    state: Literal["static", "kinetic", "either"]
    source: str
    trust: Trust


_CLEAR = "USDA Wood Handbook, small clear specimens at 12 % moisture, psi turned into MPa"
_MOIST = "1120 × specific gravity, mass and volume at 12 % moisture"
_PLY = "Handbook of Finnish Plywood"
_TEXT = "textbook table of structural metals"


def _range(low: float, high: float, source: str, trust: Trust) -> Figure:
    return Figure(low, high, source, trust)


def _one(value: float, source: str, trust: Trust) -> Figure:
    return Figure(value, value, source, trust)


def _wood(
    id_: str, name: str, gravity: float, elastic: float, along: float, across: float,
    shear: float, *, cross_trust: Trust = "read",
) -> Material:
    """One row of the table of solid woods; strengths in MPa, `elastic` in GPa."""
    return Material(
        id_, name, float(round(1120 * gravity)), _MOIST, "calculated", "wood",
        {
            "elastic_gpa": _one(elastic, _CLEAR, "read"),
            "compression_along_mpa": _one(along, _CLEAR, "read"),
            "compression_across_mpa": _one(across, _CLEAR, cross_trust),
            "shear_along_mpa": _one(shear, _CLEAR, cross_trust),
        },
        note="mean strengths; weak across the grain",
    )


_ALL = (
    Material(
        "birch-plywood", "birch plywood", 680.0, _PLY, "from memory", "plywood",
        {
            "panel_shear_mpa": _one(9.5, _PLY, "from memory"),
            "rolling_shear_mpa": _range(1.8, 3.2, _PLY, "from memory"),
        },
        (
            PlyRow(6.5, 50.9, 29.0, 12.7, 4.8),
            PlyRow(9.0, 45.6, 32.1, 11.4, 6.1),
            PlyRow(12.0, 42.9, 33.2, 10.7, 6.8),
            PlyRow(18.0, 40.2, 34.1, 10.0, 7.5),
        ),
        note="measure the sheet: thickness varies by several tenths of a millimetre",
    ),
    _wood("basswood", "basswood", 0.37, 10.1, 32.6, 2.6, 6.8),
    _wood("black-cherry", "black cherry", 0.50, 10.3, 49.0, 4.8, 11.7),
    _wood("yellow-birch", "yellow birch", 0.62, 13.9, 56.3, 6.7, 13.0),
    _wood("paper-birch", "paper birch", 0.55, 11.0, 39.2, 4.1, 8.3),
    _wood("sugar-maple", "sugar maple", 0.63, 12.6, 54.0, 10.1, 16.1),
    _wood("black-walnut", "black walnut", 0.55, 11.6, 52.3, 7.0, 9.4,
          cross_trust="from memory"),
    Material(
        "mdf", "MDF", 750.0, "general board data, 700 to 800 kg/m³", "from memory",
        "board",
        {
            "density_kg_m3": _range(700, 800, "general board data", "from memory"),
            "elastic_gpa": _range(2.5, 4.0, "general board data", "from memory"),
            "bending_mpa": _range(20, 35, "general board data", "from memory"),
            "internal_bond_mpa": _one(0.55, "general board data", "from memory"),
        },
    ),
    Material(
        "acrylic", "cast acrylic", 1190.0, "general data sheets", "from memory", "plastic",
        {
            "elastic_gpa": _range(3.0, 3.3, "general data sheets", "from memory"),
            "tensile_mpa": _range(65, 75, "general data sheets", "from memory"),
        },
        note="brittle at holes",
    ),
    Material(
        "pla", "PLA, printed", 1240.0, "general data sheets, solid infill", "from memory",
        "plastic",
        {
            "elastic_gpa": _range(3.0, 3.6, "general data sheets", "from memory"),
            "tensile_mpa": _range(45, 60, "general data sheets, along layers",
                                  "from memory"),
            "across_layers_share": _range(0.5, 0.7, "general data sheets", "from memory"),
        },
        note="softens at about 60 °C",
    ),
    Material(
        "aluminium-6061", "aluminium 6061-T6", 2710.0, _TEXT, "read", "metal",
        {
            "elastic_gpa": _one(68.9, _TEXT, "read"),
            "shear_modulus_gpa": _one(26.0, _TEXT, "read"),
            "yield_mpa": _range(255, 276, _TEXT + "; 276 also common", "read"),
            "tensile_mpa": _range(290, 310, _TEXT + "; 310 also common", "read"),
        },
    ),
    Material(
        "steel", "mild steel A36", 7850.0, _TEXT, "read", "metal",
        {
            "elastic_gpa": _one(200.0, _TEXT, "read"),
            "shear_modulus_gpa": _one(75.0, _TEXT, "read"),
            "yield_mpa": _one(250.0, _TEXT, "read"),
            "tensile_mpa": _one(400.0, _TEXT, "read"),
        },
    ),
    Material(
        "brass", "naval brass", 8400.0, "handbook value", "from memory", "metal",
        {
            "elastic_gpa": _one(103.0, "course table, 15 Msi", "read"),
            "yield_mpa": _one(414.0, "course table, 60 ksi", "read"),
            "tensile_mpa": _one(586.0, "course table, 85 ksi", "read"),
        },
    ),
    Material(
        "music-wire", "music wire", 7850.0, "as steel", "from memory", "metal",
        {
            "shear_modulus_gpa": _range(79.0, 81.0, "spring makers' tables", "from memory"),
            "elastic_gpa": _one(198.0, "28.7 Mpsi, spring textbook", "from memory"),
        },
        note="springs",
    ),
    Material(
        "stainless-wire", "stainless spring wire", 7900.0, "handbook value", "from memory",
        "metal",
        {
            "shear_modulus_gpa": _one(69.0, "spring makers' tables", "from memory"),
            "elastic_gpa": _one(193.0, "handbook value", "from memory"),
        },
        note="springs",
    ),
)

#: Every known material by id.
MATERIALS: dict[str, Material] = {each.id: each for each in _ALL}

_MCK = "The frictional behaviour of wood, Wood Science and Technology"
_MCM = "McMillin et al., friction of southern pine on steel"
_APP = "physics textbook appendix, coefficients of friction"

#: Coefficients of friction. The spread on wood is wide: reckon with a range.
FRICTION: tuple[Rubbing, ...] = (
    Rubbing("air-dry wood on unpolished steel", 0.65, 0.65, "static", _MCK, "read"),
    Rubbing("air-dry wood on unpolished steel, 4 m/s", 0.4, 0.4, "kinetic", _MCK, "read"),
    Rubbing("wet wood on steel", 0.7, 0.7, "static", _MCK, "read"),
    Rubbing("wet wood on steel, 4 m/s", 0.15, 0.15, "kinetic", _MCK, "read"),
    Rubbing("oven-dry spruce pine on steel", 0.10, 0.25, "either", _MCM, "read"),
    Rubbing("wood on metal, general", 0.2, 0.6, "either",
            "ship design archive, friction table", "read"),
    Rubbing("oak on cast iron, dry", 0.49, 0.49, "either", _APP, "read"),
    Rubbing("oak on cast iron, greased", 0.075, 0.075, "either", _APP, "read"),
    Rubbing("aluminium on mild steel, dry", 0.61, 0.61, "static", _APP, "read"),
    Rubbing("aluminium on mild steel, dry", 0.47, 0.47, "kinetic", _APP, "read"),
    Rubbing("aluminium on aluminium, dry", 1.05, 1.35, "static", _APP, "read"),
    Rubbing("aluminium on aluminium, greased", 0.3, 0.3, "either", _APP, "read"),
    Rubbing("brass on steel, dry", 0.51, 0.51, "static", _APP, "read"),
    Rubbing("brass on steel, dry", 0.44, 0.44, "kinetic", _APP, "read"),
    Rubbing("brass on steel, greased", 0.19, 0.19, "either", _APP, "read"),
    Rubbing("waxed wood on metal", 0.10, 0.25, "either", "workshop notes", "from memory"),
    Rubbing("acetal or nylon on metal", 0.15, 0.30, "either", "data sheets", "from memory"),
    Rubbing("PTFE on steel", 0.04, 0.10, "either", "data sheets", "from memory"),
    Rubbing("ball bearing, referred to the bore", 0.0015, 0.003, "either",
            "bearing catalogues", "from memory"),
)


def material(material_id: str) -> Material:
    """The material of that id.

    Raises
    ------
    SketchError
        For an unknown id; the message lists the known ones.
    """
    found = MATERIALS.get(material_id)
    if found is None:
        known = ", ".join(MATERIALS)
        raise SketchError(f"unknown material {material_id!r}", mend=f"use one of {known}")
    return found
