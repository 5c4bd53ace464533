"""The tools in the order of the bench."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ToolInfo:
    """One tool as the bench shows it: name, key, and one line that says what it does.

    `main` tools are the big buttons; the others belong below them.
    """

    id: str
    name: str
    key: str
    tip: str
    main: bool = True


TOOLS: tuple[ToolInfo, ...] = (
    ToolInfo("arrange", "Arrange", "V", "Select; drag a pin, point or part to re-dimension"),
    ToolInfo("hand", "Hand", "H", "Turn the mechanism by the crank or by any part"),
    ToolInfo("part", "Part", "P", "Draw bars, bent bars, plates and discs, point by point"),
    ToolInfo("pin", "Pin", "N", "Pin parts together, or one part to the frame"),
    ToolInfo("slide", "Slide", "L", "Let a point slide along a straight guide"),
    ToolInfo("slot", "Slot", "O", "Let a pin turn and slide in a slot", main=False),
    ToolInfo("mesh", "Mesh", "M", "Make two discs run as a gear pair", main=False),
    ToolInfo("belt", "Belt", "B", "Lay a belt round two discs", main=False),
    ToolInfo("lock", "Lock", "K", "Make parts fast to each other", main=False),
    ToolInfo("spring", "Spring", "S",
             "Stretch a spring between two points, or wind one on a pin", main=False),
    ToolInfo("load", "Load", "W", "Pull on a point, or twist a part", main=False),
    ToolInfo("crank", "Crank", "C", "Make a pinned part the crank", main=False),
    ToolInfo("trace", "Trace", "T", "Draw the path of a point", main=False),
    ToolInfo("scale", "Underlay scale", "U", "Two clicks and their distance scale the picture",
             main=False),
)


def tool_info(tool_id: str) -> ToolInfo:
    """The tool of that id; KeyError when there is none."""
    for info in TOOLS:
        if info.id == tool_id:
            return info
    raise KeyError(tool_id)
