"""The window "What holds": the table, its sieve, a press on a row, the details."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPoint, Qt

from app import demos
from app.panels.holding import HoldingWindow
from app.panels.holding.model import CHECK, COLUMNS, SAFETY
from core.files import loads
from core.model import edits


@pytest.fixture
def holding(window, qtbot):
    """The window, opened from the menu on a demo, its study finished."""
    window.session.adopt_file(loads(demos.data("pier-walker")), None)
    window.action("what_holds").trigger()
    shown = window.building.holding
    assert isinstance(shown, HoldingWindow)
    qtbot.waitUntil(lambda: bool(shown.checks.things), timeout=20_000)
    return shown


def rows(shown: HoldingWindow) -> list:
    return [shown.sieve.index(row, 0).data(CHECK) for row in range(shown.sieve.rowCount())]


def press(shown: HoldingWindow, row: int, qtbot) -> None:
    index = shown.sieve.index(row, 0)
    shown.table.scrollTo(index)
    place = shown.table.visualRect(index).center()
    qtbot.mouseClick(shown.table.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(place))


def test_the_worst_is_first_and_every_row_says_load_limit_and_safety(holding) -> None:
    found = rows(holding)
    assert found == list(holding.checks.things)
    for column in range(len(COLUMNS)):
        assert holding.sieve.index(0, column).data()
    assert "checks" in holding.summary.text()


def test_a_press_turns_the_crank_to_the_worst_and_lights_the_parts(holding, window,
                                                                  qtbot) -> None:
    row = next(k for k, one in enumerate(rows(holding)) if one.kind == "bearing")
    check = rows(holding)[row]
    press(holding, row, qtbot)
    assert window.session.crank_rad == pytest.approx(check.crank_rad % (2 * math.pi))
    assert set(check.parts) == set(window.session.selected("part"))
    assert check.source in holding.detail.text()
    assert "Trust" in holding.detail.text()


def test_enter_on_a_row_does_what_a_press_does(holding, window, qtbot) -> None:
    holding.table.setCurrentIndex(holding.sieve.index(5, 0))
    check = rows(holding)[5]
    assert check.source in holding.detail.text()
    qtbot.keyClick(holding.table, Qt.Key.Key_Return)
    assert window.session.crank_rad == pytest.approx(check.crank_rad % (2 * math.pi))
    assert set(check.parts) == set(window.session.selected("part"))


def test_words_and_what_is_selected_sift_the_table(holding, window, qtbot) -> None:
    whole = holding.sieve.rowCount()
    qtbot.keyClicks(holding.words_box, "pier bore")
    assert 0 < holding.sieve.rowCount() < whole
    assert all("pier" in (*one.parts, one.thing) for one in rows(holding))
    holding.words_box.clear()
    window.session.select([("part", "front crank")])
    holding.chosen_box.setChecked(True)
    some = rows(holding)
    assert some
    assert all("front crank" in one.parts for one in some)
    press(holding, 0, qtbot)  # selects its parts, but the rows stay
    assert rows(holding) == some
    window.session.select([("part", "pier")])
    assert all("pier" in one.parts for one in rows(holding))
    assert "not shown" in holding.summary.text()


def test_only_what_needs_a_look_leaves_out_what_holds(holding) -> None:
    holding.doubtful_box.setChecked(True)
    assert all(one.verdict != "holds" for one in rows(holding))


def test_a_header_sorts_and_safety_puts_the_worst_first_again(holding) -> None:
    holding.table.sortByColumn(0, Qt.SortOrder.AscendingOrder)
    names = [one.thing.casefold() for one in rows(holding)]
    assert names == sorted(names)
    holding.table.sortByColumn(SAFETY, Qt.SortOrder.AscendingOrder)
    assert rows(holding) == list(holding.checks.things)


def test_it_waits_while_dragging_and_follows_when_the_hand_rests(holding, window,
                                                                qtbot) -> None:
    session = window.session
    before = holding.checks.things
    thin = edits.change(session.committed, "pins", "crankshaft", diameter_mm=2.0)
    session.preview(thin)
    assert holding.checks.things == before
    assert "rests" in holding.summary.text()
    session.commit("Thinner rod")
    qtbot.waitUntil(lambda: holding.checks.things != before, timeout=20_000)
    old = next(one for one in before if one.thing == "Rod of crankshaft"
               and one.kind == "rod-bending")
    new = next(one for one in holding.checks.things if one.thing == "Rod of crankshaft"
               and one.kind == "rod-bending")
    assert new.value > 50 * old.value
    assert "rests" not in holding.summary.text()


def test_the_mend_of_a_finding_is_offered_beside_its_check(holding, window, qtbot) -> None:
    session = window.session
    assert not holding.mend_button.isVisible()
    session.commit("Thinner rod", edits.change(session.committed, "pins", "crankshaft",
                                               diameter_mm=2.0))
    qtbot.waitUntil(lambda: holding.checks.things[0].thing == "Rod of crankshaft",
                    timeout=20_000)
    press(holding, 0, qtbot)
    assert "Mend: " in holding.detail.text()
    qtbot.mouseClick(holding.mend_button, Qt.MouseButton.LeftButton)
    assert edits.get(session.committed, "crankshaft").diameter_mm > 2.0
    assert "crankshaft" in session.undo_stack.undoText()
    session.undo()
    assert edits.get(session.committed, "crankshaft").diameter_mm == 2.0


def test_loads_are_shown_in_the_units_of_the_sketch(holding, window, qtbot) -> None:
    texts = {holding.sieve.index(row, 2).data() for row in range(holding.sieve.rowCount())}
    assert any(text.endswith("MPa") for text in texts)
    window.action("inch").trigger()
    qtbot.waitUntil(lambda: holding.checks.units == "in", timeout=20_000)
    texts = {holding.sieve.index(row, 2).data() for row in range(holding.sieve.rowCount())}
    assert any(text.endswith("psi") for text in texts)
    assert not any(text.endswith("MPa") for text in texts)


def test_a_sketch_without_a_crank_says_that_there_is_nothing_to_check(holding, window,
                                                                     qtbot) -> None:
    window.session.new()
    qtbot.waitUntil(lambda: not holding.checks.things, timeout=20_000)
    qtbot.waitUntil(lambda: "crank" in holding.summary.text(), timeout=20_000)
    assert holding.sieve.rowCount() == 0


def test_escape_closes_it_and_it_opens_again(holding, window, qtbot) -> None:
    qtbot.keyClick(holding.table, Qt.Key.Key_Escape)
    assert not holding.isVisible()
    window.action("what_holds").trigger()
    assert holding.isVisible()
