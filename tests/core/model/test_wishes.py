"""Wishes in the model: what they point at, what does not fit, what outlives what."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from core.model import (
    FitRules,
    Knot,
    LengthRule,
    Part,
    Point,
    Sketch,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    Zone,
)
from core.model.edits import copy_parts, mirror, remove, rename
from core.model.validate import problems

LEVER = Part(id="lever", points=(Point(id="A", x=0, y=0), Point(id="B", x=50, y=0)))
ARM = Part(id="arm", points=(Point(id="A", x=50, y=0), Point(id="B", x=90, y=0)))
PATH = WantedPath(id="loop", point="lever.B", through=((0, 0), (10, 0), (10, 10)))
NOD = WantedAngle(id="nod", part="lever", line=("lever.A", "lever.B"),
                  knots=(Knot(crank_deg=0, angle_deg=0), Knot(crank_deg=90, angle_deg=20)))
POSE = WantedPose(id="ghost", at="lever.A", toward="lever.B", x=0, y=0, angle_deg=5,
                  crank_deg=30)
SKETCH = Sketch(
    parts=(LEVER, ARM), wanted=(PATH, NOD, POSE),
    zones=(Zone(id="in here", corners=((0, 0), (9, 0), (9, 9)), points=("lever.A", "arm.B")),),
    length_rules=(LengthRule(id="same", ends=("lever.A", "lever.B", "arm.A", "arm.B"),
                             equal=True),),
    fit=FitRules(free=("lever.B", "arm.B")))


def said(sketch: Sketch) -> str:
    return "; ".join(f"{one.place}: {one.what}" for one in problems(sketch))


def test_a_sound_sketch_with_wishes_has_no_problem() -> None:
    assert "wanted" not in said(SKETCH)
    assert "zones" not in said(SKETCH)


def test_renaming_a_part_takes_its_wishes_along() -> None:
    new = rename(SKETCH, "lever", "paddle")
    assert [wish.id for wish in new.wanted] == ["loop", "nod", "ghost"]
    path, nod, pose = new.wanted
    assert isinstance(path, WantedPath)
    assert path.point == "paddle.B"
    assert isinstance(nod, WantedAngle)
    assert (nod.part, nod.line) == ("paddle", ("paddle.A", "paddle.B"))
    assert isinstance(pose, WantedPose)
    assert pose.toward == "paddle.B"
    assert new.zones[0].points == ("paddle.A", "arm.B")
    assert new.length_rules[0].ends[:2] == ("paddle.A", "paddle.B")
    assert new.fit.free == ("paddle.B", "arm.B")
    assert problems(new) == problems(SKETCH)


def test_renaming_a_point_takes_its_wishes_along() -> None:
    new = rename(SKETCH, "lever.B", "tip")
    assert isinstance(new.wanted[0], WantedPath)
    assert new.wanted[0].point == "lever.tip"
    assert new.fit.free == ("lever.tip", "arm.B")


def test_a_wish_outlives_its_part_attached_to_nothing() -> None:
    new = remove(SKETCH, ["lever"])
    path, nod, pose = new.wanted
    assert path == replace(PATH, point="")
    assert nod == replace(NOD, part="", line=())
    assert pose == replace(POSE, at="", toward="")
    assert new.zones[0].points == ("arm.B",)
    assert new.length_rules[0].ends == ("arm.A", "arm.B")
    assert new.fit.free == ("arm.B",)
    assert "wanted" not in said(new)


def test_a_pose_lets_go_of_both_points_when_one_goes() -> None:
    pose = remove(SKETCH, ["lever.B"]).wanted[2]
    assert isinstance(pose, WantedPose)
    assert (pose.at, pose.toward) == ("", "")


def test_a_zone_goes_with_the_last_point_it_named_but_not_without_points() -> None:
    assert not remove(SKETCH, ["lever", "arm"]).zones
    whole = replace(SKETCH, zones=(Zone(id="bench", corners=((0, 0), (9, 0), (9, 9))),))
    assert remove(whole, ["lever", "arm"]).zones == whole.zones


def test_wishes_can_be_removed_by_name() -> None:
    new = remove(SKETCH, ["loop", "in here", "same"])
    assert [wish.id for wish in new.wanted] == ["nod", "ghost"]
    assert not new.zones
    assert not new.length_rules


def test_copies_and_mirror_images_take_no_wishes() -> None:
    assert not copy_parts(SKETCH, ["lever"]).wanted
    image, _ = mirror(SKETCH, ["lever"], 0, 0, 90)
    assert image.wanted == SKETCH.wanted


@pytest.mark.parametrize(("change", "words"), [
    ({"wanted": (replace(PATH, point="lever.Z"),)}, "no point of"),
    ({"wanted": (replace(NOD, part="flap", line=()),)}, "no part called"),
    ({"wanted": (replace(PATH, through=((0, 0), (1, 0))),)}, "fewer than three"),
    ({"wanted": (replace(PATH, ticks=(Tick(at=3.5, crank_deg=0),)),)}, "beyond its end"),
    ({"wanted": (replace(NOD, line=("lever.A", "arm.B")),)}, "two points of its part"),
    ({"wanted": (replace(NOD, knots=NOD.knots[:1]),)}, "fewer than two"),
    ({"wanted": (replace(NOD, knots=(NOD.knots[0],) * 2),)}, "two knots at one"),
    ({"wanted": (replace(POSE, toward="arm.B"),)}, "two points of one part"),
    ({"wanted": (replace(POSE, toward=""),)}, "two points of a part"),
    ({"wanted": (WantedDwell(id="rest", from_deg=0, to_deg=9, part="lever",
                             point="arm.B"),)}, "of a part and of a point"),
    ({"wanted": (replace(PATH, tolerance_mm=0.0),)}, "must be above 0"),
    ({"wanted": (PATH, PATH)}, "is taken"),
    ({"zones": (Zone(id="out", corners=((0, 0), (1, 0)), keep="out"),)}, "has no inside"),
    ({"length_rules": (LengthRule(id="odd", ends=("lever.A",)),)}, "two ends"),
    ({"length_rules": (LengthRule(id="far", ends=("lever.A", "arm.B")),)}, "not on one part"),
    ({"fit": FitRules(shortest_mm=9, longest_mm=3)}, "below the shortest"),
    ({"fit": FitRules(free=("lever.Z",))}, "no point of"),
])
def test_what_does_not_fit_is_said(change: dict[str, object], words: str) -> None:
    assert words in said(replace(SKETCH, **change))
