"""Dragging changes lengths, and only those it may change."""

from __future__ import annotations

import math

import numpy as np
import pytest
from linkages import rod_four_bar

from core.errors import EditError
from core.model import (
    Disc,
    Drive,
    Mass,
    Mesh,
    Part,
    Pin,
    PinInSlot,
    Point,
    Polygon,
    Sketch,
    Slide,
    edits,
)
from core.motion import solve_turn
from core.motion.redimension import drag_parts, drag_point, follow_twins, rebase


def part(name: str, *points: tuple[str, float, float], **more: object) -> Part:
    return Part(id=name, points=tuple(Point(id=i, x=x, y=y) for i, x, y in points), **more)


def four_bar() -> Sketch:
    return rod_four_bar(24 + 18j)


def length(sketch: Sketch, a: str, b: str) -> float:
    return abs(sketch.place(a) - sketch.place(b))


def test_everything_on_the_pin_comes_along_and_nothing_else_moves() -> None:
    old, new = four_bar(), drag_point(four_bar(), "rod.B", 120, 66)
    before, after = old.places(), new.places()
    assert after["rod.B"] == after["rocker.B"] == 120 + 66j
    assert {ref for ref in before if before[ref] != after[ref]} == {"rod.B", "rocker.B"}


def test_a_locked_pivot_stays() -> None:
    sketch = edits.change_point(four_bar(), "frame.Q", locked=True)
    with pytest.raises(EditError, match="locked"):
        drag_point(sketch, "rocker.Q", 90, 10)


def test_a_locked_length_is_kept_and_the_point_comes_near() -> None:
    sketch = edits.change(four_bar(), "parts", "crank", lengths_locked=True)
    sketch = edits.change_point(sketch, "frame.O", locked=True)
    new = drag_point(sketch, "crank.A", 0, 60)
    assert length(new, "crank.O", "crank.A") == pytest.approx(30, abs=1e-8)
    assert abs(new.place("rod.A") - 30j) < 0.1
    assert new.place("rod.B") == 110 + 70j


def test_a_locked_ternary_part_moves_rigidly_with_its_shape() -> None:
    sketch = edits.change(four_bar(), "parts", "rod", lengths_locked=True,
                          outline=Polygon(outer=((20, 10), (115, 60), (60, 100))),
                          mass=Mass(mass_kg=0.1, x=60, y=60, inertia_kgmm2=3.0))
    new = drag_point(sketch, "rod.P", 40, 95)
    for a, b in (("A", "B"), ("A", "P"), ("B", "P")):
        assert length(new, f"rod.{a}", f"rod.{b}") == pytest.approx(
            length(sketch, f"rod.{a}", f"rod.{b}"), abs=1e-8)
    assert abs(new.place("rod.P") - (40 + 95j)) < 0.1
    moved = new.part("rod")
    corner, at = complex(*moved.outline.outer[2]), complex(moved.mass.x, moved.mass.y)
    assert abs(corner - new.place("rod.P")) == pytest.approx(10, abs=1e-7)
    assert abs(at - new.place("rod.P")) == pytest.approx(30, abs=1e-7)


def test_locks_that_leave_no_room_keep_everything_in_place() -> None:
    sketch = four_bar()
    for name in ("crank", "rod", "rocker"):
        sketch = edits.change(sketch, "parts", name, lengths_locked=True)
    for ref in ("frame.O", "frame.Q", "crank.A"):
        sketch = edits.change_point(sketch, ref, locked=True)
    new = drag_point(sketch, "rod.B", 150, 10)
    for ref, at in sketch.places().items():
        assert abs(new.place(ref) - at) < 1e-6


def test_a_link_never_loses_its_length() -> None:
    with pytest.raises(EditError, match="one place"):
        drag_point(four_bar(), "crank.A", 0, 0)


def slider() -> Sketch:
    return Sketch(
        parts=(
            part("frame", ("O", 0, 0), ("S", 40, 0), ("E", 200, 0), fixed=True),
            part("crank", ("O", 0, 0), ("A", 0, 30)),
            part("rod", ("A", 0, 30), ("B", 100, 0)),
            part("block", ("B", 100, 0)),
        ),
        pins=(Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "rod.A")),
              Pin(id="b", at=("rod.B", "block.B"))),
        slides=(Slide(id="s", point="block.B", along=("frame.S", "frame.E")),),
        drive=Drive(pin="o", part="crank"),
    )


def test_a_sliding_point_is_dragged_along_its_rail() -> None:
    after = drag_point(slider(), "rod.B", 130, 25).places()
    assert after["rod.B"] == pytest.approx(130, abs=1e-3)
    assert after["frame.S"] == pytest.approx(40, abs=1e-3)
    assert after["frame.E"] == pytest.approx(200, abs=1e-3)


