"""The window: commands, keyboard, clipboard, mirror, exports, a clean end."""

from __future__ import annotations

import gc
import math
import sys
import threading
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QClipboard, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QLineEdit, QMenu, QSlider

from app.actions import COMMANDS
from app.gestures import TOOLS
from core.model import edits
from core.motion.redimension import drag_point


def pick(window, *names: str) -> None:
    window.session.select([("part", name) for name in names])


# -- commands ----------------------------------------------------------------------


def test_every_command_can_be_reached_by_keyboard(window) -> None:
    keys: dict[str, str] = {}
    for command in COMMANDS:
        action = window.action(command.id)
        assert not action.shortcut().isEmpty(), command.id
        for key in action.shortcuts():
            text = key.toString()
            assert keys.setdefault(text, command.id) == command.id, f"{text} is used twice"
        assert action.statusTip(), command.id


def test_no_command_takes_the_key_of_a_tool(window) -> None:
    tools = {QKeySequence(tool.key).toString() for tool in TOOLS}
    taken = {key.toString() for c in COMMANDS for key in window.action(c.id).shortcuts()}
    assert not tools & taken


def test_commands_that_have_nothing_to_act_on_are_not_offered(window) -> None:
    assert not window.action("cut").isEnabled()
    assert not window.action("undo").isEnabled()
    assert window.action("play").isEnabled()
    pick(window, "crank")
    assert window.action("cut").isEnabled()
    window.session.new()
    assert not window.action("play").isEnabled()


def test_undo_names_the_edit_it_takes_back(window) -> None:
    window.session.commit("Move point", drag_point(window.session.committed, "coupler.E",
                                                   60, 90))
    assert window.action("undo").text() == "Undo: Move point"
    window.action("undo").trigger()
    assert window.action("redo").text() == "Redo: Move point"


@pytest.mark.parametrize(("key", "deg"), [("ahead", 91.0), ("back", 89.0),
                                          ("far_ahead", 100.0), ("far_back", 80.0)])
def test_the_crank_steps_by_keyboard(window, key: str, deg: float) -> None:
    window.action(key).trigger()
    assert math.degrees(window.session.crank_rad) == pytest.approx(deg)
    window.action("home").trigger()
    assert math.degrees(window.session.crank_rad) == pytest.approx(90.0)


def test_speed_and_way_are_set_by_command(window) -> None:
    window.action("faster").trigger()
    assert window.session.player.speed == 2.0
    for _ in range(20):
        window.action("slower").trigger()
    assert window.session.player.speed == 0.125
    window.action("reverse").trigger()
    assert window.session.player.way == -1


def test_units_and_theme_are_chosen_from_the_menu(window) -> None:
    window.action("inch").trigger()
    assert window.session.committed.units == "in"
    assert window.action("inch").isChecked()
    window.action("dark").trigger()
    assert window.session.look.theme.dark
    window.action("light").trigger()
    assert not window.session.look.theme.dark


def test_panels_are_hidden_and_shown(window) -> None:
    for name, widget in (("bench", window.bench), ("particulars", window.right),
                         ("strip", window.strip)):
        window.action(name).trigger()
        assert not widget.isVisible()
        window.action(name).trigger()
        assert widget.isVisible()


def test_the_bench_and_the_canvas_agree_on_the_tool(window) -> None:
    for tool in TOOLS:
        window.bench.buttons[tool.id].click()
        assert window.canvas.tool_id == tool.id
    window.canvas.set_tool("hand")
    assert window.bench.buttons["hand"].isChecked()


def test_every_control_has_a_name_for_those_who_cannot_see_it(window) -> None:
    for kind in (QAbstractButton, QLineEdit, QSlider):
        for widget in window.findChildren(kind):
            if widget.isVisible() and not widget.objectName().startswith("qt_"):
                named = widget.accessibleName() or (
                    widget.text() if isinstance(widget, QAbstractButton) else "")
                parent = widget.parentWidget()
                assert named or (parent is not None and parent.accessibleName()), widget


# -- clipboard, mirror, layers -----------------------------------------------------


