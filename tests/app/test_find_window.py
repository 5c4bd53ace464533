"""Find in the window: cards that turn, in an order, and one of them in the sketch."""

from __future__ import annotations

import math
from dataclasses import replace

import msgspec
import pytest
import searches
from gallery_hands import LONG_MS, LOOP, WISHED, press_card
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtTest import QTest

from app.panels.gallery.cards import Spots, tip_at
from app.panels.gallery.model import Cards
from app.panels.gallery.moving import moving
from app.panels.gallery.order import Choice, Entry, arrange
from app.panels.gallery.thumbnail import Thumbnail
from app.seeking.find_run import joined
from app.theme import LIGHT
from core import files
from core.model import Knot, Sketch, WantedAngle

pytestmark = pytest.mark.usefixtures("nearby")
LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


@pytest.fixture
def proposals() -> tuple[searches.Proposal, ...]:
    return searches.offered(WISHED)


# -- what is shown, and where -------------------------------------------------------------


def test_the_model_tells_views_what_changed(qtbot, qtmodeltester, proposals) -> None:
    cards = Cards()
    entries = arrange(proposals, Choice())
    cards.show(entries[:6], "mm")
    qtmodeltester.check(cards)
    with qtbot.waitSignal(cards.rowsInserted):
        cards.show(entries, "mm")
    with qtbot.waitSignal(cards.rowsRemoved):
        cards.show(entries[:2], "mm")
    with qtbot.assertNotEmitted(cards.dataChanged):
        cards.show(entries[:2], "mm")
    text = cards.data(cards.index(0), Qt.ItemDataRole.AccessibleTextRole)
    assert "transmission 31°" in text
    assert "torque 0.051 N·m" in text


def test_a_motion_knows_where_everything_is(proposals) -> None:
    motion = moving(proposals[0].sketch)
    assert motion is not None
    assert [link.part for link in motion.links] == ["crank", "rocker", "coupler"]
    assert motion.step(motion.start_rad) == 0
    turned = motion.places[motion.step(motion.start_rad + math.pi / 2)]
    # The crank's pin is drawn at 90° of the crank's reading, 30 mm above its pivot.
    assert min(abs(turned[corner] - 30j) for corner in motion.links[0].at) < 1e-6


def test_a_mechanism_that_locks_has_no_motion(four_bar: Sketch) -> None:
    locking = searches.moved(four_bar, "crank", "B", 200.0)
    locking = searches.moved(locking, "coupler", "B", 200.0)
    assert moving(locking) is None


def test_the_parts_asked_for_angles_are_numbered_in_the_picture_and_named(
        proposals, four_bar: Sketch) -> None:
    knots = (Knot(crank_deg=0, angle_deg=0), Knot(crank_deg=180, angle_deg=30))
    sketch = msgspec.structs.replace(four_bar, wanted=(
        WantedAngle(id="root", part="rocker", knots=knots),
        WantedAngle(id="tip", part="coupler", knots=knots)))
    motion = moving(sketch)
    assert {link.part: link.asked for link in motion.links} == \
        {"crank": 0, "rocker": 1, "coupler": 2}
    entry = Entry(replace(proposals[0], sketch=sketch))
    assert tip_at(Spots(), Spots().picture.center(), entry).endswith("1: root; 2: tip.")
    picture = QPixmap(200, 140)
    painter = QPainter(picture)
    thumb = Thumbnail(motion, picture.size())
    thumb.paint(painter, QPointF(), 0.0, LIGHT)
    painter.end()
    wish = LIGHT.wish.rgb()
    image = picture.toImage()
    middles = [sum(thumb._places[0][k] for k in link.at) / len(link.at)
               for link in motion.links if link.asked]
    for at in middles:
        assert wish in {image.pixel(round(at.real) + dx, round(at.imag) + dy)
                        for dx in range(-6, 7) for dy in range(-6, 7)}


def test_everything_on_a_card_is_explained(proposals) -> None:
    entry, spots = Entry(proposals[0], others=3), Spots()
    assert "Nothing here beats it" in tip_at(spots, spots.best.center(), entry)
    assert "within its tolerance" in tip_at(spots, spots.mark.center(), entry)
    assert "transmission angle" in tip_at(spots, spots.facts[2].center(), entry)
    assert "same path" in tip_at(spots, spots.kin.center(), entry)
    assert "Double-click" in tip_at(spots, spots.picture.center(), entry)


# -- the window --------------------------------------------------------------------------


def test_without_wishes_one_sentence_says_how_to_begin(window) -> None:
    window.session.adopt_file(Sketch(), None)
    window.action("find").trigger()
    gallery = window.seeking.gallery
    assert gallery.isVisible()
    assert "draw the path a point is to take" in gallery.words.text()
    assert not window.seeking.find_run.running
    assert not gallery.use_button.isEnabled()


