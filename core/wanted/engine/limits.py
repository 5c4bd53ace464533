"""What a mechanism must keep to while it descends, as residuals beside the goals'.

Each is a hinge: nothing within the limit, growing in proportion beyond it, in tolerances
like the goals, with its derivatives by the parameters.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians

import numpy as np

from core.model import Zone
from core.model.wanted import FitRules
from core.wanted.borders import inside, nearest_on
from core.wanted.engine.mechanisms import Bools, Complexes, Floats, Ints, Mechanisms
from core.wanted.engine.recipe import BodyPoint, Crank, Dyad, FramePoint, Recipe, SlideDyad
from core.wanted.engine.run import Run

#: Tolerances for a length or place wrong by the mechanism's own size.
STIFF = 1000.0
#: Tolerances for a cosine of the transmission angle too great by one.
SOFT = 8.0
#: A dyad this near to locking is held back, whatever transmission angle is asked: at that
#: cosine a slope begins, and at 1 it is so many tolerances high.
WALL_AT, WALL = cos(radians(1.0)), 1.0


@dataclass(frozen=True)
class Limits:
    """Limits on mechanisms.

    Attributes
    ----------
    transmission_deg : the smallest transmission angle wanted, over the whole turn.
    shortest_mm, longest_mm : bounds on every length between joints of one body, the frame
        too.
    zones : where the fixed pivots are to be; one of a single corner is for the crank's
        pivot alone. Zones of points are not looked at.
    """

    transmission_deg: float = 40.0
    shortest_mm: float | None = None
    longest_mm: float | None = None
    zones: tuple[Zone, ...] = ()

    @classmethod
    def of(cls, rules: FitRules, zones: tuple[Zone, ...] = ()) -> Limits:
        """As a sketch's rules of fit and zones say."""
        return cls(rules.transmission_deg, rules.shortest_mm, rules.longest_mm,
                   tuple(zone for zone in zones if zone.corners and not zone.points))


#: Local coordinates of a joint on its body: rows of the parameters, −1 for nothing.
_Local = tuple[int, int]


def spans(recipe: Recipe) -> list[tuple[_Local, _Local]]:
    """Pairs of joints of one body, as rows of their coordinates on it."""
    row = recipe.row
    used: set[str] = set()
    on: dict[str, dict[str, _Local]] = {"": {}}
    for step in recipe.steps:
        match step:
            case FramePoint(point):
                on[""][point] = row[f"{point}.x"], row[f"{point}.y"]
            case Crank(body, about, pin):
                on[body] = {about: (-1, -1), pin: (row[body], -1)}
                used |= {about, pin}
            case Dyad(pin, first, second):
                for link in (first, second):
                    on[link.body] = {link.at: (-1, -1), pin: (row[link.body], -1)}
                used |= {first.at, second.at, pin}
            case SlideDyad(pin, link):
                on[link.body] = {link.at: (-1, -1), pin: (row[link.body], -1)}
                used |= {link.at, pin}
            case BodyPoint(point, body):
                on.setdefault(body, {})[point] = row[f"{point}.u"], row[f"{point}.v"]
            case _:
                used.add(step.about)
                on[step.body] = {step.about: (-1, -1)}
    pairs = []
    for joints in on.values():
        here = [local for point, local in joints.items() if point in used]
        pairs += [(one, other) for k, one in enumerate(here) for other in here[k + 1:]]
    return pairs


