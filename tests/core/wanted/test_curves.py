"""Wanted paths and angles as curves, against scipy's splines and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline, PchipInterpolator

from core.model import Knot, WantedAngle, WantedPath
from core.wanted.curves import angle_at, curve_of, gain_deg, sample_path


def path(places: np.ndarray, **more: object) -> WantedPath:
    return WantedPath(id="w", through=tuple((float(z.real), float(z.imag)) for z in places),
                      **more)  # type: ignore[arg-type]


def angles(*knots: tuple[float, float], **more: object) -> WantedAngle:
    return WantedAngle(id="w", knots=tuple(Knot(crank_deg=c, angle_deg=a) for c, a in knots),
                       **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("closed", [True, False])
@pytest.mark.parametrize("count", [3, 4, 9, 60])
def test_a_smooth_path_is_the_cubic_spline_by_chord_length(count: int, closed: bool) -> None:
    """scipy.interpolate.CubicSpline, "periodic" or "natural"."""
    places = np.random.default_rng(count).normal(size=(count, 2)) @ [30, 30j]
    curve = curve_of(path(places, closed=closed))
    knots = np.append(places, places[0]) if closed else places
    chord = np.concatenate([[0], np.cumsum(np.abs(np.diff(knots)))])
    spline = CubicSpline(chord, np.column_stack([knots.real, knots.imag]),
                         bc_type="periodic" if closed else "natural")
    at = np.linspace(0, curve.last - 1e-9, 101)
    span = at.astype(int)
    run = chord[span] + (at - span) * np.diff(chord)[span]
    np.testing.assert_allclose(curve.place(at), spline(run) @ [1, 1j], atol=1e-11)
    np.testing.assert_allclose(curve.along(at),
                               spline(run, 1) @ [1, 1j] * np.diff(chord)[span], atol=1e-10)


def test_a_path_goes_through_its_places_at_whole_numbers() -> None:
    places = np.array([0, 10, 10 + 10j, 3 + 20j])
    for curve in ("smooth", "straight", "places"):
        np.testing.assert_allclose(
            curve_of(path(places, curve=curve)).place(np.arange(4.0)), places, atol=1e-12)
    line = curve_of(path(places, curve="straight", closed=False))
    assert line.place(1.5) == pytest.approx(10 + 5j)
    assert line.place(-1.0) == 0
    assert line.place(99.0) == places[3]
    ring = curve_of(path(places, curve="straight"))
    assert ring.place(3.5) == pytest.approx((places[3] + places[0]) / 2)
    assert ring.place(4.25) == pytest.approx(ring.place(0.25))


def test_lengths_of_a_circle_and_a_square() -> None:
    circle = 50 * np.exp(1j * np.linspace(0, 2 * np.pi, 24, endpoint=False))
    assert curve_of(path(circle)).length_mm == pytest.approx(100 * np.pi, rel=1e-4)
    square = path(np.array([0, 10, 10 + 10j, 10j]), curve="straight")
    assert curve_of(square).length_mm == pytest.approx(40)
    assert curve_of(path(np.array([0, 10, 10 + 10j, 10j]), curve="straight",
                            closed=False)).length_mm == pytest.approx(30)


def test_even_samples_are_evenly_far_from_each_other() -> None:
    ellipse = np.exp(1j * np.linspace(0, 2 * np.pi, 20, endpoint=False))
    curve = curve_of(path(60 * ellipse.real + 20j * ellipse.imag))
    places = curve.place(curve.even(64))
    steps = np.abs(np.diff(places))
    assert places.size == 65
    # Chords differ from arcs where the curve bends.
    assert steps.max() / steps.min() < 1.04


def test_the_drawn_polyline_ends_where_the_path_ends() -> None:
    places = np.array([0, 10, 10 + 10j, 3 + 20j])
    drawn, at = sample_path(path(places), per_span=8)
    assert drawn[0] == pytest.approx(drawn[-1])
    assert at[-1] == 4
    assert drawn.size == 33
    assert sample_path(path(places, curve="straight"))[0].size == 5
    assert sample_path(path(places, curve="places"))[0].size == 4
    assert sample_path(path(places[:1], curve="places"))[0].tolist() == [0]


def test_places_drawn_twice_and_other_poor_paths_do_no_harm() -> None:
    twice = curve_of(path(np.array([0, 0, 10, 10 + 5j])))
    assert np.isfinite(twice.place(np.linspace(0, 4, 50))).all()
    same = curve_of(path(np.array([3, 3, 3])))
    assert same.place(1.5) == pytest.approx(3)
    assert same.length_mm == 0
    assert curve_of(path(np.zeros(0))).place(0.0) == 0
    long = path(np.exp(1j * np.linspace(0, 6, 5000)))
    assert curve_of(long).length_mm > 6


def test_a_smooth_angle_keeps_the_shape_of_its_knots() -> None:
    """The inner slopes are those of scipy.interpolate.PchipInterpolator (Fritsch–Butland)."""
    wish = angles((0, 0), (60, 10), (100, 40), (200, 40), (300, 5), closed=False)
    crank = np.linspace(60, 200, 57)
    own = PchipInterpolator([0, 60, 100, 200, 300], [0, 10, 40, 40, 5])
    np.testing.assert_allclose(angle_at(wish, crank), own(crank), atol=1e-12)
    assert np.ptp(angle_at(wish, np.linspace(100, 200, 33))) < 1e-12
    assert np.isnan(angle_at(wish, [-1.0, 301.0])).all()


def test_a_closed_angle_repeats_every_turn_and_is_smooth_at_its_seam() -> None:
    wish = angles((30, 0), (120, 50), (250, 20))
    crank = np.linspace(0, 360, 73)
    np.testing.assert_allclose(angle_at(wish, crank), angle_at(wish, crank + 360), atol=1e-10)
    np.testing.assert_allclose(angle_at(wish, [30, 120, 250, 390]), [0, 50, 20, 0], atol=1e-12)
    slopes = np.diff(angle_at(wish, [30 - 1e-4, 30.0, 30 + 1e-4])) / 1e-4
    assert slopes[0] == pytest.approx(slopes[1], abs=1e-3)
    two = angle_at(angles((0, 0), (180, 40)), [0, 90, 180, 270])
    np.testing.assert_allclose(two, [0, 20, 40, 20], atol=1e-12)


def test_an_angle_gains_whole_turns_when_its_knots_say_so() -> None:
    wish = angles((0, 0), (90, 70), (180, 180), (360, 360))
    assert gain_deg(wish) == 360
    np.testing.assert_allclose(angle_at(wish, [0, 180, 360, 540, 720]),
                               [0, 180, 360, 540, 720], atol=1e-10)
    assert gain_deg(angles((0, 0), (90, 70), (360, 0))) == 0
    assert gain_deg(angles((0, 0), (90, 70), (180, 180))) == 0


def test_straight_angles_and_single_knots() -> None:
    wish = angles((0, 0), (100, 50), curve="straight")
    np.testing.assert_allclose(angle_at(wish, [50, 230]), [25, 25])
    assert angle_at(angles((10, 5)), 200.0) == 5
    assert np.isnan(angle_at(angles((10, 5), closed=False), 200.0))
