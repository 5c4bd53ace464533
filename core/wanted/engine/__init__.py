"""Many mechanisms at once: recipes, their kinematics with exact derivatives, and descent.

Angles rad counter-clockwise, places mm in the sketch frame; arrays are mechanisms first
(M), crank angles second (N), parameters last (P). A crank's axis points along x at crank
angle 0 (plus its phase, if it has one).
"""

from core.wanted.engine.descent import Descent, descend
from core.wanted.engine.limits import Limits
from core.wanted.engine.mechanisms import Mechanisms, joined, mirrored, moved, named
from core.wanted.engine.recipe import (
    BodyPoint,
    Crank,
    Dyad,
    FramePoint,
    Link,
    Parameter,
    Recipe,
    SlideDyad,
    SlottedLever,
)
from core.wanted.engine.run import Run, run
from core.wanted.engine.watching import Shown, View, Watched, watch

__all__ = [
    "BodyPoint",
    "Crank",
    "Descent",
    "Dyad",
    "FramePoint",
    "Limits",
    "Link",
    "Mechanisms",
    "Parameter",
    "Recipe",
    "Run",
    "Shown",
    "SlideDyad",
    "SlottedLever",
    "View",
    "Watched",
    "descend",
    "joined",
    "mirrored",
    "moved",
    "named",
    "run",
    "watch",
]
