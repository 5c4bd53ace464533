"""A rocker that follows a function of the crank: textbook examples met or bettered.

Sources, with how far the numbers can be trusted:

* Chebyshev's spacing of precision points on 1 … 2: exact.
* y = 1/x with the crank going 30° → 120° and the rocker 240° → 330°: the problem from memory
  (J. J. Uicker, G. R. Pennock, J. E. Shigley, *Theory of Machines and Mechanisms*); the
  largest error of Freudenstein's solution on three precision points, .10608°, calculated
  independently of this program.
* y = log10 x, 30° → 120° and 60° → 150°: our own choice, error .42025° calculated.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from linkages import four_bar
from msgspec.structs import replace
from numpy.typing import ArrayLike, NDArray

from core.model import FitRules, Sketch, WantedAngle
from core.model.wanted import Knot
from core.motion import pose_at, solve_turn
from core.wanted.fit import fit

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Function:
    """y of x on 1 … 2, the rocker's range in degrees, and the textbook's largest error."""

    name: str
    y: Callable[[Floats], Floats]
    psi: tuple[float, float]
    worst_deg: float

    def rocker_deg(self, x: ArrayLike) -> Floats:
        """The rocker's wanted angle, rising with y from one end of its range."""
        values, ends = self.y(np.asarray(x, np.float64)), self.y(np.array([1.0, 2.0]))
        share = (values - ends.min()) / np.ptp(ends)
        if ends[1] < ends[0]:
            share = 1 - share
        return np.asarray(self.psi[0] + (self.psi[1] - self.psi[0]) * share)


FUNCTIONS = (Function("1/x", lambda x: 1 / x, (240.0, 330.0), .10608),
             Function("log10 x", np.log10, (60.0, 150.0), .42025))
#: Where an error polynomial of third degree is smallest: the exact roots.
CHEBYSHEV = 1.5 - 0.5 * np.cos(np.pi * np.array([1, 3, 5]) / 6)


def crank_deg(x: ArrayLike) -> Floats:
    return 30 + 90 * (np.asarray(x, np.float64) - 1)


def asked(function: Function, x: Floats, seed: int) -> Sketch:
    """A four-bar drawn by lot that rocks through the crank's range, and the wish that its
    rocker's changes follow the function at `x`."""
    rng = np.random.default_rng(seed)
    cold = four_bar(100.0, *rng.uniform((30, 80, 60), (60, 120, 100)), 75.0)
    knots = tuple(Knot(crank_deg=float(at), angle_deg=float(to))
                  for at, to in zip(crank_deg(x), function.rocker_deg(x), strict=True))
    assert cold.drive is not None
    return replace(
        cold, drive=replace(cold.drive, kind="rock", from_deg=30.0, to_deg=120.0,
                            drawn_deg=75.0),
        wanted=(WantedAngle(id="function", part="rocker", knots=knots, closed=False,
                            curve="places", tolerance_deg=0.1),),
        fit=FitRules(transmission_deg=0.0, start_free=False))


def error_deg(function: Function, sketch: Sketch, x: Floats) -> Floats:
    """The rocker's changes less the wanted ones, about the middle of what they miss."""
    turn = pose_at(solve_turn(sketch), np.radians(crank_deg(x)))
    assert turn.reached.all()
    made = np.degrees(turn.angle_rad[:, turn.row("rocker")])
    off = made - function.rocker_deg(x)
    return np.asarray(off - 0.5 * (off.min() + off.max()))


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda each: each.name)
def test_the_precision_points_are_met_exactly_from_cold(function: Function) -> None:
    assert list(CHEBYSHEV) == pytest.approx([1.0669873, 1.5, 1.9330127], abs=5e-8)
    found = fit(asked(function, CHEBYSHEV, 2), seed=2)
    assert np.abs(error_deg(function, found.sketch, CHEBYSHEV)).max() < 1e-6


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda each: each.name)
def test_over_the_whole_range_the_fit_errs_less_than_the_textbook_s_linkage(
    function: Function
) -> None:
    found = fit(asked(function, np.linspace(1, 2, 31), 4), seed=4)
    worst = float(np.abs(error_deg(function, found.sketch, np.linspace(1, 2, 501))).max())
    assert worst < function.worst_deg
