"""A solved turn as goals see it."""

from __future__ import annotations

import cmath
import dataclasses
import math

import numpy as np
from numpy.typing import NDArray

from core.model import part_of
from core.motion import Turn, pose_at
from core.wanted.goals.compiled import Goals
from core.wanted.goals.dense import Channel, Complexes, Dense, Floats, Instants


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


def piece_of(span: Turn, clock: Floats, channels: tuple[Channel, ...]) -> Dense:
    """The channels over a piece of the crank's way, by a clock (N,) of its own that goes on
    evenly."""
    return Dense(clock, tuple(np.asarray(value_of(span, one))[None] for one in channels),
                 span.reached[None], 0.0)


def eased(goals: Goals, turn: Turn, low: float, high: float, steps: int, *,
          exact: bool = False) -> Instants:
    """The instants that suit wishes without readings best on a piece of the crank's way, rad.

    Matched along a clock by which the crank slows down towards both ends, as a pendulum
    does: near a lock all goes by the root of what is left, and by that clock as evenly as
    elsewhere.
    """
    middle, half = (low + high) / 2, (high - low) / 2
    clock = np.linspace(0.0, math.pi, steps)
    span = pose_at(turn, middle - half * np.cos(clock))
    instants = goals.match(piece_of(span, clock, goals.channels), exact=exact)
    return dataclasses.replace(
        instants, crank_rad=middle - half * np.cos(instants.crank_rad),
        bend=np.zeros_like(instants.bend))
