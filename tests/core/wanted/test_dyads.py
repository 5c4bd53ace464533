"""Three-pose dyads in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from core.wanted.dyads import centres, dyad, fixed_pivots, pins_in_poses, pins_of

#: R. L. Norton, *Design of Machinery*, ch. 5, three-position example; inputs from memory,
#: the length of W recalled before it was calculated.
PLACES = np.array([0, 2.798 * np.exp(1j * np.radians(-31.19)),
                   3.919 * np.exp(1j * np.radians(-16.34))])
TURNS = np.radians([0, -45, 9.3])


def test_the_textbook_dyads_come_out() -> None:
    w, z = dyad(PLACES, TURNS, np.radians([0, 342.3, 324.8]))
    assert abs(w) == pytest.approx(6.832, abs=5e-4)
    assert np.degrees(np.angle([w, z])) == pytest.approx([89.541, 38.551], abs=2e-3)
    u, s = dyad(PLACES, TURNS, np.radians([0, 30.9, 80.6]))
    assert abs(u) == pytest.approx(3.1997, abs=5e-4)
    assert abs(s) == pytest.approx(1.4908, abs=5e-4)
    assert abs((-z - w) - (-s - u)) == pytest.approx(9.0298, abs=5e-3)  # the ground link


def test_a_dyad_carries_its_pin_about_its_pivot_through_every_pose() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        places = rng.normal(size=3) + 1j * rng.normal(size=3)
        turns, links = rng.uniform(-3, 3, 3), rng.uniform(-3, 3, (5, 3))
        w, z = dyad(places, turns, links)
        pivot = places[0] - z - w
        pins = pins_in_poses(places, turns, places[0] - z)
        wanted = pivot[:, None] + w[:, None] * np.exp(1j * (links - links[:, :1]))
        assert pins == pytest.approx(wanted, abs=1e-9 * np.abs(w).max())


def test_pivot_of_pin_and_pin_of_pivot_undo_each_other() -> None:
    rng = np.random.default_rng(4)
    places = rng.normal(size=3) + 1j * rng.normal(size=3)
    turns = rng.uniform(-3, 3, 3)
    pins = rng.normal(size=30) + 1j * rng.normal(size=30)
    pivots = fixed_pivots(places, turns, pins)
    far = np.abs(pins_in_poses(places, turns, pins) - pivots[:, None])
    assert np.ptp(far, axis=1) == pytest.approx(0, abs=1e-9 * far.max())
    assert pins_of(places, turns, pivots) == pytest.approx(pins, abs=1e-7)


def test_what_has_no_answer_is_nan() -> None:
    assert np.isnan(centres([0, 1, 2]))
    assert np.isnan(centres([1, 1, 2j]))
    w, z = dyad([0, 1, 2], [0, 0, 0], [0, 1, 1])
    assert np.isnan(w)
    assert np.isnan(z)


def test_centres_are_as_far_from_all_three() -> None:
    assert centres([0, 2, 2j]) == pytest.approx(1 + 1j)
