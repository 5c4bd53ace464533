"""Saving is all or nothing, keeps the file before, and survives crashes."""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import msgspec
import pytest
from files_samples import sample

from core.errors import FileError
from core.files import (
    Recovery,
    load,
    loads,
    save,
    underlay_name,
    underlay_path,
    write_bytes,
)
from core.model import Sketch, Underlay

ROOT = Path(__file__).parents[3]


@pytest.fixture
def sketch() -> Sketch:
    return loads(sample())


def titled(sketch: Sketch, title: str) -> Sketch:
    return msgspec.structs.replace(sketch, title=title)


def test_saving_and_opening_is_identity(sketch: Sketch, tmp_path: Path) -> None:
    save(sketch, tmp_path / "a.json")
    assert load(tmp_path / "a.json") == sketch
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]


def test_the_file_before_is_kept(sketch: Sketch, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    for title in ("one", "two", "three"):
        save(titled(sketch, title), path)
    assert load(path).title == "three"
    assert load(tmp_path / "a.json.bak").title == "two"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.json", "a.json.bak"]


def test_saving_what_is_there_already_keeps_the_file_before(
        sketch: Sketch, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    for title in ("one", "two", "two"):
        save(titled(sketch, title), path)
    assert load(tmp_path / "a.json.bak").title == "one"


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file_whole_and_no_litter(
        failing: str, sketch: Sketch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.json"
    save(sketch, path)
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, failing, full)
    with pytest.raises(FileError, match="no space left"):
        save(titled(sketch, "new"), path)
    assert path.read_bytes() == before
    assert not list(tmp_path.glob(".*"))


def test_a_failing_backup_does_not_stop_the_save(sketch: Sketch, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    (tmp_path / "a.json.bak").mkdir()
    save(sketch, path)
    save(titled(sketch, "new"), path)
    assert load(path).title == "new"


def test_permissions_stay(sketch: Sketch, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    save(sketch, path)
    path.chmod(0o640)
    save(titled(sketch, "new"), path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_has_the_usual_permissions(sketch: Sketch, tmp_path: Path) -> None:
    save(sketch, tmp_path / "a.json")
    (tmp_path / "b").write_text("")
    assert (tmp_path / "a.json").stat().st_mode == (tmp_path / "b").stat().st_mode


def test_a_link_stays_a_link(sketch: Sketch, tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    save(sketch, tmp_path / "far" / "a.json")
    (tmp_path / "near.json").symlink_to(tmp_path / "far" / "a.json")
    save(titled(sketch, "new"), tmp_path / "near.json")
    assert (tmp_path / "near.json").is_symlink()
    assert load(tmp_path / "far" / "a.json").title == "new"


def test_where_it_cannot_be_written_that_is_said(sketch: Sketch, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="the folder does not exist"):
        save(sketch, tmp_path / "none" / "a.json")
    with pytest.raises(FileError, match="this is a folder"):
        save(sketch, tmp_path)
    with pytest.raises(FileError, match="cannot be written"):
        save(sketch, tmp_path / ("n" * 300))
    with pytest.raises(FileError, match="the name is not usable"):
        save(sketch, tmp_path / "a\0b")


def test_a_read_only_file_is_not_replaced(sketch: Sketch, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    save(sketch, path)
    path.chmod(0o444)
    with pytest.raises(FileError, match="read-only"):
        save(titled(sketch, "new"), path)
    assert load(path) == sketch


def test_any_bytes_can_be_written_all_or_nothing(tmp_path: Path) -> None:
    write_bytes(tmp_path / "a.csv", b"1,2\n")
    write_bytes(tmp_path / "a.csv", b"3,4\n")
    assert (tmp_path / "a.csv").read_bytes() == b"3,4\n"
    assert len(list(tmp_path.iterdir())) == 1


class Clock:
    """A clock that tests move."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


def test_the_journal_is_written_at_most_every_interval(sketch: Sketch, tmp_path: Path) -> None:
    clock = Clock()
    recovery = Recovery(tmp_path, interval_s=2.0, clock=clock)
    assert recovery.keep(sketch)
    clock.now = 1.0
    assert not recovery.keep(titled(sketch, "waiting"))
    assert recovery.flush()
    assert not recovery.flush()
    clock.now = 3.5
    assert recovery.keep(titled(sketch, "later"))
    recovery.close()


def test_a_clean_end_leaves_nothing(sketch: Sketch, tmp_path: Path) -> None:
    recovery = Recovery(tmp_path / "deep" / "state")
    recovery.keep(sketch)
    recovery.close()
    recovery.close()
    assert not recovery.flush()
    assert list((tmp_path / "deep" / "state").iterdir()) == []


def test_saved_work_is_not_offered_again(sketch: Sketch, tmp_path: Path) -> None:
    recovery = Recovery(tmp_path)
    recovery.keep(sketch)
    recovery.forget()
    assert not list(tmp_path.glob("*.journal"))
    recovery.close()


def test_what_a_running_program_holds_is_not_offered_to_another(
        sketch: Sketch, tmp_path: Path) -> None:
    one, other = Recovery(tmp_path), Recovery(tmp_path)
    one.keep(sketch)
    assert one.found() == other.found() == []
    one.close()
    other.close()


CRASHING = """
import sys, time
from pathlib import Path
from core.files import Recovery, load
recovery = Recovery(Path(sys.argv[1]), interval_s=0.0)
recovery.keep(load(sys.argv[2]), Path(sys.argv[2]))
print("kept", flush=True)
time.sleep(600)
"""


def test_a_killed_program_loses_nothing_that_was_kept(sketch: Sketch, tmp_path: Path) -> None:
    state, source = tmp_path / "state", tmp_path / "a.json"
    save(sketch, source)
    process = subprocess.Popen([sys.executable, "-c", CRASHING, str(state), str(source)],
                               cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "kept\n"
    recovery = Recovery(state)
    assert recovery.found() == []
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()
    (left,) = recovery.found()
    assert (left.sketch, left.source, left.lost) == (sketch, source, ())
    assert 0 <= time.time() - left.saved_at < 3600
    recovery.discard(left)
    assert recovery.found() == []
    recovery.close()
    assert list(state.iterdir()) == []


def test_a_damaged_journal_is_passed_over_or_salvaged(sketch: Sketch, tmp_path: Path) -> None:
    one = Recovery(tmp_path)
    one.keep(sketch)
    (journal,) = tmp_path.glob("*.journal")
    data = journal.read_bytes()
    one.close()
    (tmp_path / "1-cut.journal").write_bytes(data[: len(data) - 60])
    (tmp_path / "2-empty.journal").write_bytes(b"")
    (tmp_path / "3-odd.journal").write_bytes(b"\xff\n{}")
    (tmp_path / "4-list.journal").write_bytes(b"[]\n{}")
    recovery = Recovery(tmp_path)
    (left,) = recovery.found()
    assert left.journal.name == "1-cut.journal"
    assert left.lost
    recovery.close()


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match="unsaved work cannot be kept"):
        Recovery(tmp_path / "file" / "state")


def test_the_picture_under_a_sketch_moves_with_it(tmp_path: Path) -> None:
    sketch_path, image = tmp_path / "a.json", tmp_path / "img" / "photo.png"
    assert underlay_name(image, sketch_path) == "img/photo.png"
    assert underlay_path(Underlay(path="img/photo.png"), sketch_path) == image
    assert underlay_path(Underlay(path="img\\photo.png"), sketch_path) == image
    elsewhere = tmp_path.parent / "other.png"
    assert underlay_name(elsewhere, sketch_path) == str(elsewhere)
    assert underlay_path(Underlay(path=str(elsewhere)), sketch_path) == elsewhere
    assert underlay_name(image, None) == str(image)
