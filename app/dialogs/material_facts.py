"""A material in words: its heading, and a row for each of its figures."""

from __future__ import annotations

from core.making.ranges import show_range
from core.materials import Figure, Kind, Material, allowable, breaking, safety_number
from core.materials.names import FIGURE_WORDS, STUFF_WORDS, TRUST_WORDS

Facts = tuple[str, str, str, str]
#: What is worth knowing of every kind of material besides its figures.
_BEARS: tuple[tuple[Kind, str], ...] = (
    ("bending", "bent in its plane"), ("compression", "pressed"),
    ("bearing", "by a 6 mm rod"))


def heading(material: Material) -> str:
    """Kind, density and note in one paragraph."""
    parts = [f"{STUFF_WORDS[material.stuff].capitalize()}, {material.density_kg_m3:g} kg/m³"
             f" ({TRUST_WORDS[material.trust]}: {material.source})."]
    if material.note:
        parts.append(material.note[:1].upper() + material.note[1:].rstrip(".") + ".")
    return " ".join(parts)


def figure_rows(material: Material, units: str = "mm") -> list[Facts]:
    """Figure, value, trust and source of everything that is known, and what may be built
    on along the grain (plywood: 9 mm). Where lengths are in inches stresses stand in psi
    behind the figure of the table."""
    rows = [(FIGURE_WORDS.get(name, (name.replace("_", " "), ""))[0],
             _value(figure, FIGURE_WORDS.get(name, ("", ""))[1], units),
             TRUST_WORDS[figure.trust], figure.source)
            for name, figure in material.figures.items()]
    number = safety_number(material.stuff)
    rows.append(("safety number", _value(number, ""), TRUST_WORDS[number.trust],
                 number.source))
    for kind, words in _BEARS:
        may, breaks = allowable(material, kind, 9.0), breaking(material, kind, 9.0)
        rows.append((f"to build on, {words}", _value(may, "MPa", units),
                     TRUST_WORDS[breaks.trust], may.source))
    return [*rows, *_ply_rows(material)]


def _ply_rows(material: Material) -> list[Facts]:
    rows: list[Facts] = []
    for what, along, across, unit in (
            ("bent flat", "bending_along_mpa", "bending_across_mpa", "MPa"),
            ("bent flat, modulus", "elastic_along_gpa", "elastic_across_gpa", "GPa"),
            ("pulled", "tension_along_mpa", "tension_across_mpa", "MPa"),
            ("pressed", "compression_along_mpa", "compression_across_mpa", "MPa"),
            ("in its plane, modulus", "stretch_along_gpa", "stretch_across_gpa", "GPa")):
        rows += [(f"{what}, {ply.thickness_mm:g} mm",
                  f"{getattr(ply, along):g} along, {getattr(ply, across):g} across {unit}",
                  TRUST_WORDS[material.trust], material.source) for ply in material.plies]
    return rows


def _value(figure: Figure, unit: str, units: str = "mm") -> str:
    low, high = f"{figure.low:.3g}", f"{figure.high:.3g}"
    number = low if low == high else f"{low} to {high}"
    times = {"MPa": 1.0, "GPa": 1000.0}.get(unit)
    psi = "" if times is None or units != "in" else (
        f" ({show_range(times * figure.low, times * figure.high, 'MPa', units)})")
    return f"{number} {unit}{psi}".strip()
