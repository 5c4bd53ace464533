"""Paths from files, poses and ticks by command."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent

from core.model.edits import get

SQUARE = ('<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" '
          'viewBox="0 0 300 300"><polygon points="0,300 60,300 60,240 0,240"/>{}</svg>')


def told(window) -> list[str]:
    said: list[str] = []
    window.session.told.connect(said.append)
    return said


def test_a_path_from_a_file_is_taken_where_the_file_has_it(window, tmp_path) -> None:
    path = tmp_path / "square.svg"
    path.write_text(SQUARE.format(""))
    window.session.select((("point", "coupler.E"),))
    window.drafting.take_file(str(path))
    wish = get(window.session.committed, "path")
    assert wish.point == "coupler.E"
    assert wish.closed
    places = [complex(*place) for place in wish.through]
    assert places == pytest.approx([0, 60, 60 + 60j, 60j], abs=1e-3)
    assert window.session.selection == {("wish", "path")}
    window.session.undo()
    assert window.session.committed.wanted == ()


def test_of_several_curves_the_longest_is_offered_first(window, tmp_path, qtbot) -> None:
    path = tmp_path / "two.svg"
    path.write_text(SQUARE.format('<line x1="100" y1="100" x2="110" y2="100"/>'))
    window.drafting.take_file(str(path))
    dialog = window.drafting.dialog
    assert dialog.list.count() == 2
    assert dialog.list.item(0).text() == "240 mm long, loop"
    dialog.list.setCurrentRow(1)
    dialog.picture.grab()  # painted without a fault
    dialog.accept()
    wish = get(window.session.committed, "path")
    assert [complex(*place) for place in wish.through] == pytest.approx(
        [100 + 200j, 110 + 200j], abs=1e-3)


def test_a_bad_file_is_told_and_changes_nothing(window, tmp_path) -> None:
    said = told(window)
    path = tmp_path / "bad.csv"
    path.write_text("1,2\nthree,4\n")
    window.drafting.take_file(str(path))
    assert said == ["bad.csv: line 2: 'three' is not a number; write x, y and, if you like, "
                    "the crank angle."]
    assert window.session.committed.wanted == ()


def test_a_path_out_of_sight_is_brought_into_sight(window, tmp_path) -> None:
    path = tmp_path / "far.csv"
    path.write_text("900,900\n950,900\n950,950\n")
    window.drafting.take_file(str(path))
    canvas = window.canvas
    assert canvas.rect().contains(canvas.camera.to_screen(950 + 950j).toPoint())


def test_a_path_is_dropped_on_the_window(window, tmp_path) -> None:
    path = tmp_path / "row.csv"
    path.write_text("0,0\n10,0\n20,0\n")
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    window.dropEvent(QDropEvent(QPointF(300, 300), Qt.DropAction.CopyAction, data,
                                Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier))
    assert len(get(window.session.committed, "path").through) == 3


def test_the_selected_part_is_wanted_where_it_stands(window) -> None:
    session = window.session
    session.set_crank(math.radians(150))
    session.select((("part", "rocker"),))
    window.action("want_pose").trigger()
    wish = get(session.committed, "pose")
    assert wish.crank_deg == pytest.approx(150)
    assert complex(wish.x, wish.y) == pytest.approx(window.canvas.pose.at(wish.at))
    session.select((("part", "frame"),))
    said = told(window)
    window.action("want_pose").trigger()
    assert "the frame does not move" in said[0]


def test_a_tick_ties_the_path_to_the_crank_angle_shown(window) -> None:
    session = window.session
    session.select((("point", "coupler.E"),))
    window.action("path_now").trigger()
    (wish,) = session.committed.wanted
    session.select((("wish", wish.id),))
    for degrees in (40, 220):
        session.set_crank(math.radians(degrees))
        window.action("want_tick").trigger()
    ticks = get(session.committed, wish.id).ticks
    assert sorted(tick.crank_deg for tick in ticks) == pytest.approx([40, 220])
    assert session.undo_stack.undoText() == f"Add a tick to {wish.id}"
