"""Figures the table lacks: from the density for woods, by rules of thumb for the rest.

Each is a wide range with trust "practice": better a doubtful figure, shown as such, than a
part nobody looked at.
"""

from __future__ import annotations

from core.materials.figure import Figure, Material, joined
from core.units import MPA_PER_PSI

_BY_GRAVITY = ("estimated from the density by the USDA relations of strength and specific"
               " gravity, 25 % either way")
_THUMB = "rule of thumb for want of a figure"
#: Most of the table lies within so much of the relations (a test compares).
_SPREAD = (0.75, 1.25)

#: Strength of wood at 12 % moisture as a · Gᵇ, MPa (elastic: GPa). The first four were read
#: in psi (all woods together); the last two are for hardwoods, from memory.
_POWERS = {
    "bending_mpa": (25_700 * MPA_PER_PSI, 1.25),
    "elastic_gpa": (2_800 * MPA_PER_PSI, 1.0),
    "compression_along_mpa": (12_200 * MPA_PER_PSI, 1.0),
    "compression_across_mpa": (4_630 * MPA_PER_PSI, 2.25),
    "shear_along_mpa": (21.9, 1.13),
    "tension_across_mpa": (10.1, 1.3),
}

#: What is built on when nothing is known: the low end of what is sold under the name.
_RULES: dict[str, dict[str, tuple[float, float]]] = {
    "board": {"bending_mpa": (15, 30), "elastic_gpa": (2.0, 4.0),
              "internal_bond_mpa": (0.4, 0.6)},
    "plastic": {"tensile_mpa": (30, 60), "elastic_gpa": (1.5, 3.0)},
    "metal": {"yield_mpa": (100, 250), "tensile_mpa": (150, 400), "elastic_gpa": (65, 205)},
    "plywood": {"panel_shear_mpa": (5, 9.5), "rolling_shear_mpa": (1.0, 2.5),
                "shear_modulus_gpa": (0.5, 0.75)},
}


def specific_gravity(material: Material) -> Figure:
    """Specific gravity of a wood or plywood: its figure, else its density over 1120 kg/m³
    (mass and volume at 12 % moisture)."""
    known = material.figures.get("specific_gravity")
    if known is not None:
        return known
    gravity = material.density_kg_m3 / 1120.0
    return Figure(gravity, gravity, joined(material.source, "density / 1120"), "calculated")


def figure_of(material: Material, name: str) -> Figure:
    """A figure of a material by name, the table's where it has one, else an estimate with
    trust "practice".

    Raises
    ------
    KeyError
        When neither the material has a figure of that name nor anything like it is known
        of such materials.
    """
    known = material.figures.get(name)
    if known is not None:
        return known
    if material.stuff in ("wood", "plywood") and name in _POWERS:
        factor, power = _POWERS[name]
        value = factor * specific_gravity(material).middle ** power
        return Figure(value, value, _BY_GRAVITY, "practice").times(*_SPREAD)
    low, high = _RULES[material.stuff][name]
    return Figure(low, high, _THUMB, "practice")
