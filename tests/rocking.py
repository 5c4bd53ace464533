"""A judge of four-bars whose crank rocks: nothing of the program's own motion is asked.

From the drawn places alone the four-bar is put together here by where two circles meet,
always on the side it is drawn on, along the swing its drive has. It fails where the circles
do not meet anywhere in the swing or between the drawn pose and it: then the crank would
lock, or the coupler would have to be taken off and put on the other way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from problems import TRACER, PathProblem, _best_start, _choice

from core.model import Sketch

STEPS = 2400


@dataclass(frozen=True)
class Rocks:
    """The squared-error sum in the paper's units, the readings (rad) at which the places are
    met, and the smallest margin of the two circles (share of both radii) over the swing:
    positive where they meet throughout."""

    total: float
    crank_rad: NDArray[np.float64]
    margin: float


class RockingFourBar:
    """Where the tracer of a four-bar is at readings of its crank, on its drawn side."""

    def __init__(self, sketch: Sketch, point: str = TRACER) -> None:
        at = {name: sketch.place(ref) for name, ref in {
            "o": "crank.O", "a": "crank.A", "b": "coupler.B", "q": "rocker.Q"}.items()}
        assert sketch.drive is not None
        drive = sketch.drive
        self.low, self.high = (math.radians(each) for each in (drive.from_deg, drive.to_deg))
        self.home = math.radians(drive.drawn_deg)
        self.o, self.q, self.arm = at["o"], at["q"], at["a"] - at["o"]
        self.coupler, self.rocker = abs(at["b"] - at["a"]), abs(at["q"] - at["b"])
        self.tip = (sketch.place(point) - at["a"]) / (at["b"] - at["a"])
        way = at["q"] - at["a"]
        self.side = 1.0 if (way.conjugate() * (at["b"] - at["a"])).imag > 0 else -1.0

    def _half(self, crank_rad: NDArray[np.float64]) -> tuple[NDArray[np.complex128], ...]:
        a = self.o + self.arm * np.exp(1j * (crank_rad - self.home))
        way = self.q - a
        square = np.abs(way) ** 2
        along = (square + self.coupler**2 - self.rocker**2) / (2 * square)
        return a, way, along, self.coupler**2 / square - along**2

    def margin(self, crank_rad: NDArray[np.float64]) -> float:
        """The smallest squared height of the triangle of coupler and rocker, as a share."""
        return float(self._half(crank_rad)[3].real.min())

    def path(self, crank_rad: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Where the tracer is."""
        a, way, along, high = self._half(crank_rad)
        b = a + way * (along + 1j * self.side * np.sqrt(np.maximum(high, 0.0)))
        return a + self.tip * (b - a)

    def swing(self, clock: NDArray[np.float64]) -> NDArray[np.float64]:
        """Readings along a harmonic swing there and back, a lap of `clock` being 2π."""
        return (self.low + self.high) / 2 - (self.high - self.low) / 2 * np.cos(clock)


def judge_rocking(problem: PathProblem, sketch: Sketch, point: str = TRACER) -> Rocks:
    """The sum of squared distances of untimed places met on the one swing of the crank: one
    after the other along a lap there and back, or each by itself where the order may go."""
    assert sketch.drive is not None
    assert sketch.drive.kind == "rock"
    bar = RockingFourBar(sketch, point)
    targets = np.array(problem.places) * problem.scale
    clock = np.linspace(0.0, 2 * np.pi, STEPS, endpoint=False)
    cost = np.abs(bar.path(bar.swing(clock)) - targets[:, None]) ** 2
    start = 0 if problem.any_order else _best_start(cost)
    lap = np.concatenate([clock, clock + 2 * np.pi])[start:start + STEPS]
    met = lap[_choice(np.roll(cost, -start, axis=1), problem.any_order)]
    width = 2 * np.pi / STEPS
    while width > 1e-15:
        fine = np.sort((met[:, None] + width * np.linspace(-1, 1, 41)).ravel())
        cost = np.abs(bar.path(bar.swing(fine)) - targets[:, None]) ** 2
        far = np.abs(fine - met[:, None]) > 1.01 * width
        met = fine[_choice(np.where(far, 1e30, cost), problem.any_order)]
        width *= 0.1
    crank = bar.swing(met)
    whole = np.linspace(min(bar.low, bar.home), max(bar.high, bar.home), 40001)
    margin = min(bar.margin(whole), bar.margin(np.array([bar.low, bar.high])))
    total = float((np.abs(bar.path(crank) - targets) ** 2).sum()) / problem.scale**2
    return Rocks(total, crank, margin)
