"""What becomes of a weight that meets something: narrower, flush, or on a shorter tail."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from core.pleasant.clashes import placed_clear
from core.pleasant.ground import Ground
from core.pleasant.model import ROUNDING_MM, Placed
from core.pleasant.options import WeightRules
from core.pleasant.places import LEAST_RADIUS, Site
from core.pleasant.stock import pieces

#: Shares of the width and of the tail's length that are tried.
_NARROWER, _SHORTER = (0.8, 0.62, 0.45, 0.3), (0.85, 0.7, 0.5, 0.3)


def tamed(ground: Ground, where: Site, mine: Placed,
          rules: WeightRules) -> tuple[Site | None, Placed | None]:
    """A site where no weight like `mine`, which met something, is placed again, and what
    would be clear in its stead: what keeps most of its moment. None where nothing is."""
    best: tuple[float, Site, Placed] | None = None
    for site, other in _instead(ground, where, mine, rules):
        arm = abs(other.place - where.pivot) if where.pivot is not None else 1.0
        worth = min(other.piece.kg, mine.piece.kg) * arm
        if (best is None or worth > best[0]) and not placed_clear(ground, [other])[1]:
            best = (worth, site, other)
    return (harmless(where), None) if best is None else best[1:]


def harmless(where: Site) -> Site | None:
    """The site without tails and with flush pieces, which can meet nothing."""
    short = shortened(where, 0.0)
    return None if short is None else replace(short, flush=True)


def shortened(whole: Site, reach: float) -> Site | None:
    """The site with tails no longer than `reach`; None when no place is left."""
    keep = whole.on_tail == 0.0
    if whole.pivot is not None:
        keep = keep | (np.abs(whole.places - whole.pivot) <= reach)
    if not keep.any():
        return None
    return replace(whole, places=whole.places[keep], radius_mm=whole.radius_mm[keep],
                   on_tail=whole.on_tail[keep], reach_mm=reach)


def _instead(ground: Ground, where: Site, mine: Placed,
             rules: WeightRules) -> Iterator[tuple[Site, Placed]]:
    """Pieces in place of `mine`, with the sites that allow no more than them."""
    width = mine.piece.diameter_mm
    sites = [(replace(where, widest_mm=share * width), mine.place) for share in _NARROWER
             if share * width >= 2.0 * LEAST_RADIUS]
    if not where.flush and mine.piece.sticks_out_mm > 0.0:
        sites.append((replace(where, flush=True), mine.place))
    if mine.on_tail and where.pivot is not None:
        arm = mine.place - where.pivot
        sites += [(short, where.pivot + share * arm) for share in _SHORTER
                  if (short := shortened(where, share * abs(arm))) is not None]
    for site, place in sites:
        room = site.tail_room(place) if mine.on_tail else site.room(place)
        found = pieces(ground.sketch, where.part, rules.of(where.part.id),
                       room + ROUNDING_MM, mine.piece.kg, site.flush) if (
                           room >= LEAST_RADIUS) else []
        if found:
            yield site, replace(mine, site=site, place=place, piece=found[0])
