"""Wanted motion: what the user asks of points and parts, and what a fit may change.

Places are mm in the sketch frame (they do not move with any part); crank angles are
readings of the crank, degrees; angles counter-clockwise positive. Every error is
measured in tolerances: a wish is met when no error is above its tolerance, and `weight`
says how much a wish counts against the others.

A wish whose point or part is empty is not attached to anything yet: `find` attaches it.
A `line` of two points of one part gives the part a direction, from the first to the
second; without it only changes of the part's angle count, not where it starts.
"""

from __future__ import annotations

from typing import Literal

import msgspec


class Tick(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True):
    """When the point is to be where: at `at` along the path (0 is the first place of
    `through`, 1.5 halfway from the second to the third) at that crank angle."""

    at: float
    crank_deg: float


class Knot(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True):
    """The angle wanted at a crank angle."""

    crank_deg: float
    angle_deg: float


class _Wish(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
            forbid_unknown_fields=True, tag_field="kind"):
    id: str
    weight: float = 1.0


class WantedPath(_Wish, frozen=True, tag="path"):
    """A path for `point`, in the order and direction of `through`.

    `curve` "smooth" is a spline through the places, "straight" a polyline, "places" asks
    for those places only. Without `ticks` the timing is free; with them it is tied at
    the ticks (a path through places may have a tick for each). `either_way` lets the
    direction, `any_order` also the order of places go.
    """

    through: tuple[tuple[float, float], ...]
    point: str = ""
    curve: Literal["smooth", "straight", "places"] = "smooth"
    closed: bool = True
    ticks: tuple[Tick, ...] = ()
    tolerance_mm: float = 1.0
    either_way: bool = False
    any_order: bool = False


class WantedAngle(_Wish, frozen=True, tag="angle"):
    """The angle of `part` as a curve over the crank angle, through `knots` in the order
    of their crank angles.

    `closed` repeats every turn of the crank; otherwise only the range from the first to
    the last knot counts. `curve` as of a path. `line` as told above.
    """

    knots: tuple[Knot, ...]
    part: str = ""
    line: tuple[str, ...] = ()
    curve: Literal["smooth", "straight", "places"] = "smooth"
    closed: bool = True
    tolerance_deg: float = 2.0


class WantedPose(_Wish, frozen=True, tag="pose"):
    """At that crank angle the point `at` is to be at (x, y) and the direction from it to
    `toward`, a point of the same part, to be `angle_deg`."""

    crank_deg: float
    x: float
    y: float
    angle_deg: float
    at: str = ""
    toward: str = ""
    tolerance_mm: float = 1.0
    tolerance_deg: float = 2.0


class WantedSwing(_Wish, frozen=True, tag="swing"):
    """`part` is to swing between two angles and no further; without a `line` only the
    size of the swing counts."""

    from_deg: float
    to_deg: float
    part: str = ""
    line: tuple[str, ...] = ()
    tolerance_deg: float = 2.0


class WantedStroke(_Wish, frozen=True, tag="stroke"):
    """`point` is to go to and fro between two places and no further."""

    start: tuple[float, float]
    end: tuple[float, float]
    point: str = ""
    tolerance_mm: float = 1.0


class WantedDwell(_Wish, frozen=True, tag="dwell"):
    """While the crank goes (forwards in its reading) from one angle to the other,
    `part` keeps its angle, or `point` its place."""

    from_deg: float
    to_deg: float
    part: str = ""
    point: str = ""
    tolerance_deg: float = 1.0
    tolerance_mm: float = 1.0


class WantedRatio(_Wish, frozen=True, tag="ratio"):
    """The longer of the two strokes of `part` (or `point`, along its longest way) is to
    take `ratio` times as long as the shorter, the crank turning evenly."""

    ratio: float
    part: str = ""
    point: str = ""
    tolerance: float = 0.05


WantedMotion = (WantedPath | WantedAngle | WantedPose | WantedSwing | WantedStroke
                | WantedDwell | WantedRatio)


class Zone(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True):
    """A region a fit keeps points in, or out of, over the whole turn.

    `points` empty means the fixed pivots. One corner is a place to be at, two are a
    straight line to stay on, more are a polygon.
    """

    id: str
    corners: tuple[tuple[float, float], ...]
    keep: Literal["in", "out"] = "in"
    points: tuple[str, ...] = ()


class LengthRule(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
                 forbid_unknown_fields=True):
    """Bounds on lengths, or lengths that stay equal, in a fit.

    `ends` are the ends of one or more lengths, two points of one part (or of the frame)
    for each: the first and second, the third and fourth, and so on.
    """

    id: str
    ends: tuple[str, ...]
    equal: bool = False
    shortest_mm: float | None = None
    longest_mm: float | None = None


class FitRules(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
               forbid_unknown_fields=True):
    """What a fit or find may change and must mind.

    `free` empty means every point that is not locked. `start_free` lets the zero of the
    crank's reading move, so that of timing only differences count. Bounds are on every
    link length. `transmission_deg` is the smallest transmission angle wanted. With
    `rocking` the crank may rock to and fro, over a stretch without locks in which all
    wishes are met, and need not go all the way round.
    """

    free: tuple[str, ...] = ()
    start_free: bool = True
    shortest_mm: float | None = None
    longest_mm: float | None = None
    transmission_deg: float = 40.0
    mind_gaps: bool = False
    mind_torque: bool = False
    rocking: bool = False
