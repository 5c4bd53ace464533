"""What is asked of `find`, taken from a sketch, and what a family can see of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import msgspec
import numpy as np

from core.errors import SketchError
from core.model import (
    Sketch,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)
from core.model.links import parts_of
from core.model.wanted import WantedMotion
from core.units import show_angle
from core.wanted.atlas.asking import Asked, asked
from core.wanted.engine import View
from core.wanted.engine.limits import Limits
from core.wanted.families import Family
from core.wanted.goals import Goals, goals

replace = msgspec.structs.replace

#: Bodies are tried for wished angles in at most so many orders.
_ORDERS = 6
#: Crank angles nearer than this are the same.
_SAME_DEG = 0.01
#: Places of a closed curve looked at, and as a first sieve.
_FINE, _COARSE = 64, 24


#: Name of what wishes of nothing yet share. (No part or point of a sketch has it: ids are
#: not blank.)
_SHARED = " "


@dataclass(frozen=True)
class Problem:
    """Wishes, attached to nothing, and what a mechanism has to mind.

    `sense` is the way round the crank is driven, `home` where a mechanism goes of which no
    place is wished, mm.
    """

    sketch: Sketch
    wishes: tuple[WantedMotion, ...]
    sense: int
    limits: Limits
    home: complex

    @property
    def start_free(self) -> bool:
        """As in the sketch's rules."""
        return self.sketch.fit.start_free

    def goals(self, turns: int = 1, coarse: bool = False) -> Goals:
        """The wishes compiled for mechanisms whose cycle is so many turns; `coarse` looks
        at fewer places of curves, to sieve by."""
        return _goals(self.wishes, self.sense, self.start_free, turns,
                      _COARSE if coarse else _FINE)

    @property
    def words(self) -> tuple[str, ...]:
        """What of the sketch says nothing to a search, in plain sentences."""
        names = [f"“{zone.id}”" for zone in self.sketch.zones if zone.points]
        if not names:
            return ()
        if len(names) == 1:
            return (f"The region {names[0]} is for points of parts that are there already: no "
                    "mechanism was looked for that minds it.",)
        return (f"The regions {', '.join(names)} are for points of parts that are there "
                "already: no mechanism was looked for that minds them.",)

    @cached_property
    def asked(self) -> Asked:
        """The wishes as the atlas understands them."""
        angles = [channel.of for channel in self.goals().channels if channel.kind == "angle"]
        return asked(self.wishes, angles, sense=self.sense, start_free=self.start_free)

    @cached_property
    def only_paths(self) -> bool:
        """Whether nothing but the path of a point is wished."""
        return all(channel.kind == "point" for channel in self.goals().channels)

    @cached_property
    def two_angles(self) -> bool:
        """Whether two bodies are to go at angles of their own."""
        poses = {wish.id for wish in self.wishes if isinstance(wish, WantedPose)}
        return sum(channel.kind == "angle" and poses.isdisjoint(channel.of)
                   for channel in self.goals().channels) > 1

    @cached_property
    def timed(self) -> bool:
        """Whether crank readings are in the wishes."""
        return bool(self.goals().timed.any())

    @cached_property
    def size_mm(self) -> float:
        """How large the wishes are; 0 where no place is wished."""
        places = [complex(x, y) for wish in self.wishes for x, y in _places(wish)]
        if not places:
            return 0.0
        return float(max(np.ptp(np.real(places)), np.ptp(np.imag(places))))

    def views(self, family: Family) -> tuple[View, ...]:
        """What of the family can stand for the channels of the goals, the likeliest first;
        none when the family cannot show them all."""
        return family.views(self.goals())[:_ORDERS]


@lru_cache(maxsize=32)
def _goals(wishes: tuple[WantedMotion, ...], sense: int, start_free: bool, turns: int,
           fineness: int) -> Goals:
    return goals(wishes, sense=sense, start_free=start_free, turns=turns, fineness=fineness)