def test_the_first_list_is_shown_before_the_search_ends(qtbot, window, look) -> None:
    gallery = look(job="searches:seeking_on", least=4)
    qtbot.waitUntil(lambda: gallery.cards.rowCount() >= 1, timeout=LONG_MS)
    assert window.seeking.find_run.running
    assert gallery.again_button.text() == "Stop"
    QTest.mouseClick(gallery.again_button, LEFT)
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    assert gallery.cards.rowCount() >= 1
    assert gallery.again_button.text() == "Search further"


def test_cards_turn_while_the_gallery_is_open_and_rest_when_closed(qtbot, look) -> None:
    gallery = look()
    first = gallery.painter_of_cards.crank_rad
    qtbot.waitUntil(lambda: gallery.painter_of_cards.crank_rad != first, timeout=LONG_MS)
    gallery.close()
    rest = gallery.painter_of_cards.crank_rad
    qtbot.wait(120)
    assert gallery.painter_of_cards.crank_rad == rest


def test_a_double_click_puts_the_mechanism_into_the_sketch(qtbot, window, look) -> None:
    window.canvas.set_tool("wish")
    gallery = look()
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    chosen = gallery.cards.entries[2].proposal
    press_card(gallery, 2, twice=True)
    session = window.session
    assert not gallery.isVisible()
    assert {kind for kind, _ in session.selection} == {"part"}
    assert len(session.selected("part")) == 3
    assert session.undo_stack.undoText() == "Use four-bar"
    assert session.sketch.wanted[0].point != ""
    assert session.sketch.drive is not None
    assert window.canvas.tool_id == "arrange"
    assert session.trouble == ""
    layers = [session.sketch.layer_of(part.id) for part in session.sketch.parts]
    assert min(layers[1:]) > layers[0] == 0  # nothing lies in the layer of the frame
    assert files.loads(files.dumps(session.sketch)) == session.sketch
    drawn = session.sketch.place(session.sketch.wanted[0].point)
    assert abs(drawn - chosen.sketch.place("coupler.E")) < 1e-9
    session.undo()
    assert session.sketch == WISHED


def test_enter_uses_what_the_arrow_keys_choose(qtbot, window, look) -> None:
    gallery = look()
    gallery.list.setCurrentIndex(gallery.cards.index(0))
    QTest.keyClick(gallery.list, Qt.Key.Key_Right)
    assert gallery.chosen() is gallery.cards.entries[1]
    QTest.keyClick(gallery.list, Qt.Key.Key_Return)
    assert window.session.undo_stack.canUndo()


def test_the_gallery_stays_open_when_asked_to(window, look) -> None:
    gallery = look()
    gallery.keep_box.setChecked(True)
    press_card(gallery, 0)
    QTest.mouseClick(gallery.use_button, LEFT)
    assert gallery.isVisible()
    assert window.settings.value("gallery/keep open", type=bool) is True


def test_what_is_chosen_stays_in_its_place_while_more_is_found(qtbot, window, look) -> None:
    gallery = look(job="searches:seeking_on", least=5)
    row = gallery.cards.rowCount() - 1
    gallery.list.setCurrentIndex(gallery.cards.index(row))
    chosen = gallery.chosen().proposal
    gallery.order_box.setCurrentText("Size")
    place = gallery.list.currentIndex().row()
    more = gallery.cards.rowCount()
    qtbot.waitUntil(lambda: gallery.cards.rowCount() > more, timeout=LONG_MS)
    assert gallery.list.currentIndex().row() == place
    assert gallery.chosen().proposal.name == chosen.name


def test_a_mechanism_told_again_keeps_its_picture(qtbot, window, look) -> None:
    gallery = look(job="searches:seeking_on", least=5)
    run = window.seeking.find_run
    first = {one.name: one.sketch for one in run.proposals}
    count = len(run.proposals)
    qtbot.waitUntil(lambda: len(run.proposals) > count, timeout=LONG_MS)
    assert all(one.sketch is first[one.name] for one in run.proposals
               if one.family == "four-bar" and one.name in first)
    assert gallery.cards.rowCount() > 1


def test_sorting_keeps_the_choice(look) -> None:
    gallery = look()
    gallery.list.setCurrentIndex(gallery.cards.index(3))
    chosen = gallery.chosen().proposal
    gallery.order_box.setCurrentText("Size")
    assert gallery.chosen().proposal == chosen
    sizes = [entry.proposal.size_mm for entry in gallery.cards.entries]
    assert sizes == sorted(sizes)


