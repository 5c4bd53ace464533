"""What wishes ask, as far as paths and angles laid on the atlas can tell.

Only a first sieve: of several wished paths the first is laid, and a dwell, a swing or a
ratio is not looked at unless it can be told as an angle. What is found is then measured
exactly (`core.wanted.goals`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.model import WantedAngle, WantedPath, WantedPose, WantedStroke
from core.model.wanted import WantedMotion
from core.wanted.atlas.shape import Complexes, Floats, evenly
from core.wanted.curves import angle_at, curve_of

#: Places laid of a path; of a piece of a path.
CLOSED, OPEN = 24, 14
#: How much of a whole path an open one may be.
SHARES = (0.12, 0.18, 0.26, 0.36, 0.48, 0.62, 0.8)
_ANGLES = 24


@dataclass(frozen=True)
class AskedPath:
    """A path: `places` (K,) mm in the order they are met; with `crank_rad` (K,) readings,
    else even in arc length, a whole path where `closed` or a piece. `price` is what a
    squared mm costs, 1/tolerance² and weight."""

    places: Complexes
    crank_rad: Floats | None
    closed: bool
    either_way: bool
    price: float


@dataclass(frozen=True)
class AskedAngle:
    """An angle: `angle_rad` (K,) at `crank_rad` (K,), of channel `channel`; `price` of a
    squared rad."""

    angle_rad: Floats
    crank_rad: Floats
    channel: int
    price: float


@dataclass(frozen=True)
class Asked:
    """All of it. `start_free` as in `FitRules`."""

    path: AskedPath | None
    angles: tuple[AskedAngle, ...]
    start_free: bool


def asked(wishes: Sequence[WantedMotion], channels: Sequence[tuple[str, ...]], *,
          sense: int = 1, start_free: bool = True) -> Asked:
    """What wishes ask.

    `channels` are the wish ids of every *angle* channel of the goals, in their order;
    `sense` is the way round the crank is driven.
    """
    path: AskedPath | None = None
    angles: list[AskedAngle] = []
    poses = [wish for wish in wishes if isinstance(wish, WantedPose)]
    for wish in wishes:
        if isinstance(wish, WantedPath) and path is None and len(wish.through) > 1:
            path = _path(wish, sense)
        elif isinstance(wish, WantedStroke) and path is None:
            path = _stroke(wish)
        elif isinstance(wish, WantedAngle) and len(wish.knots) > 1:
            crank = _readings(wish)
            angles.append(AskedAngle(
                np.radians(angle_at(wish, crank)), np.radians(crank),
                _channel(wish.id, channels),
                wish.weight / np.radians(max(wish.tolerance_deg, 1e-6)) ** 2))
    if len(poses) > 1:
        first = poses[0]
        crank = np.radians([pose.crank_deg for pose in poses])
        angles.append(AskedAngle(
            np.unwrap(np.radians([pose.angle_deg for pose in poses])), crank,
            _channel(first.id, channels),
            len(poses) * first.weight / np.radians(max(first.tolerance_deg, 1e-6)) ** 2))
        path = path or AskedPath(
            np.array([complex(pose.x, pose.y) for pose in poses]), crank, False, False,
            len(poses) * first.weight / max(first.tolerance_mm, 1e-6) ** 2)
    return Asked(path, tuple(angles), start_free)


def _channel(wish: str, channels: Sequence[tuple[str, ...]]) -> int:
    return next(k for k, of in enumerate(channels) if wish in of)


def _readings(wish: WantedAngle) -> Floats:
    """Crank angles at which an angle is looked at, degrees."""
    knots = np.array(sorted(knot.crank_deg for knot in wish.knots))
    if wish.curve == "places":
        return knots
    if wish.closed:
        return np.asarray(knots[0] + 360.0 * np.arange(_ANGLES) / _ANGLES)
    return np.linspace(knots[0], knots[-1], _ANGLES)


def _path(wish: WantedPath, sense: int) -> AskedPath:
    curve = curve_of(wish)
    price = wish.weight / max(wish.tolerance_mm, 1e-6) ** 2
    closed = wish.closed and len(wish.through) > 2
    if len(wish.ticks) > 1:
        at, crank = _timed(wish, sense)
        return AskedPath(curve.place(at), crank, False, wish.either_way, price)
    fine = curve.place(np.linspace(0.0, curve.last, 24 * max(int(curve.last), 1) + 1))
    if wish.curve == "places":
        fine = curve.places[:len(wish.through)]
    places = evenly(fine[None], CLOSED if closed else OPEN, closed=closed)[0]
    return AskedPath(places[::sense], None, closed, wish.either_way, price)


def _timed(wish: WantedPath, sense: int) -> tuple[Floats, Floats]:
    """Places along a path with ticks and the readings there, between ticks at even pace."""
    curve = curve_of(wish)
    ticks = sorted({round(tick.at, 9): tick.crank_deg for tick in wish.ticks}.items())
    at = np.array([tick[0] for tick in ticks])
    crank = np.radians([tick[1] for tick in ticks])
    ahead = (sense * np.diff(crank)) % (2 * np.pi)
    run = crank[0] + sense * np.concatenate([[0.0], np.cumsum(
        np.where(ahead > 1e-9, ahead, 2 * np.pi))])
    if wish.curve == "places":
        return at, run
    if curve.closed:
        at, run = np.append(at, at[0] + curve.last), np.append(run, run[0] + sense * 2 * np.pi)
    fine = np.unique(np.concatenate([at, np.linspace(at[0], at[-1], CLOSED)]))
    if curve.closed:
        fine = fine[:-1]
    return fine, np.interp(fine, at, run)


def _stroke(wish: WantedStroke) -> AskedPath:
    """To and fro between two places, as a closed path without width."""
    start, end = complex(*wish.start), complex(*wish.end)
    part = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(CLOSED) / CLOSED)
    even = evenly((start + (end - start) * part)[None], CLOSED)[0]
    return AskedPath(even, None, True, True, wish.weight / max(wish.tolerance_mm, 1e-6) ** 2)
