"""Places that could catch a finger in the window: marks, decisions, particulars, cautions."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from PySide6.QtGui import QImage

from app.canvas.paint_pinches import closing_pinches, pinch_marks
from core.model import Bar
from core.model.edits.guarding import decide


@pytest.fixture
def shutting(window, qtbot):
    """The four-bar with crank and coupler next to each other, all checks done."""
    sketch = window.session.committed
    parts = tuple(replace(part, outline=Bar(width_mm=14.0)) if part.id != "coupler" else part
                  for part in sketch.parts)
    window.session.adopt_file(replace(sketch, parts=parts), None)
    settle(window, qtbot)
    return window


def settle(window, qtbot) -> None:
    qtbot.waitUntil(lambda: window.session.finished_study() is not None, timeout=20_000)


def pixels(window) -> int:
    """How much of the canvas has the colour of what shuts."""
    image = window.canvas.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    colour = window.session.look.theme.fault.rgb() & 0xFFFFFF
    return sum(image.pixel(x, y) & 0xFFFFFF == colour
               for x in range(0, image.width(), 2) for y in range(0, image.height(), 2))


def worst(window):
    return window.session.study.pinches[0]


def test_jaws_stand_where_it_shuts_and_nowhere_else(shutting) -> None:
    one = worst(shutting)
    shutting.session.set_crank(one.shut_rad)
    (first, closing), *_ = closing_pinches(shutting.session.study.pinches, one.shut_rad)
    assert first is one
    assert closing.room_mm == one.smallest_mm
    assert abs(closing.middle - one.place) < 15.0
    assert pixels(shutting) > 10
    quiet = next(math.radians(deg) for deg in range(360)
                 if not pinch_marks(shutting.session.study, math.radians(deg)))
    shutting.session.set_crank(quiet)
    assert pixels(shutting) == 0


def test_a_guard_takes_the_jaws_away_and_undo_brings_them_back(shutting, qtbot) -> None:
    session = shutting.session
    one = worst(shutting)
    session.set_crank(one.shut_rad)
    before = pixels(shutting)
    finding = next(each for each in session.study.findings
                   if each.code == "pinch" and each.parts == one.parts)
    session.commit(finding.edits[0].label, finding.edits[0].apply(session.committed))
    settle(shutting, qtbot)
    assert (one.a, one.b) not in {mark[:2] for mark in
                                  pinch_marks(session.study, one.shut_rad)}
    assert pixels(shutting) < before
    assert finding.parts not in [each.parts for each in session.study.findings
                                 if each.code == "pinch"]
    shutting.action("undo").trigger()
    settle(shutting, qtbot)
    assert session.committed.guards == ()
    assert pixels(shutting) == before


def test_whom_it_is_for_is_a_switch_of_the_sketch(shutting, qtbot) -> None:
    shutting.particulars.field("sketch for_children").box.click()
    assert shutting.session.committed.for_children
    settle(shutting, qtbot)
    found = {each.code for each in shutting.session.study.findings}
    assert {"pinch", "small-part"} <= found
    shutting.action("undo").trigger()
    assert not shutting.session.committed.for_children


def test_a_decision_is_changed_noted_and_taken_back_among_the_particulars(shutting) -> None:
    session = shutting.session
    session.commit("Decide", decide(session.committed, [("crank", "coupler")], "accepted"))
    session.select([("part", "crank")])
    panel = shutting.particulars
    (guard,) = session.committed.guards
    note = panel.field(f"guard note {guard.id}").box
    note.setText("a cheek before it")
    note.returnPressed.emit()
    assert session.committed.guards[0].note == "a cheek before it"
    choice = panel.field(f"guard {guard.id}").box
    choice.setCurrentIndex(0)
    choice.activated.emit(0)
    assert session.committed.guards[0].why == "guarded"
    choice = panel.field(f"guard {guard.id}").box
    choice.setCurrentIndex(2)
    choice.activated.emit(2)
    assert session.committed.guards == ()
    with pytest.raises(KeyError):
        panel.field(f"guard {guard.id}")


def test_cautions_name_the_places_of_this_very_thing(shutting) -> None:
    from app.dialogs.pages import cautions_page

    session = shutting.session
    page = cautions_page(session.sketch, session.study)
    one = worst(shutting)
    assert f"{one.a} – {one.b}" in page
    assert "not a toy" in page
    assert "Local codes" in page
    assert "Fingers" not in cautions_page(session.sketch, None)
    children = cautions_page(replace(session.sketch, for_children=True), session.study)
    assert "Meant for children" in children
    assert "ASTM F963" in children


def test_many_decisions_are_counted_and_dropped_in_one_step(shutting) -> None:
    session = shutting.session
    names = [part.id for part in session.committed.parts]
    pairs = [(a, b) for i, a in enumerate(names) for b in names[i + 1:]]
    session.commit("Decide", decide(session.committed, pairs, "accepted"))
    assert shutting.particulars.field(f"guard {session.committed.guards[0].id}")
    session.commit("Decide", decide(session.committed, [("crank", "crank")], "guarded"))
    shown = shutting.particulars.field("guards told").box.text()
    assert shown == "1 guarded, 6 let be"
    shutting.particulars.field("guards dropped").box.click()
    assert session.committed.guards == ()
    shutting.action("undo").trigger()
    assert len(session.committed.guards) == 7
