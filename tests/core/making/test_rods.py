"""Rods: what sits where along them, and that what the parts put on them is in balance."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from core.effort import effort, friction_band
from core.making.rods import GRIP_OUT_MM, Rod, loads, rods
from core.model import Drive, Handle, HandStep, Hinge, Lock, Part, Pin, Point, Sketch
from core.motion import solve_turn
from core.space.neighbours import layers_of


def part(name: str, layer: int, thick: float = 6.0, fixed: bool = False,
         **points: complex) -> Part:
    return Part(id=name, layer=layer, thickness_mm=thick, fixed=fixed, points=tuple(
        Point(id=key, x=at.real, y=at.imag) for key, at in points.items()))


def rocker(**extra: object) -> Sketch:
    """A crank-rocker; the frame is the lowest layer, 9 mm thick."""
    given = {
        "parts": (
            part("frame", 0, 9.0, True, o=0j, q=100 + 0j),
            part("crank", 1, o=0j, a=20j),
            part("rod", 2, a=20j, b=100 + 60j),
            part("arm", 3, 5.0, b=100 + 60j, q=100 + 0j)),
        "pins": (Pin(id="shaft", at=("frame.o", "crank.o"), diameter_mm=8.0),
                 Pin(id="throw", at=("crank.a", "rod.a")),
                 Pin(id="wrist", at=("rod.b", "arm.b")),
                 Pin(id="post", at=("frame.q", "arm.q"))),
        "drive": Drive(pin="shaft", part="crank"), **extra}
    return Sketch(**given)


def rod_of(sketch: Sketch, name: str) -> Rod:
    return next(rod for rod in rods(sketch) if rod.id == name)


def test_a_rod_goes_through_the_layers_between_its_parts():
    post = rod_of(rocker(), "post")
    assert post.parts == ("frame", "arm")
    assert [(s.from_mm, s.to_mm) for s in post.stations] == [(0, 9), (21, 26)]
    assert (post.from_mm, post.to_mm) == (0, 26)
    assert post.overhung == ("arm",)


def test_a_layer_is_as_thick_as_its_thickest_part_and_parts_lie_side_by_side():
    sketch = rocker()
    thick = part("beside", 1, 11.0, p=300 + 0j)
    post = rod_of(replace(sketch, parts=(*sketch.parts, thick)), "post")
    assert post.stations[1].from_mm == 9 + 11 + 6


def test_the_crank_is_driven_the_frame_turns_on_it_and_the_hand_is_behind_the_frame():
    shaft = rod_of(rocker(), "shaft")
    assert [s.hold for s in shaft.stations] == ["turns", "driven"]
    assert shaft.grip_mm == -GRIP_OUT_MM
    assert rod_of(rocker(), "post").grip_mm is None


def test_a_lock_holds_its_parts_on_the_rod_and_names_itself():
    sketch = rocker()
    twin = part("twin", 4, o=0j)
    locked = replace(sketch, parts=(*sketch.parts, twin), locks=(
        Lock(id="hub", parts=("crank", "twin"), pin="shaft"),))
    shaft = rod_of(locked, "shaft")
    assert shaft.parts == ("frame", "crank", "twin")
    assert [s.hold for s in shaft.stations] == ["turns", "locked", "locked"]
    assert [s.lock for s in shaft.stations] == ["", "hub", "hub"]


def test_frame_on_both_sides_carries_a_shaft_and_nothing_between_stands_out():
    sketch = rocker()
    front = part("front", 2, fixed=True, o=0j)
    shaft = replace(sketch.pins[0], at=("frame.o", "crank.o", "front.o"))
    found = rod_of(replace(sketch, parts=(*sketch.parts, front),
                           pins=(shaft, *sketch.pins[1:])), "shaft")
    assert found.supports == (0, 2)
    assert found.overhung == ()
    assert "lever rule" in found.assumed
    assert found.grip_mm == found.to_mm + GRIP_OUT_MM


def test_a_rod_without_frame_stands_in_the_part_nearest_the_crank():
    assert rod_of(rocker(), "throw").supports == (0,)
    assert [s.hold for s in rod_of(rocker(), "wrist").stations] == ["fast", "turns"]


def test_a_fork_keeps_a_rod_upright_on_both_sides():
    sketch = rocker()
    other = part("cheek", 4, 5.0, b=100 + 60j, q=100 + 0j)
    wrist = replace(sketch.pins[2], at=("rod.b", "arm.b", "cheek.b"))
    forked = replace(
        sketch, parts=(*sketch.parts[:2], replace(sketch.parts[2], layer=3),
                       replace(sketch.parts[3], layer=2), other),
        pins=(*sketch.pins[:2], wrist, sketch.pins[3]),
        locks=(Lock(id="bolts", parts=("arm", "cheek")),))
    rod = rod_of(forked, "wrist")
    assert rod.parts == ("arm", "rod", "cheek")
    assert rod.supports == (0, 2)


def test_a_bought_hinge_has_no_rod_and_a_pin_of_one_part_neither():
    sketch = rocker()
    hinged = replace(sketch.pins[2], hinge=Hinge())
    lonely = Pin(id="peg", at=("arm.b",))
    found = rods(replace(sketch, pins=(*sketch.pins[:2], hinged, sketch.pins[3], lonely)))
    assert [rod.id for rod in found] == ["shaft", "throw", "post"]


def test_two_pins_through_one_bearing_are_one_rod_unless_they_differ():
    sketch = rocker()
    lever = part("lever", 4, o=0j, x=30j)
    second = Pin(id="second", at=("frame.o", "lever.o"), diameter_mm=8.0)
    both = replace(sketch, parts=(*sketch.parts, lever), pins=(*sketch.pins, second))
    assert rod_of(both, "shaft").joints == ("shaft", "second")
    thin = replace(both, pins=(*sketch.pins, replace(second, diameter_mm=6.0)))
    assert rod_of(thin, "shaft").joints == ("shaft",)


@pytest.mark.parametrize("rub", [False, True])
def test_forces_and_torque_on_every_rod_are_in_balance(rub: bool):
    sketch = rocker()
    twin = part("twin", 4, o=0j, x=50 + 0j)
    sketch = replace(sketch, parts=(*sketch.parts, twin), locks=(
        Lock(id="hub", parts=("crank", "twin"), pin="shaft"),))
    turn = solve_turn(sketch)
    strain = effort(turn)
    band = friction_band(turn) if rub else None
    for load in loads(turn, strain, band=band):
        assert load.force_n.shape == (turn.crank_rad.size, len(load.rod.stations))
        size = np.abs(load.force_n).max()
        assert np.abs(load.force_n.sum(axis=1)).max() < 1e-9 * size
        assert np.abs(load.torque_nmm.sum(axis=1) + load.hand_nmm).max() < 1e-6 * size
        assert np.abs(load.passed_nmm[:, -1]).max() < 1e-6 * size


def test_the_shaft_passes_the_hands_torque_through_the_frame_to_the_crank():
    turn = solve_turn(rocker())
    strain = effort(turn)
    shaft = next(load for load in loads(turn, strain) if load.rod.id == "shaft")
    assert np.allclose(shaft.passed_nmm[:, 1], strain.torque_nmm)
    assert np.allclose(shaft.passed_nmm[:, 2], 0.0)
    assert np.allclose(shaft.push_n, np.abs(strain.torque_nmm) / 75.0)


def test_two_locked_wheels_pass_a_torque_along_the_rod_between_them():
    """The weight of an arm beyond the crank goes along the rod, by hand calculation."""
    sketch = rocker()
    twin = Part(id="twin", layer=4, points=(Point(id="o", x=0, y=0),
                                            Point(id="x", x=50, y=0)))
    sketch = replace(sketch, parts=(*sketch.parts, twin), locks=(
        Lock(id="hub", parts=("crank", "twin"), pin="shaft"),))
    sketch = replace(sketch, drive=replace(sketch.drive, rpm=1e-6))
    turn = solve_turn(sketch)
    shaft = next(load for load in loads(turn, effort(turn)) if load.rod.id == "shaft")
    area = 50 * 16 + np.pi * 8**2  # a bar 16 mm wide with round ends
    weight = 680e-9 * 6 * area * 9.81
    wanted = weight * 25 * np.cos(turn.crank_rad)  # drawn at crank angle 0, pointing right
    assert np.allclose(shaft.passed_nmm[:, 2], wanted, atol=1e-6)


def test_a_wheel_takes_the_place_of_the_hand_where_there_are_steps():
    step = HandStep(driver=12, driven=36, module_mm=2.0)
    turn = solve_turn(rocker(handle=Handle(steps=(step,))))
    strain = effort(turn)
    shaft = next(load for load in loads(turn, strain) if load.rod.id == "shaft")
    assert np.allclose(shaft.push_n, np.abs(strain.torque_nmm) / 36.0)


def test_layers_of_parts_without_one_follow_the_list():
    sketch = rocker()
    bare = replace(sketch, parts=tuple(replace(each, layer=None) for each in sketch.parts))
    assert layers_of(bare) == layers_of(sketch)
    assert rods(bare) == rods(sketch)
