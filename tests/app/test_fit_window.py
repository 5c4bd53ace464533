"""Fit in the window: the sketch moves on the canvas, one undo, stop keeps, others win."""

from __future__ import annotations

import math
from dataclasses import replace

import msgspec
import pytest
import searches
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from core.model import Sketch, WantedPath

pytestmark = pytest.mark.usefixtures("nearby")
LONG_MS = 60_000
CREEPING = "searches:creeping"


@pytest.fixture
def four_bar(four_bar: Sketch) -> Sketch:
    """With a path wanted of its traced point."""
    wish = WantedPath(id="loop", point="coupler.E",
                      through=((40, 80), (60, 100), (30, 120), (10, 100)))
    return msgspec.structs.replace(four_bar, wanted=(wish,))


@pytest.fixture
def fitting(qtbot, window):
    """The window with a fit under way that has moved the sketch already."""
    window.seeking.fit_run.job = CREEPING
    window.action("fit_sketch").trigger()
    qtbot.waitUntil(lambda: window.session.sketch is not window.session.committed,
                    timeout=LONG_MS)
    return window


def test_fit_shows_its_panel_and_the_sketch_moving(qtbot, fitting, four_bar: Sketch) -> None:
    panel = fitting.seeking.panel
    assert panel.isVisible()
    assert panel.start_button.text() == "Stop"
    assert fitting.session.committed == four_bar
    assert not fitting.session.undo_stack.canUndo()
    first = fitting.session.sketch.place("coupler.E")
    qtbot.waitUntil(lambda: fitting.session.sketch.place("coupler.E").real > first.real,
                    timeout=LONG_MS)
    assert len(panel.trail.errors) > 1 or fitting.seeking.fit_run.trail


def test_stop_halfway_keeps_the_best_as_one_undo_step(qtbot, fitting, four_bar: Sketch) -> None:
    panel, session = fitting.seeking.panel, fitting.session
    qtbot.waitUntil(lambda: panel._rows["loop"][2].text().endswith("mm"), timeout=LONG_MS)
    measured = session.sketch.place("coupler.E").real
    qtbot.waitUntil(lambda: session.sketch.place("coupler.E").real > measured + 1.0,
                    timeout=LONG_MS)
    QTest.mouseClick(panel.start_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not fitting.seeking.fit_run.running, timeout=LONG_MS)
    assert session.sketch is session.committed
    assert session.sketch.place("coupler.E").real > four_bar.place("coupler.E").real
    assert session.undo_stack.undoText() == "Fit"
    assert panel.words.text() == "seed 0"
    qtbot.waitUntil(lambda: "→" in panel._rows["loop"][2].text(), timeout=LONG_MS)
    session.undo()
    assert session.committed == four_bar
    assert not session.undo_stack.canUndo()


def test_that_the_crank_may_rock_is_ticked_in_the_panel_and_undone(window, four_bar: Sketch
                                                                  ) -> None:
    panel, session = window.seeking.panel, window.session
    panel.show()
    assert panel.rock_box.isVisible()
    assert not panel.rock_box.isChecked()
    assert not panel.rock_line.isVisible()
    QTest.mouseClick(panel.rock_box, Qt.MouseButton.LeftButton, pos=QPoint(8, 8))
    assert session.committed.fit.rocking
    assert panel.rock_line.isVisible()
    assert session.undo_stack.undoText() == "Change how the crank may go"
    session.undo()
    panel.refresh()
    assert session.committed == four_bar
    assert not panel.rock_box.isChecked()


def test_a_second_fit_tries_other_starts(qtbot, fitting) -> None:
    run = fitting.seeking.fit_run
    for seed in (0, 1):
        run.stop()
        qtbot.waitUntil(lambda: not run.running, timeout=LONG_MS)
        assert run.words == (f"seed {seed}",)
        assert fitting.seeking.panel.start_button.text() == "Fit again"
        run.start()
        qtbot.waitUntil(lambda: run.trail != [], timeout=LONG_MS)
    run.put_back()


def test_escape_on_the_canvas_puts_the_sketch_back(qtbot, fitting, four_bar: Sketch) -> None:
    QTest.keyClick(fitting.canvas, Qt.Key.Key_Escape)
    assert not fitting.seeking.fit_run.running
    assert fitting.session.sketch == four_bar
    assert not fitting.session.undo_stack.canUndo()
    qtbot.wait(150)
    assert fitting.session.sketch == four_bar


def test_put_back_after_a_fit_undoes_it(qtbot, fitting, four_bar: Sketch) -> None:
    run, panel = fitting.seeking.fit_run, fitting.seeking.panel
    run.stop()
    qtbot.waitUntil(lambda: not run.running, timeout=LONG_MS)
    assert panel.back_button.isEnabled()
    QTest.mouseClick(panel.back_button, Qt.MouseButton.LeftButton)
    assert fitting.session.committed == four_bar
    assert not panel.back_button.isEnabled()