def test_pasting_before_anything_was_copied_says_so(qtbot, window, monkeypatch) -> None:
    monkeypatch.setattr(QClipboard, "mimeData", lambda clipboard: None)
    before = window.session.committed
    with qtbot.waitSignal(window.session.told) as told:
        window.action("paste").trigger()
    assert "copy some first" in told.args[0]
    assert window.session.committed is before


def test_copy_and_paste_adds_the_parts_and_their_joints(window) -> None:
    session = window.session
    pick(window, "coupler", "rocker")
    window.action("copy").trigger()
    window.action("paste").trigger()
    assert len(session.committed.parts) == 6
    assert len(session.committed.pins) == 5
    assert len(session.selected("part")) == 2
    window.action("undo").trigger()
    assert len(session.committed.parts) == 4


def test_a_copy_is_taken_in_the_pose_on_the_screen(window) -> None:
    session = window.session
    session.set_crank(math.radians(200.0))
    pick(window, "coupler")
    before = session.pose().path("coupler.E")[0]
    window.action("copy").trigger()
    window.action("paste").trigger()
    (name,) = session.selected("part")
    at = session.committed.point(f"{name}.E")
    assert (at.x - before[0], at.y - before[1]) == pytest.approx((12.0, -12.0))


def test_cut_is_one_undo_step(window) -> None:
    before = window.session.committed
    pick(window, "rocker")
    window.action("cut").trigger()
    assert len(window.session.committed.parts) == 3
    window.action("undo").trigger()
    assert window.session.committed is before
    assert window.session.selected("part") == ("rocker",)


def test_something_else_on_the_clipboard_is_refused_in_words(window) -> None:
    from PySide6.QtGui import QGuiApplication

    told: list[str] = []
    window.session.told.connect(told.append)
    QGuiApplication.clipboard().setText("a shopping list")
    window.action("paste").trigger()
    assert "not parts" in told[0]
    assert window.session.undo_stack.count() == 0


def test_delete_and_select_all(window) -> None:
    window.action("select_all").trigger()
    assert len(window.session.selected("part")) == 4
    window.action("delete").trigger()
    assert window.session.committed.parts == ()
    assert window.session.committed.drive is None
    window.action("undo").trigger()
    assert len(window.session.committed.parts) == 4


def test_layers_go_up_and_down(window) -> None:
    pick(window, "crank")
    window.action("raise").trigger()
    assert window.session.committed.layer_of("crank") == 2
    window.action("lower").trigger()
    assert window.session.committed.layer_of("crank") == 1


def test_folding_the_other_way_twice_comes_back(window) -> None:
    session = window.session
    before = session.committed.point("coupler.C")
    pick(window, "coupler", "rocker")
    window.action("flip").trigger()
    folded = session.committed.point("coupler.C")
    # The other meeting point of the two circles lies mirrored in the line B–D.
    assert folded.y < 0 < before.y
    window.action("flip").trigger()
    again = session.committed.point("coupler.C")
    assert (again.x, again.y) == pytest.approx((before.x, before.y))
    assert session.undo_stack.count() == 2


def test_drawing_from_here_is_offered_and_moves_nothing(window) -> None:
    session = window.session
    session.set_crank(math.radians(150.0))
    seen = session.pose().path("coupler.E")[0]
    window.action("redraw").trigger()
    at = session.committed.point("coupler.E")
    assert (at.x, at.y) == pytest.approx(tuple(seen))


def test_a_right_click_offers_what_can_be_done_there(qtbot, window) -> None:
    from PySide6.QtCore import QPoint

    window.canvas.menu_wanted.emit(QPoint(300, 300), ("part", "rocker"))
    assert window.session.selected("part") == ("rocker",)
    (menu,) = [m for m in window.findChildren(QMenu)
               if m.isVisible() and m.title() == ""]
    texts = [action.text() for action in menu.actions()]
    assert "Mirror…" in texts
    assert "Cut twin loose" not in texts
    menu.close()


def test_a_picture_is_laid_under_and_taken_away(window, tmp_path: Path) -> None:
    from PySide6.QtGui import QImage

    image = QImage(40, 30, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.gray)
    image.save(str(tmp_path / "photo.png"))
    window.filing.lay_under(str(tmp_path / "photo.png"))
    assert window.session.committed.underlay.path.endswith("photo.png")
    window.canvas.grab()
    window.particulars.field("underlay shown").box.click()
    assert window.session.committed.underlay is None
    window.action("undo").trigger()
    assert window.session.committed.underlay is not None


