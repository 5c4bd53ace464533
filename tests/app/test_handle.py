"""The handle in the particulars, and the lanes of push and causes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QSize, Qt
from PySide6.QtTest import QTest

from app.panels.particulars import Particulars
from app.panels.rows import sections
from app.panels.rows.handle import SHARE, steps_table
from app.strip import TurnStrip
from app.strip.force_lanes import CAUSES, Stack
from app.theme import DARK, LIGHT, stylesheet
from core.errors import CrankwrightError
from core.model import Handle, HandStep, Torque
from core.study import study

GEARS = HandStep(driver=12, driven=36, module_mm=2.0)


@pytest.fixture
def strip(qtbot, session):
    made = TurnStrip(session)
    qtbot.addWidget(made)
    made.resize(900, 420)
    for name in ("causes", "push"):
        made.switches[name].setChecked(True)
    made.show()
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    return made


def with_handle(session, handle: Handle, **more) -> None:
    session.commit("Change handle", replace(session.committed, handle=handle, **more))


def settled(qtbot, session) -> None:
    qtbot.waitUntil(lambda: session.study_is_current and session.study.states is not None,
                    timeout=10_000)


def steps_in(panel: Particulars):
    return next(table for table in panel.numbers if table.table.noun == "step")


def test_the_crank_and_the_empty_selection_show_the_handle(session) -> None:
    drive = session.sketch.drive
    for selection in ((), (("part", drive.part),), (("pin", drive.pin),)):
        made = sections(session.sketch, frozenset(selection))
        assert "Handle" in [section.title for section in made]
    other = next(part.id for part in session.sketch.parts
                 if not part.fixed and part.id != drive.part)
    made = sections(session.sketch, frozenset({("part", other)}))
    assert "Handle" not in [section.title for section in made]


def test_a_limit_typed_is_the_users_own_and_emptied_is_the_preset(qtbot, session) -> None:
    panel = Particulars(session)
    qtbot.addWidget(panel)
    session.select([("part", session.sketch.drive.part)])
    for text, limit in (("7.5 N", 7.5), ("", None), ("2", 2.0), ("-3", 2.0)):
        box = panel.field("handle limit_n").box
        box.setFocus()
        box.selectAll()
        QTest.keyClick(box, Qt.Key.Key_Delete)
        QTest.keyClicks(box, text)
        QTest.keyClick(box, Qt.Key.Key_Return)
        assert session.committed.handle.limit_n == (None if limit is None
                                                    else pytest.approx(limit))


def test_steps_are_added_changed_and_taken_out_with_one_undo_each(qtbot, session) -> None:
    panel = Particulars(session)
    qtbot.addWidget(panel)
    session.select([("part", session.sketch.drive.part)])
    table = steps_in(panel)
    qtbot.mouseClick(table.more, Qt.MouseButton.LeftButton)
    assert len(session.committed.handle.steps) == 1
    assert panel.field("handle turns") is not None
    table = steps_in(panel)
    table.cell(0, 2).setText("40")
    table.cell(0, 0).setText("crossed")
    step = session.committed.handle.steps[0]
    # 16 and 40 teeth of module 3 become pulleys of 48 and 120 mm.
    assert (step.kind, step.driver, step.driven) == ("crossed belt", 48.0, 120.0)
    table.grid.setCurrentCell(0, 0)
    qtbot.mouseClick(table.less, Qt.MouseButton.LeftButton)
    assert session.committed.handle.steps == ()
    for count in (1, 1, 1, 0):
        session.undo()
        assert len(session.committed.handle.steps) == count


@pytest.mark.parametrize(("column", "text"), [
    (0, "worm"), (1, "12.5"), (2, "0"), (4, "120 to 130"), (4, "0"), (5, "-1"), (3, "-2"),
    (6, "2 / 0"), (6, "1 2 3"), (6, "much")])
def test_what_no_step_can_have_is_refused_in_a_sentence(session, column, text) -> None:
    sketch = replace(session.sketch, handle=Handle(steps=(GEARS,)))
    table = steps_table()
    with pytest.raises(CrankwrightError) as refused:
        table.write(sketch, 0, column, table.quantities[column].parse(text, "mm"))
    assert str(refused.value).endswith(".")


def test_what_a_cell_shows_can_be_typed_into_it(session) -> None:
    steps = (GEARS, replace(GEARS, module_mm=None, shift=(0.3, -0.125)),
             HandStep(driver=30.0, driven=75.0, kind="belt", efficiency=(0.9, 0.9)),
             HandStep(driver=30.0, driven=75.0, kind="crossed belt"))
    for shown in ("mm", "in"):
        sketch = replace(session.sketch, units=shown, handle=Handle(steps=steps))
        table = steps_table()
        for row, values in enumerate(table.read(sketch)):
            for column, (value, kind) in enumerate(zip(values, table.quantities,
                                                       strict=True)):
                typed = kind.parse(kind.show(value, shown), shown)
                after = table.write(sketch, row, column, typed).handle.steps[row]
                before = steps[row]
                assert after.kind == before.kind
                assert after.driver == pytest.approx(before.driver, rel=1e-3)
                assert after.efficiency == pytest.approx(before.efficiency)
    assert SHARE.parse("0.8 to 0.9", "mm") == (0.8, 0.9)
    assert SHARE.parse("80–90 %", "mm") == pytest.approx((0.8, 0.9))


def test_the_lane_of_the_push_shows_the_limit_and_hatches_what_is_above(
    qtbot, session, strip
) -> None:
    lane = strip.lanes["push"]
    hand = session.study.hand
    with_handle(session, Handle(limit_n=0.5 * hand.peak_n))
    settled(qtbot, session)
    assert lane.level.value() == pytest.approx(0.5 * hand.peak_n)
    shown = sum(b - a for a, b in lane.flagged.spans)
    over = sum(math.degrees(b - a) for a, b in session.study.hand.over)
    assert shown == pytest.approx(over)
    assert over > 1.0
    with_handle(session, Handle(limit_n=2.0 * hand.peak_n))
    settled(qtbot, session)
    assert lane.flagged.spans == ()
    np.testing.assert_allclose(lane._y, session.study.hand.force_high_n)


def test_turned_backwards_too_adds_a_dashed_curve_and_says_so(qtbot, session, strip) -> None:
    settled(qtbot, session)
    for name in ("torque", "push"):
        assert strip.lanes[name].back.getData()[1] is None or not len(
            strip.lanes[name].back.getData()[1])
    strip.switches["backwards"].setChecked(True)
    torque, push = strip.lanes["torque"], strip.lanes["push"]
    states = session.study.states
    np.testing.assert_allclose(torque.back.getData()[1], states.back_high_nmm / 1e3)
    np.testing.assert_allclose(push.back.getData()[1], states.back_hand.high_n)
    assert "dashed" in torque.more.text()
    strip.switches["backwards"].setChecked(False)
    assert "dashed" not in torque.more.text()


def test_the_lane_of_letting_go_shows_what_is_over_to_hold(qtbot, session, strip) -> None:
    strip.switches["stay"].setChecked(True)
    lane, drive = strip.lanes["stay"], session.sketch.drive
    settled(qtbot, session)
    states = session.study.states
    np.testing.assert_allclose(lane._y, states.spare_low_nmm / 1e3)
    washer = Torque(id="w", part=drive.part, torque_nmm=1e5, brakes=True)
    with_handle(session, Handle(), torques=(washer,))
    settled(qtbot, session)
    assert lane.more.text().endswith("nowhere")
    assert lane.flagged.spans == ()


def test_the_push_tells_where_the_play_of_its_gears_knocks(qtbot, session, strip) -> None:
    with_handle(session, Handle(steps=(GEARS,)))
    settled(qtbot, session)
    told = "knocks" in strip.lanes["push"].more.text()
    assert told == bool(session.study.hand.knocks_rad)
    with_handle(session, Handle(steps=(replace(GEARS, kind="belt"),)))
    settled(qtbot, session)
    assert "knocks" not in strip.lanes["push"].more.text()


def test_the_split_names_what_there_is_and_nothing_else(qtbot, session, strip) -> None:
    drive = session.sketch.drive
    with_handle(session, Handle(), torques=(Torque(id="T", part=drive.part,
                                                   torque_nmm=-500.0),))
    settled(qtbot, session)
    legend = strip.lanes["causes"].legend
    assert "loads" in legend.words
    assert "springs" not in legend.words
    with_handle(session, Handle(), torques=())
    settled(qtbot, session)
    assert "loads" not in legend.words
    assert {"weight", "friction"} <= set(legend.words)


def test_every_cause_differs_by_its_hatch_as_well_as_its_colour() -> None:
    hatches = [hatch for *_, hatch in CAUSES]
    assert len(set(hatches)) == len(hatches)
    assert len({word for _, word, *_ in CAUSES}) == len(CAUSES)
    for theme in (LIGHT, DARK):
        stack = Stack()
        stack.set_theme(theme)


def test_the_stack_reaches_from_all_that_helps_to_all_that_resists() -> None:
    stack, x = Stack(), np.arange(4.0)
    low, high = stack.set_data(x, [("gravity", np.array([1.0, -2.0, 3.0, np.nan])),
                                   ("loads", np.array([2.0, 1.0, -1.0, 1.0]))])
    assert (low, high) == (-2.0, 3.0)
    assert stack.boundingRect().height() == pytest.approx(5.0)


def test_the_pushes_shown_are_those_of_the_study(session) -> None:
    found = study(session.sketch)
    assert found.hand is not None
    assert found.effort is not None
    scale = session.sketch.handle.radius_mm
    assert found.hand.peak_n == pytest.approx(found.effort.peak_high_nmm / scale)


@pytest.mark.parametrize("height", [320, 500, 900])
def test_lanes_scroll_before_they_take_the_room_of_the_canvas(
    qtbot, session, strip, height
) -> None:
    for switch in strip.switches.values():
        switch.setChecked(True)
    strip.resize(QSize(800, height))
    rows = strip.rows
    shown = [lane for lane in strip.lanes.values() if lane.isVisibleTo(strip)]
    assert len(shown) >= 6
    assert rows.minimumHeight() <= max(0.4 * height, 56)
    assert all(lane.height() >= 56 for lane in shown)
    # The axis ends where the lanes do, beside the scroll bar when there is one.
    inset = rows.width() - rows.viewport().width()
    assert strip.axis._ends()[1] == strip.axis.width() - 1 - inset
    view = shown[0].plot.mapTo(strip, shown[0].plot.rect().topRight()).x()
    assert abs(view - strip.axis._ends()[1]) <= 2
    assert math.isfinite(strip.axis._deg_at(view))


@pytest.mark.parametrize("width", [272, 420])
def test_columns_of_the_steps_that_find_no_room_are_scrolled(qtbot, session, width) -> None:
    with_handle(session, Handle(steps=(replace(GEARS, shift=(0.3, 0.0)),)), units="in")
    form = Particulars(session)
    qtbot.addWidget(form)
    form.setStyleSheet(stylesheet(LIGHT))
    form.resize(width, 900)
    with qtbot.waitExposed(form):
        form.show()
    grid = form.numbers[0].grid
    bar, row = grid.horizontalScrollBar(), grid.visualItemRect(grid.item(0, 0))
    qtbot.waitUntil(lambda: bar.isVisible() == (width < 300))
    qtbot.waitUntil(lambda: row.bottom() <= grid.viewport().height())
