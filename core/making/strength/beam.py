"""A rod as a beam: matrices that turn the forces of its stations into bending moment, shear
and what its supports bear. They hang on where things sit along the rod, not on the turn.

A part that is no support spreads its force evenly over its bore. Two supports share by the
lever rule, more as equally stiff springs under a stiff rod (first order, textbook). A single
support takes force and couple over the length of its bore, the pressure along it falling in
a straight line from one edge to the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from core.making.rods import Rod
from core.motion.turn import Floats

#: Places looked at within a support: an overhung rod bends most inside its bore.
_INSIDE = np.linspace(0.0, 1.0, 9)


@dataclass(frozen=True)
class Beam:
    """Forces f (N, K) at the stations give ``f @ moment`` at the sections, and so on.

    `at_mm` (J,) sections; `moment` (K, J) mm; `shear` (K, J); `share` (K, K) what each
    station bears in truth; `couple` (K,) mm what a single support bears besides. The same
    for a unit force of the hand: `hand_…`, zeros where there is no grip.
    `slope` (K, K) mm²: divided by the rod's stiffness E·I, how much it stands askew (rad) in
    the middle of each station, from the line through its supports.
    `below`, `above` (J,): columns of the torque passed next to each section.
    """

    at_mm: Floats
    moment: Floats
    shear: Floats
    share: Floats
    couple: Floats
    hand_moment: Floats
    hand_shear: Floats
    hand_share: Floats
    hand_couple: float
    slope: Floats
    below: tuple[int, ...]
    above: tuple[int, ...]


@lru_cache(maxsize=512)
def beam(rod: Rod) -> Beam:
    """The matrices of a rod: from forces and torques at its stations to what it bears, see
    :class:`Beam`."""
    first = np.array([s.from_mm for s in rod.stations])
    last = np.array([s.to_mm for s in rod.stations])
    middle, length = (first + last) / 2, np.maximum(last - first, 1e-6)
    at = [first, middle, last]
    at += [first[k] + _INSIDE * length[k] for k in rod.supports]
    sections = np.unique(np.concatenate(at).round(9))
    count = middle.size
    points = middle if rod.grip_mm is None else np.append(middle, rod.grip_mm)
    bear, couple = _shared(points, rod, count)
    depth = np.clip(sections[None, :] - first[:, None], 0.0, length[:, None])
    lever = depth**2 / (2 * length[:, None]) + np.maximum(
        sections[None, :] - last[:, None], 0.0)
    part = depth / length[:, None]
    moment, shear = bear[:, :count] @ lever, bear[:, :count] @ part
    if rod.grip_mm is not None:
        beyond = sections > rod.grip_mm
        moment[count] += np.where(beyond, sections - rod.grip_mm, 0.0)
        shear[count] += beyond
    alone = rod.supports if len({middle[k] for k in rod.supports}) == 1 else ()
    for k in alone:
        up = np.clip(sections - middle[k], -length[k] / 2, length[k] / 2)
        own = couple[:, None] / len(alone)
        moment += own * (12 / length[k]**3 * (
            up**3 / 6 - up * length[k]**2 / 8 - length[k]**3 / 24))
        shear += own * (6 / length[k]**3 * (up**2 - length[k]**2 / 4))
    hand = rod.grip_mm is not None
    none = np.zeros(sections.size)
    return Beam(
        sections, moment[:count], shear[:count], bear[:count, :count], couple[:count],
        moment[count] if hand else none, shear[count] if hand else none,
        bear[count, :count] if hand else np.zeros(count),
        float(couple[count]) if hand else 0.0,
        moment[:count] @ _slopes(sections, middle, [middle[k] for k in rod.supports]),
        tuple(int(np.sum(middle < z)) for z in sections),
        tuple(int(np.sum(middle <= z)) for z in sections))


def _shared(points: Floats, rod: Rod, count: int) -> tuple[Floats, Floats]:
    """What the stations bear (L, K) of a unit force at each of L places, and the couple (L,)
    left to a single support. Forces of the supports themselves follow from the others."""
    supports = list(rod.supports)
    bear = np.zeros((points.size, count))
    couple = np.zeros(points.size)
    mean = points[supports].mean()
    off = points[supports] - mean
    spread = float(np.sum(off**2))
    for load in range(points.size):
        if load in supports:
            continue
        if load < count:
            bear[load, load] = 1.0
        arm = points[load] - mean
        tilt = arm * off / spread if spread > 0.0 else 0.0 * off
        bear[load, supports] -= 1.0 / len(supports) + tilt
        if spread == 0.0:
            couple[load] = -arm
    return bear, couple


def _slopes(sections: Floats, middle: Floats, supports: list[float]) -> Floats:
    """(J, K): bending moments at the sections to slopes · E·I in the middle of the stations.

    Slope and sag are the first and second integral of moment / (E·I) (Euler–Bernoulli), by
    the trapezoidal rule; one support holds the rod straight in its middle, several at rest
    at the outermost two.
    """
    step = np.diff(sections)
    turned = np.zeros((sections.size, sections.size))  # moments to slopes at the sections
    turned[1:, :-1] += np.tril(np.broadcast_to(step / 2, (step.size, step.size)))
    turned[1:, 1:] += np.tril(np.broadcast_to(step / 2, (step.size, step.size)))
    sagged = np.zeros_like(turned)
    sagged[1:] = np.cumsum(step[:, None] * (turned[1:] + turned[:-1]) / 2, axis=0)
    at = [int(np.argmin(np.abs(sections - z))) for z in middle]
    first, last = (int(np.argmin(np.abs(sections - z)))
                   for z in (min(supports), max(supports)))
    base = turned[first] if first == last else (
        (sagged[last] - sagged[first]) / (sections[last] - sections[first]))
    slopes: Floats = (turned[at] - base).T
    return slopes
