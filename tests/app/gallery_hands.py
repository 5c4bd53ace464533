"""The gallery opened on a search of our own, and a hand that presses on its cards."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.panels.gallery import Gallery
from core.model import Sketch, WantedPath

LONG_MS = 60_000
LOOP = WantedPath(id="loop", through=((40, 80), (60, 100), (30, 120), (10, 100)))
WISHED = Sketch(title="a wish", wanted=(LOOP,))


def opened(qtbot, window, sketch: Sketch = WISHED, job: str = "searches:finding",
           least: int = 12) -> Gallery:
    """The gallery on a sketch, with so many mechanisms found."""
    window.session.adopt_file(sketch, None)
    run = window.seeking.find_run
    run.job = job
    window.action("find").trigger()
    qtbot.waitUntil(lambda: len(run.proposals) >= least, timeout=LONG_MS)
    gallery = window.seeking.gallery
    # Where an earlier test left the mouse: under it no card would change its place.
    gallery.list.viewport().setAttribute(Qt.WidgetAttribute.WA_UnderMouse, False)
    gallery.refresh()
    return gallery


def press_card(gallery: Gallery, row: int, *, twice: bool = False,
               at: QPoint | None = None) -> None:
    """Press a card in the middle, or `at` from its upper left corner."""
    view = gallery.list
    index = gallery.cards.index(row)
    view.scrollTo(index)
    # Asked for a place, the view lays out what it still has to; nothing is handled between.
    card = view.visualRect(index)
    spot = card.center() if at is None else card.topLeft() + at
    for press in (QTest.mouseClick, QTest.mouseDClick)[:1 + twice]:
        press(view.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, spot)