def test_a_dragged_rail_takes_its_block_along() -> None:
    after = drag_point(slider(), "frame.E", 200, 80).places()
    assert after["frame.E"] == pytest.approx(200 + 80j, abs=1e-2)
    along = after["frame.E"] - after["frame.S"]
    off = ((after["block.B"] - after["frame.S"]) * (1j * along).conjugate()).real / abs(along)
    assert abs(off) < 1e-7


def test_a_slot_keeps_its_pin() -> None:
    sketch = Sketch(
        parts=(part("frame", ("O", 0, 0), ("Q", 0, -80), fixed=True),
               part("crank", ("O", 0, 0), ("A", 30, 0)),
               part("lever", ("Q", 0, -80), ("S", 15, -40), ("E", 45, 40))),
        pins=(Pin(id="o", at=("frame.O", "crank.O")), Pin(id="q", at=("frame.Q", "lever.Q"))),
        slots=(PinInSlot(id="s", point="crank.A", slot=("lever.S", "lever.E")),),
        drive=Drive(pin="o", part="crank"),
    )
    after = drag_point(sketch, "lever.E", 60, 30).places()
    along = after["lever.E"] - after["lever.S"]
    off = ((after["crank.A"] - after["lever.S"]) * (1j * along).conjugate()).real / abs(along)
    assert abs(off) < 1e-7


def test_dragging_a_part_shifts_it_and_stretches_its_neighbours() -> None:
    new = drag_parts(four_bar(), ["rod"], 5, -3)
    before, after = four_bar().places(), new.places()
    for ref in ("rod.A", "rod.B", "rod.P", "crank.A", "rocker.B"):
        assert after[ref] == before[ref] + 5 - 3j
    assert after["crank.O"] == 0


def test_gears_grow_with_their_centre_distance() -> None:
    sketch = Sketch(
        parts=(part("frame", ("O", 0, 0), ("Q", 60, 0), fixed=True),
               part("big", ("C", 0, 0), outline=Disc(radius_mm=42)),
               part("small", ("C", 60, 0), outline=Disc(radius_mm=22))),
        pins=(Pin(id="o", at=("frame.O", "big.C")), Pin(id="q", at=("frame.Q", "small.C"))),
        meshes=(Mesh(id="m", a="big.C", b="small.C", teeth_a=40, teeth_b=20),),
        drive=Drive(pin="o", part="big"),
    )
    new = drag_point(sketch, "frame.Q", 90, 0)
    assert new.part("big").outline == Disc(radius_mm=63)
    assert new.part("small").outline == Disc(radius_mm=33)


@pytest.mark.parametrize("crank_deg", [33.0, 118.0, 271.5])
def test_the_pose_on_the_screen_becomes_the_drawn_pose_and_the_motion_stays(
        crank_deg: float) -> None:
    turn = solve_turn(four_bar())
    redrawn = rebase(turn, math.radians(crank_deg))
    assert redrawn.drive.drawn_deg == pytest.approx(crank_deg)
    again = solve_turn(redrawn)
    for ref in ("rod.P", "rocker.B", "crank.A"):
        np.testing.assert_allclose(again.path(ref), turn.path(ref), atol=1e-8)
    back = rebase(again, 0.0)
    for ref, at in four_bar().places().items():
        assert abs(back.place(ref) - at) < 1e-9


def test_an_unreachable_pose_is_refused() -> None:
    sketch = drag_point(four_bar(), "crank.A", 90, 80)
    turn = solve_turn(sketch)
    assert not turn.reached.all()
    nowhere = turn.crank_rad[~turn.reached][0]
    with pytest.raises(EditError, match="does not reach"):
        rebase(turn, float(nowhere))


def test_twins_follow_an_edit_made_at_another_crank_angle() -> None:
    """The image has its own crank, so the pair is symmetrical in the drawn pose only."""
    old = edits.mirror(four_bar(), ["rod", "rocker"], 0, 0, 90)[0]
    here = rebase(solve_turn(old), math.radians(40.0))
    at = here.place("rod.P")
    new = follow_twins(old, drag_point(here, "rod.P", at.real + 6, at.imag + 2))
    home = rebase(solve_turn(new), 0.0)
    after = home.places()
    assert after["rod 2.P"] == pytest.approx(-after["rod.P"].conjugate(), abs=1e-7)
    assert new.place("rod.P") == pytest.approx(at + 6 + 2j, abs=1e-7)
