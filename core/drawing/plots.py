"""Curves over the turn: driving torque and the smallest gap."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from core.drawing.frame import Room
from core.drawing.items import (
    BLUE,
    FAULT,
    FINE,
    INK,
    PALE,
    PAPER,
    SOFT,
    WIDE,
    Circle,
    Floats,
    Item,
    Line,
    Path,
    Pen,
    Text,
    box,
    dashed,
    run,
)
from core.drawing.lettering import text_width
from core.drawing.symbols import hatched

SIZE = 1.8
_GRID = Pen(0.13, colour=PALE)
_LEFT = 16.0
_FOOT = 8.0
_HEAD = 5.0


@dataclass(frozen=True)
class Axes:
    """A plot in a room of the page: x in degrees of crank, y in what is shown."""

    room: Room
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def at(self, x: Floats, y: Floats) -> Floats:
        """Values as places on the page, (n, 2)."""
        across = (x - self.x_low) / (self.x_high - self.x_low)
        up = (y - self.y_low) / (self.y_high - self.y_low)
        return np.stack([self.room.left + across * self.room.width,
                         self.room.bottom + up * self.room.height], axis=-1)


def steps(low: float, high: float, about: int) -> list[float]:
    """Round values (1, 2 or 5 times a power of ten apart) covering low…high, about so
    many of them; the first is at or below `low`, the last at or above `high`."""
    span = max(high - low, 1e-12)
    power = 10.0 ** math.floor(math.log10(span / max(about, 1)))
    size = next(power * m for m in (1, 2, 5, 10) if power * m * about >= span * 0.999)
    first, last = math.floor(low / size + 1e-9), math.ceil(high / size - 1e-9)
    return [size * n for n in range(first, max(last, first + 1) + 1)]


def axes(room: Room, crank_deg: Floats, values: Sequence[Floats], unit: str
         ) -> tuple[Axes, list[Item]]:
    """Axes with a grid that hold all finite values and zero, inside the room."""
    finite = np.concatenate([[0.0], *(v[np.isfinite(v)] for v in values)])
    low, high = float(finite.min()), float(finite.max())
    # Some room above the curve for the figure at its peak.
    ticks = steps(low, high + 0.1 * (high - low), 5)
    inner = Room(room.left + _LEFT, room.bottom + _FOOT, room.right - 4.0, room.top - _HEAD)
    x_low, x_high = float(crank_deg[0]), float(crank_deg[-1])
    made = Axes(inner, x_low, max(x_high, x_low + 1e-6), ticks[0], ticks[-1])
    items: list[Item] = []
    for tick in ticks:
        y = float(made.at(np.array([x_low]), np.array([tick]))[0, 1])
        items.append(Line(inner.left, y, inner.right, y, Pen(FINE) if tick == 0 else _GRID))
        items.append(Text(inner.left - 1.5, y - SIZE / 2, _figure(tick, ticks), SIZE, 1))
    for tick in _angle_ticks(x_low, x_high, inner.width):
        x = float(made.at(np.array([tick]), np.array([0.0]))[0, 0])
        items.append(Line(x, inner.bottom, x, inner.top, _GRID))
        items.append(Text(x, inner.bottom - SIZE - 1.2, f"{tick:g}°", SIZE, 0))
    items.append(Text(inner.left, inner.top + 1.6, unit, SIZE, colour=SOFT))
    items.append(Text(inner.right, room.bottom + 0.6, "crank angle", SIZE, 1, colour=SOFT))
    return made, items


def _figure(value: float, ticks: list[float]) -> str:
    size = abs(ticks[1] - ticks[0])
    places = max(0, -math.floor(math.log10(size) + 1e-9))
    return f"{value + 0.0:.{places}f}".replace("-", "−") if value else "0"


def _angle_ticks(low: float, high: float, width: float) -> list[float]:
    fit = max(2.0, width / 14.0)
    size = next((s for s in (1, 2, 5, 10, 15, 30, 45, 90, 180, 360, 720, 1440, 3600)
                 if (high - low) / s <= fit), 7200)
    return [size * n for n in range(math.ceil(low / size - 1e-9),
                                    math.floor(high / size + 1e-6) + 1)]


def curve(made: Axes, crank_deg: Floats, values: Floats, pen: Pen) -> list[Item]:
    """A curve, broken where there is no value."""
    places = made.at(crank_deg, values)
    breaks = np.flatnonzero(~np.isfinite(values))
    return [run(piece, pen) for whole in np.split(places, breaks)
            if len(piece := whole[np.isfinite(whole).all(axis=1)]) > 1]


def _band(made: Axes, crank_deg: Floats, low: Floats, high: Floats) -> list[Item]:
    good = np.isfinite(low) & np.isfinite(high)
    items: list[Item] = []
    for stretch in np.split(np.arange(good.size), np.flatnonzero(~good)):
        keep = stretch[good[stretch]]
        if keep.size > 1:
            there = made.at(crank_deg[keep], low[keep])
            back = made.at(crank_deg[keep], high[keep])[::-1]
            items.append(Path((np.concatenate([there, back]),), None, "#dfe9f1"))
    return items


def _marked(made: Axes, x: float, y: float, text: str, below: bool = False) -> list[Item]:
    """A dot on a curve with its value, kept inside the axes: above a peak, below a dip
    where there is room, so that it does not hide the curve."""
    px, py = made.at(np.array([x]), np.array([y]))[0]
    half = text_width(text, SIZE, True) / 2
    tx = min(max(float(px), made.room.left + half + 1), made.room.right - half - 1)
    above = (py - SIZE - 2.5 < made.room.bottom if below
             else py + SIZE + 2.0 < made.room.top)
    ty = float(py) + (1.6 if above else -SIZE - 1.6)
    return [Circle(float(px), float(py), 0.8, Pen(0.2), INK),
            box(tx - half - 0.5, ty - 0.5, 2 * half + 1.0, SIZE + 1.0, None, PAPER),
            Text(tx, ty, text, SIZE, 0, bold=True)]


def ceiling(*lanes: Floats) -> float:
    """Where to cut curves that shoot up towards a lock, so that the rest can be read: a
    round value above thrice what 19 in 20 steps stay below. Infinite when nothing does.
    """
    sizes = np.abs(np.concatenate(lanes))
    sizes = sizes[np.isfinite(sizes)]
    if not sizes.size:
        return math.inf
    usual = float(np.quantile(sizes, 0.95))
    if sizes.max() <= 3.0 * usual or usual == 0.0:
        return math.inf
    return steps(0.0, 3.0 * usual, 5)[-1]


def torque_plot(crank_deg: Floats, torque: Floats, low: Floats, high: Floats,
                runaway_deg: Sequence[tuple[float, float]], unit: str,
                show: Callable[[float], str], legend: str) -> Callable[[Room], list[Item]]:
    """Draws the driving torque over the turn.

    Parameters
    ----------
    crank_deg, torque, low, high : (N,); torque without friction, and the friction band.
    runaway_deg : stretches of crank angle where the mechanism drives the crank.
    show : writes a torque value of these arrays as text.
    legend : what the lines and areas mean.
    """

    def draw(room: Room) -> list[Item]:
        limit = ceiling(torque, low, high)
        cut = [np.where(np.abs(lane) > limit, np.nan, lane) for lane in (torque, low, high)]
        capped = f", beyond ±{limit:g} cut off" if math.isfinite(limit) else ""
        made, items = axes(room, crank_deg, cut, unit + capped)
        for start, end in within(runaway_deg, made.x_low, made.x_high):
            items += _zone(made, start, end, made.y_low, 0.0)
        items += _band(made, crank_deg, cut[1], cut[2])
        for edge in cut[1:]:
            items += curve(made, crank_deg, edge, Pen(FINE, colour=BLUE))
        items += curve(made, crank_deg, cut[0], Pen(WIDE))
        if math.isinf(limit) and np.isfinite(high).any():
            peak = int(np.nanargmax(high))
            items += _marked(made, float(crank_deg[peak]), float(high[peak]),
                             show(float(high[peak])))
        return [*items, Text(made.room.left, room.bottom + 0.6, legend, SIZE)]

    return draw


def within(stretches: Sequence[tuple[float, float]], low: float, high: float
           ) -> list[tuple[float, float]]:
    """Stretches of a turn from `low` to `high`; one that goes on over the end comes in again
    at the beginning, as the turn does."""
    whole = high - low
    found = [(max(start + shift, low), min(end + shift, high))
             for start, end in stretches for shift in (0.0, -whole, whole)]
    return sorted((start, end) for start, end in found if end > start)


def _zone(made: Axes, start: float, end: float, low: float, high: float) -> list[Item]:
    """A hatched stretch of the crank angle between two values."""
    (left, bottom), (right, top) = made.at(np.array([start, end]), np.array([low, high]))
    if right - left < 0.1 or top - bottom < 0.1:
        return []
    return [box(left, bottom, right - left, top - bottom, None, "#fbe9dc"),
            *hatched(shapely.box(left, bottom, right, top), 2.0, 45.0, Pen(0.13, colour=FAULT))]


def gap_plot(crank_deg: Floats, smallest: Floats, wanted: float, unit: str,
             show: Callable[[float], str]) -> Callable[[Room], list[Item]]:
    """Draws the smallest gap of all pairs over the turn with the wanted gap as a limit.
    Values in the unit shown; `show` writes one as text."""

    def draw(room: Room) -> list[Item]:
        most = steps(0.0, max(4.0 * wanted, float(np.nanmin(smallest)) * 3.0, 1e-3), 5)[-1]
        shown = np.minimum(smallest, most)
        capped = f", {most:g} and more shown as {most:g}" if np.nanmax(smallest) > most else ""
        made, items = axes(room, crank_deg, (shown, np.array([wanted * 1.2])), unit + capped)
        items += _zone(made, made.x_low, made.x_high, made.y_low, wanted)
        level = made.at(np.array([made.x_low, made.x_high]), np.array([wanted, wanted]))
        items.append(run(level, dashed(FINE, FAULT)))
        items += curve(made, crank_deg, shown, Pen(WIDE))
        least = int(np.nanargmin(smallest))
        items += _marked(made, float(crank_deg[least]), float(shown[least]),
                         show(float(smallest[least])), below=True)
        legend = f"Hatched: less than the gap wanted, {show(wanted)}."
        return [*items, Text(made.room.left, room.bottom + 0.6, legend, SIZE)]

    return draw
