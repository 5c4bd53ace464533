"""A lane over the crank angle in a plate: curves, bands, shaded stretches, levels."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from app.figures.plate import FAINT, INK, Plate

Floats = NDArray[np.float64]
#: More places than this no eye tells apart in a line so wide.
_PLACES = 180


class Lane:
    """A box of a plate, px, over 0° to 360° of the crank and `low` to `high` of a value."""

    def __init__(self, plate: Plate, left: float, top: float, wide: float, tall: float,
                 low: float, high: float) -> None:
        self.plate, self.left, self.top, self.wide, self.tall = plate, left, top, wide, tall
        self.low, self.high = low, high

    def at(self, deg: float, value: float) -> complex:
        """Where a value at a crank angle is."""
        share = (value - self.low) / (self.high - self.low)
        return complex(self.left + self.wide * deg / 360.0, self.top + self.tall * (1 - share))

    def curve(self, crank_rad: Floats, values: Floats, colour: str = INK, width: float = 1.8,
              dash: str = "") -> None:
        """A line over the turn, closed to 360° with its first value."""
        self.plate.line(self._places(crank_rad, values), colour=colour, width=width, dash=dash)

    def band(self, crank_rad: Floats, low: Floats, high: Floats, fill: str) -> None:
        """The area between two lines."""
        there, back = self._places(crank_rad, low), self._places(crank_rad, high)
        self.plate.line([*there, *reversed(back)], colour=fill, width=0.5, closed=True,
                        fill=fill)

    def shade(self, spans: Iterable[tuple[float, float]], fill: str) -> None:
        """Stretches of the crank, rad; those over the end of the turn begin again at 0."""
        for start, end in spans:
            for turn in (0.0, -360.0):
                a, b = (min(max(math.degrees(x) + turn, 0.0), 360.0) for x in (start, end))
                if b > a:
                    corners = [self.at(a, self.low), self.at(a, self.high),
                               self.at(b, self.high), self.at(b, self.low)]
                    self.plate.line(corners, colour=fill, width=0.3, closed=True, fill=fill)

    def level(self, value: float, text: str, colour: str = FAINT, dash: str = "5 4") -> None:
        """A line across, with a word at its right end."""
        self.plate.line([self.at(0, value), self.at(360, value)], colour=colour, width=1.2,
                        dash=dash)
        self.plate.word(self.at(360, value) + complex(4, 4), text, 11, colour)

    def axes(self, title: str, ticks: Iterable[float]) -> None:
        """Frame, values on the left, angles below, a title above."""
        for value in ticks:
            self.plate.line([self.at(0, value), self.at(360, value)], colour=FAINT, width=0.4)
            self.plate.word(self.at(0, value) + complex(-6, 4), f"{value:g}", 11, FAINT, "end")
        if self.low < 0 < self.high:
            self.plate.line([self.at(0, 0), self.at(360, 0)], colour=FAINT, width=1.0)
        for deg in range(0, 361, 90):
            self.plate.line([self.at(deg, self.low), self.at(deg, self.low) - 4j],
                            colour=FAINT, width=0.8)
            self.plate.word(self.at(deg, self.low) + 15j, f"{deg}°", 11, FAINT, "middle")
        self.plate.word(complex(self.left, self.top - 10), title, 13, INK, bold=True)

    def _places(self, crank_rad: Floats, values: Floats) -> list[complex]:
        every = max(1, len(crank_rad) // _PLACES)
        deg = np.append(np.degrees(crank_rad[::every]), 360.0)
        closed = np.append(values[::every], values[0])
        return [self.at(float(x), float(y)) for x, y in zip(deg, closed, strict=True)
                if math.isfinite(y)]