def problem_of(sketch: Sketch) -> Problem:
    """What a sketch asks of `find`: the wishes attached to nothing, or, when there are
    none, all of them.

    Raises
    ------
    SketchError
        When nothing is wished, or the wishes say too little to find anything by.
    """
    loose = tuple(wish for wish in sketch.wanted if not parts_of(wish))
    wishes = _shared(loose or tuple(map(_detached, sketch.wanted)))
    if not wishes:
        raise SketchError("nothing is wished in this sketch", mend="draw a path on the paper")
    if not any(map(_tells, wishes)):
        raise SketchError(
            f"{wishes[0].id!r} alone says too little to find a mechanism by",
            mend="draw a path of two places or more, set two poses, or wish an angle, "
                 "a swing or a stroke")
    _check_poses(wishes)
    drive = sketch.drive
    sense = -1 if drive is not None and drive.rpm < 0 else 1
    zones = tuple(zone for zone in sketch.zones if not zone.points)
    return Problem(sketch, wishes, sense, Limits.of(sketch.fit, zones), _home(sketch))


def _check_poses(wishes: tuple[WantedMotion, ...]) -> None:
    """All poses are of one part here, which cannot be in two places at once."""
    poses = [wish for wish in wishes if isinstance(wish, WantedPose)]
    for k, one in enumerate(poses):
        for other in poses[:k]:
            apart = abs(math.remainder(one.crank_deg - other.crank_deg, 360.0))
            away = max(abs(one.x - other.x) / (one.tolerance_mm + other.tolerance_mm),
                       abs(math.remainder(one.angle_deg - other.angle_deg, 360.0))
                       / (one.tolerance_deg + other.tolerance_deg),
                       abs(one.y - other.y) / (one.tolerance_mm + other.tolerance_mm))
            if apart < _SAME_DEG and away > 1.0:
                raise SketchError(
                    f"{other.id!r} and {one.id!r} are different poses wanted at the same "
                    f"crank angle, {show_angle(one.crank_deg)}",
                    mend="give one of them another crank angle")


def _detached(wish: WantedMotion) -> WantedMotion:
    """The wish for a mechanism yet to be found. The name of its part or point stays: wishes
    of one thing will be of one thing again. (All poses are of one body anyway.)"""
    gone = {"line": (), "at": "", "toward": ""}
    return replace(wish, **{field: gone[field] for field in wish.__struct_fields__
                            if field in gone})


def _shared(wishes: tuple[WantedMotion, ...]) -> tuple[WantedMotion, ...]:
    """The wishes, rests and time ratios of nothing yet made those of the first wished angle
    or swing of nothing yet, else of the wished point: they say how a motion is to be, not
    that there is another."""
    part = next((k for k, wish in enumerate(wishes)
                 if isinstance(wish, WantedAngle | WantedSwing) and not wish.part), None)
    point = next((k for k, wish in enumerate(wishes)
                  if isinstance(wish, WantedPath | WantedStroke) and not wish.point), None)
    field, first = ("part", part) if part is not None else ("point", point)
    rests = [k for k, wish in enumerate(wishes) if isinstance(wish, WantedDwell | WantedRatio)
             and not wish.part and not wish.point]
    if first is None or not rests:
        return wishes
    return tuple(replace(wish, **{field: _SHARED}) if k == first or k in rests else wish
                 for k, wish in enumerate(wishes))


def _tells(wish: WantedMotion) -> bool:
    if wish.weight <= 0.0:
        return False
    match wish:
        case WantedDwell():  # what never moves rests
            return False
        case WantedPath(through=through):
            return len(set(through)) > 1
        case WantedAngle(knots=knots):
            return len(knots) > 1
        case WantedPose():
            return True
        case WantedStroke(start=start, end=end):
            return start != end
        case _:
            return True


def _places(wish: WantedMotion) -> tuple[tuple[float, float], ...]:
    match wish:
        case WantedPath(through=through):
            return through
        case WantedPose(x=x, y=y):
            return ((x, y),)
        case WantedStroke(start=start, end=end):
            return (start, end)
        case _:
            return ()


def _home(sketch: Sketch) -> complex:
    """Where a mechanism goes that may be anywhere: into the first region for pivots, else
    right of everything drawn."""
    for zone in sketch.zones:
        if zone.keep == "in" and not zone.points and zone.corners:
            return complex(*np.mean(zone.corners, axis=0))
    places = list(sketch.places().values())
    if not places:
        return 0j
    return complex(max(z.real for z in places) + 100.0, float(np.mean(np.imag(places))))
