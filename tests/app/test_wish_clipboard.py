"""Copies of wishes, and wishes out of sight."""

from __future__ import annotations

import pytest

from core.model.edits import add_path, add_pose, add_zone, get

LOOP = (10 + 10j, 40 + 10j, 40 + 40j)


@pytest.fixture
def wished(window):
    """The four-bar with a path of a coupler point, a pose of the rocker and regions."""
    sketch, _ = add_path(window.session.committed, LOOP, point="coupler.E")
    sketch, _ = add_pose(sketch, 100 + 0j, 90.0, 30.0, at="rocker.D", toward="rocker.C")
    sketch, _ = add_zone(sketch, LOOP, keep="out")
    sketch, _ = add_zone(sketch, LOOP, points=("coupler.E",))
    window.session.commit("Wish", sketch)
    return window.session


def run(window, *names: str) -> None:
    for name in names:
        assert window.action(name).isEnabled()
        window.action(name).trigger()


def test_a_duplicate_path_is_asked_of_the_same_point_beside_it(window, wished) -> None:
    wished.select((("wish", "path"),))
    run(window, "duplicate")
    copy = get(wished.committed, "path 2")
    assert copy.point == "coupler.E"
    assert complex(*copy.through[0]) == LOOP[0] + 12 - 12j
    assert wished.selection == {("wish", "path 2")}


def test_wishes_go_along_with_the_parts_they_are_asked_of(window, wished) -> None:
    wished.select((("wish", "path"), ("part", "coupler"), ("zone", "region 2")))
    run(window, "copy", "paste")
    assert get(wished.committed, "path 2").point == "coupler 2.E"
    assert get(wished.committed, "region 3").points == ("coupler 2.E",)


def test_a_wish_pasted_without_its_part_is_asked_of_nothing(window, wished) -> None:
    wished.select((("wish", "pose"), ("zone", "region")))
    run(window, "cut")
    assert [wish.id for wish in wished.committed.wanted] == ["path"]
    run(window, "paste")
    assert get(wished.committed, "pose").at == ""
    assert get(wished.committed, "region").keep == "out"


def test_a_region_of_points_is_not_copied_without_them(window, wished) -> None:
    said: list[str] = []
    wished.told.connect(said.append)
    wished.select((("zone", "region 2"),))
    before = wished.committed
    run(window, "cut")
    assert wished.committed is before
    assert "select them too" in said[0]


def test_wishes_out_of_sight_are_neither_painted_nor_taken_hold_of(window, wished) -> None:
    from app.canvas.wish_hits import wishes_under

    shown = window.canvas.grab().toImage()
    place = complex(*get(wished.committed, "path").through[0])
    assert wishes_under(window.canvas.frame(), place)
    window.action("wishes").setChecked(False)
    assert not wishes_under(window.canvas.frame(), place)
    assert window.canvas.grab().toImage() != shown
    window.action("wishes").setChecked(True)
    assert window.canvas.grab().toImage() == shown
