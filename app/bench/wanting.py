"""How fast a wanted motion is had: fitting a drawn four-bar to a published loop, finding
mechanisms for a loop drawn by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator
from time import perf_counter

import numpy as np

from app.bench.clock import Row
from app.bench.eighteen import EIGHTEEN, GOOD_SUM, UNIT_MM
from app.cores import cores
from core.model import Drive, FitRules, Part, Pin, Point, Sketch, Tick, WantedPath
from core.motion import pose_at, solve_turn
from core.wanted.find import Found, find
from core.wanted.find.crew import crew, dismiss
from core.wanted.fit import Progress, fit

STARTS = 5


def eighteen_wish(point: str = "", tolerance_mm: float = 0.5) -> WantedPath:
    """The eighteen places as a wish, timed."""
    return WantedPath(
        id="places", point=point, curve="places", closed=False, tolerance_mm=tolerance_mm,
        through=tuple((UNIT_MM * at.real, UNIT_MM * at.imag) for at in EIGHTEEN),
        ticks=tuple(Tick(at=float(k), crank_deg=20.0 * k) for k in range(len(EIGHTEEN))))


def cold(start: int) -> Sketch:
    """A four-bar drawn beside the places without any thought: five in all."""
    tilt = np.exp(2j * math.pi * start / STARTS)
    pivot, middle = 30 - 20j, 30 + 65j

    def at(x: float, y: float) -> complex:
        return complex(middle + (pivot - middle + complex(x, y)) * tilt)

    places = {"O": at(0, 0), "Q": at(90, 10), "A": at(15, 25), "B": at(80, 80),
              "P": at(30, 90)}

    def part(name: str, points: str, fixed: bool = False) -> Part:
        return Part(id=name, fixed=fixed, points=tuple(
            Point(id=key, x=places[key].real, y=places[key].imag) for key in points))

    return Sketch(
        parts=(part("frame", "OQ", True), part("crank", "OA"), part("rod", "ABP"),
               part("rocker", "BQ")),
        pins=(Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "rod.A")),
              Pin(id="b", at=("rod.B", "rocker.B")), Pin(id="q", at=("rocker.Q", "frame.Q"))),
        drive=Drive(pin="o", part="crank"), wanted=(eighteen_wish("rod.P"),),
        fit=FitRules(transmission_deg=0.0))


def squared_sum(sketch: Sketch) -> float:
    """The squared-error sum of a sketch's rod.P against the eighteen places, in the unit of
    the papers; asked of the turn alone."""
    crank = np.radians(20.0 * np.arange(len(EIGHTEEN)))
    path = pose_at(solve_turn(sketch), crank).path("rod.P") @ np.array([1, 1j])
    total = float((np.abs(path / UNIT_MM - np.array(EIGHTEEN)) ** 2).sum())
    return total if math.isfinite(total) else math.inf


def drawn_loop() -> WantedPath:
    """A lopsided loop of 90 mm as a hand draws it, ours."""
    t = np.arange(20) / 20 * 2 * np.pi
    loop = 45 * np.cos(t) + 28j * np.sin(t) + 8 * np.cos(2 * t + 0.6) + 0.4 * np.sin(7 * t)
    return WantedPath(id="loop", tolerance_mm=1.0, either_way=True, through=tuple(
        (round(float(at.real), 1), round(float(at.imag), 1)) for at in loop))


def fit_seconds(start: int) -> tuple[float, float]:
    """Time until a fit of a cold start first shows a good sum, s (infinite: never), and
    the sum at its end."""
    sketch, reached = cold(start), math.inf
    begun = perf_counter()

    def watch(progress: Progress) -> bool:
        nonlocal reached
        if reached == math.inf and squared_sum(progress.sketch) <= GOOD_SUM:
            reached = perf_counter() - begun
        return True

    done = fit(sketch, seed=start, report=watch)
    ended, total = perf_counter() - begun, squared_sum(done.sketch)
    return (min(reached, ended) if total <= GOOD_SUM else math.inf), total


def find_seconds(wish: WantedPath, processes: int) -> tuple[float, float]:
    """Time until the first list of proposals, and until the last, s, by so many processes,
    begun before as the window does."""
    first = math.inf
    with crew(processes) as workers:
        workers.ready()
    begun = perf_counter()

    def watch(found: Found) -> bool:
        nonlocal first
        if first == math.inf and found.proposals:
            first = perf_counter() - begun
        return True

    find(Sketch(wanted=(wish,)), report=watch, processes=processes)
    return first, perf_counter() - begun


def wanting_rows() -> Iterator[Row]:
    """Rows of `crankwright bench`; medians, each start once, libraries loaded before."""
    fit_seconds(0)
    fits = [fit_seconds(start) for start in range(STARTS)]
    yield Row("fit, eighteen places from cold: time to the known best",
              float(np.median([each[0] for each in fits])), "s", 1.0)
    yield Row("fit, eighteen places from cold: squared-error sum",
              float(np.median([each[1] for each in fits])), "", GOOD_SUM)
    shared = cores()
    first, last = find_seconds(drawn_loop(), shared)
    dismiss()
    yield Row("find, drawn loop: first list, atlas loaded with it", first, "s", 2.0)
    yield Row("find, drawn loop: refined", last, "s", 5.0)
    alone = find_seconds(drawn_loop(), 1)[1]
    yield Row("find, drawn loop: refined by one process", alone, "s")
    yield Row(f"  as a multiple of that by {shared}", alone / last, "×")
