"""Cards of proposals that come one after the other, each time as new objects."""

from __future__ import annotations

import copy

import pytest
from pytestqt.qtbot import QtBot
from weighted import four_bar

from app.panels.pleasant.cards import Cards
from core.pleasant import Options, Proposal, advise


@pytest.fixture(scope="module")
def found() -> tuple[Proposal, ...]:
    return advise(four_bar(), Options(kinds=("weights", "torsion"))).proposals


def test_cards_that_come_again_are_known_and_new_ones_are_added(
    qtbot: QtBot, found: tuple[Proposal, ...]
) -> None:
    assert len(found) >= 2
    cards = Cards()
    cards.show(found[:1], "mm")
    with qtbot.assertNotEmitted(cards.modelReset):
        cards.show(copy.deepcopy(found), "mm")
    assert cards.rowCount() == len(found)
    with qtbot.waitSignal(cards.modelReset):
        cards.show(found[1:], "mm")