class Hinges:
    """The residuals of limits for mechanisms of a recipe; `scale` (M,) mm, their sizes when
    the descent began."""

    def __init__(self, recipe: Recipe, limits: Limits, mechanisms: Mechanisms) -> None:
        self.recipe, self.limits = recipe, limits
        rows = [k for k, own in enumerate(recipe.parameters) if own.kind == "length"]
        self.scale: Floats = np.sqrt(np.mean(mechanisms.params[:, rows] ** 2, axis=1))
        self.spans = spans(recipe) if limits.shortest_mm or limits.longest_mm else []
        pivots = [step.point for step in recipe.steps if isinstance(step, FramePoint)]
        self.places = [(recipe.row[f"{point}.x"], zone) for zone in limits.zones
                       for point in (pivots if len(zone.corners) > 1 else pivots[:1])]
        self.dyads = len(recipe.dyads)
        self.transmission_deg = limits.transmission_deg

    def residuals(self, mechanisms: Mechanisms, done: Run, which: Ints
                  ) -> tuple[Floats, Floats | None, Bools]:
        """Hinges (M, R) in tolerances, their derivatives (M, R, P) if the run has them, and
        which mechanisms (M,) can be put together at their extremes.

        The last 2D crank angles of the run are where the dyads' cosines are greatest and
        least, two for each; from there on it has derivatives of margins. `which` (M,) are
        the mechanisms' places among all.
        """
        values: list[Floats] = []
        rates: list[Floats] = []
        whole = np.ones(len(mechanisms), dtype=np.bool_)
        first = done.shape[1] - 2 * self.dyads
        for k, margin in enumerate(done.margins):
            cosine = np.broadcast_to(margin.cosine, done.shape)[:, first + 2 * k:][:, :2]
            whole &= np.all(np.abs(cosine) < 1, axis=1)
            value, slope = self._margin(np.abs(cosine))
            values.append(value)
            if done.derive:
                by = np.zeros((len(self.recipe.parameters) + 1, len(mechanisms), 2))
                for row, own in zip(margin.rows, margin.by, strict=True):
                    by[row] = own[:, 2 * k:2 * k + 2]
                rates.append(np.moveaxis(by[:-1], 0, -1)
                             * (slope * np.sign(cosine))[:, :, None])
        scale = STIFF / self.scale[which]
        for one, other in self.spans:
            self._length(mechanisms.params, one, other, scale, values, rates)
        for row, zone in self.places:
            self._place(mechanisms.params, row, zone, scale, values, rates)
        joint = np.concatenate(values, axis=1) if values else np.zeros((len(mechanisms), 0))
        if not done.derive:
            return joint, None, whole
        count = len(self.recipe.parameters)
        return joint, (np.concatenate(rates, axis=1) if rates
                       else np.zeros((len(mechanisms), 0, count))), whole

    def stiff(self, params: Floats) -> Floats:
        """(M,) the worst length or place off its limits, as a share of the size."""
        values: list[Floats] = [np.zeros((len(params), 1))]
        for one, other in self.spans:
            self._length(params, one, other, 1 / self.scale, values, [])
        for row, zone in self.places:
            self._place(params, row, zone, 1 / self.scale, values, [])
        worst: Floats = np.abs(np.concatenate(values, axis=1)).max(axis=1)
        return worst

    def _margin(self, cosine: Floats) -> tuple[Floats, Floats]:
        """Hinge of a cosine (M, 2) ≥ 0 and its slope: the limit, and the wall before 1."""
        most = cos(radians(self.transmission_deg))
        near = np.maximum(cosine - WALL_AT, 0) / (1 - WALL_AT)
        value = SOFT * np.maximum(cosine - most, 0) + WALL * near**2
        slope = SOFT * (cosine > most) + 2 * WALL / (1 - WALL_AT) * near
        return value, slope

    def _length(self, params: Floats, one: _Local, other: _Local, scale: Floats,
                values: list[Floats], rates: list[Floats]) -> None:
        """Hinge of a length between two joints of a body."""
        way = [(params[:, b] if b >= 0 else 0.0) - (params[:, a] if a >= 0 else 0.0)
               for a, b in zip(one, other, strict=True)]
        length = np.maximum(np.hypot(way[0], way[1]), 1e-300)
        over = (np.maximum(length - self.limits.longest_mm, 0.0)
                if self.limits.longest_mm is not None else np.zeros_like(length))
        if self.limits.shortest_mm is not None:
            over -= np.maximum(self.limits.shortest_mm - length, 0.0)
        values.append((over * scale)[:, None])
        by = np.zeros((*params.shape, 1))
        for a, b, part in zip(one, other, way, strict=True):
            slope = scale * part / length * (over != 0)
            if b >= 0:
                by[:, b, 0] += slope
            if a >= 0:
                by[:, a, 0] -= slope
        rates.append(np.moveaxis(by, 2, 1))

    def _place(self, params: Floats, row: int, zone: Zone, scale: Floats,
               values: list[Floats], rates: list[Floats]) -> None:
        """Hinge of a fixed pivot and a zone: the way from the nearest allowed place."""
        at = params[:, row] + 1j * params[:, row + 1]
        off, along, active = strays(zone, at)
        value = np.stack([off.real, off.imag], axis=1) * scale[:, None]
        by = np.zeros((len(params), 2, params.shape[1]))
        flat = np.stack([along.real, along.imag], axis=1)
        block = np.eye(2) - flat[:, :, None] * flat[:, None, :]
        by[:, :, row:row + 2] = block * (scale * active)[:, None, None]
        values.append(value)
        rates.append(by)


def strays(zone: Zone, at: Complexes) -> tuple[Complexes, Complexes, Bools]:
    """How far places (M,) are from where a zone wants them.

    Returns the way (M,) from the nearest allowed place, the unit direction (M,) along the
    border there (0 at a corner), and which (M,) are off.
    """
    corners = np.array([complex(*corner) for corner in zone.corners])
    start = corners if len(corners) != 2 else corners[:1]
    end = np.roll(corners, -1) if len(corners) != 2 else corners[1:]
    share, away = nearest_on(at[:, None], start, end)
    each, best = np.arange(len(at)), np.argmin(np.abs(away), axis=1)
    off, share = away[each, best], share[each, best]
    side = (end - start)[best]
    along = np.where((share > 0) & (share < 1), side / np.maximum(np.abs(side), 1e-300), 0)
    if len(corners) < 3:
        return off, along, np.ones(len(at), dtype=np.bool_)
    active = inside(corners, at) if zone.keep == "out" else ~inside(corners, at)
    return np.where(active, off, 0), along, active
