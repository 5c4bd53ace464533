"""A solved turn as goals see it: exact values and derivatives at the instants of a match."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from core.motion import Sensitivity, Turn, pose_at, rates
from core.wanted.goals import Channel, Instants, Seen
from core.wanted.goals.turned import value_of

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


def pose_of(turn: Turn, instants: Instants) -> Turn:
    """The turn at the instants of its match; those that were not reached are taken at the
    drawn pose."""
    assert turn.sketch.drive is not None
    home = math.radians(turn.sketch.drive.drawn_deg)
    return pose_at(turn, np.nan_to_num(instants.crank_rad[0], nan=home))


def seen_at(pose: Turn, channels: tuple[Channel, ...], instants: Instants,
            sensitive: Sensitivity | None = None) -> Seen:
    """Values, slopes and, by the moves of `sensitive`, derivatives at the instants."""
    speed = rates(pose)
    count = len(pose.crank_rad)
    value, slope = np.zeros((2, 1, count), np.complex128)
    deriv = None if sensitive is None else np.zeros((1, count, sensitive.count), np.complex128)
    for number, channel in enumerate(channels):
        at = instants.channel == number
        value[0, at] = value_of(pose, channel)[at]
        if channel.kind == "point":
            slope[0, at] = speed.slope(channel.ref)[0][at]
        else:
            slope[0, at] = speed.spin[pose.row(channel.ref)][at]
        if sensitive is not None and deriv is not None:
            deriv[0, at] = _moved(sensitive, channel)[at]
    return Seen(value, slope, deriv)


def _moved(sensitive: Sensitivity, channel: Channel) -> Floats | Complexes:
    """(N, D) derivatives of a channel's value."""
    if channel.kind == "point":
        return sensitive.place(channel.ref)
    return sensitive.direction(*channel.line) if channel.line else \
        sensitive.angle(channel.ref)
