"""Small marks of the workshop drawing: arrows, centre crosses, pivots, grain, check bars.

Places are complex mm on the page.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from core.drawing.items import (
    CENTRE,
    DIMENSION,
    FINE,
    INK,
    PAPER,
    THIN,
    Arc,
    Circle,
    Floats,
    Item,
    Line,
    Path,
    Pen,
    Text,
    run,
)
from core.units import MM_PER_INCH

ARROW = 2.5
_HALF_ARROW = math.tan(math.radians(9))


def xy(places: Sequence[complex] | np.ndarray) -> Floats:
    """Complex places as an array (n, 2)."""
    z = np.asarray(places, dtype=np.complex128)
    return np.stack([z.real, z.imag], axis=-1)


def line(a: complex, b: complex, pen: Pen = THIN) -> Line:
    """A line between two places."""
    return Line(a.real, a.imag, b.real, b.imag, pen)


def arrow_head(tip: complex, direction: complex, length: float = ARROW,
               colour: str = INK) -> Path:
    """A filled arrow head (18°, within the 15–30° of ISO 129-1) pointing along
    `direction` to `tip`."""
    back = -direction / abs(direction) * length
    ring = xy([tip, tip + back * (1 + 1j * _HALF_ARROW), tip + back * (1 - 1j * _HALF_ARROW)])
    return Path((ring,), Pen(0.05, colour=colour), colour)


def arrow(a: complex, b: complex, pen: Pen = THIN, length: float = ARROW) -> list[Item]:
    """A line from a to b with a head at b."""
    if abs(b - a) < 1e-9:
        return []
    short = b - (b - a) / abs(b - a) * length * 0.9
    return [line(a, short, pen), arrow_head(b, b - a, length, pen.colour)]


def cross(at: complex, reach: float, pen: Pen = CENTRE, turn: complex = 1) -> list[Item]:
    """A centre cross with arms of `reach` mm."""
    return [line(at - arm, at + arm, pen) for arm in (reach * turn, reach * 1j * turn)]


def rod(at: complex, radius: float, fill: str | None = PAPER) -> list[Item]:
    """A bore or rod seen from the front, with its centre lines (2 mm past the edge)."""
    return [Circle(at.real, at.imag, radius, THIN, fill), *cross(at, radius + 2.0)]


def ground(at: complex, radius: float) -> list[Item]:
    """A pivot fixed to the frame, in the manner of ISO 3952-1 (art not seen): a small
    circle standing on a hatched base."""
    foot = at - 1j * (radius + 4.0)
    half = radius * 0.6 + 1.6
    lean = radius * 0.7
    items: list[Item] = [
        line(at + complex(-lean, -lean), foot - half),
        line(at + complex(lean, -lean), foot + half),
        line(foot - half - 1.0, foot + half + 1.0, Pen(0.35)),
    ]
    left, right = (foot - half - 1.0).real, (foot + half + 1.0).real
    strokes = np.linspace(left + 0.6, right, 6)
    return items + [line(complex(x, foot.imag), complex(x - 1.1, foot.imag - 1.1), DIMENSION)
                    for x in strokes]


def curved_arrow(at: complex, radius: float, start_deg: float, sweep_deg: float,
                 pen: Pen = THIN) -> list[Item]:
    """An arc with an arrow head at its end, for the sense of turning."""
    sense = math.copysign(1.0, sweep_deg)
    bite = sense * math.degrees(ARROW * 0.8 / radius)
    end = complex(math.cos(math.radians(start_deg + sweep_deg)),
                  math.sin(math.radians(start_deg + sweep_deg)))
    lean = end * 1j * sense * complex(math.cos(ARROW / radius / 2),
                                      -sense * math.sin(ARROW / radius / 2))
    return [Arc(at.real, at.imag, radius, start_deg, sweep_deg - bite, pen),
            arrow_head(at + radius * end, lean, colour=pen.colour)]


def zigzag(a: complex, b: complex, pen: Pen = THIN, coils: int = 6) -> list[Item]:
    """A spring between two places."""
    if abs(b - a) < 1e-9:
        return []
    along, half = (b - a) / abs(b - a), min(2.0, abs(b - a) / 8)
    lead = min(4.0, abs(b - a) / 4)
    span = abs(b - a) - 2 * lead
    places = [a, a + along * lead]
    for turn in range(2 * coils):
        side = 1j * half if turn % 2 else -1j * half
        places.append(a + along * (lead + span * (turn + 0.5) / (2 * coils) + side))
    return [run(xy([*places, b - along * lead, b]), pen)]


def hatched(region: shapely.Geometry, spacing: float = 1.6, angle_deg: float = 45.0,
            pen: Pen = DIMENSION) -> list[Item]:
    """Hatching of a region of the page: parallel lines clipped to it."""
    if region.is_empty:
        return []
    low_x, low_y, high_x, high_y = region.bounds
    middle = complex(low_x + high_x, low_y + high_y) / 2
    reach = abs(complex(high_x - low_x, high_y - low_y)) / 2
    turn = complex(math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
    offsets = np.arange(-math.floor(reach / spacing), math.floor(reach / spacing) + 1) * spacing
    ends = middle + turn * (np.array([-reach, reach])[None, :] + 1j * offsets[:, None])
    lines = shapely.MultiLineString([xy(pair) for pair in ends])
    return [run(shapely.get_coordinates(piece), pen)
            for piece in shapely.get_parts(shapely.intersection(lines, region))
            if piece.geom_type == "LineString"]


def dotted(a: complex, b: complex) -> list[Item]:
    """A leader from a dot inside a part (a) to its label (b)."""
    return [line(a, b, DIMENSION), Circle(a.real, a.imag, 0.5, None, INK)]


def check_bar(x: float, y: float, inches: bool = False, upright: bool = False) -> list[Item]:
    """A bar to measure on paper: 100 mm (or 4 in) long from (x, y) to the right, or upwards,
    with its divisions. It is the same length whatever the scale of the drawing."""
    length, step, name = (4 * MM_PER_INCH, MM_PER_INCH / 2, "4 in") if inches else (
        100.0, 10.0, "100 mm")
    start = complex(x, y)
    along, aside = (1j, 1 + 0j) if upright else (1 + 0j, 1j)
    items: list[Item] = [line(start, start + length * along, THIN)]
    marks = round(length / step)
    for mark in range(marks + 1):
        tall = 3.0 if mark in (0, marks) else 1.8 if mark * 2 == marks else 1.1
        at = start + mark * step * along
        items.append(line(at, at + tall * aside, THIN if mark in (0, marks) else Pen(FINE)))
    end = start + (length + 2.0) * along + (2.5 if upright else 0.0)
    items.append(Text(end.real, end.imag, name, 2.5, -1, 90.0 if upright else 0.0))
    return items
