"""Solid woods: mean strengths of small clear specimens at 12 % moisture.

They are means: divide by a safety number before building on them (`allowable`).
"""

from __future__ import annotations

from core.materials.figure import Figure, Material, Trust, one

_HAND = "USDA Wood Handbook, small clear specimens at 12 % moisture"
_CLEAR = _HAND + ", psi turned into MPa"
_RUPTURE = _HAND + ", modulus of rupture"
_PULL = _HAND + ", tension across the grain"
_MOIST = "1120 × specific gravity, mass and volume at 12 % moisture"

R: Trust = "read"
M: Trust = "from memory"


def _wood(
    id_: str, name: str, gravity: float, elastic: float, bending: float, along: float,
    across: float | None, shear: float, pull: float | None, *,
    bent: Trust = R, rest: Trust = R, cross: Trust | None = None, note: str = "",
) -> Material:
    """One row: `elastic` in GPa, strengths in MPa (`pull`: tension across the grain). `bent`
    is how far the bending strength is trusted, `rest` the others, `cross` compression
    across and shear where they differ; None: no figure, it is reckoned from the density."""
    cross = cross or rest
    figures = {
        "specific_gravity": one(gravity, _HAND, rest),
        "elastic_gpa": one(elastic, _CLEAR, rest),
        "bending_mpa": one(bending, _RUPTURE, bent),
        "compression_along_mpa": one(along, _CLEAR, rest),
        "shear_along_mpa": one(shear, _CLEAR, cross),
    }
    if across is not None:
        figures["compression_across_mpa"] = one(across, _CLEAR, cross)
    if pull is not None:
        figures["tension_across_mpa"] = Figure(pull, pull, _PULL, "read")
    return Material(id_, name, float(round(1120 * gravity)), _MOIST, "calculated", "wood",
                    figures, note=note or "mean strengths; weak across the grain")


#: Columns: specific gravity, elastic modulus (GPa), bending, compression along and across,
#: shear along, tension across (MPa).
WOODS = (
    _wood("basswood", "basswood", 0.37, 10.1, 60.0, 32.6, 2.6, 6.8, 2.4, bent=M),
    _wood("black-cherry", "black cherry", 0.50, 10.3, 84.8, 49.0, 4.8, 11.7, 3.9),
    _wood("yellow-birch", "yellow birch", 0.62, 13.9, 114.5, 56.3, 6.7, 13.0, 6.3),
    _wood("paper-birch", "paper birch", 0.55, 11.0, 84.8, 39.2, 4.1, 8.3, None),
    _wood("sugar-maple", "sugar maple", 0.63, 12.6, 108.9, 54.0, 10.1, 16.1, None),
    _wood("black-walnut", "black walnut", 0.55, 11.6, 100.7, 52.3, 7.0, 9.4, 4.8, cross=M),
    _wood("beech", "American beech", 0.64, 11.9, 102.7, 50.3, 7.0, 13.9, 7.0),
    _wood("white-ash", "white ash", 0.60, 12.0, 103.4, 51.1, 8.0, 13.2, 6.5),
    _wood("red-oak", "northern red oak", 0.63, 12.5, 98.6, 46.6, 7.0, 12.3, 5.5, rest=M),
    _wood("white-oak", "white oak", 0.68, 12.3, 104.8, 51.3, 7.4, 13.8, 5.5, cross=M),
    _wood("tulipwood", "tulipwood (yellow poplar)", 0.42, 10.9, 69.6, 38.2, 3.4, 8.2, 3.7,
          cross=M),
    _wood("white-pine", "eastern white pine", 0.35, 8.5, 59.0, 33.1, 3.0, 6.2, 2.1, bent=M,
          rest=M),
    _wood("sitka-spruce", "Sitka spruce", 0.40, 10.8, 70.0, 38.7, 4.0, 7.9, None, bent=M,
          rest=M),
    _wood("meranti", "dark red meranti", 0.46, 12.2, 87.6, 50.7, None, 10.0, None,
          note="in place of mahogany; specific gravity of the green wood"),
    _wood("spanish-cedar", "Spanish cedar (cedro)", 0.41, 9.9, 79.3, 42.8, None, 7.6, None,
          note="in place of mahogany; specific gravity of the green wood"),
    _wood("sapele", "sapele", 0.55, 12.5, 105.5, 56.3, None, 15.6, None, bent=M, rest=M,
          note="in place of mahogany"),
)
