"""The window "Make the crank pleasant": the whole job, by mouse and by keys."""

from __future__ import annotations

import pytest
from pleasing import nodding_heron
from PySide6.QtCore import QPoint, Qt

from app.commands.easing import EASED
from app.panels.pleasant import EaseWindow
from app.panels.pleasant.bearers import HEAVIEST
from app.panels.pleasant.cards import BEST, PROPOSAL
from core.files import save
from core.model import edits

PATIENT = 60_000


@pytest.fixture
def ease(window, qtbot, tmp_path):
    """The window, opened by its key on a crank that runs away; weights alone allowed."""
    save(nodding_heron(), tmp_path / "heron.json")
    window.session.open(tmp_path / "heron.json")
    window.action("pleasant").trigger()
    shown = window.easing.window
    assert isinstance(shown, EaseWindow)
    for box in (shown.asks.springs_box, shown.asks.torsion_box, shown.asks.gears_box,
                shown.asks.flywheel_box):
        box.setChecked(False)
    shown.asks.pieces_box.setValue(1)  # found in half a second
    return shown


def work_out(shown: EaseWindow, qtbot) -> None:
    qtbot.mouseClick(shown.ask_button, Qt.MouseButton.LeftButton)
    assert shown.run.running
    qtbot.waitUntil(lambda: not shown.run.running, timeout=PATIENT)
    assert shown.run.proposals, shown.told.text()


def press(shown: EaseWindow, row: int, qtbot) -> None:
    place = shown.list.visualRect(shown.cards.index(row)).center()
    qtbot.mouseClick(shown.list.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(place))


def runs_away(window) -> bool:
    return any(one.code == "runs-away" and one.grade == "warning"
               for one in window.session.study.findings)


def settled(window, qtbot) -> None:
    qtbot.waitUntil(lambda: window.session.finished_study() is not None, timeout=PATIENT)


def test_the_whole_job_ask_look_take_and_undo(ease, window, qtbot) -> None:
    session = window.session
    settled(window, qtbot)
    assert runs_away(window)
    before = session.committed
    work_out(ease, qtbot)
    assert ease.cards.rowCount() == len(ease.run.proposals)
    press(ease, 0, qtbot)
    assert session.sketch == ease.run.proposals[0].sketch
    assert session.committed is before
    assert session.undo_stack.count() == 0
    assert "not taken yet" in ease.told.text()
    assert "it is proved that nothing" in ease.detail.text()
    qtbot.mouseClick(ease.take_button, Qt.MouseButton.LeftButton)
    assert session.undo_stack.count() == 1
    assert any(part.weights for part in session.committed.parts)
    settled(window, qtbot)
    assert not runs_away(window)
    window.action("undo").trigger()
    assert session.committed == before
    settled(window, qtbot)
    assert runs_away(window)
    press(ease, 0, qtbot)  # what was asked for this sketch is good for it again
    assert ease.take_button.isEnabled()


def test_a_finding_of_a_crank_that_runs_away_leads_to_the_window(window, qtbot,
                                                                tmp_path) -> None:
    window.session.adopt_file(nodding_heron(), None)
    settled(window, qtbot)
    qtbot.waitUntil(lambda: any(card.finding is not None and card.finding.code == "runs-away"
                                for card in window.findings.cards), timeout=PATIENT)
    card = next(card for card in window.findings.cards if card.finding.code == "runs-away")
    qtbot.mouseClick(card.advice, Qt.MouseButton.LeftButton)
    assert window.easing.window.isVisible()
    others = [card for card in window.findings.cards if card.finding is not None
              and card.finding.code not in EASED]
    assert all(card.advice is None or card.advice.isHidden() for card in others)


def test_escape_puts_a_proposal_back_that_is_only_looked_at(ease, window, qtbot) -> None:
    work_out(ease, qtbot)
    press(ease, 0, qtbot)
    assert window.session.sketch is not window.session.committed
    qtbot.keyClick(ease.list, Qt.Key.Key_Escape)
    assert window.session.sketch is window.session.committed
    assert ease.isVisible()
    press(ease, 0, qtbot)
    qtbot.keyClick(window.canvas, Qt.Key.Key_Escape)
    assert window.session.sketch is window.session.committed
    qtbot.keyClick(ease.list, Qt.Key.Key_Escape)
    assert not ease.isVisible()


def test_the_keys_alone_do_it(ease, window, qtbot) -> None:
    qtbot.keyClick(ease.ask_button, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: not ease.run.running, timeout=PATIENT)
    qtbot.keyClick(ease.list, Qt.Key.Key_Down)
    chosen = ease.chosen()
    assert chosen is not None
    assert window.session.sketch == chosen.sketch
    qtbot.keyClick(ease.list, Qt.Key.Key_Return)
    assert window.session.committed == chosen.sketch
    assert "Taken" in ease.told.text()
    assert not ease.take_button.isEnabled()


def test_a_sketch_changed_meanwhile_is_told_and_nothing_is_taken(ease, window, qtbot) -> None:
    session = window.session
    work_out(ease, qtbot)
    press(ease, 0, qtbot)
    changed = edits.change(session.committed, "pins", "knuckle", diameter_mm=5.0)
    assert session.commit("Thinner pin", changed)
    assert session.committed == changed
    assert "changed meanwhile" in ease.told.text()
    assert not ease.take_button.isEnabled()
    assert not ease.run.take(ease.run.proposals[0])
    assert session.committed == changed
    window.action("undo").trigger()
    assert "changed" not in ease.told.text()


