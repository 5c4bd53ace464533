"""The parts on the bench: order, layers, names, hiding, locking."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from app.panels.stack import EYE, HOLD, ID, LAYER, NAME, StackList, restacked, stacked


@pytest.fixture
def bench(qtbot, session):
    made = StackList(session)
    qtbot.addWidget(made)
    made.show()
    return made


def lines(bench: StackList) -> list[tuple[str, str]]:
    return [(bench.topLevelItem(row).text(NAME), bench.topLevelItem(row).text(LAYER))
            for row in range(bench.topLevelItemCount())]


def line(bench: StackList, name: str):
    return next(bench.topLevelItem(row) for row in range(bench.topLevelItemCount())
                if bench.topLevelItem(row).data(NAME, ID) == name)


def test_parts_stand_front_to_back(bench) -> None:
    assert lines(bench) == [("coupler", "2"), ("crank", "1"), ("rocker", "1"),
                            ("frame", "0")]


def test_selecting_goes_both_ways(bench, session) -> None:
    session.select([("part", "rocker")])
    assert [item.data(NAME, ID) for item in bench.selectedItems()] == ["rocker"]
    bench.clearSelection()
    line(bench, "crank").setSelected(True)
    assert session.selection == {("part", "crank")}


def test_dropping_onto_a_part_moves_into_its_layer(bench, session) -> None:
    bench.move_parts(["coupler"], "frame", onto=True, in_front=False)
    assert session.committed.layer_of("coupler") == 0
    session.undo()
    assert session.committed.layer_of("coupler") == 2


def test_dropping_between_parts_makes_a_layer_of_its_own(bench, session) -> None:
    bench.move_parts(["rocker"], "coupler", onto=False, in_front=True)
    assert stacked(session.committed)[0] == ("rocker", 3)
    assert session.committed.layer_of("rocker") == 3
    bench.move_parts(["rocker"], "frame", onto=False, in_front=True)
    layers = dict(stacked(session.committed))
    assert layers["frame"] < layers["rocker"] < layers["crank"] < layers["coupler"]
    assert session.undo_stack.count() == 2


def test_dropping_below_everything_goes_to_the_back(bench, session) -> None:
    bench.move_parts(["coupler"], None, onto=False, in_front=False)
    layers = dict(stacked(session.committed))
    assert layers["coupler"] < min(v for k, v in layers.items() if k != "coupler")


def test_parts_without_a_layer_keep_their_order_when_another_moves(four_bar) -> None:
    import msgspec

    bare = msgspec.structs.replace(four_bar, parts=tuple(
        msgspec.structs.replace(part, layer=None) for part in four_bar.parts))
    moved = restacked(bare, "frame", 4, between=False)
    rest = [name for name, _ in stacked(moved) if name != "frame"]
    assert rest == [name for name, _ in stacked(bare) if name != "frame"]


def test_the_eye_hides_a_part_and_the_sketch_stays(bench, session) -> None:
    kept = session.committed
    bench.itemClicked.emit(line(bench, "rocker"), EYE)
    assert session.look.hidden == {"rocker"}
    assert session.committed is kept
    bench.itemClicked.emit(line(bench, "rocker"), EYE)
    assert session.look.hidden == frozenset()


def test_the_lock_holds_lengths(bench, session) -> None:
    bench.itemClicked.emit(line(bench, "rocker"), HOLD)
    assert session.committed.part("rocker").lengths_locked
    session.undo()
    assert not session.committed.part("rocker").lengths_locked


def test_a_part_is_renamed_in_place(qtbot, bench, session) -> None:
    line(bench, "rocker").setText(NAME, "arm")
    assert session.committed.part("arm")
    qtbot.waitUntil(lambda: ("arm", "1") in lines(bench), timeout=5000)


def test_a_bad_name_is_told_and_the_old_one_comes_back(qtbot, bench, session) -> None:
    told: list[str] = []
    session.told.connect(told.append)
    line(bench, "rocker").setText(NAME, "crank")
    assert "taken" in told[0]
    qtbot.waitUntil(lambda: ("rocker", "1") in lines(bench), timeout=5000)
    assert session.undo_stack.count() == 0


def test_space_hides_and_enter_renames_by_keyboard(qtbot, bench, session) -> None:
    bench.setCurrentItem(line(bench, "rocker"))
    qtbot.keyClick(bench, Qt.Key.Key_Space)
    assert session.look.hidden == {"rocker"}
    bench.setCurrentItem(line(bench, "rocker"))
    qtbot.keyClick(bench, Qt.Key.Key_Return)
    assert bench.state() == bench.State.EditingState
