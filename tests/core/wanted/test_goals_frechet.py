"""The worst error of a closed path against an independent measure of how far two curves are
apart, gone along in order: the Fréchet distance."""

from __future__ import annotations

import numpy as np
import pytest
from closed_four_bar import interpolated

from core.model import WantedPath
from core.wanted.curves import curve_of
from core.wanted.goals import Dense, goals

STEPS = 96


def frechet(trace: np.ndarray, curve: np.ndarray) -> float:
    """The discrete Fréchet distance of two closed polylines, wherever the first is begun: the
    shortest leash with which both can be gone round once, neither ever going back.

    T. Eiter and H. Mannila, "Computing discrete Fréchet distance" (1994), from memory; here
    for every start at once.
    """
    starts = np.arange(trace.size)
    turned = trace[(starts[:, None] + np.arange(trace.size + 1)) % trace.size]
    apart = np.abs(turned[:, :, None] - np.append(curve, curve[0]))
    leash = np.empty_like(apart)
    for i in range(apart.shape[1]):
        for j in range(apart.shape[2]):
            before = [leash[:, a, b] for a, b in ((i - 1, j), (i, j - 1), (i - 1, j - 1))
                      if a >= 0 and b >= 0]
            way = np.minimum.reduce(before) if before else 0.0
            leash[:, i, j] = np.maximum(apart[:, i, j], way)
    return float(leash[:, -1, -1].min())


@pytest.mark.parametrize("seed", range(10))
def test_no_path_is_met_better_than_in_order(seed: int) -> None:
    """Whatever the trace, the worst error told is not below the Fréchet distance, but for the
    length of a step; it may be above, the mean being what is made small."""
    rng = np.random.default_rng(seed)
    weights = 30 / np.array([4, 1, 1, 4, 9])
    wished = rng.normal(size=(5, 2)) @ [1, 1j] * weights
    made = wished + rng.normal(size=(5, 2)) @ [1, 1j] * weights * (0.01, 0.1, 0.3, 1)[seed % 4]

    def shape(at: np.ndarray, terms: np.ndarray) -> np.ndarray:
        return np.exp(1j * np.multiply.outer(at, [-2, -1, 1, 2, 3])) @ terms

    def trace(crank: np.ndarray) -> np.ndarray:
        at = crank + 0.4 * np.sin(crank) + 1
        return shape(-at if seed % 5 == 4 else at, made)

    places = shape(np.linspace(0, 2 * np.pi, 48, endpoint=False), wished)
    wish = WantedPath(id="w", point="r.P", through=tuple(
        (float(z.real), float(z.imag)) for z in places))
    crank = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    dense = Dense(crank, (trace(crank)[None],), np.ones((1, 360), bool), 2 * np.pi)
    compiled = goals([wish])
    instants = compiled.match(dense)
    r, _ = compiled.residuals(instants, interpolated(dense, instants))
    worst = float(np.abs(r / compiled.row_scale).max())
    own = trace(np.linspace(0, 2 * np.pi, STEPS, endpoint=False))
    curve = curve_of(wish)
    other = curve.place(np.linspace(0, curve.last, STEPS, endpoint=False))
    step = max(float(np.abs(np.diff(line, append=line[:1])).max()) for line in (own, other))
    assert worst > frechet(own, other) - 1.1 * step
    assert worst < 2.5 * frechet(own, other)
