"""Weights on the canvas and in the particulars: seen, dragged, typed, taken off."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from app.panels.particulars import Particulars
from core.effort import mass_of
from core.model import Weight
from core.model.edits import add_weight, remove_weight
from core.space import outline_of
from core.space.weights import disc_of


@pytest.fixture
def weighted(canvas, session, four_bar):
    """The four-bar's rocker with a disc half way along it, the rocker selected."""
    rocker = next(part for part in four_bar.parts if part.id == "rocker")
    at = sum((point.place for point in rocker.points), 0j) / len(rocker.points)
    session.adopt_file(add_weight(four_bar, "rocker", Weight(
        mass_kg=0.03, x=at.real, y=at.imag, diameter_mm=8.0, thickness_mm=6.0)), None)
    session.select([("part", "rocker")])
    return at


def only(session) -> Weight:
    (weight,) = session.committed.part("rocker").weights
    return weight


def test_a_weight_of_the_selected_part_is_dragged_within_it(hand, session, weighted) -> None:
    before = session.committed
    rocker = before.part("rocker")
    along = rocker.points[1].place - rocker.points[0].place
    hand.drag(weighted, weighted + 0.2 * along)
    # It snaps to the grid of 5 mm, as everything that is dragged does.
    assert abs(only(session).place - weighted - 0.2 * along) < 3.6
    assert only(session).place != weighted
    assert session.undo_stack.undoText() == "Move a weight of rocker"
    hand.drag(only(session).place, 500 + 500j)  # it comes no further than the wood
    wood = outline_of(session.committed.part("rocker"))
    assert wood.buffer(0.05).contains(disc_of(only(session)))
    assert session.undo_stack.count() == 2
    session.undo()
    session.undo()
    assert session.committed == before


def test_escape_while_dragging_puts_it_back(hand, session, weighted) -> None:
    hand.press(weighted)
    hand.move(weighted + 3 + 3j)
    hand.move(weighted + 4 + 4j)
    assert session.sketch is not session.committed
    hand.key(Qt.Key.Key_Escape)
    hand.release(weighted + 4 + 4j)
    assert session.sketch is session.committed
    assert only(session).place == weighted


def test_delete_takes_off_the_weight_that_was_clicked_and_leaves_the_part(hand, session,
                                                                        weighted) -> None:
    hand.click(weighted)
    hand.key(Qt.Key.Key_Delete)
    assert session.committed.part("rocker").weights == ()
    session.undo()
    assert only(session).mass_kg == 0.03


def test_arrow_keys_move_the_weight_that_was_clicked(hand, session, weighted) -> None:
    hand.click(weighted)
    hand.key(Qt.Key.Key_Left)
    moved = only(session).place - weighted
    assert 0.2 < abs(moved) <= 1.01
    assert session.undo_stack.count() == 1


def test_of_a_part_that_is_not_selected_a_press_takes_the_part(hand, session,
                                                               weighted) -> None:
    session.select(())
    hand.click(weighted)
    assert session.selection == {("part", "rocker")}


def test_it_is_painted_where_it_is(canvas, session, weighted) -> None:
    def colour() -> tuple[int, int, int]:
        picture = canvas.grab().toImage()
        pixel = canvas.camera.to_screen(weighted + 2.0 + 2.0j).toPoint()
        return picture.pixelColor(pixel).getRgb()[:3]

    with_it = colour()
    session.commit("Take it off", remove_weight(session.committed, "rocker", 0))
    assert colour() != with_it


def test_the_table_of_the_particulars_changes_adds_and_takes_off(qtbot, session,
                                                               weighted) -> None:
    panel = Particulars(session)
    qtbot.addWidget(panel)
    panel.refresh()
    table = next(each for each in panel.numbers if each.table.title == "Weights")
    before = mass_of(session.committed.part("rocker")).kg
    table.grid.item(0, 2).setText("80 g")
    assert only(session).mass_kg == pytest.approx(0.08)
    assert mass_of(session.committed.part("rocker")).kg == pytest.approx(before + 0.05)
    table.grid.item(0, 3).setText("1/2 in")
    assert only(session).diameter_mm == pytest.approx(12.7)
    table.grid.item(0, 3).setText("-3")
    assert table.error.text()
    assert only(session).diameter_mm == pytest.approx(12.7)
    table.more.click()
    assert len(session.committed.part("rocker").weights) == 2
    added = session.committed.part("rocker").weights[1]
    assert outline_of(session.committed.part("rocker")).buffer(0.05).contains(disc_of(added))
    qtbot.waitUntil(lambda: table.grid.rowCount() == 2)
    table.grid.setCurrentCell(0, 0)
    table.less.click()
    assert session.committed.part("rocker").weights == (added,)
