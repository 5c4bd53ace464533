"""Coefficients of friction: published ranges with the source and trust of each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.materials.figure import Trust


@dataclass(frozen=True)
class Rubbing:
    """Coefficient of friction of a pair of surfaces, dimensionless."""

    pair: str
    low: float
    high: float
    state: Literal["static", "kinetic", "either"]
    source: str
    trust: Trust


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
