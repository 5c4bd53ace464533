"""Cycles are collected on the UI thread, whatever the worker allocates."""

from __future__ import annotations

import gc
import threading

from app.garbage import Collector
from app.worker import Worker


class Cycle:
    """Garbage that says on which thread it ended."""

    ended: list[threading.Thread]

    def __init__(self, ended: list[threading.Thread]) -> None:
        self.me, self.ended = self, ended

    def __del__(self) -> None:
        self.ended.append(threading.current_thread())


def churn() -> int:
    """Allocate far more than any threshold of the collector."""
    return sum(len([[] for _ in range(1000)]) for _ in range(100))


def test_the_worker_never_collects(qtbot) -> None:
    worker, ended = Worker(), []
    assert not gc.isenabled()
    for _ in range(5):
        Cycle(ended)
        with qtbot.waitSignal(worker.done, timeout=10_000):
            worker.ask(churn)
    worker.close()
    gc.collect()
    assert len(ended) == 5
    assert set(ended) == {threading.main_thread()}


def test_the_collector_collects_what_is_due(qtbot, qapp) -> None:
    Worker().close()
    collector = qapp.findChild(Collector)
    assert isinstance(collector, Collector)
    gc.collect()
    ended: list[threading.Thread] = []
    Cycle(ended)
    collector.collect_due()
    assert not ended, "nothing is due yet"
    held = [[] for _ in range(5000)]
    collector.collect_due()
    assert len(ended) == 1
    assert held


def test_there_is_one_collector_however_many_workers(qapp) -> None:
    for _ in range(3):
        Worker().close()
    assert len(qapp.findChildren(Collector)) == 1
