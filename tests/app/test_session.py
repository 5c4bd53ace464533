"""The session: edits, undo, crank, selection, file."""

from __future__ import annotations

import itertools
import math
import threading
from pathlib import Path

import msgspec
import pytest

from app import engine
from app.session import Session
from core.errors import CrankwrightError, Stopped, always
from core.model import Drive, Sketch, edits
from core.motion.redimension import drag_point


def moved(sketch: Sketch, x: float) -> Sketch:
    return drag_point(sketch, "coupler.E", x, 90.0)


def test_commit_undo_and_redo_bring_back_the_very_same_sketches(session: Session) -> None:
    first = session.committed
    for step in range(5):
        assert session.commit(f"Move {step}", moved(session.committed, 51.0 + step))
    last = session.committed
    for _ in range(5):
        session.undo()
    assert session.sketch is first
    assert session.turn.sketch is first
    for _ in range(5):
        session.redo()
    assert session.sketch is last


def test_a_commit_without_change_leaves_no_undo_step(session: Session) -> None:
    assert not session.commit("Nothing", session.committed)
    assert session.undo_stack.count() == 0


def test_a_preview_solves_at_once_and_cancel_restores_exactly(session: Session) -> None:
    before = session.committed
    session.preview(moved(before, 60.0))
    assert session.turn.sketch is session.sketch is not before
    assert session.committed is before
    session.cancel()
    assert session.sketch is before


def test_undo_during_a_preview_only_drops_the_preview(session: Session) -> None:
    session.commit("Move", moved(session.committed, 55.0))
    kept = session.committed
    session.preview(moved(kept, 60.0))
    session.undo()
    assert session.sketch is kept
    assert session.undo_stack.count() == 1
    assert session.undo_stack.canUndo()


def test_a_drag_of_many_previews_is_one_undo_step(session: Session) -> None:
    before = session.committed
    for step in range(30):
        session.preview(moved(before, 50.0 + step))
    session.commit("Move point")
    assert session.undo_stack.count() == 1
    assert session.committed.point("coupler.E").x == pytest.approx(79.0)
    session.undo()
    assert session.sketch is before


def test_undo_restores_what_was_selected(session: Session) -> None:
    session.select([("part", "rocker"), ("pin", "d")])
    session.commit("Remove", edits.remove(session.committed, ["rocker"]))
    assert ("part", "rocker") not in session.selection
    session.undo()
    assert session.selection == {("part", "rocker"), ("pin", "d")}


def test_only_things_that_exist_can_be_selected(session: Session) -> None:
    session.select([("part", "crank"), ("part", "ghost"), ("point", "crank.Z"),
                    ("point", "crank.B")])
    assert session.selection == {("part", "crank"), ("point", "crank.B")}


def test_twins_follow_previews_and_commits(session: Session) -> None:
    mirrored, (image,) = edits.mirror(session.committed, ["coupler"], 200.0, 0.0, 90.0)
    session.commit("Mirror", mirrored)
    session.preview(moved(session.committed, 70.0))
    assert session.sketch.point(f"{image}.E").x == pytest.approx(330.0)
    session.commit("Move")
    assert session.committed.point(f"{image}.E").x == pytest.approx(330.0)


def test_the_crank_wraps_after_a_whole_turn(session: Session) -> None:
    session.set_crank(math.radians(370.0))
    assert math.degrees(session.crank_rad) == pytest.approx(10.0)
    session.set_crank(math.radians(-20.0))
    assert math.degrees(session.crank_rad) == pytest.approx(340.0)


def test_the_crank_angle_stays_through_an_edit(session: Session) -> None:
    session.set_crank(math.radians(200.0))
    session.commit("Move", moved(session.committed, 60.0))
    assert math.degrees(session.crank_rad) == pytest.approx(200.0)


def test_the_crank_stops_at_a_limit(session: Session) -> None:
    # A rocker of 12 mm is the shortest link: it goes round, the crank cannot (Grashof).
    session.commit("Shorten", drag_point(session.committed, "rocker.C", 100.0, 12.0))
    sides = {limit.side: limit.crank_rad for limit in session.turn.limits}
    assert set(sides) == {1, -1}
    for deg in range(0, 360, 5):
        session.set_crank(math.radians(deg))
        pose = session.pose()
        assert pose.reached.all()
        assert not any(map(math.isnan, pose.rotation.real.ravel()))


def test_the_crank_of_a_rocking_drive_stays_between_its_ends(session: Session) -> None:
    drive = Drive(pin="a", part="crank", kind="rock", drawn_deg=90, from_deg=60, to_deg=120)
    session.commit("Rock", msgspec.structs.replace(session.committed, drive=drive))
    session.set_crank(math.radians(300.0))
    assert math.degrees(session.crank_rad) == pytest.approx(120.0)
    session.set_crank(math.radians(0.0))
    assert math.degrees(session.crank_rad) == pytest.approx(60.0)


def test_drawing_from_here_moves_nothing_on_the_screen(session: Session) -> None:
    session.set_crank(math.radians(215.0))
    before = session.pose().path("coupler.E")[0]
    session.commit("Draw from here", session.posed())
    after = session.pose().path("coupler.E")[0]
    assert after == pytest.approx(before, abs=1e-9)
    assert session.committed.drive.drawn_deg == pytest.approx(215.0)


