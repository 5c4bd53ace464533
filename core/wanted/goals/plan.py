"""Wishes taken apart into samples (something seen at an instant) and rows (residuals).

A *sample* is one channel at one instant. Its instant is given by the wish (timed), or found
by matching: free along a path, where a value is extreme, or where the trace strays most
from the curve between two matched samples (a stray). A *row* is one number to make small:
part of a sample's error, in tolerances and weighted.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.model.wanted import WantedMotion
from core.wanted.goals.dense import Bools, Channel, Complexes, Floats, Ints

#: How the instant of a sample comes about.
TIMED, FREE, EXTREME, STRAY = range(4)
#: How whole turns are taken out of the errors of angles: each by itself, or as
#: many for all.
EACH, TOGETHER = range(2)


@dataclass(frozen=True)
class Run:
    """Samples of one path with free instants, in the order of the path.

    Attributes
    ----------
    samples : indices of the samples.
    bounds : the crank readings, in the order of travel and counted in the driving
        direction, rad, between which they are tied; None where the whole cycle is theirs.
    either_way, any_order : as in the wish.
    strays : indices of the stray samples; stray j lies between `ends[j, 0]` and
        `ends[j, 1]`, samples next to each other in time (−1: the bound).
    closed : the last stray lies between the last sample and the first, a cycle on.
    fine, normal : (len(strays), W) the piece of the curve there, and its normals.
    scale : of one row: √(weight / count) / tolerance. tolerance_mm : of the path.
    """

    samples: Ints
    bounds: tuple[float, float] | None
    either_way: bool
    any_order: bool
    strays: Ints
    ends: Ints
    closed: bool
    fine: Complexes
    normal: Complexes
    scale: float
    tolerance_mm: float


@dataclass(frozen=True)
class Extreme:
    """A sample where a channel is extreme.

    `way` : the greatest of Re(conj(way) · value) is meant.
    """

    sample: int
    way: complex


@dataclass(frozen=True)
class Ratio:
    """A wish of a time ratio: two extremes, `samples`, each with four samples at even
    steps about it, `about` (2, 4), by which the derivative of its instant is had."""

    samples: tuple[int, int]
    about: Ints
    row: int
    target: float
    scale: float
    point: bool


@dataclass(frozen=True)
class Share:
    """The samples and rows of one wish.

    `angles` : its samples that are angles; `wrap`: how whole turns are taken out;
    `absolute`: whether the angle counts or only its changes. `count`: over how many errors
    the mean is taken.
    """

    wish: int
    samples: slice
    rows: slice
    count: int
    angles: Ints
    wrap: int
    absolute: bool


@dataclass(frozen=True)
class Tables:
    """All wishes as tables of K samples and R rows.

    Attributes
    ----------
    wishes : as given. channels : what must be observed.
    sense : +1 or −1, which way the crank is driven.
    start_free : whether the zero of the crank's reading is free.
    channel : (K,) index of the channel of each sample; angles: (K,) which are angles.
    timed, free : (K,) samples at readings of the crank, and along a path without timing.
    reading_rad, target : (K,) of timed samples the reading; wanted place, mm, or angle, rad.
    row_sample, row_way, row_scale : (R,) a row is Re(conj(way) · error) · scale of a sample;
        a way of 0 is found with the instant.
    row_worth : (R,) √(weight / count): the scale without the tolerance.
    row_group : (R,) which free constant a row has, −1 for none; groups: (Q, R) scale of the
        rows of each.
    weight : sum of the weights, 1 where there are no wishes.
    """

    wishes: tuple[WantedMotion, ...]
    channels: tuple[Channel, ...]
    sense: int
    start_free: bool
    channel: Ints
    angles: Bools
    timed: Bools
    free: Bools
    reading_rad: Floats
    target: Complexes
    row_sample: Ints
    row_way: Complexes
    row_scale: Floats
    row_worth: Floats
    row_group: Ints
    groups: Floats
    runs: tuple[Run, ...]
    extremes: tuple[Extreme, ...]
    ratios: tuple[Ratio, ...]
    shares: tuple[Share, ...]
    weight: float


@dataclass
class Draft:
    """What the compiler writes down; lists in the order of samples, and of rows."""

    channels: list[Channel] = field(default_factory=list)
    channel: list[int] = field(default_factory=list)
    kind: list[int] = field(default_factory=list)
    reading: list[float] = field(default_factory=list)
    target: list[complex] = field(default_factory=list)
    row_sample: list[int] = field(default_factory=list)
    row_way: list[complex] = field(default_factory=list)
    row_scale: list[float] = field(default_factory=list)
    row_group: list[int] = field(default_factory=list)
    groups: int = 0
    runs: list[Run] = field(default_factory=list)
    extremes: list[Extreme] = field(default_factory=list)
    ratios: list[Ratio] = field(default_factory=list)
    shares: list[Share] = field(default_factory=list)
    pose_group: int = -1

    def channel_of(self, kind: str, ref: str, line: tuple[str, ...], wish: str,
                   mate: str = "") -> int:
        """The index of a channel; a wish that is not attached has its own, the same one in
        every turn of a cycle, but for those with the same `mate`."""
        for index, one in enumerate(self.channels):
            same = one.kind == kind and one.ref == ref and one.line == line
            if same and (ref or wish in one.of or (mate and self._mates.get(index) == mate)):
                if wish not in one.of:
                    self.channels[index] = Channel(one.kind, ref, line, (*one.of, wish))
                return index
        self.channels.append(Channel("point" if kind == "point" else "angle", ref, line,
                                     (wish,)))
        self._mates[len(self.channels) - 1] = mate
        return len(self.channels) - 1

    _mates: dict[int, str] = field(default_factory=dict)

    def sample(self, channel: int, kind: int, reading: float = np.nan,
               target: complex = 0.0) -> int:
        """Note a sample; its index."""
        self.channel.append(channel)
        self.kind.append(kind)
        self.reading.append(reading)
        self.target.append(complex(target))
        return len(self.kind) - 1

    def row(self, sample: int, way: complex, scale: float, group: int = -1) -> int:
        """Note a row: Re(conj(way) · error of the sample) · scale; its index. A `way` of 0
        is found with the instant: along the normal of the trace, or of the curve."""
        self.row_sample.append(sample)
        self.row_way.append(complex(way))
        self.row_scale.append(scale)
        self.row_group.append(group)
        return len(self.row_sample) - 1

    def group(self) -> int:
        """A new constant that is free: rows of its group only count about their mean."""
        self.groups += 1
        return self.groups - 1


def indices(numbers: list[int]) -> Ints:
    """As an array of indices."""
    return np.array(numbers, np.intp)


def mask(kinds: list[int], kind: int) -> Bools:
    """(K,) which samples are of a kind."""
    chosen: NDArray[np.bool_] = np.array(kinds, np.intp) == kind
    return chosen


def floats(numbers: list[float]) -> Floats:
    """As an array of numbers."""
    return np.array(numbers, np.float64)
