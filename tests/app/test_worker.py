"""The worker: latest wins, faults are told, the thread ends when asked."""

from __future__ import annotations

import threading

from app.worker import Worker


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
