"""Samples whose nearest places come in the wrong order share one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import isotonic_regression

from core.wanted.goals.dense import Complexes, Floats
from core.wanted.goals.order import in_order


@pytest.mark.parametrize("count", [1, 2, 7, 300])
def test_along_a_straight_trace_the_places_are_the_isotonic_regression(count: int) -> None:
    """Reference: scipy.optimize.isotonic_regression."""
    wanted = np.random.default_rng(count).normal(size=count) + 0.01 * np.arange(count)
    asked: list[int] = []

    def near(start: Floats, target: Complexes, room: Floats) -> Floats:
        asked.append(target.size)
        return np.clip(target.real, start - room, start + room)

    x, held = in_order(np.zeros((1, count)), wanted[None] + 0j, 10.0, near)
    best = isotonic_regression(wanted).x
    assert x[0] == pytest.approx(best, abs=1e-12)
    together = np.diff(best) <= 1e-12
    assert (held[0] == (np.append(together, False) | np.append(False, together))).all()
    assert sum(asked) <= 3 * count  # a group is looked at again only when it has grown
