"""Files: nothing the user made is ever lost."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from app.safekeeping import Safekeeping
from app.session import Session
from core import files
from core.model import edits


def change(window) -> None:
    session = window.session
    session.commit("Rename", edits.rename(session.committed, "coupler", "paddle"))


def answer(window, label: str) -> None:
    QTest.mouseClick(window.filing.question.answer(label), Qt.MouseButton.LeftButton)


def boxes(window) -> list[QMessageBox]:
    return [box for box in window.findChildren(QMessageBox) if box.isVisible()]


def test_new_asks_before_unsaved_work_would_go(window) -> None:
    change(window)
    kept = window.session.committed
    window.action("new").trigger()
    assert window.session.committed is kept
    answer(window, "Stay here")
    assert window.session.committed is kept
    window.action("new").trigger()
    answer(window, "Do not save")
    assert window.session.committed.parts == ()


def test_escape_at_the_question_stays(window) -> None:
    change(window)
    kept = window.session.committed
    window.action("new").trigger()
    QTest.keyClick(window.filing.question, Qt.Key.Key_Escape)
    assert window.session.committed is kept


def test_save_at_the_question_saves_and_goes_on(window, tmp_path: Path) -> None:
    window.filing.save_to(str(tmp_path / "kept.json"))
    change(window)
    window.action("new").trigger()
    answer(window, "Save")
    assert window.session.committed.parts == ()
    assert files.load(tmp_path / "kept.json").part("paddle")


def test_without_changes_nothing_is_asked(window) -> None:
    window.action("new").trigger()
    assert window.session.committed.parts == ()


def test_closing_asks_and_can_be_called_off(qtbot, window) -> None:
    change(window)
    window.close()
    assert window.isVisible()
    answer(window, "Stay here")
    assert window.isVisible()
    window.close()
    answer(window, "Do not save")
    qtbot.waitUntil(lambda: not window.isVisible(), timeout=5000)
    assert not window.session.worker.isRunning()


def test_saved_files_are_remembered_newest_first(window, tmp_path: Path) -> None:
    for name in ("one.json", "two.json"):
        window.filing.save_to(str(tmp_path / name))
    window.filing.fill_recent(window.recent_menu)
    assert [Path(a.data()).name for a in window.recent_menu.actions()] == ["two.json",
                                                                           "one.json"]
    (tmp_path / "two.json").unlink()
    window.filing.fill_recent(window.recent_menu)
    assert len(window.recent_menu.actions()) == 1


def test_save_asks_for_a_name_once_and_then_writes_there(qtbot, window, tmp_path) -> None:
    change(window)
    window.action("save").trigger()
    (dialog,) = window.findChildren(QFileDialog)
    assert dialog.selectedFiles()[0].endswith("four-bar.json")
    dialog.setDirectory(str(tmp_path))
    dialog.selectFile("mine")
    dialog.accept()
    assert window.session.path == tmp_path / "mine.json"
    qtbot.waitUntil(lambda: not window.findChildren(QFileDialog), timeout=5000)
    window.session.undo()
    window.action("save").trigger()
    assert not window.findChildren(QFileDialog)
    assert files.load(tmp_path / "mine.json").part("coupler")


def test_calling_off_the_name_calls_off_what_was_to_follow(window) -> None:
    change(window)
    kept = window.session.committed
    window.action("new").trigger()
    answer(window, "Save")
    (dialog,) = window.findChildren(QFileDialog)
    dialog.reject()
    assert window.session.committed is kept
    assert window.session.unsaved


def test_a_save_that_fails_says_so_and_keeps_the_work_unsaved(window, tmp_path) -> None:
    change(window)
    window.filing.save_to(str(tmp_path / "no such folder" / "x.json"))
    assert window.session.unsaved
    (box,) = boxes(window)
    assert "could not be saved" in box.text()
    assert box.informativeText()


def test_a_damaged_file_is_opened_as_far_as_it_is_sound(window, tmp_path, four_bar) -> None:
    raw = json.loads(files.dumps(four_bar))
    raw["parts"][3]["thickness_mm"] = "thick"
    raw["surprise"] = 1
    path = tmp_path / "damaged.json"
    path.write_text(json.dumps(raw))
    before = path.read_bytes()
    window.filing.load(str(path))
    told = window.filing.question.informativeText()
    assert "thickness_mm" in told
    assert "surprise" in told
    answer(window, "Open what is sound")
    assert window.session.committed.part("coupler")
    # The damaged file is not written over: the salvaged sketch has no file yet.
    assert window.session.path is None
    assert window.session.unsaved
    assert path.read_bytes() == before


def test_a_salvage_can_be_declined(window, tmp_path) -> None:
    kept = window.session.committed
    path = tmp_path / "cut.json"
    path.write_bytes(files.dumps(kept)[:400])
    window.filing.load(str(path))
    answer(window, "Leave it")
    assert window.session.committed is kept


def test_a_hopeless_file_is_refused_in_one_sentence(window, tmp_path) -> None:
    kept = window.session.committed
    path = tmp_path / "picture.json"
    path.write_bytes(b"\x89PNG not a sketch")
    window.filing.load(str(path))
    (box,) = boxes(window)
    assert "cannot be opened" in box.text()
    assert box.informativeText().count("\n") == 0
    assert window.session.committed is kept


@pytest.mark.parametrize(("label", "apart"), [("Draw the points together", False),
                                              ("Open it as it is", True)])
def test_points_of_a_pin_that_are_apart_can_be_drawn_together(
        window, tmp_path, four_bar, label: str, apart: bool) -> None:
    loose = edits.change_point(four_bar, "rocker.C", x=95.0)
    path = tmp_path / "loose.json"
    path.write_bytes(files.dumps(loose))
    window.filing.load(str(path))
    answer(window, label)
    sketch = window.session.committed
    a, b = sketch.point("coupler.C"), sketch.point("rocker.C")
    assert ((a.x, a.y) != (b.x, b.y)) == apart
    assert window.session.unsaved != apart


def test_a_file_dropped_on_the_window_is_opened(window, tmp_path, four_bar) -> None:
    path = tmp_path / "dropped.json"
    files.save(four_bar, path)
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    window.dropEvent(QDropEvent(QPointF(100, 100), Qt.DropAction.CopyAction, data,
                                Qt.MouseButton.LeftButton,
                                Qt.KeyboardModifier.NoModifier))
    assert window.session.path == path


def test_unsaved_work_is_offered_again_after_a_crash(qtbot, window, tmp_path,
                                                     settings) -> None:
    from app.window import MainWindow

    folder = tmp_path / "crashed"
    session = Session()
    keeper = Safekeeping(session, folder)
    session.adopt_file(window.session.committed, None)
    session.commit("Rename", edits.rename(session.committed, "coupler", "paddle"))
    # The program dies: the system lets go of its lock, the journal stays.
    keeper._journal._lock.close()
    session.close()

    again = MainWindow(settings, folder)
    qtbot.addWidget(again)
    again.show()
    assert again.filing.offer_recovered()
    answer(again, "Take it up again")
    assert again.session.committed.part("paddle")
    assert again.session.unsaved
    assert again.keeper.found() == []
    again._leaving = True
    again.close()


def test_a_clean_end_leaves_nothing_to_recover(session, tmp_path) -> None:
    keeper = Safekeeping(session, tmp_path)
    session.commit("Rename", edits.rename(session.committed, "coupler", "paddle"))
    assert list(tmp_path.glob("*.journal"))
    keeper.close()
    assert list(tmp_path.iterdir()) == []


def test_saving_forgets_the_journal(session, tmp_path) -> None:
    keeper = Safekeeping(session, tmp_path / "unsaved")
    session.commit("Rename", edits.rename(session.committed, "coupler", "paddle"))
    assert list((tmp_path / "unsaved").glob("*.journal"))
    session.save(tmp_path / "saved.json")
    assert not list((tmp_path / "unsaved").glob("*.journal"))
    keeper.close()


def test_a_journal_that_cannot_be_kept_is_told_and_the_work_goes_on(session,
                                                                    tmp_path) -> None:
    told: list[str] = []
    session.told.connect(told.append)
    (tmp_path / "file").write_text("")
    keeper = Safekeeping(session, tmp_path / "file" / "unsaved")
    session.commit("Rename", edits.rename(session.committed, "coupler", "paddle"))
    assert session.committed.part("paddle")
    assert told
    keeper.close()
