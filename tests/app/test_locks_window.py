"""The window "Choose a hold": from the menu and a lock's particulars to one undo step."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QToolButton

from app import demos
from app.panels.locks import LockWindow
from app.panels.locks.model import COLUMNS, HOLD, OPTION, SO
from core.files import loads
from core.model.edits import get, remove


@pytest.fixture
def session(window):
    window.session.adopt_file(loads(demos.data("pier-walker")), None)
    return window.session


@pytest.fixture
def locks(window, session, qtbot):
    """The window, opened from the menu on the lock of the demo, its options worked out."""
    session.select([("lock", "cranks")])
    window.action("choose_hold").trigger()
    shown = window.building.locks
    assert isinstance(shown, LockWindow)
    qtbot.waitUntil(lambda: bool(shown.options.things), timeout=20_000)
    return shown


def press(shown: LockWindow, kind: str, qtbot) -> None:
    row = next(k for k, one in enumerate(shown.options.things) if one.kind == kind)
    index = shown.options.index(row, HOLD)
    shown.table.scrollTo(index)
    qtbot.mouseClick(shown.table.viewport(), Qt.MouseButton.LeftButton,
                     pos=QPoint(shown.table.visualRect(index).center()))


def settled(shown: LockWindow, kind: str) -> bool:
    return shown.take_button.isEnabled() and shown.chosen().kind == kind


def test_the_best_is_first_and_every_cell_says_something(locks) -> None:
    assert locks.which.currentData() == "cranks"
    assert locks.which.currentText() == "front crank and back crank"
    tiers = [one.tier for one in locks.options.things]
    assert tiers == sorted(tiers)
    assert tiers[0] == 0
    for row in range(locks.options.rowCount()):
        for column in range(len(COLUMNS)):
            assert locks.options.index(row, column).data()
    assert "In a jam" not in locks.head.text()
    assert "the hand at its limit" in locks.head.text()
    assert "Trust" in locks.detail.text()


def test_a_choice_sets_kind_and_size_in_one_undo_step(locks, session, qtbot) -> None:
    before = session.committed
    press(locks, "spring-pinned", qtbot)
    option = locks.chosen()
    assert option.kind == "spring-pinned"
    assert "spring pin" in locks.take_button.text()
    steps = session.undo_stack.count()
    qtbot.mouseClick(locks.take_button, Qt.MouseButton.LeftButton)
    lock = session.committed.locks[0]
    assert (lock.kind, lock.size_mm) == ("spring-pinned", option.size_mm)
    assert session.undo_stack.count() == steps + 1
    session.undo()
    assert session.committed == before


def test_options_are_stale_until_they_are_worked_out_again(locks, session, qtbot) -> None:
    qtbot.waitUntil(lambda: locks.take_button.isEnabled(), timeout=20_000)
    press(locks, "glued", qtbot)
    locks.take()
    assert not locks.take_button.isEnabled()
    qtbot.waitUntil(lambda: settled(locks, "glued"), timeout=20_000)
    assert "Now: glue" in locks.head.text()


def test_what_does_not_hold_is_told_by_a_word_and_a_mark(locks) -> None:
    model = locks.options
    row = next(k for k, one in enumerate(model.things) if one.standing == "jam")
    assert model.index(row, SO).data() == "slips in a jam"
    assert model.index(row, SO).data(OPTION) is model.things[row]


def test_a_locks_particulars_lead_to_it(window, session, qtbot) -> None:
    session.select([("lock", "cranks")])
    button = next(one for one in window.particulars.findChildren(QToolButton)
                  if one.defaultAction() is window.action("choose_hold"))
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    shown = window.building.locks
    assert shown.isVisible()
    qtbot.waitUntil(lambda: bool(shown.options.things), timeout=20_000)


def test_a_crank_without_a_lock_gets_one(window, qtbot) -> None:
    session = window.session
    session.adopt_file(loads(demos.data("stiff-otter")), None)
    mend = None
    qtbot.waitUntil(lambda: session.finished_study() is not None, timeout=20_000)
    mend = next(one for one in session.study.findings if one.code == "crank-locks").edits[0]
    bare = mend.apply(session.committed)
    session.commit("x", type(bare)(**{
        name: getattr(bare, name) for name in bare.__struct_fields__
        if name != "locks"}))
    window.action("choose_hold").trigger()
    shown = window.building.locks
    qtbot.waitUntil(lambda: bool(shown.options.things), timeout=20_000)
    assert shown.which.currentData() == "crank"
    press(shown, "pinned", qtbot)
    shown.take()
    (lock,) = session.committed.locks
    assert (lock.parts, lock.pin, lock.kind) == (("crank",), "crankshaft", "pinned")


def test_rows_of_a_lock_and_of_a_pin_say_size_and_ring(window, session) -> None:
    session.select([("lock", "cranks")])
    field = window.particulars.field("size_mm")
    assert field.row.read(session.committed, "cranks") is None
    session.select([("pin", "crankshaft")])
    assert "DIN" in window.particulars.field("ring").box.text()


def test_a_crank_that_is_taken_out_leaves_nothing_to_choose(locks, session, qtbot) -> None:
    parts = get(session.committed, "cranks").parts
    session.commit("Delete", remove(session.committed, parts))
    qtbot.waitUntil(lambda: session.finished_study() is not None, timeout=20_000)
    qtbot.waitUntil(lambda: not locks.which.count(), timeout=20_000)
    assert not locks.take_button.isEnabled()
    assert locks.head.text().startswith("Nothing is fast on a shaft here")
