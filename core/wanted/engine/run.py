"""Runs a recipe: M mechanisms at N crank angles, with derivatives by all parameters."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.wanted.engine import rules
from core.wanted.engine.jets import Floats, Heading, Place
from core.wanted.engine.mechanisms import Complexes, Mechanisms
from core.wanted.engine.recipe import (
    BodyPoint,
    Crank,
    Dyad,
    FramePoint,
    Recipe,
    SlideDyad,
    SlottedLever,
    Step,
)


@dataclass
class Run:
    """A recipe run: places and headings by name, dyads in the order of the recipe.

    Attributes
    ----------
    shape : (M, N).
    places : points of the frame, pins and points on bodies.
    margins : the dyads' margins (see `rules.Margin`).
    headings : bodies; those of links are worked out when asked for, from `links`: where
        they hang, their pin, the way to it and their length.
    """

    recipe: Recipe
    shape: tuple[int, int]
    derive: bool = True
    margin_from: int = 0
    places: dict[str, Place] = field(default_factory=dict)
    margins: list[rules.Margin] = field(default_factory=list)
    headings: dict[str, Heading] = field(default_factory=dict)
    links: dict[str, tuple[Place, Place, Floats, Floats]] = field(default_factory=dict)

    def point(self, name: str) -> Complexes:
        """Where a point is, (M, N) complex mm; raises KeyError for an unknown one."""
        at = self.places[name].at
        return np.broadcast_to(at[0] + 1j * at[1], self.shape)

    def heading(self, body: str) -> Heading:
        """The heading of a body; raises KeyError for an unknown one."""
        if body not in self.headings:
            self.headings[body] = rules.link_heading(*self.links[body], self.derive)
        return self.headings[body]

    def angle(self, body: str) -> Floats:
        """The angle of a body's axis, (M, N) rad: of a crank as it has turned, of others
        within −π … π; raises KeyError for an unknown one."""
        heading = self.heading(body)
        angle = (np.arctan2(heading.unit[1], heading.unit[0]) if heading.angle is None
                 else heading.angle)
        return np.broadcast_to(angle, self.shape)

    def point_rates(self, name: str) -> tuple[Complexes, Complexes]:
        """Derivatives of a point's place: by the crank angle (M, N), mm/rad, and by every
        parameter (M, N, P)."""
        place = self.places[name]
        rates = np.zeros((self._rows, *self.shape), np.complex128)
        for row, by in zip(place.rows, place.by, strict=True):
            rates[row].real, rates[row].imag = by
        return rates[-1], np.moveaxis(rates[:-1], 0, -1)

    def angle_rates(self, body: str) -> tuple[Floats, Floats]:
        """Derivatives of a body's angle: by the crank angle (M, N) and by every parameter
        (M, N, P)."""
        heading = self.heading(body)
        rates = np.zeros((self._rows, *self.shape))
        for row, by in zip(heading.rows, heading.by, strict=True):
            rates[row] = by
        return rates[-1], np.moveaxis(rates[:-1], 0, -1)

    @property
    def _rows(self) -> int:
        return len(self.recipe.parameters) + 1

    def cosines(self) -> Floats:
        """Margin cosines of all dyads, (D, M, N); a dyad locks where it reaches ±1."""
        if not self.margins:
            return np.zeros((0, *self.shape))
        return np.stack([np.broadcast_to(margin.cosine, self.shape)
                         for margin in self.margins])

    @property
    def reached(self) -> NDArray[np.bool_]:
        """(M, N): where every dyad can be put together."""
        closed: NDArray[np.bool_] = np.all(np.abs(self.cosines()) < 1, axis=0)
        return closed


def run(recipe: Recipe, mechanisms: Mechanisms, crank_rad: Floats, *,
        derive: bool = True, margin_from: int = 0) -> Run:
    """Places of all points and angles of all bodies, and with `derive` their derivatives.

    Parameters
    ----------
    crank_rad : (N,) the same for all, or (M, N); the crank's axis points along x at 0.
    margin_from : derivatives of margins are had for the crank angles from this index on.

    Where a dyad cannot be put together it is taken as just flat: places are finite, and
    `Run.reached` is False.
    """
    crank = np.atleast_2d(np.asarray(crank_rad, dtype=np.float64))
    done = Running(recipe, mechanisms, crank, derive, margin_from)
    for step in recipe.steps:
        done.take(step)
    return done.run


class Running:
    """The state of one run."""

    def __init__(self, recipe: Recipe, mechanisms: Mechanisms, crank: Floats,
                 derive: bool, margin_from: int = 0) -> None:
        self.row, self.crank, self.derive = recipe.row, crank, derive
        self.numbers = np.ascontiguousarray(mechanisms.params.T)[:, :, None]
        self.signs = mechanisms.signs.T[:, :, None].astype(np.float64)
        self.slope = len(recipe.parameters)
        self.run = Run(recipe, (len(mechanisms), crank.shape[1]), derive, margin_from)

    def number(self, name: str) -> Floats:
        row: Floats = self.numbers[self.row[name]]
        return row

    def take(self, step: Step) -> None:
        """Solve one step."""
        places, row, derive = self.run.places, self.row, self.derive
        match step:
            case FramePoint(point):
                at = np.stack([self.number(f"{point}.x"), self.number(f"{point}.y")])
                rows = (row[f"{point}.x"], row[f"{point}.y"]) if derive else ()
                places[point] = Place(at, rows, np.eye(2)[: len(rows), :, None, None])
            case Crank(body, about, pin, ratio, phased):
                psi = self.crank * float(ratio)
                phase = f"{body}.phase"
                if phased:
                    psi = psi + self.number(phase)
                heading = rules.crank_heading(psi, float(ratio), self.slope,
                                              row[phase] if phased else None, derive)
                self.run.headings[body] = heading
                length = self.number(body)
                places[pin] = rules.on_body(places[about], heading, length, length,
                                            (row[body],), derive)
            case Dyad(pin, first, second):
                one, two = places[first.at], places[second.at]
                lengths = self.number(first.body), self.number(second.body)
                met = rules.two_links(one, two, lengths, (row[first.body], row[second.body]),
                                      self._sign(), derive, self.run.margin_from)
                self._met(pin, met)
                self.run.links[first.body] = one, met.pin, met.arm, lengths[0]
                self.run.links[second.body] = two, met.pin, met.pin.at - two.at, lengths[1]
            case SlideDyad(pin, link, sled, about):
                names = (link.body, f"{sled}.direction", f"{sled}.offset")
                length, direction, offset = (self.number(name) for name in names)
                met = rules.on_guide(places[link.at], places[about], length, direction, offset,
                                     (row[names[0]], row[names[1]], row[names[2]]),
                                     self._sign(), derive, self.run.margin_from)
                self._met(pin, met)
                self.run.links[link.body] = places[link.at], met.pin, met.arm, length
            case SlottedLever(body, about, pin):
                self.run.headings[body] = rules.slotted(places[about], places[pin], derive)
            case BodyPoint(point, body):
                origin = places[self.run.recipe.origin[body]]
                names2 = f"{point}.u", f"{point}.v"
                places[point] = rules.on_body(
                    origin, self.run.heading(body), self.number(names2[0]),
                    self.number(names2[1]), (row[names2[0]], row[names2[1]]), derive)

    def _sign(self) -> Floats:
        sign: Floats = self.signs[len(self.run.margins)]
        return sign

    def _met(self, pin: str, met: rules.Meeting) -> None:
        self.run.places[pin] = met.pin
        self.run.margins.append(met.margin)
