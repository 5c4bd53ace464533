"""Sharing a search: the same is found, whoever does it; nobody is left behind."""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import hands
import pytest

from core.files import dumps
from core.model import Sketch, WantedPath
from core.wanted.find import Found, find
from core.wanted.find import crew as crews
from core.wanted.find.crew import Crew

LONG_S = 120
FAMILIES = ("four-bar", "slider-crank", "quick-return-slide", "geared-five-bar-1")
LOOP = WantedPath(id="loop", tolerance_mm=1.0, either_way=True, through=(
    (0, 0), (30, -14), (70, -6), (84, 20), (50, 34), (10, 22)))


@pytest.fixture
def two() -> Iterator[Crew]:
    made = Crew(2)
    yield made
    made.close()


@pytest.fixture(autouse=True)
def dismissed() -> Iterator[None]:
    """No workers that wait for another search, neither before nor after."""
    crews.dismiss()
    yield
    crews.dismiss()


def workers() -> list[str]:
    return [one.name for one in multiprocessing.active_children()
            if one.name == "crankwright worker"]


def always() -> bool:
    return True


def test_every_job_is_done_once_and_by_the_workers(two: Crew) -> None:
    two.ready()
    for common in (100, 200):  # the second time with the same workers
        done = dict(two.share(hands.adding, common, range(20), always))
        assert {number: sum_ for number, (sum_, _) in done.items()} == {
            number: common + number for number in range(20)}
        assert os.getpid() not in {who for _, who in done.values()}
    assert len({who for _, who in done.values()}) <= 2


def test_without_workers_the_owner_does_everything_in_order() -> None:
    one = Crew()
    done = list(one.share(hands.adding, 1, range(6), always))
    assert done == [(number, (1 + number, os.getpid())) for number in range(6)]
    assert not workers()


def test_for_a_few_jobs_no_process_is_begun(two: Crew) -> None:
    assert len(list(two.share(hands.adding, 1, range(2), always))) == 2
    assert not workers()


def test_the_job_of_a_worker_that_dies_is_done_all_the_same(two: Crew) -> None:
    two.ready()
    done = dict(two.share(hands.dying, os.getpid(), range(12), always))
    assert done == {number: number for number in range(12)}
    assert not two.whole


def test_a_killed_worker_is_replaced_for_the_next_search() -> None:
    with crews.crew(2) as one:
        one.ready()
        one._hands[0].process.kill()
        assert len(list(one.share(hands.adding, 1, range(9), always))) == 9
    with crews.crew(2) as other:
        other.ready()
        assert other.whole
        assert other is not one


def test_a_fault_is_raised_where_it_was_asked_for(two: Crew) -> None:
    two.ready()
    with pytest.raises(ZeroDivisionError, match="nothing to divide by"):
        list(two.share(hands.failing, None, range(6), always))


def test_a_stop_ends_the_sharing_and_frees_the_workers(two: Crew) -> None:
    two.ready()

    def going() -> bool:
        return not all(one.doing is not None for one in two._hands)

    assert list(two.share(hands.patient, None, range(6), going)) == []
    assert two.whole
    done = dict(two.share(hands.adding, 5, range(6), always))
    assert {number: sum_ for number, (sum_, _) in done.items()} == {
        number: 5 + number for number in range(6)}


def test_none_is_left_when_a_crew_is_closed(two: Crew) -> None:
    two.ready()
    assert len(workers()) == 2
    two.close()
    two.close()
    assert not workers()


def test_workers_stay_for_the_next_search_of_as_many() -> None:
    crews.warm(2)
    assert len(workers()) == 2
    with crews.crew(2) as one:
        one.ready()
        with crews.crew(2) as other:  # beside it, of its own
            assert other is not one
    with crews.crew(2) as again:
        assert again is one
    crews.dismiss()
    assert not workers()


def test_workers_end_by_themselves_when_their_owner_is_killed() -> None:
    """All of them hold its output open, which ends with the last of them."""
    owner = subprocess.Popen([sys.executable, hands.__file__, "busy"], stdout=subprocess.PIPE,
                             cwd=Path(__file__).parents[3],
                             env={**os.environ, "PYTHONPATH": os.getcwd()})
    assert owner.stdout is not None
    assert owner.stdout.readline() == b"busy\n"
    owner.kill()
    owner.communicate(timeout=LONG_S)


def test_a_program_ends_though_workers_wait() -> None:
    done = subprocess.run([sys.executable, hands.__file__, "idle"], stdout=subprocess.PIPE,
                          cwd=Path(__file__).parents[3], timeout=LONG_S, check=False,
                          env={**os.environ, "PYTHONPATH": os.getcwd()})
    assert done.returncode == 0


def test_two_processes_find_what_one_does_to_the_byte() -> None:
    def told(found: Found) -> list[object]:
        return [(dumps(one.sketch), one.error, one.worst, one.transmission_deg, one.size_mm,
                 one.peak_torque_nmm, one.kin, one.pareto) for one in found.proposals]

    with crews.crew(2) as crew:
        crew.ready()
    sketch = Sketch(wanted=(LOOP,))
    done: list[float] = []
    one = find(sketch, seed=2, top=6, families=FAMILIES)
    two = find(sketch, seed=2, top=6, families=FAMILIES, processes=2,
               report=lambda found: done.append(found.done) is None)
    assert len(workers()) == 2
    assert len(one.proposals) >= 6
    assert told(two) == told(one)
    assert done == sorted(done)


def test_a_shared_search_that_is_stopped_gives_what_was_there() -> None:
    told: list[Found] = []

    def report(found: Found) -> bool:
        told.append(found)
        return not found.proposals

    found = find(Sketch(wanted=(LOOP,)), families=FAMILIES, processes=2, report=report)
    assert found.stage == "Stopped"
    assert found.proposals == told[-1].proposals
    assert len(found.proposals) > 0
