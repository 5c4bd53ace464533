"""Edits of wanted paths, poses and regions."""

from __future__ import annotations

import contextlib
import random

import pytest

from core.errors import EditError
from core.model import Part, Point, Sketch, Tick, WantedDwell, WantedPath, WantedPose
from core.model.edits import (
    add,
    add_path,
    add_pose,
    add_tick,
    add_zone,
    attach,
    close_path,
    free_crank_deg,
    get,
    insert_handle,
    move_handle,
    move_tick,
    path_end,
    pose_handles,
    pose_map,
    remove_handle,
    remove_tick,
    reverse_path,
    shift_wish,
)
from core.model.validate import problems

SQUARE = (0j, 10 + 0j, 10 + 10j, 10j)


def square(*ats: float, **more) -> tuple[Sketch, str]:
    ticks = tuple(Tick(at=at, crank_deg=10 * at) for at in ats)
    return add_path(Sketch(), SQUARE, ticks=ticks, **more)


def ats(sketch: Sketch, name: str) -> list[float]:
    return [tick.at for tick in get(sketch, name).ticks]


def test_a_handle_moves_alone():
    sketch, name = square()
    moved = move_handle(sketch, name, 2, 12 + 13j)
    assert get(moved, name).through == ((0, 0), (10, 0), (12, 13), (0, 10))
    with pytest.raises(EditError):
        move_handle(sketch, name, 4, 0j)


def test_ticks_stay_on_their_places_when_a_handle_comes_between():
    sketch, name = square(0.25, 1.25, 1.5, 1.75, 3.5)
    more, index = insert_handle(sketch, name, 1.5, 10 + 5j)
    assert index == 2
    assert get(more, name).through[2] == (10, 5)
    assert ats(more, name) == [0.25, 1.5, 2.0, 2.5, 4.5]


def test_the_last_span_of_a_loop_takes_a_handle_too():
    sketch, name = square(3.5)
    more, index = insert_handle(sketch, name, 3.5, 5j)
    assert index == 4
    assert ats(more, name) == [4.0]


@pytest.mark.parametrize("index", range(4))
def test_a_handle_taken_out_after_it_was_put_in_leaves_the_other_ticks(index):
    sketch, name = square(0.0, 1.0, 2.0, 3.0)
    more, place = insert_handle(sketch, name, index + 0.5, 5 + 5j)
    again = remove_handle(more, name, place)
    assert get(again, name) == get(sketch, name)


def test_the_first_handle_of_a_loop_taken_out_closes_the_two_spans_beside_it():
    sketch, name = square(0.0, 1.0, 2.5, 3.0)
    less = remove_handle(sketch, name, 0)
    assert get(less, name).through == ((10, 0), (10, 10), (0, 10))
    assert ats(less, name) == [0.0, 1.5, 2.0, 2.5]


def test_an_open_path_loses_its_ends():
    sketch, name = square(0.5, 2.5, closed=False)
    assert ats(remove_handle(sketch, name, 0), name) == [0.0, 1.5]
    assert ats(remove_handle(sketch, name, 3), name) == [0.5, 2.0]


def test_a_place_taken_out_takes_its_tick_along():
    sketch, name = square(0, 1, 2, 3, curve="places")
    assert ats(remove_handle(sketch, name, 1), name) == [0, 1, 2]


def test_a_path_keeps_what_it_needs():
    sketch, name = add_path(Sketch(), SQUARE[:3])
    with pytest.raises(EditError, match="needs the handles"):
        remove_handle(sketch, name, 0)
    opened = close_path(sketch, name, False)
    assert len(get(remove_handle(opened, name, 0), name).through) == 2
    region, name = add_zone(Sketch(), SQUARE[:3])
    with pytest.raises(EditError, match="three corners"):
        remove_handle(region, name, 0)


def test_ticks_are_added_moved_and_taken_out_in_order():
    sketch, name = square()
    sketch = add_tick(sketch, name, 3.0, 90.0)
    sketch = add_tick(sketch, name, 1.0, 30.0)
    assert ats(sketch, name) == [1.0, 3.0]
    sketch, index = move_tick(sketch, name, 0, 3.5)
    assert (ats(sketch, name), index) == ([3.0, 3.5], 1)
    assert get(sketch, name).ticks[1].crank_deg == 30.0
    assert ats(remove_tick(sketch, name, 0), name) == [3.5]


def test_a_tick_on_a_loop_comes_round_and_on_an_open_path_stops():
    sketch, name = square(1.0)
    assert ats(move_tick(sketch, name, 0, 4.25)[0], name) == [0.25]
    opened, name = square(1.0, closed=False)
    assert ats(move_tick(opened, name, 0, 9.0)[0], name) == [3.0]


def test_a_path_run_backwards_twice_is_the_same_path():
    for more in ({}, {"closed": False}, {"curve": "places"}):
        sketch, name = square(0.0, 1.0, 3.0, **more)
        back = reverse_path(sketch, name)
        assert get(back, name).through != get(sketch, name).through
        assert get(reverse_path(back, name), name) == get(sketch, name)


