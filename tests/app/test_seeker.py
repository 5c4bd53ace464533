"""Searches in a process of their own: newest wins, stops are heeded, faults are told."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.seeking import Job, Seeker

LONG_MS = 60_000


@pytest.fixture
def one(qapp: object) -> Iterator[Seeker]:
    made = Seeker()
    yield made
    made.close()


def _answer(qtbot, one: Seeker, job: Job) -> object:
    with qtbot.waitSignal(one.ended, timeout=LONG_MS) as got:
        one.start(job)
    return got.args[0]


def test_a_search_reports_and_ends(qtbot, one: Seeker) -> None:
    seen: list[object] = []
    one.progressed.connect(seen.append)
    assert _answer(qtbot, one, Job("searches:counting", (50,))) == 50
    assert not one.running
    assert seen == sorted(seen)
    assert _answer(qtbot, one, Job("searches:counting", (7,))) == 7


def test_a_stop_is_heeded_with_what_there_is(qtbot, one: Seeker) -> None:
    with qtbot.waitSignal(one.progressed, timeout=LONG_MS):
        one.start(Job("searches:patient"))
    with qtbot.waitSignal(one.ended, timeout=LONG_MS) as got:
        one.stop()
    assert got.args == ["stopped"]


def test_a_newer_search_replaces_the_one_that_runs(qtbot, one: Seeker) -> None:
    answers: list[object] = []
    one.ended.connect(answers.append)
    with qtbot.waitSignal(one.progressed, timeout=LONG_MS):
        one.start(Job("searches:patient"))
    assert _answer(qtbot, one, Job("searches:counting", (3,))) == 3
    qtbot.wait(50)
    assert answers == [3]


def test_a_dropped_search_says_no_more(qtbot, one: Seeker) -> None:
    answers: list[object] = []
    one.ended.connect(answers.append)
    with qtbot.waitSignal(one.progressed, timeout=LONG_MS):
        one.start(Job("searches:patient"))
    one.drop()
    assert not one.running
    qtbot.wait(100)
    assert answers == []


def test_a_search_that_does_not_listen_is_ended_from_outside(qtbot, one: Seeker) -> None:
    one._patience.setInterval(50)
    one.start(Job("searches:deaf"))
    with qtbot.waitSignal(one.ended, timeout=LONG_MS) as got:
        one.stop()
    assert got.args == [None]
    assert _answer(qtbot, one, Job("searches:counting", (4,))) == 4


def test_a_search_that_waits_behind_a_deaf_one_begins_all_the_same(qtbot, one: Seeker) -> None:
    one._patience.setInterval(50)
    one.start(Job("searches:deaf"))
    assert _answer(qtbot, one, Job("searches:counting", (5,))) == 5


def test_a_fault_is_told_and_the_next_search_is_done(qtbot, one: Seeker) -> None:
    with qtbot.waitSignal(one.failed, timeout=LONG_MS) as told:
        one.start(Job("searches:failing"))
    assert "nothing to divide by" in told.args[0]
    assert not one.running
    assert _answer(qtbot, one, Job("searches:counting", (2,))) == 2


def test_a_process_that_dies_is_told_and_another_takes_its_place(qtbot, one: Seeker) -> None:
    with qtbot.waitSignal(one.failed, timeout=LONG_MS) as told:
        one.start(Job("searches:dying"))
    assert "ended unexpectedly" in told.args[0]
    assert _answer(qtbot, one, Job("searches:counting", (6,))) == 6


def test_closing_ends_the_process_and_may_be_repeated(qtbot, qapp: object) -> None:
    one = Seeker()
    with qtbot.waitSignal(one.progressed, timeout=LONG_MS):
        one.start(Job("searches:patient"))
    process = one._process
    assert process is not None
    one.close()
    one.close()
    one.start(Job("searches:patient"))
    assert not one.running
    with pytest.raises(ValueError, match="closed"):
        process.is_alive()  # joined and put away


#: A window's process that ends otherwise than by closing its window.
LEAVING = """
import os, signal, sys
from PySide6.QtCore import QCoreApplication
from app.seeking import Job, Seeker

if __name__ == "__main__":
    qt = QCoreApplication([])
    one = Seeker()
    one.progressed.connect(qt.quit)
    one.start(Job("searches:hiring"))
    qt.exec()
    print("busy", flush=True)
    {leave}
"""


@pytest.mark.parametrize("leave", ["sys.exit(3)", "os.kill(os.getpid(), signal.SIGKILL)"])
def test_no_search_outlives_its_program(leave: str) -> None:
    """All of them hold its output open, which ends with the last of them."""
    program = subprocess.Popen([sys.executable, "-c", LEAVING.format(leave=leave)],
                               stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                               cwd=Path(__file__).parents[2],
                               env={**os.environ, "PYTHONPATH": str(Path(__file__).parent)})
    assert program.communicate(timeout=LONG_MS / 1000) == (b"busy\n", None)
    assert program.returncode in (3, -9)


def test_a_search_may_have_workers_of_its_own(qtbot, one: Seeker) -> None:
    with qtbot.waitSignal(one.progressed, timeout=LONG_MS) as got:
        one.start(Job("searches:hiring"))
    assert got.args == [2]
    with qtbot.waitSignal(one.ended, timeout=LONG_MS) as got:
        one.stop()
    assert got.args == [2]  # they stay for the next


def test_what_comes_next_can_be_made_ready(qtbot, one: Seeker) -> None:
    one.warm("core.wanted.find", "searches:no_such_thing", "app.cores:begin_crew")
    assert _answer(qtbot, one, Job("searches:counting", (3,))) == 3


def test_the_window_opens_before_what_searches_need_is_loaded() -> None:
    script = ("import sys, app.window; "
              "sys.exit(bool({'core.wanted.fit', 'core.wanted.find'} & set(sys.modules)))")
    done = subprocess.run([sys.executable, "-c", script], check=False, timeout=120,
                          cwd=Path(__file__).parents[2])
    assert done.returncode == 0
