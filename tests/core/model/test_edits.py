"""Edits of a sketch: every reference follows, nothing dangles."""

from __future__ import annotations

import pytest
from linkages import rod_four_bar

from core.errors import EditError
from core.model import (
    Disc,
    Force,
    Lock,
    Mesh,
    Part,
    Plate,
    Point,
    Sketch,
    Torque,
    TorsionSpring,
    edits,
)
from core.model.links import items, parts_of, pins_of, point_refs


def four_bar() -> Sketch:
    return rod_four_bar(
        30 + 20j,
        forces=(Force(id="push", at="rod.P", fx_n=1.0, fy_n=2.0),),
        torsion_springs=(TorsionSpring(id="coil", pin="q", a="frame", b="rocker",
                                       rate_nmm_per_deg=3.0, free_deg=10.0),),
    )


def dangling(sketch: Sketch) -> list[str]:
    """References that point at nothing."""
    points = sketch.places()
    parts = {part.id for part in sketch.parts}
    pins = {pin.id for pin in sketch.pins}
    lost = []
    things = [item for _, item in items(sketch)]
    if sketch.drive is not None:
        things.append(sketch.drive)
    for item in things:
        lost += [ref for ref in point_refs(item) if ref not in points]
        lost += [name for name in parts_of(item) if name not in parts]
        lost += [name for name in pins_of(item) if name not in pins]
    return lost


@pytest.mark.parametrize("name", ["frame", "crank", "rod", "rocker", "o", "a", "b", "q",
                                  "push", "coil", "rod.P", "crank.A", "frame.O"])
def test_removing_anything_leaves_nothing_dangling(name: str) -> None:
    left = edits.remove(four_bar(), [name])
    assert not dangling(left)
    assert name not in edits.ids(left)


def test_the_drive_goes_with_its_pin_and_stays_otherwise() -> None:
    assert edits.remove(four_bar(), ["o"]).drive is None
    assert edits.remove(four_bar(), ["crank"]).drive is None
    assert edits.remove(four_bar(), ["rocker"]).drive == four_bar().drive


def test_a_pin_of_three_keeps_the_two_that_are_left() -> None:
    tail = Part(id="tail", points=(Point(id="B", x=110, y=70),))
    sketch = edits.add(four_bar(), "parts", tail)
    sketch, pin = edits.connect(sketch, ["rod.B", "tail.B"])
    assert pin == "b"
    assert edits.get(sketch, "b").at == ("rod.B", "rocker.B", "tail.B")
    assert edits.get(edits.remove(sketch, ["rod"]), "b").at == ("rocker.B", "tail.B")


@pytest.mark.parametrize(("old", "new"), [("crank", "wheel"), ("o", "shaft"), ("q", "hinge"),
                                          ("rod", "link"), ("push", "load")])
def test_renaming_takes_every_reference_along(old: str, new: str) -> None:
    renamed = edits.rename(four_bar(), old, new)
    assert not dangling(renamed)
    assert old not in edits.ids(renamed)
    assert edits.rename(renamed, new, old) == four_bar()


def test_renaming_a_point_takes_joints_and_outlines_along() -> None:
    sketch = edits.change(four_bar(), "parts", "rod", outline=Plate(around=("A", "B", "P")))
    renamed = edits.rename(sketch, "rod.A", "root")
    assert not dangling(renamed)
    assert renamed.part("rod").outline == Plate(around=("root", "B", "P"))
    assert renamed.pins[1].at == ("crank.A", "rod.root")


@pytest.mark.parametrize("bad", ["", "a.b", "x" * 65, "tab\there", "rod"])
def test_a_bad_name_is_refused_in_one_sentence(bad: str) -> None:
    with pytest.raises(EditError) as caught:
        edits.rename(four_bar(), "crank", bad)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)


def test_copy_and_paste_make_an_independent_machine() -> None:
    sketch = four_bar()
    clip = edits.copy_parts(sketch, ["crank", "rod", "rocker"])
    assert [pin.id for pin in clip.pins] == ["a", "b"]
    assert [force.id for force in clip.forces] == ["push"]
    pasted, fresh = edits.paste(sketch, clip, 200, 10)
    assert fresh == ("crank 2", "rod 2", "rocker 2")
    assert not dangling(pasted)
    assert pasted.point("rod 2.P").x == pytest.approx(260)
    assert edits.get(pasted, "a 2").at == ("crank 2.A", "rod 2.A")
    again, fresh = edits.paste(pasted, clip, 300, 0)
    assert fresh == ("crank 3", "rod 3", "rocker 3")
    assert edits.remove(edits.remove(again, fresh), ["crank 2", "rod 2", "rocker 2"]) == sketch


def test_joining_points_draws_them_together_and_refuses_one_part_twice() -> None:
    arm = Part(id="arm", points=(Point(id="A", x=5, y=5), Point(id="B", x=9, y=9)))
    sketch = edits.add(four_bar(), "parts", arm)
    joined, pin = edits.connect(sketch, ["rod.P", "arm.A"])
    assert (joined.point("arm.A").x, joined.point("arm.A").y) == (60, 90)
    assert pin in edits.ids(joined)
    with pytest.raises(EditError, match="twice"):
        edits.connect(joined, ["rod.P", "arm.B"])
    with pytest.raises(EditError, match="two parts"):
        edits.connect(four_bar(), ["rod.P"])


