"""Dimensions in the manner of ISO 129-1: running from the datum for the fixed pivots,
aligned for the centre distances of links. Values stand above the line and read from the
bottom or the right.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from core.drawing.items import DIMENSION, PAPER, Circle, Item, Text, run
from core.drawing.lettering import text_width
from core.drawing.placing import Complexes, Placer, half_box
from core.drawing.symbols import ARROW, arrow_head, line, xy

SIZE = 2.5
#: Between the dimension line and the value above it.
LIFT = 0.9
_PAST = 1.5
_GAP = 1.0


def reading_angle(direction: complex) -> float:
    """The angle, degrees in (−90, 90], at which text along a direction is read."""
    angle = math.degrees(cmath.phase(direction))
    while angle > 90 + 1e-6:
        angle -= 180
    while angle <= -90 + 1e-6:
        angle += 180
    return angle


def aligned(a: complex, b: complex, value: str, placer: Placer,
            clear: tuple[float, float], keep_off: Sequence[complex] = ()) -> list[Item] | None:
    """A dimension along a–b, on the side and at the distance where it hides least.

    Parameters
    ----------
    a, b : the places measured, on the page.
    clear : distances, mm, left and right of the line from a to b, at which the nearest
        dimension line may lie.
    keep_off : places (rods) that extension lines should not end on.

    Returns None when there is no room anywhere.
    """
    length = abs(b - a)
    if length < 1e-6:
        return None
    along = (b - a) / length
    angle = reading_angle(along)
    up = cmath.rect(1.0, math.radians(angle)) * 1j
    width = text_width(value, SIZE)
    wheres = np.array(_text_places(length, width))
    steps = np.tile(np.arange(9), 2)
    sides = np.repeat([1j * along, -1j * along], 9)
    offsets = sides * (np.repeat(clear, 9) + 4.0 * steps)
    bad = placer.text_along(a + offsets, b + offsets)
    against = 0.55 * (np.abs(offsets) - min(clear))
    against += 0.25 * placer.ink_along(a + offsets, b + offsets)
    for end in (a, b):
        bad |= placer.text_along(end + offsets * 0.3, end + offsets)
        near = end + offsets / np.abs(offsets) * 2 * _GAP
        against += 0.12 * placer.ink_along(near, end + offsets)
        against += 8.0 * sum(_on_legs(rod, end, offsets) for rod in keep_off)
    off_middle = 3.0 * np.abs(wheres - length / 2) / max(length, 10.0)
    shown_outside = np.where((wheres > 0) & (wheres < length), 0.0, 6.0)
    costs = np.where(bad, np.inf, against)[:, None] + off_middle + shown_outside
    anchors = (a + offsets)[:, None] + along * wheres + up * LIFT
    text = Text(0.0, 0.0, value, SIZE, 0, angle)
    middle, across, high = half_box(text)
    chosen = placer.best(anchors.ravel() + middle, across, high, costs.ravel())
    if chosen is None:
        return None
    offset, where = divmod(chosen, wheres.size)
    items = _aligned_lines(a, b, complex(offsets[offset]), float(wheres[where]), width)
    placer.draw(items, 0.7)
    at = complex(anchors.ravel()[chosen])
    return [*items, replace(text, x=at.real, y=at.imag)]


def _text_places(length: float, width: float) -> list[float]:
    """Where along the line (from its first end, mm) the middle of the value may stand."""
    if width + 2 * ARROW + 1.0 <= length:
        slack = (length - width) / 2 - ARROW
        return [length / 2 + shift for shift in (0.0, slack * 0.6, -slack * 0.6)]
    beyond = ARROW * 2 + width / 2 + 1.0
    return ([length / 2] if width <= length else []) + [length + beyond, -beyond]


def _on_legs(rod: complex, end: complex, offsets: Complexes) -> NDArray[np.bool_]:
    """Whether each extension line from `end` would run over a rod."""
    off = (rod - end) / (offsets / np.abs(offsets))
    ahead = (off.real > 2.0) & (off.real < np.abs(offsets))
    return np.asarray(ahead & (np.abs(off.imag) < 1.5))


def _aligned_lines(a: complex, b: complex, offset: complex, where: float, width: float
                   ) -> list[Item]:
    side = offset / abs(offset)
    length = abs(b - a)
    along = (b - a) / length
    p, q = a + offset, b + offset
    items: list[Item] = [line(end + side * _GAP, end + offset + side * _PAST, DIMENSION)
                         for end in (a, b)]
    if length >= 3 * ARROW:
        items += [line(p, q, DIMENSION), arrow_head(p, -along), arrow_head(q, along)]
    else:
        items += [line(p - along * 2 * ARROW, q + along * 2 * ARROW, DIMENSION),
                  arrow_head(p, along), arrow_head(q, -along)]
    if where > length:
        items.append(line(q, p + along * (where + width / 2), DIMENSION))
    elif where < 0:
        items.append(line(p, p + along * (where - width / 2), DIMENSION))
    return items


def spread(values: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places for labels as near as may be to `values` (rising), at least `apart` from one
    another and within low…high. They are moved as little as needed, in blocks; when
    there is no room for all they are spaced evenly.
    """
    count = len(values)
    if count == 0:
        return []
    if (count - 1) * apart > high - low:
        return [float(x) for x in np.linspace(low, high, count)]
    blocks: list[list[float]] = []  # [sum of (value − own place in block), size, start]
    for value in values:
        blocks.append([value, 1.0, value])
        while True:
            total, size, _ = blocks[-1]
            start = min(max(total / size, low), high - (size - 1) * apart)
            blocks[-1][2] = start
            if len(blocks) == 1:
                break
            before = blocks[-2]
            if before[2] + before[1] * apart <= start + 1e-9:
                break
            shift = before[1] * apart
            blocks[-2:] = [[before[0] + total - size * shift, before[1] + size, 0.0]]
    return [start + step * apart for _, size, start in blocks for step in range(int(size))]


def running(values: Sequence[tuple[float, float, str]], at: float, low: float, high: float,
            across: bool, origin: float) -> list[Item]:
    """Running dimensions along one axis, all from one origin.

    Parameters
    ----------
    values : (place on the page along the axis, where its extension line starts on the
        other axis, text), rising by place; the origin among them.
    at : where the dimension line lies on the other axis.
    low, high : the room for the labels along the axis.
    across : True for x (line lies below the view), False for y (left of it).
    origin : place of the origin, marked with a circle.
    """
    if not values:
        return []

    def spot(along: float, other: float) -> complex:
        return complex(along, other) if across else complex(other, along)

    items: list[Item] = []
    labels = spread([value[0] for value in values], SIZE * 1.9, low, high)
    first, last = min(values[0][0], origin), max(values[-1][0], origin)
    items.append(line(spot(first, at), spot(last, at), DIMENSION))
    for (place, start, text), label in zip(values, labels, strict=True):
        knee = at - 2.0
        items.append(line(spot(place, start), spot(place, knee), DIMENSION))
        foot = at - 5.0
        items.append(run(xy([spot(place, knee), spot(label, foot), spot(label, foot - 1.0)]),
                         DIMENSION))
        if abs(place - origin) > 1e-6:
            items.append(arrow_head(spot(place, at), spot(math.copysign(1, place - origin), 0)))
        shift = SIZE / 2
        if across:
            items.append(Text(label + shift, foot - 2.0, text, SIZE, 1, 90.0))
        else:
            items.append(Text(foot - 2.0, label - shift, text, SIZE, 1))
    ring = spot(origin, at)
    items.append(Circle(ring.real, ring.imag, 1.0, DIMENSION, PAPER))
    return items
