"""Boards and plastics."""

from __future__ import annotations

from core.materials.figure import Figure, Material, one

_SHEETS = "general data sheets"
_BOARD = "general board data"
_ACETAL = "a data sheet of acetal homopolymer"
_COURSE = "course table of material properties, ksi turned into MPa"

BOARDS = (
    Material(
        "mdf", "MDF", 750.0, "general board data, 700 to 800 kg/m³", "from memory",
        "board",
        {
            "density_kg_m3": Figure(700, 800, _BOARD, "from memory"),
            "elastic_gpa": Figure(2.5, 4.0, _BOARD, "from memory"),
            "bending_mpa": Figure(20, 35, _BOARD, "from memory"),
            "internal_bond_mpa": one(0.55, _BOARD, "from memory"),
        },
    ),
    Material(
        "acrylic", "cast acrylic", 1190.0, _SHEETS, "from memory", "plastic",
        {
            "elastic_gpa": Figure(3.0, 3.3, _SHEETS, "from memory"),
            "tensile_mpa": Figure(65, 75, _SHEETS, "from memory"),
        },
        note="brittle at holes",
    ),
    Material(
        "pla", "PLA, printed", 1240.0, "general data sheets, solid infill", "from memory",
        "plastic",
        {
            "elastic_gpa": Figure(3.0, 3.6, _SHEETS, "from memory"),
            "tensile_mpa": Figure(45, 60, "general data sheets, along layers",
                                  "from memory"),
            "across_layers_share": Figure(0.5, 0.7, _SHEETS, "from memory"),
        },
        note="printed flat, solid; softens at about 60 °C",
    ),
    Material(
        "acetal", "acetal (POM)", 1420.0, _ACETAL, "read", "plastic",
        {
            "elastic_gpa": Figure(2.6, 3.1, _ACETAL, "read"),
            "tensile_mpa": Figure(62, 69, _ACETAL + "; 62 also common", "read"),
            "shear_mpa": one(66, _ACETAL, "read"),
        },
        note="slides well, cannot be glued",
    ),
    Material(
        "nylon", "nylon 6-6", 1140.0, "general data sheets", "from memory", "plastic",
        {
            "elastic_gpa": Figure(1.5, 2.8, _COURSE + ", 2.8 dry; about 1.5 in damp air",
                                  "from memory"),
            "tensile_mpa": Figure(55, 76, _COURSE + ", 8 ksi to yield, 11 ksi to break",
                                  "read"),
        },
        note="swells in damp air",
    ),
)
