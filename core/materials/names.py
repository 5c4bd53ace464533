"""What the figures of materials are called, in the file and in words."""

from __future__ import annotations

from core.materials.figure import Stuff, Trust

#: Name of a figure in files and tables → what it is in words, and its unit.
FIGURE_WORDS: dict[str, tuple[str, str]] = {
    "density_kg_m3": ("density, as a range", "kg/m³"),
    "specific_gravity": ("specific gravity", ""),
    "elastic_gpa": ("elastic modulus", "GPa"),
    "shear_modulus_gpa": ("shear modulus", "GPa"),
    "bending_mpa": ("bending strength", "MPa"),
    "compression_along_mpa": ("compression along the grain", "MPa"),
    "compression_across_mpa": ("compression across the grain", "MPa"),
    "tension_across_mpa": ("tension across the grain", "MPa"),
    "shear_along_mpa": ("shear along the grain", "MPa"),
    "panel_shear_mpa": ("shear of the panel", "MPa"),
    "rolling_shear_mpa": ("rolling shear", "MPa"),
    "internal_bond_mpa": ("internal bond", "MPa"),
    "tensile_mpa": ("tensile strength", "MPa"),
    "yield_mpa": ("yield strength", "MPa"),
    "shear_mpa": ("shear strength", "MPa"),
    "across_layers_share": ("strength across layers, of that along them", ""),
}
#: Which figures the rules look for, by kind of material, the most telling first.
FIGURES_OF: dict[Stuff, tuple[str, ...]] = {
    "wood": ("elastic_gpa", "bending_mpa", "compression_along_mpa", "compression_across_mpa",
             "shear_along_mpa", "tension_across_mpa", "specific_gravity"),
    "plywood": ("panel_shear_mpa", "rolling_shear_mpa", "shear_modulus_gpa"),
    "board": ("elastic_gpa", "bending_mpa", "internal_bond_mpa"),
    "plastic": ("elastic_gpa", "tensile_mpa", "shear_mpa", "across_layers_share"),
    "metal": ("elastic_gpa", "shear_modulus_gpa", "yield_mpa", "tensile_mpa"),
}
#: Kinds of material and degrees of trust in words.
STUFF_WORDS: dict[Stuff, str] = {
    "wood": "solid wood", "plywood": "plywood", "board": "board", "plastic": "plastic",
    "metal": "metal"}
TRUST_WORDS: dict[Trust, str] = {
    "read": "read in a copy of the source", "from memory": "recalled, not checked",
    "calculated": "calculated", "practice": "common practice, no source", "own": "your own"}
