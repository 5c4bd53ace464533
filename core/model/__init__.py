"""What a sketch is: frozen structs, and edits from sketch to sketch."""

from core.model.guards import Guard
from core.model.hand import Handle, HandStep
from core.model.joints import LOCK_KINDS, Belt, Hinge, Lock, Mesh, Pin, PinInSlot, Slide
from core.model.loads import Coil, Drive, Force, Gravity, Spring, Torque, TorsionSpring
from core.model.outline import Bar, Disc, Outline, Plate, Polygon
from core.model.parts import Mass, Part, Point, Weight
from core.model.refs import join_ref, part_of, split_ref
from core.model.sketch import FORMAT, GROUPS, VERSION, Sketch, Twin, Underlay
from core.model.stuff import OwnFigure, OwnMaterial
from core.model.wanted import (
    FitRules,
    Knot,
    LengthRule,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedMotion,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    Zone,
)

__all__ = [
    "FORMAT", "GROUPS", "LOCK_KINDS", "VERSION", "Bar", "Belt", "Coil", "Disc", "Drive",
    "FitRules", "Force", "Gravity", "Guard", "HandStep", "Handle", "Hinge", "Knot",
    "LengthRule", "Lock", "Mass", "Mesh", "Outline", "OwnFigure", "OwnMaterial", "Part", "Pin",
    "PinInSlot",
    "Plate", "Point", "Polygon", "Sketch", "Slide", "Spring", "Tick", "Torque",
    "TorsionSpring", "Twin", "Underlay", "WantedAngle", "WantedDwell", "WantedMotion",
    "WantedPath", "WantedPose", "WantedRatio", "WantedStroke", "WantedSwing", "Weight", "Zone",
    "join_ref", "part_of", "split_ref",
]
