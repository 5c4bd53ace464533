"""Metals: sheets, rods and spring wires."""

from __future__ import annotations

from core.materials.figure import Figure, Material, one

_TEXT = "textbook table of structural metals"
_COURSE = "course table of material properties, ksi turned into MPa"
_RODS = "handbook values of bright rod"
_WIRES = "spring makers' tables, thick to thin wire"

METALS = (
    Material(
        "aluminium-6061", "aluminium 6061-T6", 2710.0, _TEXT, "read", "metal",
        {
            "elastic_gpa": one(68.9, _TEXT, "read"),
            "shear_modulus_gpa": one(26.0, _TEXT, "read"),
            "yield_mpa": Figure(255, 276, _TEXT + "; 276 also common (from memory)", "read"),
            "tensile_mpa": Figure(290, 310, _TEXT + "; 310 also common (from memory)", "read"),
        },
    ),
    Material(
        "steel", "mild steel A36", 7850.0, _TEXT, "read", "metal",
        {
            "elastic_gpa": one(200.0, _TEXT, "read"),
            "shear_modulus_gpa": one(75.0, _TEXT, "read"),
            "yield_mpa": one(250.0, _TEXT, "read"),
            "tensile_mpa": one(400.0, _TEXT, "read"),
        },
    ),
    Material(
        "brass", "naval brass", 8400.0, "handbook value", "from memory", "metal",
        {
            "elastic_gpa": one(103.0, _COURSE, "read"),
            "yield_mpa": one(414.0, _COURSE, "read"),
            "tensile_mpa": one(586.0, _COURSE, "read"),
        },
    ),
    Material(
        "silver-steel", "silver steel, as bought", 7850.0, "as steel", "from memory", "metal",
        {
            "elastic_gpa": one(205.0, _RODS, "from memory"),
            "shear_modulus_gpa": one(79.0, _RODS, "from memory"),
            "yield_mpa": Figure(340, 400, _RODS + ", annealed", "from memory"),
            "tensile_mpa": Figure(600, 750, _RODS + ", annealed", "from memory"),
        },
        note="ground rod, soft until hardened",
    ),
    Material(
        "stainless", "stainless steel 302/304, annealed", 7900.0, "handbook value",
        "from memory", "metal",
        {
            "elastic_gpa": one(193.0, _COURSE, "read"),
            "yield_mpa": Figure(205, 262, _COURSE + "; 205 the least asked of 304",
                                "from memory"),
            "tensile_mpa": Figure(515, 655, _COURSE + "; 515 the least asked of 304",
                                  "from memory"),
        },
    ),
    Material(
        "brass-rod", "free-cutting brass rod", 8500.0, "table of materials", "read", "metal",
        {
            "elastic_gpa": one(97.0, _RODS, "from memory"),
            "shear_modulus_gpa": one(37.0, _RODS, "from memory"),
            "yield_mpa": Figure(170, 310, _RODS + ", soft to half hard", "from memory"),
            "tensile_mpa": Figure(330, 400, _RODS + ", soft to half hard", "from memory"),
        },
    ),
    Material(
        "music-wire", "music wire", 7850.0, "as steel", "from memory", "metal",
        {
            "shear_modulus_gpa": Figure(79.0, 81.0, "spring makers' tables", "from memory"),
            "elastic_gpa": one(198.0, "28.7 Mpsi, spring textbook", "from memory"),
            "tensile_mpa": Figure(1700, 2700, _WIRES, "from memory"),
            "yield_mpa": Figure(1200, 2000, _WIRES + ", about 0.75 of tension", "from memory"),
        },
        note="springs",
    ),
    Material(
        "stainless-wire", "stainless spring wire", 7900.0, "handbook value", "from memory",
        "metal",
        {
            "shear_modulus_gpa": one(69.0, "spring makers' tables", "from memory"),
            "elastic_gpa": one(193.0, "handbook value", "from memory"),
            "tensile_mpa": Figure(1500, 2200, _WIRES, "from memory"),
            "yield_mpa": Figure(1000, 1600, _WIRES + ", about 0.7 of tension", "from memory"),
        },
        note="springs",
    ),
)
