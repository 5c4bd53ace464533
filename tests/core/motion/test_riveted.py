"""Parts held to each other by two pins move as one body."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest

from core.effort import effort
from core.files import load
from core.model import Drive, Part, Pin, Point, Sketch, Slide
from core.motion import solve_turn, structure

FOUR_BAR = load(Path(__file__).parents[2] / "formats" / "v1" / "four-bar.json")
replace = msgspec.structs.replace


def riveted() -> Sketch:
    """The four-bar with a coupler made of two plates that two pins hold together."""
    one = Part(id="near plate", points=(Point(id="B", x=0, y=30), Point(id="U", x=30, y=40),
                                        Point(id="V", x=50, y=60)))
    two = Part(id="far plate", points=(Point(id="C", x=80, y=70), Point(id="U", x=30, y=40),
                                       Point(id="V", x=50, y=60), Point(id="P", x=40, y=90)))
    frame, crank, _, rocker = FOUR_BAR.parts
    o1, _, _, o2 = FOUR_BAR.pins
    return replace(FOUR_BAR, parts=(frame, crank, one, two, rocker), pins=(
        o1, o2, Pin(id="P1", at=("crank.B", "near plate.B")),
        Pin(id="P2", at=("far plate.C", "rocker.C")),
        Pin(id="U", at=("near plate.U", "far plate.U")),
        Pin(id="V", at=("near plate.V", "far plate.V"))))


def test_two_plates_on_two_pins_are_one_coupler() -> None:
    turn = solve_turn(riveted(), steps=90)
    assert turn.reached.all()
    assert turn.path("far plate.P") == pytest.approx(
        solve_turn(FOUR_BAR, steps=90).path("coupler.P"), abs=1e-9)
    assert np.array_equal(turn.rotation[2], turn.rotation[3])


def test_their_structure_is_that_of_the_four_bar() -> None:
    found = structure(riveted())
    assert (found.mobility, found.loose, found.redundant, found.trouble) == (1, (), (), "")


def test_their_torque_is_found_both_ways() -> None:
    found = effort(solve_turn(riveted(), steps=90))
    assert np.isfinite(found.torque_nmm).all()
    assert found.torque_nmm == pytest.approx(found.virtual_power_nmm, rel=1e-9, abs=1e-9)


def test_parts_pinned_twice_to_the_frame_are_frame() -> None:
    frame, crank, coupler, rocker = FOUR_BAR.parts
    feet = (Point(id="K", x=90, y=-20), Point(id="L", x=110, y=-20))
    bracket = Part(id="bracket", points=(*feet, Point(id="D", x=100, y=0)))
    frame = replace(frame, points=(frame.points[0], *feet))
    o1, p1, p2, _ = FOUR_BAR.pins
    sketch = replace(FOUR_BAR, parts=(frame, crank, coupler, rocker, bracket), pins=(
        o1, p1, p2, Pin(id="O2", at=("rocker.D", "bracket.D")),
        Pin(id="K", at=("frame.K", "bracket.K")), Pin(id="L", at=("frame.L", "bracket.L"))))
    turn = solve_turn(sketch, steps=90)
    assert turn.path("coupler.P") == pytest.approx(
        solve_turn(FOUR_BAR, steps=90).path("coupler.P"), abs=1e-9)
    assert np.ptp(turn.angle_rad[:, turn.row("bracket")]) == 0


def slider(*slides: Slide) -> Sketch:
    """A slider-crank whose bar slides along the frame."""
    places = {"frame": {"O": (0, 0), "L": (60, 0), "R": (200, 0)},
              "crank": {"O": (0, 0), "B": (0, 30)}, "rod": {"B": (0, 30), "C": (100, 0)},
              "bar": {"C": (100, 0), "D": (140, 0)}}
    parts = tuple(Part(id=part, fixed=part == "frame", points=tuple(
        Point(id=name, x=x, y=y) for name, (x, y) in points.items()))
        for part, points in places.items())
    return Sketch(parts=parts, slides=slides, drive=Drive(pin="O", part="crank"), pins=(
        Pin(id="O", at=("frame.O", "crank.O")), Pin(id="P1", at=("crank.B", "rod.B")),
        Pin(id="P2", at=("rod.C", "bar.C"))))


def test_a_second_slide_on_the_same_line_changes_nothing() -> None:
    one = Slide(id="near block", point="bar.C", along=("frame.L", "frame.R"))
    two = Slide(id="far block", point="bar.D", along=("frame.L", "frame.R"))
    turn = solve_turn(slider(one, two), steps=90)
    assert turn.path("bar.C") == pytest.approx(
        solve_turn(slider(one), steps=90).path("bar.C"), abs=1e-9)


def two_levers() -> Sketch:
    """The four-bar with a rocker made of two levers, each on a frame pin of its own on the
    same axis, and joined by a third pin."""
    frame, crank, coupler, _ = FOUR_BAR.parts
    near = Part(id="near", points=(Point(id="C", x=80, y=70), Point(id="D", x=100, y=0),
                                   Point(id="U", x=70, y=20)))
    far = Part(id="far", points=(Point(id="D", x=100, y=0), Point(id="U", x=70, y=20),
                                 Point(id="P", x=130, y=-40)))
    frame = replace(frame, points=(*frame.points, Point(id="E", x=100, y=0)))
    o1, p1, p2, o2 = FOUR_BAR.pins
    return replace(FOUR_BAR, parts=(frame, crank, coupler, near, far), pins=(
        o1, p1, replace(p2, at=("coupler.C", "near.C")),
        replace(o2, at=(o2.at[0] if o2.at[0].startswith("frame") else o2.at[1], "near.D")),
        Pin(id="E", at=("frame.E", "far.D")), Pin(id="U", at=("near.U", "far.U"))))


def test_levers_on_one_axis_joined_by_a_pin_turn_as_one() -> None:
    sketch = two_levers()
    turn, found = solve_turn(sketch, steps=90), structure(sketch)
    assert (found.mobility, found.loose, found.trouble) == (1, (), "")
    assert ("near", "far") in found.bodies
    assert turn.reached.all()
    assert turn.rotation[3] == pytest.approx(
        solve_turn(FOUR_BAR, steps=90).rotation[3], abs=1e-9)
    assert np.array_equal(turn.rotation[3], turn.rotation[4])
    torque = effort(turn)
    assert np.isfinite(torque.torque_nmm).all()
    assert torque.torque_nmm == pytest.approx(torque.virtual_power_nmm, rel=1e-9, abs=1e-9)


@pytest.mark.filterwarnings("error")
def test_levers_on_one_axis_that_nothing_drives_are_loose() -> None:
    sketch = two_levers()
    sketch = replace(sketch, pins=tuple(pin for pin in sketch.pins if pin.at[0] != "coupler.C"))
    turn = solve_turn(sketch, steps=90)
    assert turn.reached.all()
    assert np.isfinite(turn.rotation).all()
    assert set(structure(sketch).loose) == {"coupler", "near", "far"}


def test_a_shaft_in_two_bearings_is_one_axis() -> None:
    frame, crank, coupler, rocker = FOUR_BAR.parts
    frame = replace(frame, points=(*frame.points, Point(id="E", x=100, y=0)))
    rocker = replace(rocker, points=(*rocker.points, Point(id="E", x=100, y=0)))
    sketch = replace(FOUR_BAR, parts=(frame, crank, coupler, rocker), pins=(
        *FOUR_BAR.pins, Pin(id="E", at=("frame.E", "rocker.E"))))
    turn = solve_turn(sketch, steps=90)
    assert turn.reached.all()
    assert turn.rotation == pytest.approx(solve_turn(FOUR_BAR, steps=90).rotation, abs=1e-9)
    assert np.isfinite(effort(turn).torque_nmm).all()
