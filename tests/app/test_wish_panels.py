"""Particulars of wishes, regions and rules; the list of wishes; the line at the foot."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.panels.wishes import WishList
from core.model import Sketch
from core.model.wanted import (
    Knot,
    LengthRule,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    Zone,
)

LINE = ("rocker.D", "rocker.C")
WISHES = (
    WantedPath(id="path", point="coupler.E", through=((0, 50), (60, 120), (90, 60)),
               ticks=(Tick(at=1.0, crank_deg=120.0),)),
    WantedAngle(id="angle", part="rocker", line=LINE,
                knots=(Knot(crank_deg=0, angle_deg=90), Knot(crank_deg=120, angle_deg=110))),
    WantedPose(id="pose", crank_deg=45, x=10, y=20, angle_deg=30, at="coupler.B",
               toward="coupler.C"),
    WantedSwing(id="swing", part="rocker", line=LINE, from_deg=80, to_deg=120),
    WantedStroke(id="stroke", point="coupler.E", start=(0, 50), end=(80, 110)),
    WantedDwell(id="rest", part="rocker", from_deg=10, to_deg=50),
    WantedRatio(id="ratio", part="rocker", ratio=1.5),
)


@pytest.fixture
def wanting(qtbot, window, four_bar: Sketch):
    window.session.adopt_file(replace(
        four_bar, wanted=WISHES,
        zones=(Zone(id="box", corners=((-90, -90), (190, -90), (50, 190))),
               Zone(id="rail", corners=((-90, 0), (190, 0)), points=("frame.A",))),
        length_rules=(LengthRule(id="equal", equal=True, ends=(
            "crank.A", "crank.B", "rocker.D", "rocker.C")),)), None)
    qtbot.waitUntil(lambda: window.session.study_is_current, timeout=10_000)
    return window


def type_in(form, key: str, text: str) -> None:
    box = form.field(key).box
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, Qt.Key.Key_Return)


def choose(form, key: str, value) -> None:
    field = form.field(key)
    place = [each for each, _ in field.row.choices].index(value)
    field.box.setCurrentIndex(place)
    field.box.activated.emit(place)


@pytest.mark.parametrize(("name", "key", "typed", "field", "value"), [
    ("path", "tolerance_mm", "1/8 in", "tolerance_mm", 3.175),
    ("path", "weight", "2.5", "weight", 2.5),
    ("angle", "tolerance_deg", "3", "tolerance_deg", 3.0),
    ("pose", "crank_deg", "60°", "crank_deg", 60.0),
    ("pose", "x", "1 in", "x", 25.4),
    ("pose", "angle_deg", "-15", "angle_deg", -15.0),
    ("swing", "from_deg", "70", "from_deg", 70.0),
    ("stroke", "start 1", "44", "start", (0, 44.0)),
    ("stroke", "end 0", "70", "end", (70.0, 110)),
    ("rest", "to_deg", "65", "to_deg", 65.0),
    ("ratio", "ratio", "2", "ratio", 2.0),
    ("ratio", "tolerance", "0.1", "tolerance", 0.1),
])
def test_numbers_of_wishes_are_typed(wanting, name: str, key: str, typed: str, field: str,
                                     value) -> None:
    session = wanting.session
    session.select([("wish", name)])
    type_in(wanting.particulars, key, typed)
    wish = next(each for each in session.committed.wanted if each.id == name)
    assert getattr(wish, field) == pytest.approx(value)
    session.undo()
    assert session.committed.wanted == WISHES


@pytest.mark.parametrize(("name", "key", "typed", "trouble"), [
    ("path", "tolerance_mm", "0", "more than 0"),
    ("ratio", "ratio", "0.5", "quicker"),
    ("angle", "weight", "-1", "more than 0"),
])
def test_numbers_that_cannot_be_are_refused_in_a_sentence(wanting, name: str, key: str,
                                                          typed: str, trouble: str) -> None:
    wanting.session.select([("wish", name)])
    type_in(wanting.particulars, key, typed)
    assert trouble in wanting.particulars.field(key).complaint
    assert wanting.session.committed.wanted == WISHES


@pytest.mark.parametrize(("name", "value", "fields"), [
    ("path", "coupler.C", {"point": "coupler.C"}),
    ("path", "", {"point": ""}),
    ("angle", "coupler", {"part": "coupler", "line": ()}),
    ("pose", "rocker", {"at": "rocker.D", "toward": "rocker.C"}),
    ("pose", "", {"at": "", "toward": ""}),
    ("rest", "coupler.E", {"part": "", "point": "coupler.E"}),
    ("ratio", "", {"part": "", "point": ""}),
])
def test_wishes_are_attached_and_let_go(wanting, name: str, value: str,
                                        fields: dict[str, object]) -> None:
    wanting.session.select([("wish", name)])
    choose(wanting.particulars, "of", value)
    wish = next(each for each in wanting.session.committed.wanted if each.id == name)
    assert {field: getattr(wish, field) for field in fields} == fields


def test_the_line_that_counts_is_chosen(wanting) -> None:
    wanting.session.select([("wish", "angle")])
    choose(wanting.particulars, "line", ("rocker.C", "rocker.D"))
    assert wanting.session.committed.wanted[1].line == ("rocker.C", "rocker.D")
    choose(wanting.particulars, "line", ())
    assert wanting.session.committed.wanted[1].line == ()


def test_a_path_is_run_the_other_way(wanting) -> None:
    wanting.session.select([("wish", "path")])
    wanting.particulars.field("turned round").box.click()
    assert wanting.session.committed.wanted[0].through == ((0, 50), (90, 60), (60, 120))


def test_knots_are_typed_added_and_removed(wanting) -> None:
    session = wanting.session
    session.select([("wish", "angle")])
    (table,) = wanting.particulars.numbers
    table.grid.item(0, 1).setText("85")
    assert session.committed.wanted[1].knots[0] == Knot(crank_deg=0, angle_deg=85)
    table.grid.item(0, 0).setText("200")
    assert [knot.crank_deg for knot in session.committed.wanted[1].knots] == [120, 200]
    session.set_crank(math.radians(300))
    table.more.click()
    assert [knot.crank_deg for knot in session.committed.wanted[1].knots] == [120, 200, 300]
    QTest.qWait(1)
    table.grid.setCurrentCell(1, 0)
    table.less.click()
    assert [knot.crank_deg for knot in session.committed.wanted[1].knots] == [120, 300]


def test_a_knot_typed_onto_another_is_refused(wanting) -> None:
    wanting.session.select([("wish", "angle")])
    (table,) = wanting.particulars.numbers
    table.grid.item(0, 0).setText("120")
    assert "two knots" in table.error.text()
    assert wanting.session.committed.wanted == WISHES


def test_ticks_tie_places_of_a_path_to_crank_angles(wanting) -> None:
    session = wanting.session
    session.select([("wish", "path")])
    ticks, places = wanting.particulars.numbers
    assert ticks.grid.item(0, 0).text() == "2"
    ticks.grid.item(0, 1).setText("130")
    assert session.committed.wanted[0].ticks == (Tick(at=1.0, crank_deg=130.0),)
    session.set_crank(math.radians(20))
    ticks.more.click()
    assert session.committed.wanted[0].ticks[0] == Tick(at=0.0, crank_deg=20.0)
    places.grid.item(2, 0).setText("95 mm")
    assert session.committed.wanted[0].through[2] == (95.0, 60.0)
    places.more.click()
    assert len(session.committed.wanted[0].through) == 4


def test_corners_of_a_region_are_typed_and_kept_to_three(wanting) -> None:
    session = wanting.session
    session.select([("zone", "box")])
    (table,) = wanting.particulars.numbers
    table.grid.item(1, 1).setText("-100")
    assert session.committed.zones[0].corners[1] == (190, -100.0)
    QTest.qWait(1)
    table.grid.setCurrentCell(0, 0)
    table.less.click()
    assert "three corners" in table.error.text()
    choose(wanting.particulars, "keep", "out")
    choose(wanting.particulars, "points", ("coupler.E",))
    assert session.committed.zones[0].keep == "out"
    assert session.committed.zones[0].points == ("coupler.E",)


def test_a_line_to_stay_on_has_no_outside(wanting) -> None:
    wanting.session.select([("zone", "rail")])
    assert wanting.particulars.field("shape").box.text() == "on that straight line"


def test_a_rule_for_lengths_says_how_long_they_are_now(wanting) -> None:
    session, form = wanting.session, wanting.particulars
    session.select([("length_rule", "equal")])
    assert "A – B of crank, now 30 mm" in form.field("lengths").box.text()
    type_in(form, "shortest_mm", "25")
    assert session.committed.length_rules[0].shortest_mm == 25.0
    type_in(form, "shortest_mm", " ")
    assert session.committed.length_rules[0].shortest_mm is None


def test_the_rules_of_a_fit_are_the_sketchs_own(wanting) -> None:
    session, form = wanting.session, wanting.particulars
    session.select([])
    type_in(form, "fit transmission_deg", "35")
    form.field("fit start_free").box.click()
    form.field("fit mind_gaps").box.click()
    type_in(form, "fit longest_mm", "10 in")
    fit = session.committed.fit
    assert (fit.transmission_deg, fit.start_free, fit.mind_gaps) == (35.0, False, True)
    assert fit.longest_mm == pytest.approx(254.0)
    type_in(form, "fit transmission_deg", "95")
    assert "between 0° and 90°" in form.field("fit transmission_deg").complaint


def test_what_a_fit_may_move_is_chosen_point_by_point(wanting) -> None:
    session, form = wanting.session, wanting.particulars
    session.select([("point", "crank.B")])
    form.field("may move").box.click()
    assert "coupler.B" not in session.committed.fit.free
    assert "coupler.E" in session.committed.fit.free
    session.select([("point", "coupler.B")])
    assert form.field("may move").box.checkState() == Qt.CheckState.Unchecked
    session.select([])
    choose(form, "fit free", True)
    assert session.committed.fit.free == ()


def test_without_wishes_nothing_is_said_of_fits(window) -> None:
    form = window.particulars
    window.session.select([])
    with pytest.raises(KeyError):
        form.field("fit start_free")
    window.session.select([("point", "coupler.E")])
    with pytest.raises(KeyError):
        form.field("may move")
    assert not window.wishes.isVisible()


# -- the list ------------------------------------------------------------------------


def lines(panel: WishList) -> list[tuple[str, str]]:
    tree = panel.tree
    return [(tree.topLevelItem(k).text(0), tree.topLevelItem(k).text(1))
            for k in range(tree.topLevelItemCount())]


def test_the_list_says_of_every_wish_how_it_is_met(wanting) -> None:
    panel, study = wanting.wishes, wanting.session.study
    assert panel.isVisible()
    said = dict(lines(panel))
    assert list(said) == [*(wish.id for wish in WISHES), "box", "rail", "equal"]
    for met in study.wanted:
        assert said[met.wish].startswith("met, ") == met.met
    met = sum(one.met for one in study.wanted)
    assert panel.heading.text() == f"Wanted motion: {met} of {len(WISHES)} met"
    assert f"{met} of {len(WISHES)} wishes met" in wanting.summary.text()


def test_a_click_in_the_list_selects_and_the_selection_shows_in_it(wanting) -> None:
    tree, session = wanting.wishes.tree, wanting.session
    middle = tree.visualItemRect(tree.topLevelItem(1)).center()
    QTest.mouseClick(tree.viewport(), Qt.MouseButton.LeftButton, pos=middle)
    assert session.selection == {("wish", "angle")}
    session.select([("zone", "box")])
    assert [line.text(0) for line in tree.selectedItems()] == ["box"]
    session.select([])
    assert tree.selectedItems() == []


def test_opening_a_line_turns_the_crank_to_the_worst_place(wanting) -> None:
    met = next(one for one in wanting.session.study.wanted if one.wish == "path")
    wanting.wishes.tree.itemActivated.emit(wanting.wishes.tree.topLevelItem(0), 0)
    away = math.remainder(wanting.session.crank_rad - met.crank_rad, 2 * math.pi)
    assert away == pytest.approx(0.0, abs=1e-6)


def test_a_wish_that_is_not_attached_says_so(wanting, qtbot) -> None:
    session = wanting.session
    session.select([("wish", "path")])
    choose(wanting.particulars, "of", "")
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    assert dict(lines(wanting.wishes))["path"] == "not measured"


def test_the_list_goes_with_the_last_wish(wanting) -> None:
    session = wanting.session
    session.commit("Clear", replace(session.committed, wanted=(), zones=(), length_rules=()))
    assert not wanting.wishes.isVisible()
    session.undo()
    assert wanting.wishes.isVisible()
    assert len(lines(wanting.wishes)) == len(WISHES) + 3


def test_the_list_gives_way_to_the_fit_panel(wanting) -> None:
    panel = wanting.seeking.panel
    panel.show()
    assert not wanting.wishes.isVisible()
    wanting.session.select([("wish", "angle")])
    type_in(wanting.particulars, "weight", "3")
    assert not wanting.wishes.isVisible()
    panel.hide()
    assert wanting.wishes.isVisible()


def test_the_crank_axis_marks_poses_rests_and_the_ticks_of_a_chosen_path(wanting) -> None:
    axis = wanting.strip.axis
    assert set(axis._wanted) >= {(45.0, 45.0), (10.0, 50.0)}
    assert (120.0, 120.0) not in axis._wanted
    wanting.session.select([("wish", "path")])
    assert (120.0, 120.0) in axis._wanted


def test_a_rest_over_the_end_of_the_turn_is_marked_at_both_ends(wanting) -> None:
    sketch = wanting.session.committed
    rest = WantedDwell(id="rest", part="rocker", from_deg=340, to_deg=20)
    wanting.session.commit("Rest", replace(sketch, wanted=(rest,)))
    assert set(wanting.strip.axis._wanted) >= {(0.0, 20.0), (340.0, 360.0)}
