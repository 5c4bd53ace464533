"""The worker: latest wins, faults are told, the thread ends when asked."""

from __future__ import annotations

import threading

from app.worker import Worker
from core.errors import Stopped, go_on


def test_only_the_newest_of_waiting_jobs_is_done(qtbot) -> None:
    worker, seen = Worker(), []
    gate, begun = threading.Event(), threading.Event()
    worker.done.connect(lambda token, result: seen.append(result))

    def slow() -> str:
        begun.set()
        gate.wait(10)
        return "first"

    worker.ask(slow)
    assert begun.wait(10)
    for number in range(50):
        worker.ask(lambda number=number: number)
    gate.set()
    qtbot.waitUntil(lambda: len(seen) == 2, timeout=10_000)
    worker.close()
    assert seen == ["first", 49]


def test_a_fault_is_told_and_the_next_job_is_done(qtbot) -> None:
    worker = Worker()
    with qtbot.waitSignal(worker.failed, timeout=10_000) as told:
        worker.ask(lambda: 1 / 0)
    assert "ZeroDivisionError" in told.args[1]
    with qtbot.waitSignal(worker.done, timeout=10_000) as done:
        worker.ask(lambda: 7)
    assert done.args[1] == 7
    worker.close()


def test_closing_ends_the_thread_and_may_be_repeated(qapp) -> None:
    before = threading.active_count()
    worker = Worker()
    worker.ask(lambda: None)
    worker.close()
    worker.close()
    assert not worker.isRunning()
    worker.ask(lambda: None)
    assert not worker.isRunning()
    assert threading.active_count() <= before + 1


def test_a_job_whose_answer_is_stale_stops_and_the_newest_is_answered(qtbot) -> None:
    worker, seen, told = Worker(), [], []
    begun, asked = threading.Event(), []
    worker.done.connect(lambda token, result: seen.append((token, result)))
    worker.failed.connect(lambda token, text: told.append(text))

    def endless() -> str:
        begun.set()
        while True:
            asked.append(worker.wanted())
            go_on(worker.wanted)

    worker.ask(endless)
    assert begun.wait(10)
    newest = worker.ask(lambda: worker.wanted())
    qtbot.waitUntil(lambda: bool(seen), timeout=10_000)
    worker.close()
    assert seen == [(newest, True)]
    assert told == []
    assert asked.count(False) <= 1


def test_a_dropped_job_is_answered_neither_begun_nor_waiting(qtbot) -> None:
    worker, seen, ended = Worker(), [], threading.Event()
    begun = threading.Event()
    worker.done.connect(lambda token, result: seen.append(result))

    def endless() -> None:
        begun.set()
        try:
            while True:
                go_on(worker.wanted)
        except Stopped:
            ended.set()
            raise

    worker.ask(endless)
    assert begun.wait(10)
    worker.ask(lambda: "waiting")
    worker.drop()
    assert ended.wait(10)
    worker.ask(lambda: "newest")
    qtbot.waitUntil(lambda: bool(seen), timeout=10_000)
    worker.close()
    assert seen == ["newest"]


def test_closing_does_not_wait_for_a_job_that_asks(qapp) -> None:
    worker, begun = Worker(), threading.Event()

    def endless() -> None:
        begun.set()
        while True:
            go_on(worker.wanted)

    worker.ask(endless)
    assert begun.wait(10)
    worker.close()
    assert not worker.isRunning()
