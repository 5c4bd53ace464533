"""What a sketch is: frozen structs, and edits from sketch to sketch."""

from core.model.joints import Belt, Lock, Mesh, Pin, PinInSlot, Slide
from core.model.loads import Drive, Force, Gravity, Spring, Torque, TorsionSpring
from core.model.outline import Bar, Disc, Outline, Plate, Polygon
from core.model.parts import Mass, Part, Point
from core.model.refs import join_ref, part_of, split_ref
from core.model.sketch import FORMAT, GROUPS, VERSION, Sketch, Twin, Underlay
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
    "FORMAT", "GROUPS", "VERSION", "Bar", "Belt", "Disc", "Drive", "FitRules", "Force",
    "Gravity", "Knot", "LengthRule", "Lock", "Mass", "Mesh", "Outline", "Part", "Pin",
    "PinInSlot", "Plate", "Point", "Polygon", "Sketch", "Slide", "Spring", "Tick", "Torque",
    "TorsionSpring", "Twin", "Underlay", "WantedAngle", "WantedDwell", "WantedMotion",
    "WantedPath", "WantedPose", "WantedRatio", "WantedStroke", "WantedSwing", "Zone",
    "join_ref", "part_of", "split_ref",
]
