"""How each step of a recipe is solved, with derivatives: one rule for each kind.

Both dyads are two conditions on the pin C: p·dC = α and q·dC = β, where p is the link
from A to C and q the second link, or the guide's normal. The cosine between p and q,
worked out from the lengths alone, is the dyad's margin: ±1 where its two solutions meet
and it locks, beyond that it cannot be put together, 0 at the best transmission. (Circle
and line intersection as in any kinematics textbook; transmission angle as in R. L.
Norton, *Design of Machinery*, ch. 3 and 4.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.wanted.engine.jets import Floats, Heading, Place, Rows, dot, left, tail, total

#: Where a dyad cannot be put together its sine is taken to be this, so that numbers stay
#: finite; such places are told as not reached.
LEAST_SINE = 1e-6


@dataclass(frozen=True)
class Margin:
    """Cosine between the two links of a dyad, or of the link and the guide's normal.

    `cosine` (M, N); `rows` and `by` (R, M, N′) its derivatives, at the last N′ crank angles.
    """

    cosine: Floats
    rows: Rows
    by: Floats


@dataclass(frozen=True)
class Meeting:
    """A solved dyad: the pin, the way `arm` (2, M, N) from A to it, and its margin."""

    pin: Place
    arm: Floats
    margin: Margin


def crank_heading(psi: Floats, ratio: float, slope: int, phase: int | None,
                  derive: bool) -> Heading:
    """A crank at the angle `psi` (M or 1, N); `slope` is the row of the crank angle and
    `phase` that of its phase."""
    unit = np.stack([np.cos(psi), np.sin(psi)])
    rows: Rows = (slope,) if phase is None else (slope, phase)
    rates = [ratio, 1.0][: len(rows)] if derive else []
    by = np.array(rates).reshape(-1, 1, 1)
    return Heading(unit, rows if derive else (), by, psi)


def on_body(origin: Place, heading: Heading, u: Floats, v: Floats, rows: Rows,
            derive: bool) -> Place:
    """A point of a body at u (M, 1) along its axis and v left of it. `rows` are those of
    u and v; with one row, v is nothing."""
    across = left(heading.unit)
    arm = u * heading.unit
    if len(rows) > 1:
        arm = arm + v * across
    at = origin.at + arm
    if not derive:
        return Place(at, (), np.empty((0, 2, 1, 1)))
    own = heading.unit[None] if len(rows) == 1 else np.stack([heading.unit, across])
    swung = left(arm)
    return Place(at, *total((heading.rows, heading.by, swung),
                            (origin.rows, origin.by), (rows, own)))


def two_links(a: Place, b: Place, length: tuple[Floats, Floats], rows: tuple[int, int],
              sign: Floats, derive: bool, margin_from: int = 0) -> Meeting:
    """The pin C of two links from A and B; sign +1: C lies left of the way from A to B.
    Derivatives of the margin are for the crank angles from `margin_from` on."""
    one, two = length
    way = b.at - a.at
    span = dot(way, way)
    scale = 1 / (one * two)
    cosine = (0.5 * scale) * ((one * one + two * two) - span)
    area = np.sqrt(np.maximum(1 - cosine * cosine, LEAST_SINE**2)) * sign / scale
    with np.errstate(divide="ignore", invalid="ignore"):
        along = 0.5 + (0.5 * (one * one - two * two)) / span
        arm = along * way + (area / span) * left(way)
    pin = a.at + arm
    if not derive:
        return Meeting(Place(pin, (), a.by[:0]), arm, Margin(cosine, (), cosine[None][:0]))
    rest = arm - way
    # cos = (a² + b² − d²) / 2ab
    spread, flat = -scale * tail(way, margin_from), tail(cosine, margin_from)
    margin = total((b.rows, dot(tail(b.by, margin_from), spread)),
                   (a.rows, dot(tail(a.by, margin_from), -spread)),
                   (rows, np.stack([1 / two - flat / one, 1 / one - flat / two])))
    return Meeting(
        Place(pin, *_meet(arm, rest, area, a, one, rows[0], b, two, rows[1])), arm,
        Margin(cosine, *margin))


def _meet(p: Floats, q: Floats, cross: Floats, a: Place, one: Floats, row_a: int,
          b: Place, two: Floats, row_b: int) -> tuple[Rows, Floats]:
    """Derivatives of C from p·dC = p·dA + a da and q·dC = q·dB + b db; `cross` is p × q."""
    to_alpha, to_beta = -left(q) / cross, left(p) / cross
    return total((a.rows, dot(p, a.by), to_alpha), ((row_a,), one[None], to_alpha),
                 (b.rows, dot(q, b.by), to_beta), ((row_b,), two[None], to_beta))


def on_guide(a: Place, about: Place, length: Floats, direction: Floats, offset: Floats,
             rows: tuple[int, int, int], sign: Floats, derive: bool,
             margin_from: int = 0) -> Meeting:
    """The pin C of a link from A and a straight guide that passes `offset` left of
    `about`; sign +1: C is ahead of A along the guide. `rows` are those of the length, the
    direction and the offset; `margin_from` as of `two_links`."""
    along = np.stack([np.cos(direction), np.sin(direction)])
    normal = left(along)
    drop = offset - dot(normal, a.at - about.at)          # of C over A, across the guide
    cosine = drop / length
    ahead = np.sqrt(np.maximum(1 - cosine * cosine, LEAST_SINE**2)) * length * sign
    arm = ahead * along + drop * normal
    pin = a.at + arm
    if not derive:
        return Meeting(Place(pin, (), a.by[:0]), arm, Margin(cosine, (), cosine[None][:0]))
    # n·dC = n·d(about) + dh + (C − about)·e dδ; of that and of A's the drop follows
    run = dot(along, pin - about.at)
    to_beta, to_alpha = left(arm) / ahead, -left(normal) / ahead
    place = total((a.rows, dot(arm, a.by), to_alpha), (rows[:1], length[None], to_alpha),
                  (about.rows, dot(normal, about.by), to_beta),
                  (rows[1:], np.stack([run, np.ones_like(run)]), to_beta))
    start, flat = tail(dot(along, a.at - about.at), margin_from), tail(cosine, margin_from)
    margin = total((a.rows, -dot(normal, tail(a.by, margin_from)) / length),
                   (about.rows, dot(normal, about.by) / length),
                   (rows, np.stack(np.broadcast_arrays(-flat / length, start / length,
                                                       1 / length))))
    return Meeting(Place(pin, *place), arm, Margin(cosine, *margin))


def link_heading(origin: Place, pin: Place, arm: Floats, length: Floats,
                 derive: bool) -> Heading:
    """The heading of a link whose way from its origin to its pin is `arm`."""
    unit = arm / length
    if not derive:
        return Heading(unit, (), origin.by[:0, 0])
    across = left(unit) / length
    return Heading(unit, *total((pin.rows, dot(across, pin.by)),
                                (origin.rows, -dot(across, origin.by))))


def slotted(about: Place, pin: Place, derive: bool) -> Heading:
    """The heading of a lever about `about` with `pin` in a slot along its axis."""
    arm = pin.at - about.at
    distance = np.sqrt(dot(arm, arm))
    return link_heading(about, pin, arm, np.maximum(distance, 1e-300), derive)
