"""Descriptors of paths do not mind what they should not, and laying finds what was hidden."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from core.wanted.atlas.laying import Wished, WishedAngle, angle_costs, costs, lay
from core.wanted.atlas.shape import (
    backwards,
    curve_from,
    evenly,
    harmonics,
    mirrored,
    scaled,
    signature,
)

Complexes = NDArray[np.complex128]


def loops(count: int, seed: int = 1, steps: int = 512) -> Complexes:
    """Random smooth closed paths (count, steps)."""
    rng = np.random.default_rng(seed)
    turn = np.exp(2j * np.pi * np.outer([-3, -2, -1, 1, 2, 3], np.arange(steps)) / steps)
    size = 1 / np.array([9, 4, 1, 1, 4, 9])
    return (size * (rng.normal(size=(count, 6)) + 1j * rng.normal(size=(count, 6)))) @ turn


def test_places_at_even_arc_length_are_evenly_apart() -> None:
    paths = loops(20)
    step = np.abs(np.diff(paths, axis=1, append=paths[:, :1])).sum(axis=1) / 64
    chords = np.abs(np.diff(evenly(paths, 64), axis=1))
    assert np.all(chords <= step[:, None] * (1 + 1e-9))
    assert np.median(chords, axis=1) == pytest.approx(step, rel=0.02)
    open_line = evenly(np.array([[0, 1, 1 + 1j]], complex), 5, closed=False)
    assert open_line == pytest.approx(np.array([[0, 0.5, 1, 1 + 0.5j, 1 + 1j]]))


def test_a_path_without_length_stays_where_it_is() -> None:
    still = evenly(np.full((2, 7), 3 + 4j), 8)
    assert still == pytest.approx(3 + 4j)
    assert np.all(scaled(harmonics(still, 3)) == 0)


def test_signatures_do_not_mind_place_size_turn_start_or_a_mirror_run_backwards() -> None:
    paths = loops(10)
    here = signature(harmonics(evenly(paths, 128), 8))
    moved = np.roll((2 - 3j) * paths + 7j, 100, axis=1)
    there = signature(harmonics(evenly(moved, 128), 8))
    assert there == pytest.approx(here, abs=2e-3)
    seen_in_mirror = signature(harmonics(evenly(paths.conj()[:, ::-1], 128), 8))
    assert seen_in_mirror == pytest.approx(here, abs=2e-3)


def test_backwards_and_mirrored_are_what_they_say() -> None:
    paths = loops(4)
    found = harmonics(paths, 4)
    run = np.roll(paths[:, ::-1], 1, axis=1)  # the same start, the other way
    assert harmonics(run, 4) == pytest.approx(backwards(found))
    assert harmonics(run.conj(), 4) == pytest.approx(mirrored(found))


def test_signatures_are_never_further_apart_than_the_paths_they_are_of() -> None:
    found = scaled(harmonics(loops(30), 6))
    apart = np.linalg.norm(found[:15] - found[15:], axis=1)
    assert np.all(np.linalg.norm(signature(found[:15]) - signature(found[15:]), axis=1)
                  <= apart + 1e-12)


def test_curves_come_back_from_their_coefficients() -> None:
    paths = loops(5, steps=64)
    assert curve_from(harmonics(paths, 3), 64) == pytest.approx(paths - paths.mean(1)[:, None])


@pytest.mark.parametrize("flip", [False, True])
def test_a_hidden_piece_of_a_path_is_found_with_its_place_size_turn_and_start(flip: bool
                                                                              ) -> None:
    found = scaled(harmonics(loops(200), 4))
    share, start = np.array([0.0, 0.03, 0.07, 0.1, 0.2, 0.22, 0.3]), 24 / 96
    path = curve_from(mirrored(found[17:18]) if flip else found[17:18], 9600)[0]
    places = path[np.round((share + start) * 9600).astype(int) % 9600]
    laid = lay(Wished((2 + 3j) * places + 5, share), found)
    assert laid.best(1)[0] == 17
    assert laid.misfit[17] < 1e-5
    assert bool(laid.flip[17]) is flip
    assert laid.start[17] == pytest.approx(start)
    assert laid.turn[17] == pytest.approx(2 + 3j, abs=1e-5)
    assert laid.shift[17] == pytest.approx(5, abs=1e-5)


def test_laying_agrees_with_regression_start_by_start() -> None:
    found, rng = harmonics(loops(3), 4), np.random.default_rng(5)
    wish = Wished(rng.normal(size=6) + 1j * rng.normal(size=6), np.sort(rng.random(6)))
    left, turn, shift = costs(wish, found, starts=8)
    for m in range(3):
        path = curve_from(found[m], 8000)
        for s in range(8):
            at = path[np.round((wish.share + s / 8) * 8000).astype(int) % 8000]
            design = np.stack([at, np.ones(6)], axis=1)
            answer = np.linalg.lstsq(design, wish.places)[0]
            miss = np.mean(np.abs(design @ answer - wish.places) ** 2)
            assert left[m, s] == pytest.approx(miss, abs=2e-3)
            assert [turn[m, s], shift[m, s]] == pytest.approx(answer, abs=2e-2)


def test_a_nearly_still_stretch_is_not_blown_up() -> None:
    """Anything fits the wish when blown up enough; the path must be of its size."""
    still = 1e-4 * scaled(harmonics(loops(5), 4))
    wish = Wished(np.array([0, 1, 1 + 1j]), np.array([0, 0.3, 0.6]))
    assert np.all(np.isinf(costs(wish, still)[0]))


def test_a_tied_crank_turns_along_with_the_path() -> None:
    found, share = harmonics(loops(3), 4), np.array([0.0, 0.1, 0.3, 0.6])
    s = 12 / 96
    path = curve_from(found[1], 9600)[np.round((share + s) * 9600).astype(int) % 9600]
    turned = 2 * np.exp(-2j * np.pi * s) * path
    laid = lay(Wished(turned, share, tied=1), found, flips=False)
    assert laid.best(1)[0] == 1
    assert laid.misfit[1] < 1e-6
    assert np.angle(laid.turn[1]) == pytest.approx(-2 * np.pi * s)
    # Turned by anything else, it is not met any more.
    assert lay(Wished(1j * turned, share, tied=1), found, flips=False).misfit[1] > 0.1


@pytest.mark.parametrize("flip", [False, True])
def test_a_hidden_angle_curve_is_found_with_its_start_whatever_its_zero(flip: bool) -> None:
    rng = np.random.default_rng(2)
    found = rng.normal(size=(40, 3)) + 1j * rng.normal(size=(40, 3))
    share = np.array([0.0, 0.1, 0.25, 0.4, 0.7])
    seen = -found.conj() if flip else found
    angle = 2 * (seen[7] @ np.exp(2j * np.pi * np.outer([1, 2, 3], share + 0.5))).real
    left = angle_costs(WishedAngle(angle + 3.0, share), seen, starts=12)
    assert np.unravel_index(np.argmin(left), left.shape) == (7, 6)
    assert left[7, 6] < 1e-12
    if flip:  # −φ(−u)
        plain = 2 * (found[7] @ np.exp(-2j * np.pi * np.outer([1, 2, 3], share + 0.5))).real
        assert angle == pytest.approx(-plain)