# -- help and first start ----------------------------------------------------------


@pytest.mark.parametrize("page", ["keys", "cautions", "about"])
def test_help_pages_open(window, page: str) -> None:
    from app.dialogs.pages import PageDialog

    window.action(page).trigger()
    (dialog,) = [d for d in window.findChildren(PageDialog) if d.isVisible()]
    dialog.reject()


def test_the_hint_can_be_sent_away_for_good(window) -> None:
    window.hint.show_if_new()
    assert window.hint.isVisible()
    window.hint.again.setChecked(True)
    QTest.mouseClick(window.hint.close_button, Qt.MouseButton.LeftButton)
    window.hint.show_if_new()
    assert not window.hint.isVisible()
    window.action("hint").trigger()
    assert window.hint.isVisible()


def test_the_first_start_opens_a_demo_that_turns(window) -> None:
    window.begin()
    assert window.session.sketch.parts
    assert window.session.turn.reached.all()
    assert not window.session.unsaved


def test_the_window_comes_back_as_it_was_left(qtbot, settings, tmp_path: Path) -> None:
    from app.window import MainWindow

    first = MainWindow(settings, tmp_path / "unsaved")
    first.show()
    first.resize(1000, 640)
    first.action("bench").trigger()
    first.action("grid").trigger()
    first.action("dark").trigger()
    first.close()
    again = MainWindow(settings, tmp_path / "unsaved")
    again.show()
    assert again.height() == 640
    assert not again.bench.isVisible()
    assert not again.session.look.shows("grid")
    assert again.session.look.theme.dark
    again.action("light").trigger()
    again.close()


def test_a_fault_of_ours_is_told_and_the_work_goes_on(window, capsys) -> None:
    from app.window import Mishap

    told: list[str] = []
    window.session.told.connect(told.append)
    kept = window.session.committed
    try:
        raise ZeroDivisionError("division by zero")
    except ZeroDivisionError as fault:
        Mishap(window).report(type(fault), fault, fault.__traceback__)
    assert "your sketch is safe" in told[0]
    assert "ZeroDivisionError" in capsys.readouterr().err
    assert window.session.committed is kept


# -- long runs ---------------------------------------------------------------------


def test_a_closed_window_leaves_no_thread_behind(qtbot, settings, tmp_path) -> None:
    from app.window import MainWindow

    gc.collect()
    before = threading.active_count()
    for _ in range(3):
        window = MainWindow(settings, tmp_path / "unsaved")
        window.show()
        window.close()
        assert not window.session.worker.isRunning()
        window.deleteLater()
    assert threading.active_count() <= before


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from 3.12 on")
def test_hundreds_of_edits_and_paints_lose_no_reference_to_none(qtbot, window) -> None:
    """PySide6 6.12.0 on CPython 3.10 and 3.11 lost a reference to None in every void
    call; None is immortal from CPython 3.12 on, where its count says nothing. (The axis
    of pyqtgraph 0.14 gains some at every change of range, which does no harm.)"""
    session = window.session
    base = session.committed
    for step in range(20):
        session.preview(drag_point(base, "coupler.E", 50 + step % 7, 90))
        window.grab()
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    gc.collect()
    before = sys.getrefcount(None)
    for step in range(400):
        session.preview(drag_point(base, "coupler.E", 50 + step % 7, 90))
        session.set_crank(step / 100)
        if step % 20 == 0:
            window.canvas.grab()
            window.strip.grab()
    session.cancel()
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    gc.collect()
    # The fault lost one in each of the dozens of calls of every step: tens of thousands.
    assert sys.getrefcount(None) > before - 2000
    assert session.sketch is base


def test_committing_and_undoing_hundreds_of_times_ends_where_it_began(window) -> None:
    session = window.session
    first = session.committed
    for step in range(300):
        session.commit("Rename", edits.change_point(session.committed, "coupler.E",
                                                    x=50.0 + (step + 1) / 100))
    for _ in range(300):
        session.undo()
    assert session.committed is first
    assert not session.undo_stack.canUndo()
