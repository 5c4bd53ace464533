"""The mechanisms of the atlas that come nearest to what is asked, put in their place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.wanted.atlas.asking import SHARES, Asked, AskedPath
from core.wanted.atlas.laying import (
    Laid,
    Wished,
    WishedAngle,
    angle_costs,
    costs,
    lay,
)
from core.wanted.atlas.shape import Complexes, Floats, backwards, harmonics, signature
from core.wanted.atlas.shelf import Shelf, shelf
from core.wanted.engine import Mechanisms, mirrored, moved
from core.wanted.families import Family

#: Mechanisms of a shelf looked at when no tree helps: by the crank or angles, and as
#: pieces of a path; and those the tree gives.
SIEVED, PIECES = 4000, 1500
NEAR, NEAR_BY_LOT = 400, 2500
#: Starts tried in the sieve.
_STARTS = 48
#: Size in mm given to a mechanism of which only angles are asked: its path's.
ANGLE_SIZE_MM = 60.0

Ints = NDArray[np.intp]


@dataclass(frozen=True)
class Near:
    """Mechanisms in place, nearest first, and what each costs in tolerances (M,)."""

    mechanisms: Mechanisms
    cost: Floats


def neighbours(family: Family, asks: Asked, bodies: tuple[str, ...], count: int, *,
               home: complex = 0j, rng: np.random.Generator | None = None) -> Near:
    """The `count` nearest of a family.

    Parameters
    ----------
    bodies : for every angle channel the body that is to turn so.
    home : where the crank's pivot goes when no path says where the mechanism is.
    rng : with a generator, not strictly the nearest, but drawn by lot, the nearer the
        likelier: a descent from the nearest of all need not end lowest.

    Raises FileError when the family's shelf is missing or damaged.
    """
    stock = shelf(family.id)
    turns = family.recipe.turns
    rows = _rows(stock, asks, rng)
    cost, laid = _best_laid(_Part(stock, rows), asks, [family.swinging.index(body)
                                                      for body in bodies], turns)
    chance = cost if rng is None else cost / rng.random(len(cost))
    best = np.lexsort((rows, chance))[:count]
    best = best[np.isfinite(cost[best])]
    own = stock.mechanisms[rows[best]]
    turned = mirrored(family.recipe, own)
    flip = laid.flip[best][:, None]
    own = Mechanisms(np.where(flip, turned.params, own.params),
                     np.where(flip, turned.signs, own.signs))
    every = moved(family.recipe, own, laid.turn[best].astype(np.complex128),
                  laid.shift[best].astype(np.complex128))
    if asks.path is None:
        pivot = every.params[:, 0] + 1j * every.params[:, 1]
        every = moved(family.recipe, every, 1.0, home - pivot)
    return Near(every, np.sqrt(cost[best]))


@dataclass(frozen=True)
class _Part:
    """Some rows of a shelf, mirrored or not."""

    stock: Shelf
    rows: Ints

    def shape(self, flip: bool) -> Complexes:
        return self._way(self.stock.shape[self.rows], flip)

    def timed(self, flip: bool) -> Complexes:
        return self._way(self.stock.timed[self.rows], flip)

    def mean(self, flip: bool) -> Complexes:
        return self._way(self.stock.mean[self.rows], flip)

    def angle(self, body: int, flip: bool) -> Complexes:
        angle: Complexes = self.stock.angles[body, self.rows]
        return -angle.conj() if flip else angle

    @staticmethod
    def _way(values: Complexes, flip: bool) -> Complexes:
        return values.conj() if flip else values


def _rows(stock: Shelf, asks: Asked, rng: np.random.Generator | None) -> Ints:
    """Rows worth looking at: those the tree gives for a whole path, else the first ones
    (the order on a shelf is random) or ones drawn by lot."""
    path = asks.path
    by_shape = path is not None and path.crank_rad is None
    if path is None or not by_shape or not path.closed or asks.angles:
        most = min(len(stock), PIECES if by_shape else SIEVED)
        if rng is None:
            return np.arange(most)
        return np.sort(rng.choice(len(stock), most, replace=False))
    half = stock.shape.shape[1] // 2
    here = harmonics(path.places[None], min(half, (len(path.places) - 1) // 2))
    pad = half - here.shape[1] // 2
    here = np.pad(here, ((0, 0), (pad, pad)))
    near = min(NEAR if rng is None else NEAR_BY_LOT, len(stock))
    found = [stock.tree.query(signature(way), k=near)[1].ravel()
             for way in ([here, backwards(here)] if path.either_way else [here])]
    return np.unique(np.concatenate(found))


def _best_laid(part: _Part, asks: Asked, bodies: list[int], turns: int
               ) -> tuple[Floats, Laid]:
    """Of every row the cost in tolerances squared, and how it is laid."""
    ways = [_laid(part, asks, bodies, turns, flip) for flip in (False, True)]
    (one, laid), (other, mirror) = ways
    return np.minimum(one, other), laid.where(other < one, mirror)


def _laid(part: _Part, asks: Asked, bodies: list[int], turns: int, flip: bool
          ) -> tuple[Floats, Laid]:
    cycle = 2 * np.pi * turns
    count = len(part.rows)
    swing = np.zeros((count, _STARTS))
    for ask in asks.angles:
        body = bodies[ask.channel]
        own = angle_costs(WishedAngle(ask.angle_rad, ask.crank_rad / cycle),
                          part.angle(body, flip), _STARTS)
        winds = part.stock.gains[body, part.rows] != 0
        swing += np.where(winds[:, None], np.inf, ask.price * own)
    row = np.arange(count)
    path = asks.path
    tied = 0 if asks.start_free else turns
    if path is not None and path.crank_rad is None:
        laid = _by_shape(path, part.shape(flip), flip)
        return path.price * laid.misfit**2 + swing.min(axis=1), laid
    if path is not None and path.crank_rad is not None:
        wish = Wished(path.places, path.crank_rad / cycle, tied)
        left, turn, shift = costs(wish, part.timed(flip), _STARTS)
        whole = path.price * left + swing
        at = np.argmin(whole, axis=1)
        start = at / _STARTS
        shift = shift[row, at] - turn[row, at] * part.mean(flip)
        laid = Laid(np.sqrt(left[row, at]), turn[row, at], shift,
                    np.full(count, flip), start)
        return whole[row, at], laid
    at = np.argmin(swing, axis=1)
    turned = np.exp(-2j * np.pi * tied * at / _STARTS)
    laid = Laid(np.zeros(count), ANGLE_SIZE_MM * turned, np.zeros(count, complex),
                np.full(count, flip), at / _STARTS)
    return swing[row, at], laid


def _by_shape(path: AskedPath, shape: Complexes, flip: bool) -> Laid:
    """Lay a path without timing: all of it, or pieces of several lengths."""
    count = len(path.places)
    steps = np.arange(count)
    shares = ([steps / count] if path.closed
              else [part * steps / (count - 1) for part in SHARES])
    places = [path.places, path.places[::-1]] if path.either_way else [path.places]
    best: Laid | None = None
    for share in shares:
        for way in places:
            laid = lay(Wished(way, share), shape, flips=False, starts=_STARTS)
            laid = Laid(laid.misfit, laid.turn, laid.shift, np.full(len(shape), flip),
                        laid.start)
            best = laid if best is None else best.or_nearer(laid)
    assert best is not None
    return best
