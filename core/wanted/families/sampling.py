"""Random mechanisms of any recipe that go all round, well spread.

A recipe is run step by step over the whole cycle and every dyad is given lengths that
close at the distances its ends really have, with the transmission angle kept above a
limit; so hardly a draw is wasted, however long the chain. Sizes are in units of the crank.
"""

from __future__ import annotations

from math import ceil

import numpy as np

from core.wanted.engine import (
    BodyPoint,
    Crank,
    Dyad,
    FramePoint,
    Mechanisms,
    Recipe,
    SlideDyad,
    SlottedLever,
    joined,
)
from core.wanted.engine.jets import Floats, dot, left
from core.wanted.engine.mechanisms import Complexes
from core.wanted.engine.recipe import Step
from core.wanted.engine.run import Running

#: Crank angles to a turn of the quickest crank at which a draw is looked at.
STEPS = 72
#: Distances of the first fixed pivots, and of later ones, in cranks (least, most).
_GROUND = (0.3, 8.0)
#: Ratio of the two links of a dyad, and of two cranks.
_RATIO, _CRANKS = (0.25, 4.0), (0.25, 2.5)
#: A slotted lever keeps its pivot this far, in cranks, from the crank pin's circle.
_CLEAR = 0.12
#: Draws at once, and rounds before a recipe is given up.
_BATCH, _ROUNDS = 4096, 400


def sample(recipe: Recipe, rng: np.random.Generator, count: int,
           transmission_deg: float = 20.0) -> Mechanisms:
    """`count` random mechanisms whose crank goes all round.

    The first fixed pivot is at 0 and the crank 1 mm long; `engine.moved` brings them to
    size. Every dyad's transmission angle stays at `transmission_deg` or above.

    Raises
    ------
    ValueError
        When a recipe can hardly ever go round under that limit.
    """
    found: list[Mechanisms] = []
    have = 0
    for _ in range(_ROUNDS):
        drawn = _draw(recipe, rng, min(_BATCH, 2 * count + 64), transmission_deg)
        found.append(drawn)
        have += len(drawn)
        if have >= count:
            return joined(found)[:count]
    raise ValueError(f"only {have} of {count} mechanisms found")


def _draw(recipe: Recipe, rng: np.random.Generator, count: int,
          transmission_deg: float) -> Mechanisms:
    quickest = max(ceil(abs(step.ratio)) for step in recipe.steps if isinstance(step, Crank))
    angles: Floats = np.linspace(0.0, 2 * np.pi * recipe.turns,
                                 STEPS * quickest * recipe.turns, endpoint=False)
    blank = Mechanisms(np.ones((count, len(recipe.parameters))),
                       rng.choice(np.array([-1, 1], np.int8), (count, len(recipe.dyads))))
    draw = _Draw(Running(recipe, blank, angles[None], derive=False), rng,
                 np.cos(np.radians(transmission_deg)))
    for step in recipe.steps:
        draw.fill(step)
        draw.running.take(step)
    draw.good &= np.all(np.abs(draw.running.run.cosines()) <= draw.most, axis=(0, 2))
    params = np.ascontiguousarray(draw.running.numbers[:, :, 0].T)
    return Mechanisms(params, blank.signs)[draw.good]


class _Draw:
    """A draw in the making: `good` (M,) are those that can still go round."""

    def __init__(self, running: Running, rng: np.random.Generator, most: float) -> None:
        self.running, self.rng, self.most = running, rng, most
        self.count = running.run.shape[0]
        self.good = np.ones(self.count, dtype=np.bool_)

    def fill(self, step: Step) -> None:
        """Draw the parameters of a step."""
        places = self.running.run.places
        match step:
            case FramePoint(point):
                at = (self._spread(_GROUND) * self._directions() if places
                      else np.zeros(self.count, complex))
                self._put(**{f"{point}.x": at.real, f"{point}.y": at.imag})
            case Crank(body, _, _, _, phased):
                first = not self.running.run.headings
                self._put(**{body: np.ones(self.count) if first else self._spread(_CRANKS)})
                if phased:
                    self._put(**{f"{body}.phase": self.rng.uniform(-np.pi, np.pi, self.count)})
            case Dyad(_, one, two):
                way = places[two.at].at - places[one.at].at
                distance = np.sqrt(dot(way, way))
                ratio = self._spread(_RATIO)
                square, double = 1 + ratio**2, 2 * ratio * self.most
                longest = distance.min(axis=1) / np.sqrt(square - double)
                shortest = distance.max(axis=1) / np.sqrt(square + double)
                self.good &= shortest < longest
                second = shortest + (longest - shortest) * self.rng.random(self.count)
                self._put(**{one.body: ratio * second, two.body: second})
            case SlideDyad(_, link, sled, about):
                direction = self.rng.uniform(-np.pi, np.pi, self.count)
                offset = self.rng.uniform(-2.0, 2.0, self.count)
                along = np.stack([np.cos(direction), np.sin(direction)])[:, :, None]
                lift = dot(left(along), places[link.at].at - places[about].at)
                least = np.abs(offset[:, None] - lift).max(axis=1) / self.most
                self._put(**{link.body: least * self._spread((1.0, 4.0)),
                             f"{sled}.direction": direction, f"{sled}.offset": offset})
            case SlottedLever(_, about, pin):
                way = places[pin].at - places[about].at
                self.good &= np.sqrt(dot(way, way)).min(axis=1) > _CLEAR
            case BodyPoint(point, body):
                self._on_body(point, body)

    def _on_body(self, point: str, body: str) -> None:
        """Within 1½ lengths of the middle of the body, evenly over that disc."""
        length = (self.running.number(body)[:, 0] if body in self.running.row
                  else np.full(self.count, 2.0))
        at = length * (0.5 + 1.5 * np.sqrt(self.rng.random(self.count)) * self._directions())
        self._put(**{f"{point}.u": at.real, f"{point}.v": at.imag})

    def _spread(self, bounds: tuple[float, float]) -> Floats:
        """Even on a logarithmic scale between two bounds, (M,)."""
        low, high = bounds
        spread: Floats = low * (high / low) ** self.rng.random(self.count)
        return spread

    def _directions(self) -> Complexes:
        turned: Complexes = np.exp(2j * np.pi * self.rng.random(self.count))
        return turned

    def _put(self, **values: Floats) -> None:
        for name, value in values.items():
            self.running.numbers[self.running.row[name], :, 0] = value
