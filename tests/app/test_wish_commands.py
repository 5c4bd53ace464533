"""The Motion menu: a wish from the selection and how it moves, each one undo step."""

from __future__ import annotations

import math

import pytest

from app.commands.wanting import OFFERS
from core.model import Part, Point, Sketch
from core.model.wanted import (
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)


@pytest.fixture
def told(window) -> list[str]:
    heard: list[str] = []
    window.session.told.connect(heard.append)
    return heard


@pytest.mark.parametrize(("command", "chosen", "kind", "name"), [
    ("angle_now", ("part", "rocker"), WantedAngle, "rocker angle"),
    ("angle_swing", ("part", "rocker"), WantedAngle, "rocker angle"),
    ("angle_quick", ("part", "coupler"), WantedAngle, "coupler angle"),
    ("angle_hold", ("part", "rocker"), WantedAngle, "rocker angle"),
    ("want_swing", ("part", "rocker"), WantedSwing, "rocker swing"),
    ("want_rest", ("part", "rocker"), WantedDwell, "rocker rest"),
    ("want_ratio", ("part", "rocker"), WantedRatio, "rocker ratio"),
    ("path_now", ("point", "coupler.E"), WantedPath, "coupler E path"),
    ("want_stroke", ("point", "coupler.E"), WantedStroke, "coupler E stroke"),
    ("want_rest", ("point", "coupler.E"), WantedDwell, "coupler E rest"),
    ("want_ratio", ("point", "coupler.E"), WantedRatio, "coupler E ratio"),
    ("angle_now", ("point", "coupler.E"), WantedAngle, "coupler angle"),
])
def test_a_command_makes_a_wish_in_one_undo_and_selects_it(
        window, command: str, chosen: tuple[str, str], kind: type, name: str) -> None:
    session = window.session
    before = session.committed
    session.select([chosen])
    window.action(command).trigger()
    (wish,) = session.committed.wanted
    assert (type(wish), wish.id) == (kind, name)
    assert session.selection == {("wish", name)}
    session.undo()
    assert session.committed is before


def test_a_part_keeps_one_curve_and_its_name(window) -> None:
    session = window.session
    for command in ("angle_now", "angle_swing", "angle_quick"):
        session.select([("part", "rocker")])
        window.action(command).trigger()
        assert [wish.id for wish in session.committed.wanted] == ["rocker angle"]
    session.undo()
    session.undo()
    assert len(session.committed.wanted) == 1


def test_a_hold_is_put_into_the_curve_the_part_has(window) -> None:
    session = window.session
    session.select([("part", "rocker")])
    window.action("angle_quick").trigger()
    quick = session.committed.wanted[0]
    session.set_crank(math.radians(quick.knots[0].crank_deg + 100.0))
    session.select([("part", "rocker")])
    window.action("angle_hold").trigger()
    held = session.committed.wanted[0]
    kept = set(held.knots) & set(quick.knots)
    level = [knot.angle_deg for knot in held.knots if knot not in quick.knots]
    assert kept
    assert len(level) == 2
    assert level[0] == level[1]


def test_a_wish_about_nothing_says_what_to_select(window, told: list[str]) -> None:
    for name in ("angle_as_now", "swing", "stroke", "path_as_now", "rest", "time_ratio",
                 "keep_equal", "keep_within", "keep_there"):
        getattr(window.wanting, name)()
        assert "Select" in told[-1]
    window.session.select([("part", "rocker"), ("part", "coupler")])
    window.wanting.angle_as_now()
    assert "Select one part" in told[-1]
    assert window.session.committed.wanted == ()


def test_what_cannot_be_wanted_is_said_and_nothing_changes(window, told: list[str]) -> None:
    before = window.session.committed
    window.session.select([("part", "crank")])
    window.action("want_swing").trigger()
    assert "no two ends" in told[-1]
    window.session.select([("part", "frame")])
    window.action("angle_now").trigger()
    assert "does not move" in told[-1]
    assert window.session.committed is before


