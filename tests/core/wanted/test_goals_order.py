"""A trace must keep to its path in order and direction, all of it: what does not is told."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from closed_four_bar import interpolated
from msgspec.structs import replace

from core.model import Tick, WantedPath
from core.wanted.goals import MISSED, Dense, Instants, Seen, goals
from core.wanted.goals.assign import assign_either, assign_line, assign_loop

STEPS = 360
Trace = Callable[[np.ndarray], np.ndarray]


def circle(crank: np.ndarray) -> np.ndarray:
    """A circle of 50 mm, once round, evenly."""
    return 50 * np.exp(1j * crank)


def egg(crank: np.ndarray) -> np.ndarray:
    """Not symmetrical, unevenly passed through."""
    at = crank + 0.4 * np.sin(crank)
    return 50 * np.exp(1j * at) + 12 * np.exp(2j * at) + 5 * np.exp(-2j * at)


def watched(trace: Trace, reached: np.ndarray | None = None, cycle: float = 2 * np.pi,
            steps: int = STEPS) -> Dense:
    crank = np.linspace(0, 2 * np.pi, steps, endpoint=not cycle)
    known = np.ones(steps, bool) if reached is None else reached
    return Dense(crank, (trace(crank)[None],), known[None], cycle)


def error(wish: WantedPath, dense: Dense, sense: int = 1,
          start_free: bool = True) -> tuple[float, Instants]:
    """Error in tolerances, and when samples were compared."""
    compiled = goals([wish], sense=sense, start_free=start_free)
    instants = compiled.match(dense)
    r, _ = compiled.residuals(instants, interpolated(dense, instants))
    return float(compiled.error(r)[0]), instants


def path(curve: str = "smooth", count: int = 24, shape: Trace = egg,
         **more: object) -> WantedPath:
    at = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return WantedPath(id="w", curve=curve,  # type: ignore[arg-type]
                      through=tuple((float(z.real), float(z.imag)) for z in shape(at)),
                      **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(6))
def test_the_assignment_is_the_best_of_all(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(30):
        samples, length = rng.integers(1, 5), rng.integers(2, 7)
        cost = rng.exponential(size=(samples, length, 3))
        steps, total = assign_loop(cost)
        line, line_total = assign_line(cost)
        for m in range(3):
            runs = [run for first in range(length) for run in
                    itertools.combinations_with_replacement(
                        range(first, first + length + 1), int(samples)) if run[0] == first]
            sums = [sum(cost[k, n % length, m] for k, n in enumerate(run)) for run in runs]
            assert total[m] == pytest.approx(min(sums), abs=1e-12)
            assert (np.diff(steps[:, m]) >= 0).all()
            assert steps[-1, m] - steps[0, m] <= length
            assert sum(cost[k, n % length, m] for k, n in enumerate(steps[:, m])) \
                == pytest.approx(total[m], abs=1e-12)
            open_sums = [sum(cost[k, n, m] for k, n in enumerate(run)) for run in
                         itertools.combinations_with_replacement(range(length), int(samples))]
            assert line_total[m] == pytest.approx(min(open_sums), abs=1e-12)
            assert sum(cost[k, n, m] for k, n in enumerate(line[:, m])) \
                == pytest.approx(line_total[m], abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("most", [None, 2])
def test_of_both_directions_the_better_one_is_found(seed: int, most: int | None) -> None:
    """As if each had been followed to the end by itself."""
    rng = np.random.default_rng(seed)
    for _ in range(10):
        samples, length = rng.integers(2, 9), rng.integers(3, 40)
        cost = rng.exponential(size=(samples, length, 12))
        places = np.linspace(0, length, samples, endpoint=False) * rng.choice([-1, 1], (12, 1))
        along = (places.T[:, None] - np.arange(length)[:, None]) % length
        cost[..., ::2] += np.minimum(along, length - along)[..., ::2]  # some have a direction
        steps, total, back = assign_either(cost, most)
        ways = [assign_loop(cost, most), assign_loop(cost[::-1], most)]
        assert (back == (ways[1][1] < ways[0][1])).all()
        assert (total == np.where(back, ways[1][1], ways[0][1])).all()
        assert (steps == np.where(back, ways[1][0], ways[0][0])).all()
    assert 0 < back.sum() < 12


@pytest.mark.parametrize("wish", [
    path(), path("straight", 90), path("places"), path(count=90, closed=False),
    path("places", closed=False)], ids=lambda wish: f"{wish.curve} {wish.closed}")
@pytest.mark.parametrize("start", [0.0, 1.3, 4.0])
def test_a_trace_along_the_path_is_without_error_wherever_it_starts(wish: WantedPath,
                                                                    start: float) -> None:
    size, instants = error(wish, watched(lambda crank: egg(crank + start)))
    # Splines through the places are within 0.05 mm, the polyline through 90 within 0.1 mm.
    assert size < 0.1
    assert (np.diff(instants.crank_rad[0, goals([wish]).free]) > 0).all()


@pytest.mark.parametrize("curve", ["smooth", "places"])
def test_the_same_trace_run_backwards_is_bad_unless_either_way_will_do(curve: str) -> None:
    back = watched(lambda crank: egg(-crank))
    assert error(path(curve), back)[0] > 10
    assert error(path(curve, either_way=True), back)[0] < 0.1
    assert error(path(curve, any_order=True), back)[0] < 0.1
    assert error(path(curve), back, sense=-1)[0] < 0.1
    assert error(path(curve), watched(egg), sense=-1)[0] > 10


def test_places_in_another_order_are_bad_unless_any_order_will_do() -> None:
    wish = path("places", 8)
    mixed = replace(wish, through=tuple(wish.through[k] for k in (0, 3, 1, 2, 6, 4, 7, 5)))
    assert error(mixed, watched(egg))[0] > 10
    assert error(replace(mixed, any_order=True), watched(egg))[0] < 0.01
    one = replace(wish, through=tuple(wish.through[k] for k in (0, 1, 3, 2, 4, 5, 6, 7)))
    assert error(one, watched(egg))[0] > 5


def test_a_trace_that_comes_to_some_places_only_is_bad() -> None:
    half = watched(lambda crank: egg(np.pi / 2 + 0.5 * np.pi * np.sin(crank)))
    assert error(path("places"), half)[0] > 10
    assert error(path(), half)[0] > 10
    still = watched(lambda crank: egg(np.zeros_like(crank)))
    assert error(path("places"), still)[0] > 20


@pytest.mark.parametrize("at", np.linspace(0.1, 6.1, 7))
@pytest.mark.parametrize("width", [0.04, 0.15])
def test_a_trace_that_leaves_the_curve_for_a_while_is_told(at: float, width: float) -> None:
    """A spike outwards and back, between samples or over some."""
    def spiked(crank: np.ndarray) -> np.ndarray:
        return egg(crank) * (1 + 0.5 * np.exp(-(((crank - at) / width) ** 2)))
    assert error(path(), watched(spiked, steps=720))[0] > 1.0


def test_a_loop_on_the_side_is_told() -> None:
    """Out along a tangent circle of 15 mm and round it while the rest of the path waits."""
    def looped(crank: np.ndarray) -> np.ndarray:
        rest = np.clip((crank - 2.0) / 1.0, 0, 1)
        on = np.where(crank < 2.0, crank, np.where(crank > 3.0, (crank - 3.0) * (
            2 * np.pi - 2.0) / (2 * np.pi - 3.0) + 2.0, 2.0))
        out = circle(on) / 50
        return 50 * out + 15 * out * (1 - np.exp(2j * np.pi * rest))
    wish = path(shape=circle)
    assert error(wish, watched(circle))[0] < 0.05
    assert error(wish, watched(looped, steps=720))[0] > 1.5


def test_going_round_a_closed_path_twice_is_bad() -> None:
    assert error(path(), watched(lambda crank: egg(2 * crank)))[0] > 10


def test_an_open_path_is_a_piece_of_the_trace() -> None:
    wish = path(count=24)
    piece = replace(wish, through=wish.through[3:14], closed=False)
    assert error(piece, watched(egg))[0] < 0.1
    closed = replace(piece, closed=True)
    assert error(closed, watched(egg))[0] > 3


@pytest.mark.parametrize("lift", [0.0, 0.02, -0.02])
def test_a_path_that_begins_or_ends_where_the_trace_crosses_itself_is_met(lift: float) -> None:
    """One lobe of an eight, from the crossing to the crossing, which the trace passes twice,
    each time a hair higher or lower."""
    def eight(crank: np.ndarray) -> np.ndarray:
        return 50 * np.sin(crank) + 30j * np.sin(2 * crank) + 1j * lift * np.cos(crank)
    lobe = path(count=40, shape=lambda at: eight(at / 2), closed=False)
    other = path(count=40, shape=lambda at: eight(np.pi + at / 2), closed=False)
    for wish in (lobe, other):
        ends = replace(wish, through=((0.0, 0.0), *wish.through[1:], (0.0, 0.0)))
        assert error(ends, watched(eight))[0] < 0.1


def test_what_the_crank_does_not_reach_cannot_be_matched() -> None:
    known = np.ones(STEPS, bool)
    known[100:200] = False
    away = np.flatnonzero(~known)

    def trace(crank: np.ndarray) -> np.ndarray:
        place = egg(crank)
        place[away] = 0.0
        return place

    assert error(path("places"), watched(trace, known))[0] > 5
    timed = path("places", 8, ticks=tuple(Tick(at=k, crank_deg=45 * k) for k in range(8)))
    assert error(timed, watched(egg, known), start_free=False)[0] > MISSED / 10
    none = np.zeros(STEPS, bool)
    size, instants = error(path(), watched(egg, none))
    assert size >= MISSED / 2
    assert np.isnan(instants.crank_rad[0]).any()


def test_a_rocking_crank_goes_along_an_open_path_there_or_back() -> None:
    def arc(crank: np.ndarray) -> np.ndarray:
        return 60 * np.exp(0.3j * crank)
    there = path("smooth", 9, lambda at: 60 * np.exp(0.25j * at + 0.1j), closed=False)
    back = replace(there, through=there.through[::-1])
    dense = watched(arc, cycle=0.0)
    for wish in (there, back):
        size, instants = error(wish, dense)
        assert size < 0.05
        crank = instants.crank_rad[0]
        assert crank.min() >= 0
        assert crank.max() <= 2 * np.pi
    # A way too short by 4 mm at its end is not taken for one along the path.
    short = watched(lambda crank: 60 * np.exp(1j * (0.1 + 0.21 * crank)), cycle=0.0)
    compiled = goals([there])
    instants = compiled.match(short)
    r, _ = compiled.residuals(instants, interpolated(short, instants))
    missing = 60 * (0.25 * 2 * np.pi * 8 / 9 - 0.21 * 2 * np.pi)
    assert np.abs(r).max() / compiled.row_scale[0] == pytest.approx(missing, rel=0.05)
    assert error(there, watched(lambda crank: 80 * np.exp(0.3j * crank), cycle=0.0))[0] > 10


def test_places_in_time_are_compared_at_their_times() -> None:
    wish = path("places", 8, lambda at: egg(at), ticks=tuple(
        Tick(at=k, crank_deg=45 * k) for k in range(8)))
    assert error(wish, watched(egg), start_free=False)[0] < 1e-4
    late = watched(lambda crank: egg(crank - 0.7))
    assert error(wish, late, start_free=False)[0] > 5
    size, instants = error(wish, late)
    assert size < 1e-4
    assert instants.offset_rad[0] == pytest.approx(0.7, abs=1e-6)
    # Slow here and fast there is an error, though the trace is the same.
    assert error(wish, watched(lambda crank: egg(crank + 0.5 * np.sin(crank))))[0] > 3


def test_ticks_tie_some_places_and_leave_the_timing_between_them_free() -> None:
    ticks = (Tick(at=0, crank_deg=0), Tick(at=12, crank_deg=180))
    wish = path(ticks=ticks)

    def uneven(crank: np.ndarray) -> np.ndarray:
        return egg(crank + 0.45 * np.sin(2 * crank))  # on time at 0° and 180°

    def late(crank: np.ndarray) -> np.ndarray:
        return egg(crank + 0.5 * np.sin(crank - 1))
    assert error(wish, watched(uneven))[0] < 0.1
    assert error(wish, watched(late), start_free=False)[0] > 1
    assert error(path(), watched(late))[0] < 0.1
    one = path(ticks=ticks[:1])
    size, instants = error(one, watched(lambda crank: egg(crank - 0.6)))
    assert size < 0.1
    assert instants.offset_rad[0] == pytest.approx(0.6, abs=0.01)


def test_a_place_can_be_asked_for_alone() -> None:
    wish = WantedPath(id="w", through=((67.0, 0.0),), curve="places")
    size, instants = error(wish, watched(egg))
    assert size < 1e-6
    assert np.cos(instants.crank_rad[0, 0]) == pytest.approx(1.0)


def test_random_paths_are_found_on_their_own_traces() -> None:
    rng = np.random.default_rng(5)
    for _ in range(20):
        terms = rng.normal(size=(5, 2)) @ [1, 1j] * 30 / np.array([4, 1, 1, 4, 9])
        lead, back = rng.uniform(0, 6), rng.uniform(0.2, 0.5)

        def shape(at: np.ndarray, terms: np.ndarray = terms) -> np.ndarray:
            return np.exp(1j * np.multiply.outer(at, [-2, -1, 1, 2, 3])) @ terms

        def trace(crank: np.ndarray, lead: float = lead, back: float = back) -> np.ndarray:
            return shape(crank + lead + back * np.sin(crank))
        assert error(path(count=48, shape=shape), watched(trace))[0] < 0.2
        assert error(path("places", 30, shape=shape), watched(trace))[0] < 1e-3


def test_no_wishes_are_met_by_anything() -> None:
    compiled = goals([])
    instants = compiled.match(Dense(np.linspace(0, 6, 60), (), np.ones((3, 60), bool), 6.1))
    none = np.zeros((3, 0), complex)
    r, jacobian = compiled.residuals(instants, Seen(none, none, np.zeros((3, 0, 5), complex)))
    assert r.shape == (3, 0)
    assert jacobian is not None
    assert jacobian.shape == (3, 0, 5)
    assert compiled.error(r).tolist() == [0, 0, 0]