def test_opening_a_loop_brings_the_ticks_of_its_last_span_to_its_end():
    sketch, name = square(1.0, 3.5)
    assert ats(close_path(sketch, name, False), name) == [1.0, 3.0]


PART = Part(id="arm", points=(Point(id="A", x=0, y=0), Point(id="B", x=5, y=0),
                              Point(id="C", x=0, y=20)))


def test_a_pose_takes_its_part_to_where_it_is_wanted():
    sketch = Sketch(parts=(PART,))
    at, toward = pose_handles(sketch, "arm")
    assert (at, toward) == ("arm.B", "arm.C")  # the two furthest apart
    sketch, name = add_pose(sketch, 30 + 40j, 180.0, 90.0, at="arm.A", toward="arm.C")
    turn, shift = pose_map(sketch, get(sketch, name))
    assert turn * 0j + shift == pytest.approx(30 + 40j)
    assert turn * 20j + shift == pytest.approx(10 + 40j)


def test_one_more_pose_of_a_part_comes_at_a_crank_angle_of_its_own():
    sketch = Sketch(parts=(PART,))
    for _ in range(8):
        sketch, _ = add_pose(sketch, 0j, 0.0, free_crank_deg(sketch, 20.0))
    angles = [pose.crank_deg for pose in sketch.wanted]
    assert angles[:7] == [20, 80, 140, 200, 260, 320, 50]
    assert len(set(angles)) == 8
    assert free_crank_deg(sketch, 33.0) == 33.0
    assert free_crank_deg(sketch, 380.0, "arm.A") == 380.0  # a pose of another thing
    sketch, _ = add_pose(sketch, 0j, 0.0, 380.0, at="arm.A", toward="arm.B")
    assert free_crank_deg(sketch, 20.0, "arm.C") == 80.0


def test_a_part_without_direction_has_no_pose():
    with pytest.raises(EditError):
        pose_handles(Sketch(parts=(Part(id="a", points=(Point(id="A", x=0, y=0),)),)), "a")


def test_a_wish_is_asked_of_another_thing_and_let_go():
    sketch = Sketch(parts=(PART,))
    sketch, name = add_path(sketch, SQUARE)
    assert get(attach(sketch, name, point="arm.B"), name).point == "arm.B"
    with pytest.raises(EditError):
        attach(sketch, name, part="arm")
    sketch = add(sketch, "wanted", WantedDwell(id="rest", from_deg=0, to_deg=90, part="arm"))
    assert get(attach(sketch, "rest", point="arm.A"), "rest") == WantedDwell(
        id="rest", from_deg=0, to_deg=90, point="arm.A")
    sketch, name = add_pose(sketch, 0j, 0.0, 0.0)
    posed = get(attach(sketch, name, part="arm"), name)
    assert (posed.at, posed.toward) == ("arm.B", "arm.C")
    assert get(attach(sketch, name, part=""), name).at == ""


def test_a_shift_moves_whatever_has_a_place():
    sketch, name = square()
    assert get(shift_wish(sketch, name, 1 + 2j), name).through[2] == (11, 12)
    sketch, name = add_pose(sketch, 3 + 4j, 0.0, 0.0)
    assert (get(shift_wish(sketch, name, 1j), name).y) == 5
    assert isinstance(get(sketch, "path"), WantedPath)
    assert isinstance(get(sketch, "pose"), WantedPose)


@pytest.mark.parametrize("seed", range(40))
def test_no_row_of_edits_makes_a_path_that_does_not_fit(seed):
    draw = random.Random(seed)
    curve = draw.choice(("smooth", "straight", "places"))
    sketch, name = add_path(Sketch(), SQUARE, curve=curve, closed=draw.random() < 0.5)
    for _ in range(60):
        wish = get(sketch, name)
        at = draw.uniform(0, path_end(wish))
        match draw.randrange(7):
            case 0:
                sketch, index = insert_handle(sketch, name, at, complex(draw.random(), 7))
                assert get(sketch, name).through[index][1] == 7
            case 1:
                with contextlib.suppress(EditError):
                    sketch = remove_handle(sketch, name, draw.randrange(len(wish.through)))
            case 2:
                sketch = add_tick(sketch, name, at, draw.uniform(0, 360))
            case 3 if wish.ticks:
                sketch, _ = move_tick(sketch, name, draw.randrange(len(wish.ticks)), at)
            case 4 if wish.ticks:
                sketch = remove_tick(sketch, name, draw.randrange(len(wish.ticks)))
            case 5:
                sketch = reverse_path(sketch, name)
            case 6:
                with contextlib.suppress(EditError):
                    sketch = close_path(sketch, name, draw.random() < 0.5)
        assert problems(sketch) == []
        wish = get(sketch, name)
        assert [tick.at for tick in wish.ticks] == sorted(tick.at for tick in wish.ticks)
