"""From wishes to samples and rows, one function for each kind of wish."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from core.model import (
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    part_of,
)
from core.model.wanted import WantedMotion
from core.wanted.curves import angle_at
from core.wanted.goals.paths import draft_path
from core.wanted.goals.plan import EACH, EXTREME, TIMED, TOGETHER, Draft, Extreme, Ratio, Share
from core.wanted.goals.plan import indices as _indices

#: Samples of a dwell, its ends included.
DWELL_SAMPLES = 17
#: Steps by which the instant of an extreme is differentiated, rad.
ABOUT_RAD = 0.01
_ABOUT = (-2, -1, 1, 2)
#: The narrowest tolerances that count: below, a wish would drown all others.
_LEAST_MM, _LEAST_DEG = 1e-6, 1e-6


def draft_of(wishes: Sequence[WantedMotion], sense: int, fineness: int, turns: int) -> Draft:
    """All wishes as samples and rows, in their order."""
    draft = Draft()
    for index, wish in enumerate(wishes):
        first, rows = len(draft.kind), len(draft.row_sample)
        count = 0
        for lap in _laps(wish, turns):
            more, wrap, absolute = _draft(draft, lap, sense, fineness, turns)
            count += more
        samples = slice(first, len(draft.kind))
        angles = [k for k in range(first, len(draft.kind))
                  if draft.channels[draft.channel[k]].kind == "angle"]
        draft.shares.append(Share(index, samples, slice(rows, len(draft.row_sample)), count,
                                  _indices(angles), wrap, absolute))
    return draft


def _laps(wish: WantedMotion, turns: int) -> list[WantedMotion]:
    """A wish for every turn of the crank in a cycle: what is tied to crank angles must hold
    in each, unless it goes beyond one turn itself. Their weights add up to the wish's. (A
    closed curve of angles goes on through all turns by itself.)"""
    laps = [360.0 * lap for lap in range(turns)]
    if turns < 2 or not 0.0 <= _tied_deg(wish) <= 360.0 + 1e-9:
        return [wish]
    one = replace(wish, weight=wish.weight / turns)
    match one:
        case WantedPath():
            return [replace(one, ticks=tuple(
                replace(tick, crank_deg=tick.crank_deg + lap) for tick in one.ticks))
                for lap in laps]
        case WantedPose():
            return [replace(one, crank_deg=one.crank_deg + lap) for lap in laps]
        case WantedDwell():
            return [replace(one, from_deg=one.from_deg + lap, to_deg=one.to_deg + lap)
                    for lap in laps]
        case _:
            return [wish]


def _tied_deg(wish: WantedMotion) -> float:
    """Over how many degrees of crank angle a wish is tied; −1 where it is not."""
    match wish:
        case WantedPath() if wish.ticks:
            cranks = [tick.crank_deg for tick in wish.ticks]
        case WantedPose() | WantedDwell():
            return 0.0
        case _:
            return -1.0
    return max(cranks) - min(cranks)


def _draft(draft: Draft, wish: WantedMotion, sense: int, fineness: int,
           turns: int) -> tuple[int, int, bool]:
    """Draft one wish: over how many errors its mean goes, how turns are taken out of its
    angles, and whether these count absolutely."""
    match wish:
        case WantedPath():
            return draft_path(draft, wish, sense, fineness), EACH, True
        case WantedAngle():
            return _angle(draft, wish, fineness, turns)
        case WantedPose():
            return _pose(draft, wish)
        case WantedSwing():
            return _swing(draft, wish)
        case WantedStroke():
            return _stroke(draft, wish), EACH, True
        case WantedDwell():
            return _dwell(draft, wish), TOGETHER, False
        case WantedRatio():
            return _ratio(draft, wish), TOGETHER, True


def _angle(draft: Draft, wish: WantedAngle, fineness: int,
           turns: int) -> tuple[int, int, bool]:
    channel = draft.channel_of("angle", wish.part, wish.line, wish.id)
    readings = angle_readings(wish, fineness)
    if wish.closed and turns > 1:
        readings = np.concatenate([readings + 360.0 * lap for lap in range(turns)])
    group = -1 if wish.line else draft.group()
    scale = math.sqrt(wish.weight / max(readings.size, 1)) / _rad(wish.tolerance_deg)
    for reading, angle in zip(readings, angle_at(wish, readings), strict=True):
        k = draft.sample(channel, TIMED, math.radians(reading), math.radians(angle))
        draft.row(k, 1.0, scale, group)
    return readings.size, EACH if wish.curve == "places" else TOGETHER, bool(wish.line)


def angle_readings(wish: WantedAngle, fineness: int) -> np.ndarray[tuple[int], np.dtype[
        np.float64]]:
    """Crank readings, degrees, at which a wanted angle is compared: even steps, and the
    corners of a straight curve; the knots themselves of a wish of places."""
    knots = np.array(sorted(knot.crank_deg for knot in wish.knots))
    if wish.curve == "places" or knots.size < 2:
        return knots
    first, last = float(knots[0]), float(knots[-1])
    if wish.closed:
        even = first + 360.0 * np.arange(fineness) / fineness
        knots = knots[knots < first + 360.0 - 1e-6]
    else:
        span = last - first
        even = np.linspace(first, last, max(9, 1 + round(fineness * span / 360.0)))
    if wish.curve == "straight":
        near = np.abs(even[:, None] - knots).min(axis=1) > 180.0 / fineness
        even = np.sort(np.concatenate([even[near], knots]))
    return even


def _pose(draft: Draft, wish: WantedPose) -> tuple[int, int, bool]:
    line = (wish.at, wish.toward) if wish.at else ()
    point = draft.channel_of("point", wish.at, (), wish.id, mate="pose")
    angle = draft.channel_of("angle", part_of(wish.at) if wish.at else "", line, wish.id,
                             mate="pose")
    reading, root = math.radians(wish.crank_deg), math.sqrt(wish.weight)
    k = draft.sample(point, TIMED, reading, complex(wish.x, wish.y))
    for way in (1.0, 1j):
        draft.row(k, way, root / max(wish.tolerance_mm, _LEAST_MM))
    k = draft.sample(angle, TIMED, reading, math.radians(wish.angle_deg))
    if not wish.at and draft.pose_group < 0:
        draft.pose_group = draft.group()
    draft.row(k, 1.0, root / _rad(wish.tolerance_deg), -1 if wish.at else draft.pose_group)
    return 1, EACH, bool(wish.at)


def _swing(draft: Draft, wish: WantedSwing) -> tuple[int, int, bool]:
    channel = draft.channel_of("angle", wish.part, wish.line, wish.id)
    group = -1 if wish.line else draft.group()
    scale = math.sqrt(wish.weight / 2.0) / _rad(wish.tolerance_deg)
    low, high = sorted((wish.from_deg, wish.to_deg))
    for way, angle in ((1.0, high), (-1.0, low)):
        k = draft.sample(channel, EXTREME, target=math.radians(angle))
        draft.extremes.append(Extreme(k, way))
        draft.row(k, 1.0, scale, group)
    return 2, TOGETHER, bool(wish.line)


def _stroke(draft: Draft, wish: WantedStroke) -> int:
    channel = draft.channel_of("point", wish.point, (), wish.id)
    start, end = complex(*wish.start), complex(*wish.end)
    along = (end - start) / abs(end - start) if end != start else 1.0 + 0j
    scale = math.sqrt(wish.weight / 4.0) / max(wish.tolerance_mm, _LEAST_MM)
    for way, target in ((along, end), (-along, start), (1j * along, start),
                        (-1j * along, start)):
        k = draft.sample(channel, EXTREME, target=target)
        draft.extremes.append(Extreme(k, way))
        draft.row(k, way, scale)
    return 4


def _dwell(draft: Draft, wish: WantedDwell) -> int:
    kind, ref = ("angle", wish.part) if wish.part or not wish.point else ("point", wish.point)
    channel = draft.channel_of(kind, ref, (), wish.id)
    span = (wish.to_deg - wish.from_deg) % 360.0
    readings = np.radians(wish.from_deg + np.linspace(0.0, span, DWELL_SAMPLES))
    tolerance = (_rad(wish.tolerance_deg) if kind == "angle"
                 else max(wish.tolerance_mm, _LEAST_MM))
    scale = math.sqrt(wish.weight / DWELL_SAMPLES) / tolerance
    ways = [(way, draft.group()) for way in ((1.0,) if kind == "angle" else (1.0, 1j))]
    for reading in readings:
        k = draft.sample(channel, TIMED, float(reading))
        for way, group in ways:
            draft.row(k, way, scale, group)
    return DWELL_SAMPLES


def _ratio(draft: Draft, wish: WantedRatio) -> int:
    kind, ref = ("angle", wish.part) if wish.part or not wish.point else ("point", wish.point)
    channel = draft.channel_of(kind, ref, (), wish.id)
    ends, about = [], []
    for way in (1.0, -1.0):
        k = draft.sample(channel, EXTREME)
        ends.append(k)
        if kind == "angle":
            draft.extremes.append(Extreme(k, way))
    for _ in ends:
        about.append([draft.sample(channel, EXTREME) for _ in _ABOUT])
    scale = math.sqrt(wish.weight) / max(wish.tolerance, 1e-6)
    row = draft.row(ends[0], 1.0, 0.0)
    draft.ratios.append(Ratio((ends[0], ends[1]), np.array(about, np.intp), row, wish.ratio,
                              scale, kind == "point"))
    return 1


def about_rad(centre: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
              ) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """(…, 4) instants about the extremes (…)."""
    return centre[..., None] + ABOUT_RAD * np.array(_ABOUT)


def _rad(tolerance_deg: float) -> float:
    return math.radians(max(tolerance_deg, _LEAST_DEG))
