"""What is asked of `find`, taken from a sketch, and what a family can see of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import msgspec
import numpy as np

from core.errors import SketchError
from core.model import Sketch, WantedAngle, WantedPath, WantedPose, WantedStroke
from core.model.links import parts_of
from core.model.wanted import WantedMotion
from core.wanted.atlas.asking import Asked, asked
from core.wanted.engine import View
from core.wanted.engine.limits import Limits
from core.wanted.families import Family
from core.wanted.goals import Goals, goals

replace = msgspec.structs.replace

#: Bodies are tried for wished angles in at most so many orders.
_ORDERS = 6
#: Places of a closed curve looked at, and as a first sieve.
_FINE, _COARSE = 64, 24


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
    wishes = loose or tuple(map(_detached, sketch.wanted))
    if not wishes:
        raise SketchError("nothing is wished in this sketch", mend="draw a path on the paper")
    if not any(map(_tells, wishes)):
        raise SketchError(
            f"{wishes[0].id!r} alone says too little to find a mechanism by",
            mend="draw a path of two places or more, set two poses, or wish an angle, "
                 "a swing or a stroke")
    drive = sketch.drive
    sense = -1 if drive is not None and drive.rpm < 0 else 1
    zones = tuple(zone for zone in sketch.zones if not zone.points)
    return Problem(sketch, wishes, sense, Limits.of(sketch.fit, zones), _home(sketch))


def _detached(wish: WantedMotion) -> WantedMotion:
    gone = {"point": "", "part": "", "line": (), "at": "", "toward": ""}
    return replace(wish, **{field: gone[field] for field in wish.__struct_fields__
                            if field in gone})


def _tells(wish: WantedMotion) -> bool:
    match wish:
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
        if zone.keep == "in" and not zone.points:
            return complex(*np.mean(zone.corners, axis=0))
    places = list(sketch.places().values())
    if not places:
        return 0j
    return complex(max(z.real for z in places) + 100.0, float(np.mean(np.imag(places))))
