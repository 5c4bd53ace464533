"""A solved turn as goals see it."""

from __future__ import annotations

import cmath
import math

import numpy as np
from numpy.typing import NDArray

from core.model import part_of
from core.motion import Turn
from core.wanted.goals.dense import Channel, Complexes, Dense, Floats


def value_of(turn: Turn, channel: Channel) -> Floats | Complexes:
    """(N,) what a channel is over a turn: complex mm, or rad; NaN where not reached.

    Raises KeyError for points and parts that are not there.
    """
    if channel.kind == "point":
        return turn.place(part_of(channel.ref), turn.sketch.place(channel.ref))
    angle: Floats = turn.angle_rad[:, turn.row(channel.ref)]
    if channel.line:
        start, end = map(turn.sketch.place, channel.line)
        angle = angle + cmath.phase(end - start)
    return angle


def dense_of(turn: Turn, channels: tuple[Channel, ...]) -> Dense:
    """The channels of one turn over its cycle (M = 1); raises as :func:`value_of`."""
    values: list[NDArray[np.generic]] = [np.asarray(value_of(turn, one))[None]
                                         for one in channels]
    drive = turn.sketch.drive
    rocks = drive is not None and drive.kind == "rock"
    cycle = 0.0 if rocks else 2.0 * math.pi * turn.crank_turns
    return Dense(turn.crank_rad, tuple(values), turn.reached[None], cycle)