def test_a_new_part_takes_the_lowest_layer_its_neighbours_leave() -> None:
    sketch = four_bar()
    layers = {"frame": 0, "crank": 1, "rod": 2, "rocker": 3}
    for name, layer in layers.items():
        sketch = edits.change(sketch, "parts", name, layer=layer)
    assert edits.next_layer(sketch, "rocker") == 1
    assert edits.next_layer(sketch, "rod") == 2
    assert edits.next_layer(sketch, "crank") == 1


class TestTwins:
    @staticmethod
    def twinned() -> Sketch:
        return edits.mirror(four_bar(), ["rod", "rocker"], 0, 0, 90)[0]

    def test_the_image_is_the_mirror_image_and_is_joined(self) -> None:
        sketch = self.twinned()
        assert not dangling(sketch)
        assert sketch.point("rocker 2.Q").x == -100
        assert sketch.point("rod 2.P").y == 90
        image = edits.get(sketch, "q 2")
        assert image.at[1] == "rocker 2.Q"
        assert sketch.point(image.at[0]).x == -100
        assert edits.get(sketch, "push 2").fx_n == pytest.approx(-1)
        assert edits.get(sketch, "coil 2").free_deg == -10
        assert edits.get(sketch, "coil 2").a == "frame"

    def test_a_pin_on_the_line_is_shared(self) -> None:
        sketch = edits.mirror(four_bar(), ["crank"], 0, 0, 90)[0]
        assert edits.get(sketch, "o").at == ("frame.O", "crank.O", "crank 2.O")

    def test_the_image_follows_the_original(self) -> None:
        old = self.twinned()
        new = edits.change_point(old, "rod.P", x=70.0, y=95.0)
        new = edits.change(new, "parts", "rocker", thickness_mm=9.0)
        new = edits.follow_twins(old, new)
        assert new.point("rod 2.P").x == pytest.approx(-70)
        assert new.part("rocker 2").thickness_mm == 9.0

    def test_an_edit_of_the_image_reaches_the_original(self) -> None:
        old = self.twinned()
        new = edits.follow_twins(old, edits.change_point(old, "rod 2.P", x=-50.0, y=80.0))
        assert new.point("rod.P").x == pytest.approx(50)
        assert new.point("rod.P").y == pytest.approx(80)

    def test_a_shared_pivot_follows(self) -> None:
        old = self.twinned()
        new = edits.change_point(old, "frame.Q", x=120.0)
        new = edits.follow_twins(old, edits.change_point(new, "rocker.Q", x=120.0))
        image = edits.get(new, "q 2")
        assert new.point(image.at[0]).x == pytest.approx(-120)
        assert new.point("rocker 2.Q").x == pytest.approx(-120)

    def test_new_loads_are_mirrored_and_removed_ones_go(self) -> None:
        old = self.twinned()
        more = edits.add(old, "torques", Torque(id="wind", part="rod", torque_nmm=5.0))
        new = edits.follow_twins(old, more)
        assert edits.get(new, "wind 2").torque_nmm == -5.0
        gone = edits.follow_twins(new, edits.remove(new, ["wind", "push"]))
        assert {"wind 2", "push 2"}.isdisjoint(edits.ids(gone))

    def test_removing_an_original_removes_its_image(self) -> None:
        old = self.twinned()
        new = edits.follow_twins(old, edits.remove(old, ["rod"]))
        assert "rod 2" not in edits.ids(new)
        assert "rocker 2" in edits.ids(new)
        assert not dangling(new)

    def test_cut_loose_it_stays_as_it_is(self) -> None:
        old = edits.untwin(self.twinned(), "twin")
        assert "rod 2" in edits.ids(old)
        new = edits.follow_twins(old, edits.change_point(old, "rod.P", x=0.0))
        assert new.point("rod 2.P").x == -60

    def test_a_mesh_between_original_and_image_is_not_mirrored(self) -> None:
        sketch = edits.change(four_bar(), "parts", "rocker", outline=Disc(radius_mm=50))
        sketch = edits.mirror(sketch, ["rocker"], 50, 0, 90)[0]
        mesh = Mesh(id="mesh", a="rocker.Q", b="rocker 2.Q", teeth_a=20, teeth_b=20)
        new = edits.follow_twins(sketch, edits.add(sketch, "meshes", mesh))
        assert [each.id for each in new.meshes] == ["mesh"]

    def test_locks_among_the_originals_are_mirrored(self) -> None:
        glue = Lock(id="glue", parts=("rod", "rocker"), pin="b")
        sketch = edits.add(four_bar(), "locks", glue)
        sketch = edits.mirror(sketch, ["rod", "rocker"], 0, 0, 90)[0]
        assert edits.get(sketch, "glue 2").parts == ("rod 2", "rocker 2")
        assert edits.get(sketch, "glue 2").pin == "b 2"
