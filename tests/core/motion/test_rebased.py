"""Another pose becomes the drawn one: joints stay closed, loose parts come along, and the
crank reads the same, in every turn of a long cycle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from grown import KINDS, grown
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from linkages import linkage, rod_four_bar
from msgspec.structs import replace

from core.errors import CrankwrightError, EditError
from core.model import Mesh, Sketch, edits
from core.model.validate import problems
from core.motion import pose_at, solve_turn, structure
from core.motion.redimension import drag_point, rebase

JOINTS = ("pins", "slides", "slots", "meshes", "belts", "locks")


def without(sketch: Sketch, group: str, name: str) -> Sketch:
    return replace(sketch, **{group: tuple(one for one in getattr(sketch, group)
                                           if one.id != name)})


def test_a_coupler_left_hanging_follows_the_crank_and_can_be_dragged_there() -> None:
    sketch = edits.remove(rod_four_bar(24 + 18j), ["rocker"])
    here = rebase(solve_turn(sketch), math.radians(100.0))
    assert abs(here.place("rod.A") - here.place("crank.A")) < 1e-9
    for one, two in (("A", "B"), ("B", "P")):
        assert abs(here.place(f"rod.{one}") - here.place(f"rod.{two}")) == pytest.approx(
            abs(sketch.place(f"rod.{one}") - sketch.place(f"rod.{two}")))
    dragged = drag_point(here, "rod.B", 80, 90)
    assert dragged.place("rod.B") == 80 + 90j
    assert solve_turn(dragged).reached.all()


def test_what_need_not_move_stays() -> None:
    sketch = edits.remove(rod_four_bar(24 + 18j), ["rod"])
    here = rebase(solve_turn(sketch), math.radians(200.0))
    assert here.part("rocker") == sketch.part("rocker")
    assert here.place("crank.A") != sketch.place("crank.A")


def test_a_loose_wheel_turns_as_its_teeth_say() -> None:
    """The arm between the wheels is loose; however little it follows, the law of a planet
    pair holds: teeth times turns against the arm are opposite."""
    sketch = linkage(
        {"frame": {"O": 0j}, "crank": {"O": 0j, "H": 20 + 0j}, "arm": {"O": 0j, "C": 60 + 0j},
         "wheel": {"C": 60 + 0j, "T": 80 + 0j}},
        ["frame.O crank.O arm.O", "arm.C wheel.C"],
        meshes=(Mesh(id="m", a="crank.O", b="wheel.C", teeth_a=20, teeth_b=40),))
    here = rebase(solve_turn(sketch), math.radians(170.0))

    def turned(part: str, end: str, tip: str) -> float:
        way, was = (one.place(f"{part}.{tip}") - one.place(f"{part}.{end}")
                    for one in (here, sketch))
        return float(np.angle(way / was))

    arm = turned("arm", "O", "C")
    off = 20 * (math.radians(170) - arm) + 40 * (turned("wheel", "C", "T") - arm)
    assert abs(math.remainder(off, 40 * 2 * math.pi)) < 1e-8
    assert here.place("wheel.C") == pytest.approx(here.place("arm.C"))


def test_where_loose_parts_cannot_follow_the_pose_is_refused_in_words() -> None:
    """A chain of three links, 120 mm long, from a crank of 30 mm to a pivot 100 mm away."""
    sketch = linkage(
        {"frame": {"O": 0j, "Q": 100 + 0j}, "crank": {"O": 0j, "A": 30 + 0j},
         "one": {"A": 30 + 0j, "B": 45 + 37.08099244j},
         "two": {"B": 45 + 37.08099244j, "C": 85 + 37.08099244j},
         "three": {"C": 85 + 37.08099244j, "Q": 100 + 0j}},
        ["frame.O crank.O", "crank.A one.A", "one.B two.B", "two.C three.C",
         "three.Q frame.Q"])
    turn = solve_turn(sketch)
    assert structure(sketch).loose == ("one", "two", "three")
    near = rebase(turn, math.radians(120.0))
    assert abs(near.place("three.C") - near.place("two.C")) < 1e-9
    with pytest.raises(EditError, match="one and two and three cannot follow the crank"):
        rebase(turn, math.radians(180.0))


@pytest.mark.parametrize("crank_deg", [130.0, 400.0, 690.0])
def test_every_turn_of_a_long_cycle_can_be_drawn_from(crank_deg: float) -> None:
    """A planet wheel of a third of the size rolls back after three turns of the arm."""
    sketch = linkage(
        {"frame": {"O": 0j, "Q": 90 + 0j}, "crank": {"O": 0j, "T": 20 + 0j},
         "wheel": {"Q": 90 + 0j, "T": 120 + 10j}},
        ["frame.O crank.O", "frame.Q wheel.Q"],
        meshes=(Mesh(id="m", a="crank.O", b="wheel.Q", teeth_a=20, teeth_b=60),))
    turn = solve_turn(sketch)
    assert turn.crank_turns == 3
    here = rebase(turn, math.radians(crank_deg))
    again = solve_turn(here)
    assert np.allclose(again.path("wheel.T"), turn.path("wheel.T"), atol=1e-8)
    shown = pose_at(again, np.radians([here.drive.drawn_deg]))
    assert abs(complex(*shown.path("wheel.T")[0]) - here.place("wheel.T")) < 1e-9


def test_the_last_turn_of_the_longest_cycle_still_makes_a_sound_sketch() -> None:
    sketch = linkage(
        {"frame": {"O": 0j, "Q": 90 + 0j}, "crank": {"O": 0j}, "wheel": {"Q": 90 + 0j}},
        ["frame.O crank.O", "frame.Q wheel.Q"],
        meshes=(Mesh(id="m", a="crank.O", b="wheel.Q", teeth_a=20, teeth_b=1280),))
    turn = solve_turn(sketch)
    assert turn.crank_turns == 64
    here = rebase(turn, math.radians(63.5 * 360))
    assert not [one for one in problems(here) if one.where.startswith("drive")]


@given(st.lists(st.sampled_from(KINDS), min_size=1, max_size=5), st.integers(0, 2**31),
       st.data())
@settings(max_examples=40)
def test_random_sketches_with_joints_taken_out_stay_sound(
        kinds: list[str], seed: int, data: st.DataObject) -> None:
    sketch = grown(kinds, seed)
    named = [(group, one.id) for group in JOINTS for one in getattr(sketch, group)
             if one.id != sketch.drive.pin]
    for group, name in data.draw(st.lists(st.sampled_from(named), min_size=1, max_size=2)):
        sketch = without(sketch, group, name)
    try:
        turn = solve_turn(sketch, 60)
    except CrankwrightError:
        assume(False)
    crank = data.draw(st.sampled_from(list(turn.crank_rad[turn.reached])))
    try:
        here = rebase(turn, float(crank))
    except EditError as trouble:
        refused = str(trouble)
    else:
        refused = ""
    if refused:
        assert "cannot follow" in refused
        assert structure(sketch).loose
        return
    assert len(problems(here)) <= len(problems(sketch))
    for pin in here.pins:
        assert max(abs(here.place(ref) - here.place(pin.at[0])) for ref in pin.at) < 1e-6
    again, firm = solve_turn(here, 60), set(turn.part_ids) - set(structure(sketch).loose)
    both = turn.reached & again.reached
    for part in sketch.parts:
        for point in part.points if part.id in firm else ():
            there = turn.path(f"{part.id}.{point.id}")[both]
            assert np.abs(again.path(f"{part.id}.{point.id}")[both] - there).max() < 1e-4
