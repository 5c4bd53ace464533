"""Findings: click to see, one press to mend."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.panels.findings import FindingsPanel
from app.theme import DARK, LIGHT
from core.errors import EditError
from core.findings import Finding
from core.findings.finding import Mend
from core.model import edits
from core.study import Study


@pytest.fixture
def panel(qtbot, session):
    made = FindingsPanel(session)
    qtbot.addWidget(made)
    made.resize(300, 500)
    made.show()
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    return made


def show(panel: FindingsPanel, session, *found: Finding) -> None:
    session.study = Study(session.sketch, None, None, None, None, None, tuple(found))
    panel.refresh()


def thicker(sketch):
    return edits.change(sketch, "parts", "rocker", thickness_mm=9.0)


def impossible(sketch):
    raise EditError("it is gone", mend="undo")


RUB = Finding(code="rub", grade="fault", text="crank and rocker rub.",
              parts=("crank", "rocker"), joints=("c",), crank_deg=210.0,
              mend="Make the rocker thicker.",
              edits=(Mend("Make it thicker", thicker), Mend("Impossible", impossible)))
WEAK = Finding(code="weak", grade="warning", text="The rocker is weak.", parts=("rocker",))
NOTE = Finding(code="note", grade="note", text="A note.")


def test_a_finding_shows_grade_text_and_mend(panel, session) -> None:
    show(panel, session, RUB, WEAK, NOTE)
    texts = [card.text.text() for card in panel.cards if card.isVisible()]
    assert texts == ["crank and rocker rub.", "The rocker is weak.", "A note."]
    assert panel.cards[0].mend.text() == "Make the rocker thicker."
    assert panel.heading.text() == "Findings: 1 fault, 1 warning, 1 note"
    assert [card.mark.grade for card in panel.cards[:3]] == ["fault", "warning", "note"]


def test_a_click_turns_the_crank_and_lights_the_parts_up(panel, session) -> None:
    show(panel, session, RUB)
    QTest.mouseClick(panel.cards[0], Qt.MouseButton.LeftButton)
    assert math.degrees(session.crank_rad) == pytest.approx(210.0)
    assert session.selection == {("part", "crank"), ("part", "rocker"), ("pin", "c")}


def test_enter_does_the_same_from_the_keyboard(panel, session) -> None:
    show(panel, session, RUB)
    panel.cards[0].setFocus()
    QTest.keyClick(panel.cards[0], Qt.Key.Key_Return)
    assert math.degrees(session.crank_rad) == pytest.approx(210.0)


def test_a_mend_is_one_undo_step(panel, session) -> None:
    show(panel, session, RUB)
    before = session.committed
    QTest.mouseClick(panel.cards[0].buttons[0], Qt.MouseButton.LeftButton)
    assert session.committed.part("rocker").thickness_mm == 9.0
    assert session.undo_stack.undoText() == "Make it thicker"
    session.undo()
    assert session.committed is before


def test_a_mend_that_no_longer_fits_says_so(panel, session) -> None:
    told: list[str] = []
    session.told.connect(told.append)
    show(panel, session, RUB)
    QTest.mouseClick(panel.cards[0].buttons[1], Qt.MouseButton.LeftButton)
    assert told == ["it is gone; undo."]
    assert session.undo_stack.count() == 0


def test_findings_that_are_gone_leave_the_list(panel, session) -> None:
    show(panel, session, RUB, WEAK)
    show(panel, session, WEAK)
    assert [card.text.text() for card in panel.cards if card.isVisible()] == [
        "The rocker is weak."]
    show(panel, session)
    assert panel.heading.text() == "Findings: none"


def test_many_findings_are_counted_not_all_shown(panel, session) -> None:
    show(panel, session, *[WEAK] * 100)
    assert sum(card.isVisible() for card in panel.cards) == 30
    assert panel.rest.text().startswith("and 70 more")


def test_grades_differ_in_shape_not_only_in_colour(qtbot) -> None:
    from PySide6.QtCore import QRectF
    from PySide6.QtGui import QImage, QPainter

    from app.icons import paint_grade

    def outline(grade: str, theme) -> bytes:
        image = QImage(32, 32, QImage.Format.Format_ARGB32)
        image.fill(Qt.GlobalColor.transparent)
        painter = QPainter(image)
        paint_grade(painter, grade, QRectF(2, 2, 28, 28), theme)
        painter.end()
        return bytes(image.pixelColor(x, y).alpha() > 127
                     for y in range(32) for x in range(32))

    for theme in (LIGHT, DARK):
        marks = {grade: outline(grade, theme) for grade in ("fault", "warning", "note")}
        for one in marks:
            for other in marks:
                if one != other:
                    apart = sum(a != b for a, b in zip(marks[one], marks[other],
                                                       strict=True))
                    assert apart > 60


def test_a_real_overlap_is_found_shown_and_mended(qtbot, panel, session) -> None:
    """Crank and coupler share a pin: in one layer they cut through each other."""
    session.commit("Same layer", edits.change(session.committed, "parts", "coupler", layer=1))
    qtbot.waitUntil(lambda: session.study_is_current and session.refined, timeout=20_000)
    panel.refresh()
    card = next(card for card in panel.cards
                if card.finding is not None and card.buttons and "coupler" in
                card.finding.parts and card.finding.grade == "fault")
    code = card.finding.code
    faults = sum(f.code == code for f in session.study.findings)
    QTest.mouseClick(card.buttons[0], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    assert sum(f.code == code for f in session.study.findings) < faults
