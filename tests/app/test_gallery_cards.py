"""Cards of the gallery: where they are pressed, and what they tell before one is used."""

from __future__ import annotations

from dataclasses import replace

import msgspec
import pytest
import searches
from gallery_hands import LONG_MS, LOOP, WISHED, press_card
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QStyleOptionViewItem

from app.panels.gallery.cards import CARD, Spots, tip_at
from app.panels.gallery.model import Cards
from app.panels.gallery.order import Choice, Entry, arrange
from core.model import Sketch

pytestmark = pytest.mark.usefixtures("nearby")


@pytest.fixture
def proposals() -> tuple[searches.Proposal, ...]:
    return searches.offered(WISHED)


def test_a_press_on_the_line_about_kin_spreads_and_folds_them(look) -> None:
    gallery = look()
    count = gallery.cards.rowCount()
    for want in (count + 3, count):
        press_card(gallery, 0, at=Spots().kin.center().toPoint())
        assert gallery.cards.rowCount() == want
    assert gallery.chosen() is None


@pytest.mark.parametrize("width", [270, 420, 640, 784, 1100])
def test_the_line_about_kin_is_pressed_where_it_is_seen_in_every_width(qtbot, look,
                                                                       width: int) -> None:
    gallery = look()
    gallery.resize(width, 500)
    qtbot.wait(150)  # the view waits 100 ms before it lays the cards out anew
    count = gallery.cards.rowCount()
    press_card(gallery, 0, at=Spots().kin.center().toPoint())
    assert gallery.cards.rowCount() == count + 3


def test_no_card_moves_aside_when_more_come_than_there_is_room_for(qtbot, window, look
                                                                   ) -> None:
    gallery = look()
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    entries = list(gallery.cards.entries)
    gallery.cards.show(entries[:3], "mm")
    qtbot.wait(150)
    before = [gallery.list.visualRect(gallery.cards.index(row)) for row in range(3)]
    assert before[0].top() == before[1].top() < gallery.list.viewport().height()
    gallery.cards.show(entries, "mm")
    qtbot.wait(150)
    assert gallery.list.verticalScrollBar().maximum() > 0
    assert before == [gallery.list.visualRect(gallery.cards.index(row)) for row in range(3)]


def test_space_spreads_and_folds_the_kin_of_the_chosen_card(look) -> None:
    gallery = look()
    count = gallery.cards.rowCount()
    gallery.list.setCurrentIndex(gallery.cards.index(0))
    for want in (count + 3, count):
        QTest.keyClick(gallery.list, Qt.Key.Key_Space)
        assert gallery.cards.rowCount() == want
        assert gallery.list.currentIndex().row() == 0


# -- parts that meet -----------------------------------------------------------------------


def meeting(one: searches.Proposal, *pairs: tuple[str, str]) -> searches.Proposal:
    return replace(one, meets=pairs)


def test_parts_that_meet_are_told_in_words(proposals) -> None:
    cards = Cards()
    entries = [Entry(meeting(proposals[0], ("coupler", "pin a"), ("crank", "pin d"))),
               Entry(meeting(proposals[1], ("coupler", "pin a"))), Entry(proposals[2])]
    cards.show(entries, "mm")
    told = [cards.data(cards.index(row), Qt.ItemDataRole.AccessibleTextRole)
            for row in range(3)]
    assert told[0].endswith("; parts meet: coupler and pin a, and 1 more pair")
    assert told[1].endswith("; parts meet: coupler and pin a")
    assert "meet" not in told[2]
    spots = Spots()
    tips = [tip_at(spots, spots.meets.center(), entry) for entry in entries]
    assert tips[0].startswith("Parts meet: coupler and pin a")
    assert "Double-click" in tips[2]


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_a_card_whose_parts_meet_is_labelled_in_its_picture(window, look, proposals,
                                                            mode: str) -> None:
    """The label is there beside colour by its words and shape: ink on the field."""
    window.session.look.set_mode(mode)
    gallery = look()
    painter_of_cards, spot = gallery.painter_of_cards, Spots().meets
    pictures = []
    for one in (proposals[0], meeting(proposals[0], ("coupler", "pin a"))):
        gallery.cards.show([Entry(one)], "mm")
        picture = QPixmap(CARD)
        picture.fill(Qt.GlobalColor.white)
        painter = QPainter(picture)
        option = QStyleOptionViewItem()
        option.rect = QRect(QPoint(), CARD)
        painter_of_cards.begin_frame(0.0)
        painter_of_cards.paint(painter, option, gallery.cards.index(0))
        painter.end()
        pictures.append(picture.toImage())
    free, met = pictures
    label = spot.toRect()
    assert free.copy(label) != met.copy(label)
    # Nothing else of the card differs.
    for image in pictures:
        painter = QPainter(image)
        painter.fillRect(label, Qt.GlobalColor.black)
        painter.end()
    assert free == met


def test_of_even_ones_those_without_come_first_and_the_others_can_be_left_out(
        look, proposals) -> None:
    even = [replace(one, error=0.5, kin=k) for k, one in enumerate(proposals[4:8])]
    even[0] = meeting(even[0], ("crank", "pin d"))
    assert [bool(e.proposal.meets) for e in arrange(even, Choice())] == [False] * 3 + [True]
    gallery = look()
    run = gallery.run
    run.proposals = tuple(even)
    run.changed.emit()
    assert gallery.cards.rowCount() == 4
    gallery.free_box.setChecked(True)
    assert [e.proposal for e in gallery.cards.entries] == even[1:]
    gallery.free_box.setChecked(False)
    assert gallery.cards.rowCount() == 4


# -- wishes that are attached already ------------------------------------------------------


def test_that_attached_wishes_will_be_moved_is_said_before(qtbot, window, look,
                                                           four_bar: Sketch) -> None:
    mine = msgspec.structs.replace(
        four_bar, wanted=(msgspec.structs.replace(LOOP, point="coupler.E"),))
    gallery = look(mine)
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    assert "“loop” is attached already" in gallery.words.text()
    assert gallery.words.isVisible()
    gallery.keep_box.setChecked(True)
    press_card(gallery, 0)
    gallery.use()
    assert window.session.sketch.wanted[0].point != "coupler.E"
    window.session.undo()
    assert window.session.sketch == mine


def test_of_wishes_of_nothing_yet_it_is_said_only_once_one_is_used(qtbot, window,
                                                                  look) -> None:
    gallery = look()
    qtbot.waitUntil(lambda: not window.seeking.find_run.running, timeout=LONG_MS)
    assert "attached" not in gallery.words.text()
    gallery.keep_box.setChecked(True)
    press_card(gallery, 0)
    gallery.use()
    assert "“loop” is attached already" in gallery.words.text()
