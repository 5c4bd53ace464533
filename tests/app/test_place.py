"""Where a window of its own opens the first time."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRect, QSize

from app.panels.place import BORDER, place_beside

SIZE = QSize(980, 560)


@pytest.mark.parametrize("main", [QRect(0, 0, 1200, 900), QRect(1300, 40, 1200, 900)])
def test_it_lies_beside_the_work_where_the_screen_is_wide(main):
    placed = place_beside(QRect(0, 0, 2560, 1400), main, SIZE)
    assert placed.size() == SIZE
    assert not placed.intersects(main)


@pytest.mark.parametrize("room", [QRect(0, 0, 1280, 800), QRect(0, 24, 800, 476),
                                  QRect(1600, 0, 1024, 700)])
def test_on_a_small_screen_it_fits_with_its_frame_and_keeps_the_menus_in_sight(room):
    placed = place_beside(room, room, SIZE)
    framed = placed.adjusted(0, 0, BORDER.width(), BORDER.height())
    assert room.contains(framed)
    assert placed.top() > room.top() or placed.height() == room.height() - BORDER.height()
