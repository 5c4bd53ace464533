"""Strokes of the hand, and curves from files, as wanted paths."""

from __future__ import annotations

import numpy as np
import pytest

from core.files.curves import read_curves
from core.model import WantedPath
from core.wanted.curves import curve_of
from core.wanted.stroke import MOST_HANDLES, comes_back, smoothed, thinned
from core.wanted.tracing import traced

TURN = np.linspace(0.0, 2.0 * np.pi, 160, endpoint=False)
SHAPES = {
    "ellipse": 60 * np.cos(TURN) + 35j * np.sin(TURN),
    "bean": (50 + 15 * np.cos(2 * TURN) + 8 * np.sin(3 * TURN)) * np.exp(1j * TURN),
    "eight": 60 * np.sin(TURN) + 30j * np.sin(2 * TURN),
    "D": np.concatenate([np.linspace(-40j, 40j, 60, endpoint=False),
                         40 * np.exp(1j * np.linspace(np.pi / 2, -np.pi / 2, 80))[:-1]]),
}


def path(handles: np.ndarray, closed: bool) -> np.ndarray:
    wish = WantedPath(id="p", closed=closed, through=tuple((z.real, z.imag) for z in handles))
    curve = curve_of(wish)
    return curve.place(np.linspace(0, curve.last, 20_000))


def off(line: np.ndarray, run: np.ndarray) -> float:
    """How far the worst place of a line is from a run, mm."""
    return float(np.abs(line[:, None] - run[None, :]).min(axis=1).max())


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("closed", [True, False])
def test_a_trembling_stroke_becomes_few_handles_near_it(name, closed):
    chance = np.random.default_rng(4)
    shape = SHAPES[name]
    stroke = shape + chance.normal(0, 0.12, (2, shape.size)).T @ np.array([1, 1j])
    handles = thinned(stroke, 0.4, closed)
    assert len(handles) <= 24
    # Corners are rounded by about the length that is smoothed over.
    assert off(shape, path(handles, closed)) < (2.0 if name == "D" else 1.0)


@pytest.mark.parametrize("name", ["ellipse", "bean", "eight"])
def test_an_exact_curve_is_followed_to_the_tolerance_asked(name):
    for tolerance in (2.0, 0.5, 0.1):
        handles = thinned(SHAPES[name], tolerance, True, smooth_mm=0.0)
        assert off(SHAPES[name], path(handles, True)) < 1.3 * tolerance
    assert len(handles) <= MOST_HANDLES


def test_finer_tolerances_need_no_fewer_handles():
    counts = [len(thinned(SHAPES["bean"], tolerance, True, smooth_mm=0.0))
              for tolerance in (4.0, 1.0, 0.25, 0.06)]
    assert counts == sorted(counts)


def test_an_open_stroke_keeps_its_ends_and_its_direction():
    stroke = np.linspace(0, 100, 80) + 10j * np.sin(np.linspace(0, 5, 80))
    handles = thinned(stroke, 0.3, False)
    assert handles[0] == stroke[0]
    assert handles[-1] == stroke[-1]
    assert (np.diff(handles.real) > 0).all()


def test_the_shortest_strokes_are_no_trouble():
    assert thinned(np.array([1 + 1j]), 1.0, False).size == 1
    assert thinned(np.array([0, 1e-9]), 1.0, True).size == 2
    assert thinned(np.full(30, 2 + 3j), 1.0, True).size == 1
    assert thinned(np.array([0, 5, 10.0]), 1.0, False).tolist() == [0, 10]


def test_smoothing_leaves_straight_lines_and_circles_nearly_as_they_are():
    line = np.linspace(0, 100, 400) * (1 + 0.5j)
    assert smoothed(line, 3.0, False) == pytest.approx(line)
    circle = 50 * np.exp(1j * np.linspace(0, 2 * np.pi, 400, endpoint=False))
    assert np.abs(np.abs(smoothed(circle, 3.0, True)) - 50).max() < 0.15


def test_a_stroke_comes_back_when_it_ends_near_its_beginning():
    assert comes_back(SHAPES["bean"], 4.0)
    assert not comes_back(SHAPES["bean"][:80], 4.0)
    assert not comes_back(np.linspace(0, 3, 20) + 0j, 4.0)  # has not been away


# -- from files ----------------------------------------------------------------------

def test_corners_and_single_places_stay_as_they_are():
    corners = np.array([0, 30, 30 + 20j, 20j])
    wish = traced(corners, kind="straight", closed=True)
    assert (wish.curve, wish.closed) == ("straight", True)
    assert [complex(*place) for place in wish.through] == corners.tolist()
    wish = traced(corners, kind="places", crank_deg=np.array([0.0, 50.0, 100.0, 150.0]))
    assert wish.curve == "places"
    assert [(tick.at, tick.crank_deg) for tick in wish.ticks] == [
        (0, 0), (1, 50), (2, 100), (3, 150)]


def test_a_fine_curve_gets_few_handles():
    wish = traced(SHAPES["ellipse"], closed=True)
    assert wish.curve == "smooth"
    assert len(wish.through) < 30
    run = curve_of(wish).place(np.linspace(0, len(wish.through), 1500))
    assert off(SHAPES["ellipse"], run) < 2e-3 * 120


def test_a_curve_from_a_file_gets_few_handles_too():
    """It is told in chords; their corners are not followed."""
    svg = b'''<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm"
        viewBox="0 0 120 80">
        <path d="M10,40 C10,0 110,0 110,40 C110,80 10,80 10,40 Z"/></svg>'''
    (told,) = read_curves(svg, "svg")
    assert len(traced(told.places, closed=True).through) <= 16


def test_a_long_timed_table_keeps_its_timing_in_a_few_ticks():
    turn = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    places = 40 * np.exp(1j * turn)
    wish = traced(places, kind="places", closed=True, crank_deg=np.degrees(turn))
    assert wish.curve == "smooth"
    assert len(wish.ticks) == 12
    for tick in wish.ticks:
        at = complex(curve_of(wish).place(tick.at))
        assert at == pytest.approx(40 * np.exp(1j * np.radians(tick.crank_deg)), abs=0.6)


def test_small_paths_get_small_tolerances():
    assert traced(SHAPES["ellipse"] / 12, closed=True).tolerance_mm == pytest.approx(0.2)
    assert traced(SHAPES["ellipse"], closed=True).tolerance_mm == 1.0


def test_a_lone_place_is_a_place():
    wish = traced(np.array([3 + 4j]), kind="places", closed=True)
    assert (wish.curve, wish.closed, wish.through) == ("places", False, ((3, 4),))
