"""Particulars: every value shown, edited with units, one undo step each."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.panels.fields import BoxField, ChoiceField, SwitchField
from app.panels.particulars import Particulars
from core.errors import EditError
from core.model import Bar, Disc, HandStep
from core.model.edits import set_handle
from core.motion.redimension import drag_point


@pytest.fixture
def form(qtbot, session):
    made = Particulars(session)
    qtbot.addWidget(made)
    made.resize(300, 900)
    made.show()
    return made


def type_in(form: Particulars, key: str, text: str) -> BoxField:
    field = form.field(key)
    assert isinstance(field, BoxField)
    field.box.setFocus()
    field.box.selectAll()
    QTest.keyClicks(field.box, text)
    QTest.keyClick(field.box, Qt.Key.Key_Return)
    return field


@pytest.mark.parametrize(("text", "mm"), [("1/4 in", 6.35), ("6.35", 6.35), ("9 mm", 9.0),
                                          ("1,2 cm", 12.0), ("½ in", 12.7)])
def test_a_thickness_is_taken_in_any_unit(form, session, text: str, mm: float) -> None:
    session.select([("part", "coupler")])
    type_in(form, "thickness_mm", text)
    assert session.committed.part("coupler").thickness_mm == pytest.approx(mm)
    assert session.undo_stack.count() == 1
    session.undo()
    assert session.committed.part("coupler").thickness_mm == 6.0
    assert form.field("thickness_mm").box.text() == "6 mm"


@pytest.mark.parametrize("text", ["six", "-3", "0", "4 kg", ""])
def test_a_wrong_value_is_refused_in_place_with_one_sentence(form, session,
                                                             text: str) -> None:
    session.select([("part", "coupler")])
    field = form.field("thickness_mm")
    field.box.setFocus()
    field.box.setText(text)
    QTest.keyClick(field.box, Qt.Key.Key_Return)
    assert session.undo_stack.count() == 0
    assert field.complaint.endswith(".")
    assert field.complaint.count("\n") == 0
    QTest.keyClick(field.box, Qt.Key.Key_Escape)
    assert field.box.text() == "6 mm"
    assert field.complaint == ""


def test_looking_at_a_rounded_number_does_not_change_it(form, session) -> None:
    session.select([("part", "coupler")])
    for key in ("length B C", "thickness_mm", "layer"):
        field = form.field(key)
        field.box.setFocus()
        QTest.keyClick(field.box, Qt.Key.Key_Return)
    form.field("layer").box.clearFocus()
    assert session.undo_stack.count() == 0


def test_a_link_length_is_edited_exactly(form, session) -> None:
    session.select([("part", "rocker")])
    type_in(form, "length D C", "75")
    part = session.committed.part("rocker")
    a, b = part.point("D"), part.point("C")
    assert math.dist((a.x, a.y), (b.x, b.y)) == pytest.approx(75.0, abs=1e-9)
    # The coupler's point on that pin came along.
    c = session.committed.point("coupler.C")
    assert (c.x, c.y) == pytest.approx((b.x, b.y))
    assert session.undo_stack.count() == 1


def test_a_locked_length_says_why_it_cannot_change(form, session) -> None:
    session.select([("part", "rocker")])
    form.field("lengths_locked").box.click()
    field = type_in(form, "length D C", "75")
    assert field.complaint.endswith(".")
    assert session.undo_stack.count() == 1


def test_several_parts_show_what_they_share_and_take_edits_together(form, session) -> None:
    session.select([("part", "crank"), ("part", "rocker")])
    assert form.field("layer").box.text() == "1"
    session.select([("part", "crank"), ("part", "coupler")])
    assert form.field("layer").box.text() == ""
    assert form.field("layer").box.placeholderText() == "several"
    type_in(form, "thickness_mm", "9")
    assert session.committed.part("crank").thickness_mm == 9.0
    assert session.committed.part("coupler").thickness_mm == 9.0
    assert session.undo_stack.count() == 1


def test_renaming_keeps_the_selection_and_refuses_a_taken_name(form, session) -> None:
    session.select([("part", "coupler")])
    type_in(form, "name", "paddle")
    assert session.selection == {("part", "paddle")}
    assert "paddle.B" in session.committed.pins[1].at
    field = type_in(form, "name", "crank")
    assert "taken" in field.complaint
    assert session.undo_stack.count() == 1


def test_the_shape_and_its_size_can_be_chosen(form, session) -> None:
    session.select([("part", "crank")])
    choice = form.field("outline")
    assert isinstance(choice, ChoiceField)
    place = [value for value, _ in choice.row.choices].index(Bar)
    choice.box.setCurrentIndex(place)
    choice.box.activated.emit(place)
    assert session.committed.part("crank").outline == Bar()
    type_in(form, "width_mm", "22")
    assert session.committed.part("crank").outline == Bar(width_mm=22.0)
    place = [value for value, _ in form.field("outline").row.choices].index(Disc)
    form.field("outline").box.activated.emit(place)
    disc = session.committed.part("crank").outline
    assert isinstance(disc, Disc)
    assert disc.radius_mm >= 30.0


def test_the_wheel_scrolls_past_a_choice_without_changing_it(form, session) -> None:
    session.select([("part", "crank")])
    box = form.field("material").box
    turn = QWheelEvent(QPointF(5, 5), QPointF(5, 5), QPoint(), QPoint(0, -120),
                       Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
                       Qt.ScrollPhase.NoScrollPhase, False)
    QApplication.sendEvent(box, turn)
    assert not turn.isAccepted()
    assert session.undo_stack.count() == 0


def test_a_typed_mass_starts_from_the_computed_one(form, session) -> None:
    session.select([("part", "coupler")])
    shown = form.field("mass").box.text()
    form.field("mass kind").box.activated.emit(1)
    assert form.field("mass mass_kg").box.text() == shown
    type_in(form, "mass mass_kg", "250 g")
    assert session.committed.part("coupler").mass.mass_kg == pytest.approx(0.25)
    form.field("mass kind").box.activated.emit(0)
    assert session.committed.part("coupler").mass is None


def test_switches_take_effect_and_can_be_undone(form, session) -> None:
    session.select([("point", "coupler.B")])
    switch = form.field("trace")
    assert isinstance(switch, SwitchField)
    switch.box.click()
    assert session.committed.point("coupler.B").trace
    session.undo()
    assert not form.field("trace").box.isChecked()


def test_a_pivot_is_locked_in_place_from_its_pin(form, session) -> None:
    session.select([("pin", "d")])
    form.field("locked").box.click()
    assert any(session.committed.point(ref).locked for ref in ("frame.D", "rocker.D"))
    with pytest.raises(EditError):
        drag_point(session.committed, "rocker.D", 0.0, 0.0)
    form.field("locked").box.click()
    assert not any(session.committed.point(ref).locked for ref in ("frame.D", "rocker.D"))


def test_the_crank_is_edited_from_its_pin_and_from_the_sketch(form, session) -> None:
    session.select([("pin", "a")])
    type_in(form, "drive rpm", "-30")
    assert session.committed.drive.rpm == -30.0
    session.select([])
    type_in(form, "drive drawn_deg", "45")
    assert session.committed.drive.drawn_deg == 45.0
    form.field("drive kind").box.activated.emit(1)
    assert session.committed.drive.kind == "rock"
    type_in(form, "drive to_deg", "60")
    assert session.committed.drive.to_deg == 60.0


def test_the_sketch_is_edited_when_nothing_is_selected(form, session) -> None:
    type_in(form, "sketch title", "Rowing otter")
    type_in(form, "sketch friction", "0.15 to 0.5")
    type_in(form, "sketch gap_mm", "1/16 in")
    form.field("lies").box.activated.emit(1)
    sketch = session.committed
    assert sketch.title == "Rowing otter"
    assert sketch.friction == (0.15, 0.5)
    assert sketch.gap_mm == pytest.approx(1.5875)
    assert sketch.gravity.g_m_s2 == 0.0
    assert session.undo_stack.count() == 4


def test_inches_are_shown_as_fractions(form, session) -> None:
    form.field("sketch units").box.activated.emit(1)
    session.select([("part", "coupler")])
    type_in(form, "thickness_mm", "3/8")
    assert session.committed.part("coupler").thickness_mm == pytest.approx(9.525)
    assert form.field("thickness_mm").box.text() == "3/8 in"


def cell(form: Particulars, row: int, column: int, text: str) -> None:
    form.table.grid.item(row, column).setText(text)


def test_points_are_edited_in_their_table(qtbot, form, session) -> None:
    session.select([("part", "coupler")])
    cell(form, 2, 1, "2 in")
    assert session.committed.point("coupler.E").x == pytest.approx(50.8)
    cell(form, 2, 0, "tip")
    assert session.committed.point("coupler.tip").x == pytest.approx(50.8)
    form.table.grid.item(2, 3).setCheckState(Qt.CheckState.Checked)
    assert session.committed.point("coupler.tip").locked
    cell(form, 2, 1, "99")
    assert form.table.error.text().endswith(".")
    assert session.committed.point("coupler.tip").x == pytest.approx(50.8)
    cell(form, 0, 1, "nonsense")
    assert form.table.error.text().endswith(".")
    assert session.undo_stack.count() == 3


def test_points_are_added_and_removed_beside_the_table(form, session) -> None:
    session.select([("part", "coupler")])
    form.table.more.click()
    added = session.committed.part("coupler").points[-1]
    assert added.id not in ("B", "C", "E")
    assert form.table.grid.rowCount() == 4
    assert not form.table.less.isEnabled()
    form.table.grid.setCurrentCell(1, 0)
    form.table.less.click()
    assert [p.id for p in session.committed.part("coupler").points] == ["B", "E", added.id]
    # The pin that held the point has only one part left and goes with it.
    assert "c" not in {pin.id for pin in session.committed.pins}
    session.undo()
    session.undo()
    assert len(session.committed.part("coupler").points) == 3
    assert session.undo_stack.count() == 2


def test_moving_a_pinned_point_takes_the_others_on_the_pin_along(form, session) -> None:
    session.select([("point", "coupler.B")])
    type_in(form, "x", "5")
    assert session.committed.point("crank.B").x == pytest.approx(5.0)


def test_the_form_is_not_built_anew_while_only_numbers_change(form, session) -> None:
    session.select([("part", "coupler")])
    page = form.widget()
    type_in(form, "thickness_mm", "9")
    assert form.widget() is page


def test_every_kind_of_thing_has_its_particulars(qtbot, form, session) -> None:
    import msgspec

    from app.panels.rows import KINDS
    from core.model import (
        Belt,
        Disc,
        Force,
        Lock,
        Mesh,
        Part,
        PinInSlot,
        Point,
        Sketch,
        Slide,
        Spring,
        Torque,
        TorsionSpring,
        Twin,
    )
    from core.model.wanted import LengthRule, WantedPath, Zone

    def spot(name, x, y):
        return Point(id=name, x=x, y=y)

    base: Sketch = session.committed
    whole = msgspec.structs.replace(
        base,
        parts=(*base.parts, Part(id="wheel", points=(spot("O", 100, 0),),
                                 outline=Disc(radius_mm=40)),
               Part(id="rail", fixed=True, points=(spot("L", 0, 60), spot("R", 80, 60))),
               Part(id="sledge", points=(spot("P", 40, 60),))),
        slides=(Slide(id="s", point="sledge.P", along=("rail.L", "rail.R")),),
        slots=(PinInSlot(id="o", point="sledge.P", slot=("rail.L", "rail.R")),),
        locks=(Lock(id="k", parts=("wheel", "rocker"), pin="d"),),
        meshes=(Mesh(id="m", a="crank.A", b="wheel.O", teeth_a=20, teeth_b=40),),
        belts=(Belt(id="t", a="crank.A", b="wheel.O", diameter_a_mm=20, diameter_b_mm=40),),
        forces=(Force(id="f", at="coupler.E", fx_n=1, fy_n=-2),),
        torques=(Torque(id="q", part="rocker", torque_nmm=100),),
        springs=(Spring(id="z", a="frame.A", b="rocker.C", rate_n_per_mm=0.2,
                        free_length_mm=40),),
        torsion_springs=(TorsionSpring(id="w", pin="d", a="frame", b="rocker",
                                       rate_nmm_per_deg=3),),
        twins=(Twin(id="v", parts=()),),
        wanted=(WantedPath(id="p", through=((0, 0), (10, 0), (10, 10)), point="coupler.E"),),
        zones=(Zone(id="r", corners=((0, 0), (90, 0), (0, 90))),),
        length_rules=(LengthRule(id="l", ends=("coupler.B", "coupler.C")),),
    )
    session.commit("All", whole)
    things = {"part": "wheel", "point": "coupler.E", "pin": "c", "slide": "s", "slot": "o",
              "lock": "k", "mesh": "m", "belt": "t", "force": "f", "torque": "q",
              "spring": "z", "torsion_spring": "w", "twin": "v", "wish": "p", "zone": "r",
              "length_rule": "l"}
    assert set(things) == set(KINDS)
    for kind, name in things.items():
        session.select([(kind, name)])
        assert form.field("name").box.text() == name.rpartition(".")[2]
        for _, field in form._rows:
            assert field.complaint == ""
    session.select([("mesh", "m")])
    # Module = 2 · centre distance / sum of teeth (ISO 54 definition of the module).
    assert form.field("module").box.text() == "3.333 mm"


def test_a_table_stands_below_the_section_it_belongs_to(form) -> None:
    steps, = form.numbers
    radius, fingers = form.field("handle radius_mm"), form.field("sketch for_children")
    assert radius.y() < steps.y() < fingers.y()


def test_rows_that_come_and_go_leave_what_is_edited_in_sight(qtbot, form, session) -> None:
    form.resize(300, 200)
    bar = form.verticalScrollBar()
    qtbot.waitUntil(lambda: bar.maximum() > 300)
    bar.setValue(300)
    geared = set_handle(session.committed,
                        steps=(HandStep(driver=12, driven=36),))  # adds rows of facts
    session.commit("Change handle", geared)
    qtbot.waitUntil(lambda: bar.value() == 300)
    session.select([("part", "coupler")])
    qtbot.waitUntil(lambda: bar.value() == 0)