def test_kinds_are_chosen_in_the_menu(look) -> None:
    gallery = look()
    action = next(a for a in gallery.kinds_menu.actions() if a.data() == "other")
    action.trigger()
    assert {e.proposal.family for e in gallery.cards.entries} == {"four-bar"}
    assert gallery.kinds_button.text() == "1 of 2 kinds"
    gallery.kinds_menu.none_action.trigger()
    assert gallery.cards.rowCount() == 0
    gallery.kinds_menu.all_action.trigger()
    assert gallery.kinds_button.text() == "All kinds"


def test_the_gallery_fits_on_the_screen(look) -> None:
    gallery = look()
    assert gallery.screen().availableGeometry().contains(gallery.geometry())


def test_the_menu_of_kinds_stays_open_while_kinds_are_ticked(look) -> None:
    gallery = look()
    menu = gallery.kinds_menu
    menu.popup(gallery.mapToGlobal(QPoint(0, 0)))
    for action in menu.ticks:
        QTest.mouseClick(menu, LEFT, NONE, menu.actionGeometry(action).center())
        assert menu.isVisible()
    assert menu.hidden == {"four-bar", "other"}
    menu.setActiveAction(menu.all_action)
    QTest.keyClick(menu, Qt.Key.Key_Space)
    assert menu.isVisible()
    assert not menu.hidden
    menu.close()


def test_asked_again_the_answer_is_still_there(qtbot, window, look) -> None:
    gallery = look()
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    gallery.close()
    window.action("find").trigger()
    assert not window.seeking.find_run.running
    QTest.mouseClick(gallery.again_button, LEFT)
    assert window.seeking.find_run.running
    qtbot.waitUntil(lambda: window.seeking.find_run.words == ("seed 1",), timeout=LONG_MS)
    assert len(window.seeking.find_run.proposals) == 12  # the very same were found again


def test_searching_further_keeps_what_was_found(proposals) -> None:
    better = searches.proposal(proposals[0].sketch, 5, error=0.01, kin=0)
    both = joined(proposals, [proposals[6], better])
    assert len(both) == len(proposals) + 1
    assert both[0].error == 0.01
    assert both[0].kin not in {one.kin for one in proposals}
    assert joined([], proposals) == sorted(proposals, key=lambda one: one.error)


def test_another_wish_is_searched_for_anew(qtbot, window, look) -> None:
    gallery = look()
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    wider = msgspec.structs.replace(LOOP, tolerance_mm=3.0)
    window.session.commit("Widen", msgspec.structs.replace(WISHED, wanted=(wider,)))
    assert "has changed" in gallery.words.text()
    window.action("find").trigger()
    assert window.seeking.find_run.running
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    assert window.seeking.find_run.words == ("seed 0",)


def test_another_file_takes_the_cards_away(window, look) -> None:
    gallery = look(job="searches:seeking_on", least=4)
    window.filing.load_demo("night-moth")
    assert not window.seeking.find_run.running
    assert window.seeking.find_run.proposals == ()
    assert gallery.cards.rowCount() == 0


def test_a_sketch_whose_crank_rocks_refuses_with_a_sentence(qtbot, window, look,
                                                            four_bar: Sketch) -> None:
    drive = msgspec.structs.replace(four_bar.drive, kind="rock", from_deg=60, to_deg=120)
    rocking = msgspec.structs.replace(four_bar, drive=drive, wanted=(LOOP,))
    gallery = look(rocking)
    press_card(gallery, 0)
    with qtbot.waitSignal(window.session.told) as told:
        QTest.mouseClick(gallery.use_button, LEFT)
    assert "rocks" in told.args[0]
    assert gallery.isVisible()
    assert window.session.committed == rocking


def test_escape_closes_the_gallery_and_ends_the_search(qtbot, window, look) -> None:
    gallery = look(job="searches:seeking_on", least=4)
    QTest.keyClick(gallery.list, Qt.Key.Key_Escape)
    assert not gallery.isVisible()
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)


def test_closing_the_window_while_it_searches_ends_its_process(window, look) -> None:
    gallery = look(job="searches:seeking_on", least=4)
    window._leaving = True
    window.close()
    assert not gallery.isVisible()
    assert window.seeking.find_run.seeker._process is None


def test_a_fault_inside_is_told(qtbot, window) -> None:
    window.session.adopt_file(WISHED, None)
    window.seeking.find_run.job = "searches:failing"
    window.action("find").trigger()
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    assert "could not be finished" in window.seeking.gallery.words.text()


def test_cards_are_painted_in_both_themes(window, look) -> None:
    gallery = look()
    pictures = []
    for mode in ("light", "dark"):
        window.session.look.set_mode(mode)
        for _ in range(8):
            gallery._tick()
            pictures.append(gallery.list.grab().toImage())
    assert pictures[7] != pictures[15]
