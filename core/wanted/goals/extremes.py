"""When a value is extreme: the ends of swings, strokes and longest ways."""

from __future__ import annotations

import numpy as np

from core.wanted.goals.dense import Complexes, Dense, Floats

#: Directions tried for the longest way of a point.
_DIRECTIONS = 36


def extreme(dense: Dense, channel: int, way: complex) -> Floats:
    """(M,) the instant at which Re(conj(way) · value) is greatest."""
    reach = (np.conj(way) * np.asarray(dense.values[channel])).real
    reach = np.where(dense.reached, reach, -np.inf)
    steps = np.argmax(reach, axis=1)
    crank = dense.crank_rad[steps][:, None]
    return _level(dense, channel, np.full(crank.shape, way), crank)[:, 0]


def longest(dense: Dense, channel: int) -> Floats:
    """(M, 2) the instants at the two ends of the longest way of a point."""
    place = np.where(dense.reached, np.asarray(dense.values[channel]), np.nan)
    ways = np.exp(1j * np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS)
    along = (ways.conj()[:, None, None] * place).real
    high = np.where(np.isnan(along), -np.inf, along)
    low = np.where(np.isnan(along), np.inf, along)
    way = ways[np.argmax(high.max(axis=-1) - low.min(axis=-1), axis=0)]
    for _ in range(3):
        along = (way.conj()[:, None] * place).real
        ends = np.stack([np.argmax(np.where(np.isnan(along), -np.inf, along), axis=-1),
                         np.argmin(np.where(np.isnan(along), np.inf, along), axis=-1)], axis=1)
        crank = dense.crank_rad[ends]
        apart = np.diff(np.take_along_axis(place, ends, axis=1), axis=1)[:, 0]
        way = _direction(-apart, way)
    for _ in range(4):
        both = np.stack([way, -way], axis=1)
        crank = _level(dense, channel, both, crank)
        apart = np.diff(dense.at(channel, crank)[0], axis=1)[:, 0]
        way = _direction(-apart, way)
    return np.asarray(crank)


def _level(dense: Dense, channel: int, way: Complexes, crank: Floats) -> Floats:
    """The extreme (M, K) near steps of the crank, where the slope along `way` is none."""
    start = crank
    for _ in range(4):
        _, slope, bend = dense.at(channel, crank)
        rise, curve = (way.conj() * slope).real, (way.conj() * bend).real
        step = np.where(curve < 0.0, rise / np.where(curve < 0.0, curve, 1.0), 0.0)
        crank = start + np.clip(crank - np.nan_to_num(step) - start, -dense.step_rad,
                                dense.step_rad)
        if not dense.cycle_rad:
            crank = np.clip(crank, dense.crank_rad[0], dense.crank_rad[-1])
    astray = np.isnan(dense.at(channel, crank)[0])
    return np.where(astray, start, crank)


def _direction(apart: Complexes, otherwise: Complexes) -> Complexes:
    """Unit vectors along differences, or others where there is no difference."""
    size = np.abs(apart)
    return np.where(size > 0.0, apart / np.where(size > 0.0, size, 1.0), otherwise)