def test_without_a_crank_that_turns_the_commands_say_so(window, told: list[str]) -> None:
    window.session.adopt_file(Sketch(parts=(
        Part(id="bar", points=(Point(id="A", x=0, y=0), Point(id="B", x=50, y=0))),)), None)
    for kind, name in (("part", "bar"), ("point", "bar.A")):
        for command in OFFERS[kind]:
            if command == "want_pose":  # a pose is where the part stands, turning or not
                continue
            window.session.select([(kind, name)])
            window.action(command).trigger()
            assert "crank that turns" in told[-1]
    assert window.session.committed.wanted == ()


def test_links_kept_equal_are_told_by_their_ends(window) -> None:
    session = window.session
    session.select([("part", "rocker"), ("part", "crank")])
    window.action("keep_equal").trigger()
    (rule,) = session.committed.length_rules
    assert rule.equal
    assert set(rule.ends) == {"crank.A", "crank.B", "rocker.D", "rocker.C"}
    assert session.selection == {("length_rule", rule.id)}


def test_two_points_of_a_part_are_a_length(window) -> None:
    session = window.session
    session.select([("point", "coupler.B"), ("point", "coupler.E")])
    window.action("keep_within").trigger()
    (rule,) = session.committed.length_rules
    assert set(rule.ends) == {"coupler.B", "coupler.E"}
    now = abs(complex(50, 90) - complex(0, 30))
    assert rule.shortest_mm == pytest.approx(0.8 * now, abs=0.05)
    assert rule.longest_mm == pytest.approx(1.2 * now, abs=0.05)


def test_a_region_holds_the_points_selected_with_it(window) -> None:
    from core.model import edits

    session = window.session
    sketch, name = edits.add_zone(session.committed, [0, 200, 200j])
    session.commit("Region", sketch)
    session.select([("zone", name), ("point", "coupler.E"), ("point", "coupler.C")])
    window.action("keep_there").trigger()
    assert session.committed.zones[0].points == ("coupler.C", "coupler.E")
    assert window.particulars.field("points").box.currentText() == \
        "C of coupler, E of coupler"


def test_offers_are_there_for_what_moves_alone(window) -> None:
    session, form = window.session, window.particulars
    session.select([("part", "rocker")])
    assert [a.objectName() for a in form.wants.menu().actions()] == list(OFFERS["part"])
    session.select([("point", "coupler.E")])
    assert [a.objectName() for a in form.wants.menu().actions()] == list(OFFERS["point"])
    for other in ([("part", "frame")], [("part", "rocker"), ("part", "coupler")],
                  [("pin", "a")], []):
        session.select(other)
        assert form.wants is None
    session.select([("part", "rocker")])
    window.action("angle_now").trigger()
    assert [a.objectName() for a in form.wants.menu().actions()] == list(OFFERS["wish"])


def test_a_name_as_long_as_can_be_still_gets_a_wish(window) -> None:
    from core.model import edits

    session = window.session
    session.commit("Rename", edits.rename(session.committed, "rocker", "r" * 64))
    session.select([("part", "r" * 64)])
    window.action("angle_now").trigger()
    assert len(session.committed.wanted[0].id) <= 64


def test_another_start_is_offered_for_the_wish_just_made(window) -> None:
    session = window.session
    session.select([("part", "rocker")])
    window.action("angle_swing").trigger()
    window.action("angle_quick").trigger()
    (wish,) = session.committed.wanted
    assert session.undo_stack.count() == 2
    crank = [knot.crank_deg for knot in wish.knots]
    assert not math.isclose(crank[1] - crank[0], crank[-1] - crank[-2], abs_tol=1.0)
    window.action("want_swing").trigger()
    assert [type(wish) for wish in session.committed.wanted] == [WantedAngle, WantedSwing]


def test_what_is_asked_of_a_point_is_offered_for_its_wish_too(window) -> None:
    session = window.session
    session.select([("point", "coupler.E")])
    window.action("path_now").trigger()
    assert not window.action("angle_now").isEnabled()
    window.action("want_stroke").trigger()
    assert [type(wish) for wish in session.committed.wanted] == [WantedPath, WantedStroke]
    session.select([])
    assert not window.action("want_stroke").isEnabled()
