"""Plywood: its table by thickness, and how far a sheet may be off its nominal thickness."""

from __future__ import annotations

import numpy as np

from core.materials.figure import Figure, Material, PlyRow, one

_PLY = "Handbook of Finnish Plywood, characteristic values"

PLYWOODS = (
    Material(
        "birch-plywood", "birch plywood", 680.0, _PLY, "from memory", "plywood",
        {
            "panel_shear_mpa": one(9.5, _PLY, "from memory"),
            "rolling_shear_mpa": Figure(1.8, 3.2, _PLY, "from memory"),
            "shear_modulus_gpa": one(0.62, _PLY, "from memory"),
        },
        (
            PlyRow(6.5, 50.9, 29.0, 12.7, 4.8, 42.2, 32.8, 29.3, 22.8, 9.8, 7.7),
            PlyRow(9.0, 45.6, 32.1, 11.4, 6.1, 40.8, 34.2, 28.3, 23.7, 9.5, 8.0),
            PlyRow(12.0, 42.9, 33.2, 10.7, 6.8, 40.0, 35.0, 27.7, 24.3, 9.3, 8.2),
            PlyRow(18.0, 40.2, 34.1, 10.0, 7.5, 39.2, 35.8, 27.2, 24.8, 9.1, 8.4),
        ),
        note="measure the sheet: thickness varies by several tenths of a millimetre",
    ),
)

#: Where the tolerances of sanded plywood come from.
TOLERANCE_SOURCE = "a maker's table of sanded plywood, read"
#: Nominal thickness, most above it, most below it, mm.
_TOLERANCES = ((4.0, 0.3, 0.5), (6.5, 0.4, 0.5), (9.0, 0.4, 0.5), (12.0, 0.5, 0.7),
               (15.0, 0.6, 0.8), (18.0, 0.7, 0.9), (21.0, 0.8, 1.0), (24.0, 0.9, 1.1))


def ply_row(material: Material, thickness_mm: float) -> PlyRow:
    """The row of a plywood for a sheet of that thickness, straight lines between the rows
    of its table; beyond its ends the end rows hold.

    Raises
    ------
    ValueError
        For a material without such a table.
    """
    rows = np.array([[getattr(row, name) for name in PlyRow.__dataclass_fields__]
                     for row in material.plies])
    if not rows.size:
        raise ValueError(f"{material.id} has no table of plies")
    return PlyRow(thickness_mm, *(float(np.interp(thickness_mm, rows[:, 0], column))
                                  for column in rows.T[1:]))


def ply_tolerance(thickness_mm: float) -> tuple[float, float, float]:
    """Nominal thickness of the sheet nearest to `thickness_mm`, and the thinnest and
    thickest it may come, all mm (`TOLERANCE_SOURCE`)."""
    nominal, above, below = min(_TOLERANCES, key=lambda row: abs(row[0] - thickness_mm))
    return nominal, nominal - below, nominal + above
