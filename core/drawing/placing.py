"""Finding room for text: a coarse map of what is already drawn, and a placer that puts
each text where it covers least, never over another text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from core.drawing.items import Arc, Circle, Floats, Item, Line, Path, Text
from core.drawing.lettering import separate, text_box

Complexes = NDArray[np.complex128]

#: Side of a map cell, mm: finer than any text, coarse enough for an A0 sheet.
CELL = 0.5
#: What a cell of text on a line costs; other costs are in cells of lines crossed.
_ON_INK = 2.5
#: White kept around every text, mm.
CLEAR = 0.6


def _along(ring: Complexes, step: float) -> Complexes:
    """Places at most `step` apart on a run of corners."""
    legs = np.abs(np.diff(ring))
    reach = np.concatenate([[0.0], np.cumsum(legs)])
    count = max(2, math.ceil(reach[-1] / step) + 1)
    along = np.linspace(0.0, reach[-1], count)
    return np.asarray(np.interp(along, reach, ring.real)
                      + 1j * np.interp(along, reach, ring.imag), dtype=np.complex128)


def _round(x: float, y: float, radius: float, start: float, sweep: float) -> Complexes:
    steps = max(8, math.ceil(abs(sweep) * radius / CELL))
    angles = start + np.linspace(0, sweep, steps)
    return np.asarray(complex(x, y) + radius * np.exp(1j * angles), dtype=np.complex128)


def traces_of(item: Item) -> list[Complexes]:
    """The lines a shape leaves on paper, as runs of places (complex mm). Text: none."""
    if isinstance(item, Line):
        return [np.array([complex(item.x1, item.y1), complex(item.x2, item.y2)])]
    if isinstance(item, Circle):
        return [_round(item.x, item.y, item.radius, 0.0, 2 * math.pi)]
    if isinstance(item, Arc):
        return [_round(item.x, item.y, item.radius, math.radians(item.start_deg),
                       math.radians(item.sweep_deg))]
    if isinstance(item, Path) and item.pen is not None:
        runs = [ring @ np.array([1, 1j]) for ring in item.rings if len(ring)]
        return [np.append(run, run[:1]) for run in runs] if item.closed else runs
    return []


@dataclass
class Placer:
    """Keeps text inside a rectangle of the page, apart from other text, off the lines.

    Attributes
    ----------
    left, bottom, width, height : the rectangle, mm.
    placed : corners (4, 2) of every text so far.
    """

    left: float
    bottom: float
    width: float
    height: float
    placed: list[Floats] = field(default_factory=list)
    _ink: NDArray[np.float32] = field(init=False, repr=False)
    _taken: NDArray[np.bool_] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        shape = (math.ceil(self.height / CELL) + 1, math.ceil(self.width / CELL) + 1)
        self._ink = np.zeros(shape, dtype=np.float32)
        self._taken = np.zeros(shape, dtype=np.bool_)

    def _cells(self, places: Complexes) -> tuple[NDArray[np.intp], NDArray[np.intp],
                                                 NDArray[np.bool_]]:
        column = np.floor((places.real - self.left) / CELL).astype(np.intp)
        row = np.floor((places.imag - self.bottom) / CELL).astype(np.intp)
        inside = ((places.real >= self.left) & (places.imag >= self.bottom)
                  & (places.real <= self.left + self.width)
                  & (places.imag <= self.bottom + self.height))
        height, width = self._ink.shape
        return np.clip(row, 0, height - 1), np.clip(column, 0, width - 1), inside

    def draw(self, items: Sequence[Item], weight: float = 1.0) -> None:
        """Marks what is drawn. Heavier lines are avoided more; text is kept clear."""
        for item in items:
            if isinstance(item, Text):
                self.keep(text_box(item))
                continue
            for trace in traces_of(item):
                trace = trace[np.isfinite(trace)]
                if trace.size > 1:
                    row, column, inside = self._cells(_along(trace, CELL / 2))
                    cells = row[inside], column[inside]
                    self._ink[cells] = np.maximum(self._ink[cells], weight)

    def shade(self, shape: shapely.Geometry, weight: float) -> None:
        """Marks an area as somewhat less welcome to text than blank paper."""
        height, width = self._ink.shape
        x = self.left + CELL * (np.arange(width) + 0.5)
        y = self.bottom + CELL * (np.arange(height) + 0.5)
        left, bottom, right, top = shape.bounds
        columns = np.flatnonzero((x >= left) & (x <= right))
        rows = np.flatnonzero((y >= bottom) & (y <= top))
        if not columns.size or not rows.size:
            return
        across, up = np.meshgrid(x[columns], y[rows])
        shapely.prepare(shape)
        inside = shapely.contains_xy(shape, across, up)
        block = self._ink[rows[0]:rows[-1] + 1, columns[0]:columns[-1] + 1]
        np.maximum(block, weight * inside, out=block)

    def keep(self, corners: Floats) -> None:
        """Keeps a rectangle (4, 2) free of any later text."""
        self.placed.append(corners)
        middle, across, up = _frame(corners)
        grown = [1 + CELL / max(abs(side), 1e-6) for side in (across, up)]
        grid = _grid(across * grown[0], up * grown[1], CELL / 2)
        row, column, inside = self._cells(middle + grid)
        self._taken[row[inside], column[inside]] = True

    def free(self, corners: Floats) -> bool:
        """Whether a rectangle (4, 2) lies inside and over no text."""
        inside = ((corners >= (self.left, self.bottom))
                  & (corners <= (self.left + self.width, self.bottom + self.height))).all()
        return bool(inside) and all(separate(corners, other) for other in self.placed)

    def ink_along(self, a: Complexes, b: Complexes) -> Floats:
        """How much ink each of the straight lines a–b, both (C,), crosses; (C,)."""
        row, column, inside = self._cells(_between(a, b))
        ink = np.where(inside, self._ink[row, column], 0.0)
        return np.asarray(ink.mean(axis=-1) * np.abs(b - a) / CELL, dtype=np.float64)

    def text_along(self, a: Complexes, b: Complexes) -> NDArray[np.bool_]:
        """Whether each of the straight lines a–b crosses text; (C,)."""
        row, column, _ = self._cells(_between(a, b))
        return np.asarray(self._taken[row, column].any(axis=-1))

    def best(self, middles: Complexes, across: complex, up: complex, costs: Floats
             ) -> int | None:
        """Which of several places for one rectangle hides least.

        Parameters
        ----------
        middles : (C,) where the middle of the rectangle could lie.
        across, up : its half sides.
        costs : (C,) what else speaks against each place; infinite forbids it.

        Returns the index, the rectangle there being kept free from now on, or None when
        every place lies over text or outside.
        """
        grid = _grid(across, up, CELL)
        row, column, inside = self._cells(middles[:, None] + grid)
        ink = self._ink[row, column].sum(axis=-1)
        barred = ~inside.all(axis=-1) | self._taken[row, column].any(axis=-1)
        totals = np.where(barred, np.inf, costs + _ON_INK * ink)
        for index in np.argsort(totals, kind="stable"):
            if not math.isfinite(totals[index]):
                break
            corners = _corners(complex(middles[index]), across, up)
            if self.free(corners):
                self.keep(corners)
                return int(index)
        return None


def half_box(text: Text) -> tuple[complex, complex, complex]:
    """Middle and half sides of the rectangle about a text, with some white around it."""
    return _frame(text_box(text, CLEAR))


def _between(a: Complexes, b: Complexes) -> Complexes:
    """Places (C, S) along straight lines, at most a cell apart on the longest."""
    longest = float(np.abs(b - a).max(initial=0.0))
    share = np.linspace(0.0, 1.0, max(2, math.ceil(longest / CELL) + 1))
    return np.asarray(a[:, None] + (b - a)[:, None] * share, dtype=np.complex128)


def _corners(middle: complex, across: complex, up: complex) -> Floats:
    z = np.array([-across - up, across - up, across + up, up - across]) + middle
    return np.stack([z.real, z.imag], axis=-1)


def _frame(corners: Floats) -> tuple[complex, complex, complex]:
    """Middle, half the base line and half the height of a rectangle (4, 2)."""
    a, b, c, d = (complex(x, y) for x, y in corners)
    return (a + c) / 2, (b - a) / 2, (d - a) / 2


def _grid(across: complex, up: complex, step: float) -> Complexes:
    """Places spread over a rectangle given by its half sides, at most `step` apart."""
    i = np.linspace(-1, 1, max(2, math.ceil(2 * abs(across) / step) + 1))
    j = np.linspace(-1, 1, max(2, math.ceil(2 * abs(up) / step) + 1))
    return (i[:, None] * across + j[None, :] * up).ravel()
