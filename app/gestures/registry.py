"""The tools in the order of the bench."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ToolInfo:
    """One tool as the bench shows it: name, key, and one line that says what it does."""

    id: str
    name: str
    key: str
    tip: str


TOOLS: tuple[ToolInfo, ...] = (
    ToolInfo("arrange", "Arrange", "V", "Select; drag a pin, point or part to re-dimension"),
    ToolInfo("hand", "Hand", "H", "Turn the mechanism by the crank or by any part"),
    ToolInfo("part", "Part", "P", "Draw bars, bent bars, plates and discs, point by point"),
    ToolInfo("pin", "Pin", "N", "Pin parts together, or one part to the frame"),
    ToolInfo("slide", "Slide", "L", "Let a point slide along a straight guide"),
    ToolInfo("slot", "Slot", "O", "Let a pin turn and slide in a slot"),
    ToolInfo("mesh", "Mesh", "M", "Make two discs run as a gear pair"),
    ToolInfo("belt", "Belt", "B", "Lay a belt round two discs"),
    ToolInfo("lock", "Lock", "K", "Make parts fast to each other"),
    ToolInfo("spring", "Spring", "S",
             "Stretch a spring between two points, or wind one on a pin"),
    ToolInfo("load", "Load", "W", "Pull on a point, or twist a part"),
    ToolInfo("crank", "Crank", "C", "Make a pinned part the crank"),
    ToolInfo("trace", "Trace", "T", "Draw the path of a point"),
    ToolInfo("wish", "Wish", "D",
             "Draw the path a point should take, or place a part where it should be"),
    ToolInfo("region", "Region", "E", "Mark where points must be, or must not be, in a fit"),
    ToolInfo("scale", "Scale", "U",
             "Two clicks and their distance scale the picture under the sketch"),
)


def tool_info(tool_id: str) -> ToolInfo:
    """The tool of that id; KeyError when there is none."""
    for info in TOOLS:
        if info.id == tool_id:
            return info
    raise KeyError(tool_id)
