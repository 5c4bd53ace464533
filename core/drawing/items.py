"""What a page is made of: a few shapes in mm, x right, y up, origin at the lower left
corner of the paper. Nothing here knows how it will be printed.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Colours by use. Nothing is told by colour alone.
INK = "#1d1c1a"
SOFT = "#6d675e"
PALE = "#c9c1b3"
FAULT = "#d55e00"
BLUE = "#0072b2"
PAPER = "#ffffff"
WOOD = ("#f7efe0", "#f2e6d0", "#ecdcc0")
BRASS = "#e8cf92"

# ISO 128-2: wide to narrow 2:1, lines of one drawing from one group. From memory.
WIDE = 0.5
NARROW = 0.25
FINE = 0.18


@dataclass(frozen=True)
class Pen:
    """A line: width in mm, lengths of dashes and gaps in mm (empty: unbroken)."""

    width_mm: float = NARROW
    dash_mm: tuple[float, ...] = ()
    colour: str = INK


def dashed(width_mm: float = NARROW, colour: str = INK) -> Pen:
    """Line type 02 of ISO 128-2, hidden edges: dash 12 d, gap 3 d. From memory."""
    return Pen(width_mm, (12 * width_mm, 3 * width_mm), colour)


def chain(width_mm: float = NARROW, colour: str = INK) -> Pen:
    """Line type 04, centre lines and pitch circles: 24 d, gap 3 d, dot 0.5 d."""
    d = width_mm
    return Pen(d, (24 * d, 3 * d, 0.5 * d, 3 * d), colour)


def double_dot(width_mm: float = NARROW, colour: str = INK) -> Pen:
    """Line type 05, other positions of moving parts: 24 d and two dots."""
    d = width_mm
    return Pen(d, (24 * d, 3 * d, 0.5 * d, 3 * d, 0.5 * d, 3 * d), colour)


VISIBLE = Pen(WIDE)
THIN = Pen(NARROW)
DIMENSION = Pen(FINE)
HIDDEN = dashed()
CENTRE = chain(FINE)
MOVED = double_dot()


@dataclass(frozen=True)
class Line:
    """A straight line from (x1, y1) to (x2, y2)."""

    x1: float
    y1: float
    x2: float
    y2: float
    pen: Pen = THIN


@dataclass(frozen=True, eq=False)
class Path:
    """Rings or runs of points, each of shape (n, 2). Closed rings may be filled; where
    rings lie inside one another, every second one is a hole."""

    rings: tuple[Floats, ...]
    pen: Pen | None = THIN
    fill: str | None = None
    closed: bool = True


@dataclass(frozen=True)
class Circle:
    """A circle about (x, y)."""

    x: float
    y: float
    radius: float
    pen: Pen | None = THIN
    fill: str | None = None


@dataclass(frozen=True)
class Arc:
    """Part of a circle, from `start_deg` (counter-clockwise from x) over `sweep_deg`."""

    x: float
    y: float
    radius: float
    start_deg: float
    sweep_deg: float
    pen: Pen = THIN


@dataclass(frozen=True)
class Text:
    """One line of text.

    (x, y) is on the base line, at its left end, middle or right end (`align` −1, 0, 1).
    `size_mm` is the height of a capital letter. `angle_deg` turns it counter-clockwise
    about (x, y).
    """

    x: float
    y: float
    text: str
    size_mm: float = 2.5
    align: int = -1
    angle_deg: float = 0.0
    bold: bool = False
    colour: str = INK


Item = Line | Path | Circle | Arc | Text


@dataclass
class Page:
    """One sheet of paper. `title` says what it shows; `paper` names its size."""

    width_mm: float
    height_mm: float
    items: list[Item] = field(default_factory=list)
    title: str = ""
    paper: str = ""

    def texts(self) -> list[Text]:
        """All text on the page, in order."""
        return [item for item in self.items if isinstance(item, Text)]


def run(points: list[tuple[float, float]] | Floats, pen: Pen = THIN) -> Path:
    """An open line through points of shape (n, 2)."""
    return Path((np.asarray(points, dtype=np.float64),), pen, closed=False)


def box(x: float, y: float, width: float, height: float, pen: Pen | None = THIN,
        fill: str | None = None) -> Path:
    """A rectangle with its lower left corner at (x, y)."""
    ring = np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])
    return Path((ring,), pen, fill)
