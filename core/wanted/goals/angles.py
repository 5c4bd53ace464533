"""Errors of angles without whole turns."""

from __future__ import annotations

import numpy as np

from core.wanted.goals.dense import Floats
from core.wanted.goals.plan import TOGETHER

_TURN = 2.0 * np.pi


def tamed(error: Floats, wrap: int, absolute: bool) -> Floats:
    """Errors (…, K) of angles, rad, less the whole turns that do not count.

    `wrap` EACH: every one by itself; TOGETHER: as many for all, so that a part which turns
    too often, or not often enough, is not let off. Where the angle is not absolute a
    constant is free, and turns are taken out about the mean direction.
    """
    if wrap == TOGETHER:
        here = ~np.isnan(error)
        mean = (np.where(here, error, 0.0).sum(axis=-1, keepdims=True)
                / np.maximum(here.sum(axis=-1, keepdims=True), 1))
        return np.asarray(error - _TURN * np.round(mean / _TURN))
    centre: Floats | float = 0.0
    if not absolute:
        centre = np.angle(np.nansum(np.exp(1j * error), axis=-1, keepdims=True))
    off = error - centre
    return np.asarray(off - _TURN * np.round(off / _TURN) + centre)
