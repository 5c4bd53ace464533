"""A mirrored group is a sketch the file takes back."""

from __future__ import annotations

from msgspec.structs import replace

from core.files import dumps, loads
from core.model import Part, Pin, Point, Sketch
from core.model.edits import mirror
from core.model.validate import problems


def mirrored() -> Sketch:
    frame = Part(id="frame", fixed=True, points=(Point(id="hook", x=20.0, y=0.0),))
    wing = Part(id="wing", points=(Point(id="root", x=20.0, y=0.0),
                                   Point(id="tip", x=60.0, y=10.0)))
    hinge = Pin(id="hinge", at=("frame.hook", "wing.root"))
    sketch = Sketch(parts=(frame, wing), pins=(hinge,))
    return mirror(sketch, ["wing"], 0.0, 0.0, 90.0)[0]


def test_a_twin_hung_on_a_shared_part_is_without_problems_and_survives_the_file() -> None:
    sketch = mirrored()
    assert any("." in name for pair in sketch.twins[0].others for name in pair)
    assert problems(sketch) == []
    assert loads(dumps(sketch)) == sketch


def test_a_twin_that_names_a_missing_point_is_told_where() -> None:
    sketch = mirrored()
    pairs = tuple(("frame.nothing", b) if "." in a else (a, b)
                  for a, b in sketch.twins[0].others)
    twin = replace(sketch.twins[0], others=pairs)
    found = problems(replace(sketch, twins=(twin,)))
    assert len(found) == 1
    assert found[0].fatal
    assert found[0].place.startswith("twins[0].others[")
    assert "nothing" in found[0].what
