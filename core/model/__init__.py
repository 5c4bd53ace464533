"""What a sketch is: frozen structs, and edits from sketch to sketch."""

from core.model.joints import Belt, Lock, Mesh, Pin, PinInSlot, Slide
from core.model.loads import Drive, Force, Gravity, Spring, Torque, TorsionSpring
from core.model.outline import Bar, Disc, Outline, Plate, Polygon
from core.model.parts import Mass, Part, Point
from core.model.refs import join_ref, part_of, split_ref
from core.model.sketch import FORMAT, GROUPS, VERSION, Sketch, Twin, Underlay

__all__ = [
    "FORMAT", "GROUPS", "VERSION", "Bar", "Belt", "Disc", "Drive", "Force", "Gravity",
    "Lock", "Mass", "Mesh", "Outline", "Part", "Pin", "PinInSlot", "Plate", "Point",
    "Polygon", "Sketch", "Slide", "Spring", "Torque", "TorsionSpring", "Twin",
    "Underlay", "join_ref", "part_of", "split_ref",
]
