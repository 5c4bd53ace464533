"""The figures that gaps which open and close are held against, with their sources."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Rule:
    """What is held against: a gap into which `admits_mm` goes must not close below
    `safe_mm`."""

    name: Literal["finger", "toy", "toy hinge"]
    admits_mm: float
    safe_mm: float
    source: str


FINGER = Rule("finger", 6.0, 25.0, "ISO 13854, least gap for a finger, as quoted; fingertips go"
              " into slots of 6 mm: ISO 13857, from memory")
TOY = Rule("toy", 5.0, 12.0, "a gap of a toy that admits a 5 mm rod must admit one of 12 mm:"
           " EN 71-1, ISO 8124-1, from memory")
TOY_HINGE = Rule("toy hinge", 5.0, 12.0, "12 mm of clearance along a hinge line: EN 71-1, A.13,"
                 " as quoted")