def test_what_a_fit_said_goes_when_the_sketch_is_another(qtbot, fitting) -> None:
    run, session = fitting.seeking.fit_run, fitting.session
    run.stop()
    qtbot.waitUntil(lambda: not run.running, timeout=LONG_MS)
    assert run.words
    session.commit("Move it", searches.moved(session.committed, "coupler", "E", 30.0))
    assert not run.words
    assert not run.trail
    assert not fitting.seeking.panel.words.isVisible()


def test_what_a_fit_led_out_of_sight_is_looked_for(qtbot, fitting) -> None:
    run, canvas = fitting.seeking.fit_run, fitting.canvas
    canvas.set_camera(replace(canvas.camera, centre=canvas.camera.centre + 10_000))
    run.stop()
    qtbot.waitUntil(lambda: not run.running, timeout=LONG_MS)
    assert all(canvas.rect().contains(canvas.camera.to_screen(point.place).toPoint())
               for part in fitting.session.committed.parts for point in part.points)


def test_pressing_the_canvas_ends_the_fit_and_keeps_its_best(qtbot, fitting,
                                                             four_bar: Sketch) -> None:
    corner = QPoint(4, 4)
    QTest.mousePress(fitting.canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier,
                     corner)
    assert not fitting.seeking.fit_run.running
    assert fitting.session.undo_stack.undoText() == "Fit"
    assert fitting.session.committed.place("coupler.E") != four_bar.place("coupler.E")
    QTest.mouseRelease(fitting.canvas, Qt.MouseButton.LeftButton,
                       Qt.KeyboardModifier.NoModifier, corner)


def test_another_edit_ends_the_fit_and_stands(qtbot, fitting, four_bar: Sketch) -> None:
    renamed = msgspec.structs.replace(four_bar, title="edited meanwhile")
    fitting.session.commit("Rename", renamed)
    run = fitting.seeking.fit_run
    assert not run.running
    assert "changed meanwhile" in run.words[0]
    qtbot.wait(150)
    assert fitting.session.sketch == renamed
    assert fitting.session.undo_stack.count() == 1


def test_undo_while_it_runs_puts_the_sketch_back(qtbot, fitting, four_bar: Sketch) -> None:
    fitting.action("undo").setEnabled(True)
    fitting.session.undo()
    assert not fitting.seeking.fit_run.running
    assert fitting.session.sketch == four_bar


def test_opening_another_file_ends_the_fit(qtbot, fitting) -> None:
    fitting.filing.load_demo("night-moth")
    assert not fitting.seeking.fit_run.running
    title = fitting.session.sketch.title
    qtbot.wait(150)
    assert fitting.session.sketch.title == title
    assert not fitting.session.undo_stack.canUndo()


def test_closing_while_it_runs_ends_its_process(qtbot, fitting) -> None:
    run = fitting.seeking.fit_run
    fitting._leaving = True
    fitting.close()
    assert not fitting.isVisible()
    assert not run.seeker.running
    assert run.seeker._process is None


def test_a_fault_inside_leaves_the_sketch_and_says_so(qtbot, window, four_bar: Sketch) -> None:
    run = window.seeking.fit_run
    run.job = "searches:failing"
    run.start()
    qtbot.waitUntil(lambda: not run.running, timeout=LONG_MS)
    assert "could not be finished" in run.words[0]
    assert window.session.sketch == four_bar


@pytest.mark.parametrize(("change", "said"), [
    ({"wanted": ()}, "Nothing is wanted yet"),
    ({"drive": None}, "no crank yet"),
    ({"wanted": (WantedPath(id="loose", through=((0, 0), (9, 0), (9, 9))),)},
     "“loose” is not attached"),
])
def test_what_is_missing_is_said_in_a_sentence(window, four_bar: Sketch, change: dict,
                                               said: str) -> None:
    window.session.adopt_file(msgspec.structs.replace(four_bar, **change), None)
    window.action("fit_sketch").trigger()
    assert not window.seeking.fit_run.running
    assert said in window.seeking.panel.words.text()
    assert window.seeking.panel.words.isVisible()


def test_pressing_a_wish_chooses_it_and_turns_to_where_it_is_missed(qtbot, window) -> None:
    session, panel = window.session, window.seeking.panel
    qtbot.waitUntil(lambda: session.study_is_current, timeout=LONG_MS)
    panel.show()
    panel.refresh()
    mark, name, numbers = panel._rows["loop"]
    (met,) = session.study.wanted
    assert mark.met == met.met
    assert numbers.text().endswith("mm")
    QTest.mouseClick(name, Qt.MouseButton.LeftButton)
    assert session.selection == {("wish", "loop")}
    assert session.crank_rad == pytest.approx(met.crank_rad % (2 * math.pi), abs=1e-6)


def test_the_list_of_wishes_offers_both(qtbot, window) -> None:
    from PySide6.QtWidgets import QToolButton

    window.seeking.fit_run.job = CREEPING
    buttons = {button.text(): button for button in window.wishes.findChildren(QToolButton)}
    assert set(buttons) == {"Fit the sketch", "Find mechanisms"}
    QTest.mouseClick(buttons["Fit the sketch"], Qt.MouseButton.LeftButton)
    assert window.seeking.fit_run.running
    assert window.seeking.panel.isVisible()