def test_saving_and_opening_is_identity_and_clears_the_unsaved_mark(
        session: Session, tmp_path: Path) -> None:
    session.commit("Move", moved(session.committed, 61.0))
    assert session.unsaved
    session.save(tmp_path / "otter.json")
    assert not session.unsaved
    kept = session.committed
    session.new()
    assert session.sketch.parts == ()
    session.open(tmp_path / "otter.json")
    assert session.committed == kept
    assert not session.unsaved
    session.commit("Move", moved(session.committed, 62.0))
    session.undo()
    assert not session.unsaved


def test_a_file_that_cannot_be_opened_changes_nothing(session: Session,
                                                      tmp_path: Path) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text("{")
    before = session.committed
    with pytest.raises(CrankwrightError):
        session.open(bad)
    assert session.committed is before
    assert session.path is None


def test_a_taken_up_sketch_counts_as_unsaved(session: Session, four_bar: Sketch) -> None:
    session.adopt_file(four_bar, None, unsaved=True)
    assert session.unsaved
    session.adopt_file(four_bar, None)
    assert not session.unsaved


def test_a_sketch_without_crank_stands_still_and_is_studied(
        qtbot, session: Session, four_bar: Sketch) -> None:
    sketch = msgspec.structs.replace(four_bar, drive=None)
    with qtbot.waitSignal(session.study_changed, timeout=10_000):
        session.commit("No crank", sketch)
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    assert session.study.turn is None
    assert session.study.findings
    session.set_crank(1.0)
    assert session.pose().rotation.real.min() == 1.0


def test_the_study_that_comes_last_belongs_to_the_sketch_shown(qtbot,
                                                               session: Session) -> None:
    for step in range(40):
        session.preview(moved(session.committed, 50.0 + step))
    session.commit("Move")
    qtbot.waitUntil(lambda: session.study_is_current, timeout=10_000)
    assert session.study.effort is not None


def test_playing_turns_the_crank_and_reverse_turns_it_back(qtbot, session: Session) -> None:
    seen: list[float] = []
    session.crank_changed.connect(seen.append)
    session.set_crank(math.radians(90.0))
    session.player.set_playing(True)
    qtbot.waitUntil(lambda: len(seen) > 4, timeout=10_000)
    session.player.set_playing(False)
    assert session.crank_rad > math.radians(90.0)
    here = session.crank_rad
    session.player.set_way(-1)
    session._play_step(0.05)
    assert session.crank_rad < here


def test_playing_against_a_lock_swings_back(session: Session) -> None:
    session.commit("Shorten", drag_point(session.committed, "rocker.C", 100.0, 12.0))
    ways = set()
    for _ in range(400):
        session._play_step(0.05)
        ways.add(session.player.way)
        assert session.pose().reached.all()
    assert ways == {1, -1}


def test_a_rocking_drive_swings_between_its_ends_in_its_time(session: Session) -> None:
    drive = Drive(pin="a", part="crank", kind="rock", drawn_deg=90, from_deg=60, to_deg=120,
                  rpm=30)
    angle, seen = math.radians(90.0), []
    for _ in range(400):  # 4 s: two whole swings at 30 a minute
        angle = session.player.advance(drive, angle, 0.01)
        seen.append(math.degrees(angle))
    assert min(seen) == pytest.approx(60.0, abs=0.1)
    assert max(seen) == pytest.approx(120.0, abs=0.1)
    rises = sum(a < 90.0 <= b for a, b in itertools.pairwise(seen))
    assert rises in (1, 2)


def test_a_closed_session_with_a_history_can_be_collected(qapp, four_bar: Sketch) -> None:
    """The collector would take the commands apart before the stack that owns them."""
    import gc

    for _ in range(3):
        made = Session()
        made.adopt_file(four_bar, None)
        for step in range(5):
            made.commit("Move", moved(made.committed, 51.0 + step))
        made.undo()
        made.close()
        assert made.undo_stack.count() == 0
        del made
        gc.collect()


@pytest.mark.parametrize("by", ["drag", "edit"])
def test_a_newer_sketch_ends_the_work_on_the_one_before(
        session: Session, qtbot, monkeypatch, by: str) -> None:
    whole, begun, ended = engine.look_into, threading.Event(), threading.Event()

    def look_into(sketch, warm, refine, going=always):
        if not refine or begun.is_set():
            return whole(sketch, warm, refine, going)
        begun.set()
        while going():
            ended.wait(0.001)
        ended.set()
        raise Stopped

    monkeypatch.setattr(engine, "look_into", look_into)
    told = []
    session.told.connect(told.append)
    session.commit("Move", moved(session.committed, 55.0))
    qtbot.waitUntil(begun.is_set, timeout=10_000)
    newer = moved(session.committed, 60.0)
    if by == "drag":
        session.preview(newer)
    else:
        session.commit("Move", newer)
    assert ended.wait(10)
    session.cancel()
    qtbot.waitUntil(lambda: session.finished_study() is not None, timeout=20_000)
    assert session.finished_study().sketch is session.committed
    assert told == []
