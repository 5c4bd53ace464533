"""What is seen between the steps of a trace."""

from __future__ import annotations

import numpy as np
import pytest

from core.wanted.goals import Dense


def trace(crank: np.ndarray) -> np.ndarray:
    return 40 * np.exp(1j * crank) + 10 * np.exp(-3j * crank) + 5 * np.exp(6j * crank)


def slope(crank: np.ndarray) -> np.ndarray:
    return (40j * np.exp(1j * crank) - 30j * np.exp(-3j * crank) + 30j * np.exp(6j * crank))


def turned(crank: np.ndarray) -> np.ndarray:
    """An angle that gains two turns in a cycle."""
    return 2 * crank + np.sin(3 * crank)


@pytest.mark.parametrize(("steps", "close"), [(90, 1e-5), (180, 1e-7), (720, 1e-11)])
def test_values_between_steps_are_those_of_the_motion(steps: int, close: float) -> None:
    crank = np.linspace(0, 2 * np.pi, steps, endpoint=False)
    dense = Dense(crank, (trace(crank)[None], turned(crank)[None]),
                  np.ones((1, steps), bool), 2 * np.pi)
    at = np.random.default_rng(0).uniform(-10, 20, (1, 99))
    value, rate, _ = dense.at(0, at)
    np.testing.assert_allclose(value, trace(at), atol=close)
    np.testing.assert_allclose(rate, slope(at), atol=300 * close)
    value, rate, bend = dense.at(1, at)
    np.testing.assert_allclose(value, turned(at), atol=close)
    np.testing.assert_allclose(rate, 2 + 3 * np.cos(3 * at), atol=100 * close)
    np.testing.assert_allclose(bend, -9 * np.sin(3 * at), atol=3e3 * close)
    assert dense.gains[1][0] == pytest.approx(4 * np.pi)


def test_a_rocking_crank_has_ends() -> None:
    crank = np.linspace(1.0, 3.0, 60)
    dense = Dense(crank, (trace(crank)[None],), np.ones((1, 60), bool), 0.0)
    value, _, _ = dense.at(0, np.array([[0.9, 1.0, 1.001, 2.97, 3.0, 3.1]]))
    assert np.isnan(value[0, [0, 5]]).all()
    np.testing.assert_allclose(value[0, 1:5], trace(np.array([1.0, 1.001, 2.97, 3.0])),
                               atol=1e-6)


def test_beside_what_is_not_reached_chords_do_and_beyond_there_is_nothing() -> None:
    crank = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    known = (crank < 2.0) | (crank > 4.0)
    place = np.where(known, trace(crank), 1e9)
    dense = Dense(crank, (place[None],), known[None], 2 * np.pi)
    last = crank[known & (crank < 3.0)].max()
    at = np.array([[last - 0.03, last - 0.004, last, last + 0.004, 3.0, np.nan, 1.0]])
    value, _, _ = dense.at(0, at)
    # A chord of one step of 1° is off by at most step² / 8 · |second derivative| < 0.02 mm.
    np.testing.assert_allclose(value[0, :3], trace(at[0, :3]), atol=0.02)
    assert np.isnan(value[0, 3:6]).all()
    np.testing.assert_allclose(value[0, 6], trace(at[0, 6]), atol=1e-9)


def test_the_crank_counted_the_other_way_round_shows_the_same() -> None:
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    dense = Dense(crank, (trace(crank)[None],), np.ones((1, 180), bool), 2 * np.pi)
    back = dense.turned()
    at = np.array([[0.3, 4.0]])
    np.testing.assert_allclose(back.at(0, -at)[0], dense.at(0, at)[0], atol=1e-9)
    np.testing.assert_allclose(back.at(0, -at)[1], -dense.at(0, at)[1], atol=1e-7)
    assert back.part(np.array([0])).count == 1


def test_few_steps_do_with_lower_degrees() -> None:
    for steps in (1, 2, 3, 5):
        crank = np.linspace(0, 1, steps)
        dense = Dense(crank, ((2 + crank)[None],), np.ones((1, steps), bool), 0.0)
        assert dense.at(0, np.array([[crank[-1]]]))[0].real == pytest.approx(2 + crank[-1])
