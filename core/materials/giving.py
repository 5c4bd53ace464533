"""Where each kind of material gives way: one function for woods, plywood, boards, plastics
and metals, all with the same face."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from core.materials.angles import (
    HANKINSON,
    NORRIS,
    SLOPES,
    Floats,
    bending_left,
    hankinson,
    norris,
    ply_stretch,
)
from core.materials.estimates import figure_of
from core.materials.figure import Figure, Material, Stuff, Trust, joined, weakest
from core.materials.plies import ply_row

Given = tuple[Any, Any, str, Trust]
Rule = Callable[[Material, str, float, Floats], Given]

_GPA = 1000.0
#: Strength of wood in shear across the fibres over that along them: the design figure and
#: what tests of rolling shear give.
_ACROSS_SHEAR = Figure(0.18, 1 / 3, "Forest Products Laboratory report 1522: a third of shear"
                       " along the grain; rolling shear 18 % and more (from memory)",
                       "from memory")
#: Stiffness across the grain over that along it, and shear modulus over elastic modulus.
_ACROSS_STIFF = Figure(0.04, 0.12, "USDA Wood Handbook", "from memory")
_SHEAR_STIFF = Figure(0.05, 0.09, "USDA Wood Handbook, elastic ratios", "from memory")


def _given(figure: Figure, *more: str) -> Given:
    return figure.low, figure.high, joined(figure.source, *more), figure.trust


def _share(figure: Figure, low: float, high: float, why: str) -> Given:
    """A figure times a rule of thumb."""
    part = figure.times(low, high)
    return part.low, part.high, joined(figure.source, why), "practice"


def _between(along: Figure, across: Figure) -> tuple[str, Trust]:
    """Source and trust of a value at an angle between two directions."""
    return (joined(along.source, across.source, HANKINSON),
            weakest(along.trust, across.trust))


def _wood(material: Material, kind: str, thickness_mm: float, angle: Floats) -> Given:
    if kind in ("bending", "bending-flat", "tension"):
        bending = figure_of(material, "bending_mpa")
        across = figure_of(material, "tension_across_mpa")
        left = bending_left(angle, across.middle / bending.middle)
        source = joined(bending.source, SLOPES if np.any(left < 1.0) else "",
                        "taken for tension too, a low estimate" if kind == "tension" else "")
        return (bending.low * left, bending.high * left, source,
                weakest(bending.trust, "from memory") if np.any(left < 1.0) else bending.trust)
    if kind == "compression":
        along = figure_of(material, "compression_along_mpa")
        across = figure_of(material, "compression_across_mpa")
        return (hankinson(along.low, across.low, angle),
                hankinson(along.high, across.high, angle),
                *(_between(along, across) if np.any(np.sin(angle)) else
                  (along.source, along.trust)))
    if kind in ("elastic", "elastic-flat"):
        stiff = figure_of(material, "elastic_gpa").times(_GPA)
        return (hankinson(stiff.low, stiff.low * _ACROSS_STIFF.low, angle),
                hankinson(stiff.high, stiff.high * _ACROSS_STIFF.high, angle),
                *(_between(stiff, _ACROSS_STIFF) if np.any(np.sin(angle)) else
                  (stiff.source, stiff.trust)))
    if kind == "shear-modulus":
        known = material.figures.get("shear_modulus_gpa")
        if known is not None:
            return _given(known.times(_GPA))
        stiff = figure_of(material, "elastic_gpa").times(_GPA)
        part = stiff.times(_SHEAR_STIFF.low, _SHEAR_STIFF.high)
        return part.low, part.high, joined(stiff.source, _SHEAR_STIFF.source), "from memory"
    shear = figure_of(material, "shear_along_mpa")
    if kind == "panel-shear":
        return _given(shear)
    across = shear.times(_ACROSS_SHEAR.low, _ACROSS_SHEAR.high)
    if kind == "rolling-shear":
        return (across.low, across.high, joined(shear.source, _ACROSS_SHEAR.source),
                weakest(shear.trust, _ACROSS_SHEAR.trust))
    return (hankinson(shear.low, across.low, angle), hankinson(shear.high, across.high, angle),
            *(_between(shear, _ACROSS_SHEAR) if np.any(np.sin(angle)) else
              (shear.source, shear.trust)))


def _plywood(material: Material, kind: str, thickness_mm: float, angle: Floats) -> Given:
    panel = figure_of(material, "panel_shear_mpa")
    if kind in ("shear", "panel-shear"):
        return _given(panel)
    if kind == "rolling-shear":
        return _given(figure_of(material, "rolling_shear_mpa"))
    rigid = figure_of(material, "shear_modulus_gpa").times(_GPA)
    if kind == "shear-modulus":
        return _given(rigid)
    if not material.plies:
        return _unlisted(material, kind, angle)
    row, source = ply_row(material, thickness_mm), material.source
    trust: Trust = weakest(material.trust, "from memory")
    if kind in ("bending-flat", "elastic-flat"):
        along, across = (row.bending_along_mpa, row.bending_across_mpa) if (
            kind == "bending-flat") else (_GPA * row.elastic_along_gpa,
                                          _GPA * row.elastic_across_gpa)
        value = hankinson(along, across, angle)
        return value, value, joined(source, HANKINSON), trust
    if kind == "elastic":
        ends = [ply_stretch(_GPA * row.stretch_along_gpa, _GPA * row.stretch_across_gpa, g,
                            angle) for g in (rigid.low, rigid.high)]
        return ends[0], ends[1], source, trust
    along, across = (row.compression_along_mpa, row.compression_across_mpa) if (
        kind == "compression") else (row.tension_along_mpa, row.tension_across_mpa)
    ends = [norris(along, across, shear, angle) for shear in (panel.low, panel.high)]
    return (ends[0], ends[1], joined(source, NORRIS, "bent in its plane it bears as in tension"
                                     if kind == "bending" else ""), trust)


def _unlisted(material: Material, kind: str, angle: Floats) -> Given:
    """A plywood without a table: half of what wood of its density bears, as half of the
    plies lie along the load; at 45° the shear strength of the panel governs."""
    name = "elastic_gpa" if kind.startswith("elastic") else (
        "compression_along_mpa" if kind == "compression" else "bending_mpa")
    half = figure_of(material, name).times(0.4, 0.55).times(
        _GPA if name == "elastic_gpa" else 1.0)
    shear = figure_of(material, "shear_modulus_gpa" if name == "elastic_gpa"
                      else "panel_shear_mpa").times(_GPA if name == "elastic_gpa" else 1.0)
    rule = ply_stretch if name == "elastic_gpa" else norris
    return (rule(half.low, half.low, shear.low, angle),
            rule(half.high, half.high, shear.high, angle),
            joined(half.source, "about half of it, as half of the plies lie along the load"),
            "practice")


def _board(material: Material, kind: str, thickness_mm: float, angle: Floats) -> Given:
    if kind in ("elastic", "elastic-flat", "shear-modulus"):
        stiff = figure_of(material, "elastic_gpa").times(_GPA)
        return _given(stiff) if kind != "shear-modulus" else _share(
            stiff, 0.35, 0.45, "shear modulus about 0.4 of it")
    if kind == "rolling-shear":
        return _share(figure_of(material, "internal_bond_mpa"), 1.0, 2.0,
                      "one to two times the internal bond, rule of thumb")
    bending = figure_of(material, "bending_mpa")
    if kind == "bending-flat":
        return _given(bending)
    low, high = {"shear": (0.3, 0.4), "panel-shear": (0.3, 0.4)}.get(kind, (0.5, 0.8))
    return _share(bending, low, high,
                  f"{low:g} to {high:g} of it in the plane of the board, rule of thumb")


def _plastic(material: Material, kind: str, thickness_mm: float, angle: Floats) -> Given:
    if kind in ("elastic", "elastic-flat"):
        return _given(figure_of(material, "elastic_gpa").times(_GPA))
    if kind == "shear-modulus":
        return _share(figure_of(material, "elastic_gpa").times(_GPA), 0.34, 0.38,
                      "E / (2 + 2 ν)")
    pull = figure_of(material, "tensile_mpa")
    if kind in ("bending", "bending-flat", "tension", "compression"):
        return _given(pull)
    across = material.figures.get("across_layers_share")
    known = material.figures.get("shear_mpa")
    if kind == "rolling-shear" and across is not None:
        part = pull.times(0.5 * across.low, 0.6 * across.high)
        return part.low, part.high, joined(pull.source, across.source), "practice"
    if known is not None:
        return _given(known)
    return _share(pull, 0.5, 0.6, "shear about half of tension, rule of thumb")


def _metal(material: Material, kind: str, thickness_mm: float, angle: Floats) -> Given:
    if kind in ("elastic", "elastic-flat"):
        return _given(figure_of(material, "elastic_gpa").times(_GPA))
    if kind == "shear-modulus":
        known = material.figures.get("shear_modulus_gpa")
        if known is not None:
            return _given(known.times(_GPA))
        stiff = figure_of(material, "elastic_gpa").times(_GPA)
        part = stiff.times(1 / 2.66, 1 / 2.58)
        return part.low, part.high, joined(stiff.source, "E / (2 + 2 ν)"), weakest(
            stiff.trust, "calculated")
    strong = figure_of(material, "yield_mpa")
    if kind in ("bending", "bending-flat", "tension", "compression"):
        return _given(strong)
    shear = strong.times(1 / math.sqrt(3.0))
    return (shear.low, shear.high, joined(strong.source, "yield / √3, von Mises"),
            weakest(strong.trust, "calculated"))


#: By kind of material: (material, kind, thickness mm, angles) to low and high end (MPa,
#: broadcasting with the angles), source and trust.
GIVING: dict[Stuff, Rule] = {"wood": _wood, "plywood": _plywood, "board": _board,
                             "plastic": _plastic, "metal": _metal}