def test_a_change_while_it_works_stops_it(ease, window, qtbot) -> None:
    qtbot.mouseClick(ease.ask_button, Qt.MouseButton.LeftButton)
    session = window.session
    session.commit("Thinner pin", edits.change(session.committed, "pins", "knuckle",
                                               diameter_mm=5.0))
    assert not ease.run.running
    assert "changed meanwhile" in ease.told.text()


def test_the_best_is_taken_at_one_press_and_as_one_undo(ease, window, qtbot) -> None:
    before = window.session.committed
    window.action("pleasant_best").trigger()
    qtbot.waitUntil(lambda: window.session.committed is not before, timeout=PATIENT)
    assert window.session.undo_stack.count() == 1
    taken = ease.run.taken
    assert taken is not None
    assert [ease.cards.index(row).data(BEST) for row in range(ease.cards.rowCount())] == [
        one is taken for one in ease.run.proposals]
    assert taken.value_after == min(one.value_after for one in ease.run.proposals)
    assert "Taken" in ease.told.text()


def test_stop_keeps_the_window_usable(ease, window, qtbot) -> None:
    before = window.session.committed
    qtbot.mouseClick(ease.ask_button, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(ease.ask_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not ease.run.running, timeout=PATIENT)
    assert window.session.committed is before
    work_out(ease, qtbot)


def test_only_the_parts_ticked_bear_a_weight_no_heavier_than_asked(ease, window,
                                                                  qtbot) -> None:
    bearers = ease.asks.bearers
    for name in bearers.parts():
        bearers.tick(name, name == "neck")
    bearers.item(bearers.parts().index("neck"), HEAVIEST).setText("sixty")
    assert not ease.ask_button.isEnabled()
    assert "neck" in ease.told.text()
    bearers.item(bearers.parts().index("neck"), HEAVIEST).setText("60 g")
    assert ease.asks.options().weights.each == (("neck", None, pytest.approx(0.06)),)
    work_out(ease, qtbot)
    for one in ease.run.proposals:
        for part in one.sketch.parts:
            assert part.id == "neck" or not part.weights
            assert all(weight.mass_kg <= 0.060001 for weight in part.weights)


def test_what_cannot_be_read_is_marked_and_nothing_is_asked(ease, window, qtbot) -> None:
    ease.asks.heaviest_box.setFocus()
    ease.asks.heaviest_box.setText("heavy")
    qtbot.keyClick(ease.asks.heaviest_box, Qt.Key.Key_Return)
    assert ease.asks.heaviest_box.property("wrong")
    assert not ease.ask_button.isEnabled()
    assert "heavy" in ease.told.text()
    ease.asks.heaviest_box.setText("2 oz")
    qtbot.keyClick(ease.asks.heaviest_box, Qt.Key.Key_Return)
    assert ease.ask_button.isEnabled()
    assert ease.asks.heaviest_box.value == pytest.approx(0.0567, abs=1e-4)
    ease.asks.heaviest_box.setText("")
    qtbot.keyClicks(ease.asks.heaviest_box, "lots")
    qtbot.keyClick(ease.asks.heaviest_box, Qt.Key.Key_Escape)  # drops what is typed, no more
    assert ease.asks.heaviest_box.value == pytest.approx(0.0567, abs=1e-4)
    assert ease.isVisible()
    assert ease.ask_button.isEnabled()
    ease.asks.weights_box.setChecked(False)
    assert not ease.ask_button.isEnabled()
    assert "Nothing is allowed" in ease.told.text()


def test_stuff_at_hand_is_added_and_kept_for_the_next_start(ease, window, qtbot) -> None:
    stuff = ease.asks.stuff
    stuff.kind_box.setCurrentIndex(1)
    stuff.material_box.setCurrentIndex(stuff.material_box.findData("brass-rod"))
    stuff.size_box.setText("5/8 in")
    qtbot.mouseClick(stuff.add_button, Qt.MouseButton.LeftButton)
    assert ("rod", "brass-rod", pytest.approx(15.875)) in [
        entry for entry, on in stuff.entries() if on]
    again = EaseWindow(window.session, window.easing.run, window.settings, window)
    assert again.asks.stuff.entries() == stuff.entries()
    options = again.asks.options()
    assert options is not None
    assert ("brass-rod", 15.875) in options.weights.rods


def test_a_sketch_whose_crank_locks_is_told_so(ease, window, qtbot) -> None:
    window.filing.load_demo("stiff-otter")
    ease.do_best()
    qtbot.waitUntil(lambda: not ease.run.running, timeout=PATIENT)
    assert ease.told.text().startswith("The crank locks at")
    window.session.new()
    ease.do_best()
    assert "no crank" in ease.told.text()


def test_every_card_says_before_after_and_bound_to_a_screen_reader(ease, window,
                                                                  qtbot) -> None:
    work_out(ease, qtbot)
    index = ease.cards.index(0)
    said = index.data(Qt.ItemDataRole.AccessibleTextRole)
    assert index.data(PROPOSAL).title in said
    assert "→" in said
    window.action("inch").trigger()
    assert "lbf·in" in ease.cards.index(0).data()
