"""Materials and friction: figures with the source of each and how far it can be trusted.

`MATERIALS` is the table; `breaking` and `allowable` say what each bears, at which angle to
its grain; `FRICTION` lists coefficients.
"""

from core.materials.allowable import (
    KINDS,
    Figures,
    Kind,
    allowable,
    allowable_over,
    breaking,
    breaking_over,
    safety_number,
)
from core.materials.angles import bending_left, hankinson
from core.materials.estimates import figure_of, specific_gravity
from core.materials.figure import Figure, Material, PlyRow, Stuff, Trust
from core.materials.friction import FRICTION, Rubbing
from core.materials.plies import TOLERANCE_SOURCE, ply_row, ply_tolerance
from core.materials.table import MATERIALS, material

__all__ = [
    "FRICTION", "KINDS", "MATERIALS", "TOLERANCE_SOURCE", "Figure", "Figures", "Kind",
    "Material", "PlyRow", "Rubbing", "Stuff", "Trust", "allowable", "allowable_over",
    "bending_left", "breaking", "breaking_over", "figure_of", "hankinson", "material",
    "ply_row", "ply_tolerance", "safety_number", "specific_gravity",
]
